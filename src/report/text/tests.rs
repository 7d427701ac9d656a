use super::*;
use crate::report::fixture::empty;

/// Some day in 2027, seconds since 1970 UTC.
const NOW: f64 = 1.8e9;

#[test]
fn every_section_of_an_empty_report_says_what_will_be_there_and_when() {
    let promised = |line: &str| {
        let what = ["here", "shown"].iter().any(|w| line.contains(w));
        let when = [
            "once",
            "first",
            "after",
            "with ",
            "each day",
            "wrong answers",
        ];
        what && when.iter().any(|w| line.to_lowercase().contains(w))
    };
    for about in ALL {
        let Section { heading, lines } = section(&empty(NOW), about, 77);
        assert_eq!(lines.len(), 1, "{heading}: {lines:?}");
        assert!(promised(&lines[0]), "{heading}: {lines:?}");
    }
}

fn confusion(count: usize, pattern: bool) -> Confusion {
    Confusion {
        truth: "slap".into(),
        given: "open tone".into(),
        sense: "hear".into(),
        count,
        asked: 40,
        wrong: 18,
        by_chance: 6.0,
        doubt: if pattern { 0.0004 } else { 0.7 },
        pattern,
        situations: vec!["tumbao".into()],
    }
}

#[test]
fn only_patterns_are_listed_among_what_is_taken_for_what() {
    let mut report = empty(NOW);
    report.confusions = vec![confusion(3, false), confusion(2, false)];
    let alone = confusions(&report);
    assert_eq!(alone.len(), 1);
    assert!(
        alone[0].contains("(5 times")
            && alone[0].contains("slap taken for open tone, by ear (3)")
            && alone[0].contains("chance"),
        "{alone:?}"
    );
    report.confusions.insert(0, confusion(12, true));
    let both = confusions(&report);
    assert_eq!(both.len(), 2);
    assert_eq!(
        both[0],
        "slap taken for open tone, by ear: 12 times; slap was right 40 times and missed 18 times; most with tumbao. \
         Chance alone would show as much less than 1 time in 1000."
    );
    assert!(both[1].contains("(5 times)"), "{both:?}");
}

#[test]
fn a_row_fits_however_long_ago_it_was_asked() {
    let known = crate::report::Strength {
        mean: 1.0,
        low: 1.0,
        high: 1.0,
        worth: 9.0,
    };
    for days_ago in [0.3, 9.6, 999.4, 999.6, 36_000.0] {
        let concept = Concept {
            concept: "a name that is longer than its column".into(),
            sense: None,
            now: Some(known),
            known,
            answers: 3,
            cards: 1,
            trend: Some(crate::report::Trend {
                change: -0.1,
                rose: 0.01,
            }),
            days_ago,
            pace: Some(0.5),
            in_time: 1.0,
            worth_working_on: 0.0,
        };
        for width in [76, 77, 116] {
            let line = row(&concept, width);
            assert!(line.chars().count() <= width, "{days_ago} {width}: {line}");
        }
    }
}

#[test]
fn one_is_told_as_one() {
    let date = chrono::NaiveDate::from_ymd_opt(2026, 11, 25).unwrap();
    let week = |days: usize| crate::report::Week {
        until: date,
        days,
        minutes: 6.0,
        answers: days as u32,
        right: 1.0,
        new_cards: days,
    };
    let mut report = empty(NOW);
    report.weeks = vec![week(1), week(3)];
    let lines = weeks(&report);
    assert!(lines[0].contains(" 1 day ") && lines[0].contains(" 1 answer "));
    assert!(lines[0].ends_with(" 1 new card"), "{lines:?}");
    assert!(lines[1].contains(" 3 days ") && lines[1].ends_with(" 3 new cards"));
    report.reviews = 1;
    assert!(text(&report).starts_with("Weak concepts, from your latest 1 answer\n"));
}
