//! Four players, a month each: the table and what must be in it.

use super::sittings::{Evening, Month, Until, Who, is_variation, live};
use std::collections::BTreeSet;
use whichside::question::{Sense, Stands, Thread};

/// Share of the time that may go by before what is to be heard begins.
const WAITING: f64 = 0.08;

/// Share of right answers that are late at the fastest tempo so far at which the item came in time, or above.
const LATE: (f64, f64) = (0.05, 0.25);
/// Share of produced answers among the questions on variations that are past their first week, at least.
const PRODUCED: f64 = 1.0 / 3.0;

/// The days that are printed, from 1.
const DAYS: [usize; 5] = [1, 2, 7, 14, 30];
/// Added to the seed for the players who are like one of the four.
const MORE: [u64; 2] = [1000, 2000];
/// Share of the cards of a week's own deck that are held when the week ends, at least.
const WEEK_HELD: f64 = 0.8;
/// The evenings that are told question by question.
const STORIES: [usize; 4] = [1, 2, 7, 30];
/// Share of questions by ear, at least and at most.
const BY_EAR: (f64, f64) = (0.45, 0.55);
/// Share of an evening on what is new, at most; an evening is planned by what things are likely to take, so that a real one
/// may pass the half by this much.
const NEW: f64 = 0.5 + 0.1;
/// Seconds by which the last question may be answered after the minutes: one that was begun in time.
const LAST: f64 = 45.0;

/// Cards of the lesson that an evening has room for.
const LESSON: usize = 12;

/// The four.
pub fn four(seed: u64) -> [Who; 4] {
    let who = |name, stands, knows, spread, weekly, nth| Who {
        name,
        spread,
        stands,
        knows,
        weekly,
        minutes: 5.0,
        days: 30,
        seed: seed + nth,
        plain: false,
    };
    [
        who("newcomer", Stands::New, [0.0; 3], 0.06, false, 0),
        who(
            "plays a tumbao",
            Stands::Tumbao,
            [0.1, 0.4, 0.0],
            0.04,
            false,
            1,
        ),
        who(
            "plays in bands",
            Stands::Bands,
            [0.5, 0.7, 0.3],
            0.03,
            false,
            2,
        ),
        who("own deck each week", Stands::New, [0.0; 3], 0.06, true, 3),
    ]
}

/// Prints the month of each and the rules; true where all were kept.
pub fn report(seed: u64) -> bool {
    let mut all = true;
    for who in four(seed) {
        let month = live(&who);
        let alike: Vec<Month> = MORE
            .map(|n| {
                let seed = who.seed + n;
                live(&Who {
                    seed,
                    ..who.clone()
                })
            })
            .into();
        print!("{}", table(&who, &month));
        for (kept, rule) in rules(&who, &month, &alike) {
            all &= kept;
            println!("{} {rule}", if kept { "kept  " } else { "BROKEN" });
        }
        println!();
    }
    let kept = |plain: bool| {
        let [newcomer, ..] = four(seed);
        let month = live(&Who { plain, ..newcomer });
        month.evenings.last().map_or(0.0, |e| e.until.kept)
    };
    let (composed, plain) = (kept(false), kept(true));
    println!(
        "A card is held where what was asked of it is recalled, on average, more often than not a night later.\nThe newcomer recalls {composed:.0} items a night after day 30; by what is worth most alone it would be {plain:.0}: the composition \
         costs {:.0} %.\n",
        100.0 * (1.0 - composed / plain)
    );
    all
}

/// A line a day: by thread met, asked and held; by ear; variations.
pub fn table(who: &Who, month: &Month) -> String {
    let mut text = format!(
        "{} (seed {}, knows {} cards before)\n day |    side: met asked held | strokes: met asked held | variations: met asked held | \
         by ear | variations met held | own met held | right\n",
        who.name,
        who.seed,
        month.knew.len()
    );
    for day in DAYS {
        let Some(evening) = month.evenings.get(day - 1) else {
            continue;
        };
        let u = &evening.until;
        text += &format!(
            "{day:4} | {:12} {:5} {:4} | {:12} {:5} {:4} | {:15} {:5} {:4} | {:4.0} % | {:14} {:4} | {:7} {:4} | {:3.0} %\n",
            u.met[0],
            u.asked[0],
            u.held[0],
            u.met[1],
            u.asked[1],
            u.held[1],
            u.met[2],
            u.asked[2],
            u.held[2],
            100.0 * ear(u),
            u.variations,
            u.variations_held,
            u.own,
            u.own_held,
            100.0 * u.right as f64 / u.questions.max(1) as f64,
        );
    }
    if who.stands != Stands::New {
        let after = |day: usize| month.evenings.get(day - 1).map_or([0; 3], |e| e.placed);
        text += &format!(
            "placed after day 1, 2, 7: {:?} {:?} {:?} cards of each thread\n",
            after(1),
            after(2),
            after(7)
        );
    }
    text
}

/// What came on some evenings of each player, question by question.
pub fn stories(seed: u64) {
    for who in four(seed) {
        let month = live(&who);
        for day in STORIES {
            println!("{}, day {day}", who.name);
            let evening = month.evenings.get(day - 1);
            for line in evening.into_iter().flat_map(|e| &e.story) {
                println!("  {line}");
            }
        }
    }
}

fn ear(u: &Until) -> f64 {
    u.by_ear as f64 / u.questions.max(1) as f64
}

/// What must be in a month. What is too rare in one to tell a share from chance is counted over those of players `alike` as
/// well.
pub fn rules(who: &Who, month: &Month, alike: &[Month]) -> Vec<(bool, String)> {
    let evenings = &month.evenings;
    let until = |day: usize| &evenings[(day - 1).min(evenings.len() - 1)].until;
    let met_by = |day: usize, of: &dyn Fn(&str) -> bool| {
        let days = &evenings[..day.min(evenings.len())];
        let seen = days.iter().flat_map(|e| e.shown.iter().chain(&e.unseen));
        seen.filter(|c| of(c)).count()
    };
    let mut rules = Vec::new();
    let longest = evenings.iter().map(|e| e.seconds).fold(0.0, f64::max);
    let most = who.minutes * 60.0;
    rules.push((
        longest <= most + LAST,
        format!("no evening passes its {most:.0} seconds by more than a question: {longest:.0}"),
    ));
    let new = evenings
        .iter()
        .map(|e| e.new_seconds / most)
        .fold(0.0, f64::max);
    rules.push((
        new <= NEW,
        format!("half of an evening is new at most: {:.0} %", 100.0 * new),
    ));
    let waiting = evenings.iter().map(|e| e.waiting).sum::<f64>();
    let waiting = waiting / evenings.iter().map(|e| e.seconds).sum::<f64>().max(1.0);
    let count = |f: &dyn Fn(&Evening) -> usize| evenings.iter().map(f).sum::<usize>() as f64;
    let joined = count(&|e| e.joined) / until(evenings.len()).by_ear.max(1) as f64;
    rules.push((
        waiting <= WAITING,
        format!(
            "at most 8 % of the time goes by before what is to be heard begins: {:.1} % (the band goes on to {:.0} % of the questions by ear)",
            100.0 * waiting,
            100.0 * joined
        ),
    ));
    let all = || alike.iter().flat_map(|m| &m.evenings).chain(evenings);
    let over_all = |f: &dyn Fn(&Evening) -> usize| all().map(f).sum::<usize>() as f64;
    let edge = over_all(&|e| e.edge_right);
    let late = over_all(&|e| e.edge_late) / edge.max(1.0);
    rules.push((
        (LATE.0..=LATE.1).contains(&late),
        format!(
            "5 to 25 % of the right answers at the edge are late: {:.1} % of {edge:.0} in {} months (of this one's {:.1} %; of all right answers {:.1} %)",
            100.0 * late,
            1 + alike.len(),
            100.0 * count(&|e| e.edge_late) / count(&|e| e.edge_right).max(1.0),
            100.0 * over_all(&|e| e.late) / over_all(&|e| e.right).max(1.0)
        ),
    ));
    let ripe = count(&|e| e.ripe);
    let produced = count(&|e| e.ripe_produced) / ripe.max(1.0);
    rules.push((
        produced >= PRODUCED,
        format!(
            "a third of the questions on variations past their first week is produced: {:.0} % of {ripe:.0}",
            100.0 * produced
        ),
    ));
    let share = ear(until(evenings.len()));
    rules.push((
        (BY_EAR.0..=BY_EAR.1).contains(&share),
        format!(
            "half of the questions are by ear, give or take 5 of 100: {:.1} %",
            100.0 * share
        ),
    ));
    // Weeks in which a thread brought nothing new, though it had something left.
    let mut idle = 0;
    for week in evenings.chunks(7).filter(|w| w.len() == 7) {
        for thread in Thread::ALL {
            let moved = week
                .iter()
                .flat_map(|e| &e.asked)
                .any(|i| thread_of(&i.card) == Some(thread));
            idle += usize::from(!moved);
        }
    }
    rules.push((
        idle == 0,
        format!("each thread is asked about in every week: {idle} were not"),
    ));
    let place = |from: usize, to: usize| {
        let days = &evenings[(from - 1).min(evenings.len())..to.min(evenings.len())];
        days.iter()
            .flat_map(|e| &e.asked)
            .filter(|i| i.kind == "place")
            .count()
    };
    match who.name {
        "newcomer" => {
            let conga = evenings[0].asked.iter().any(|i| i.card == "tumbao/one-bar")
                || evenings[0].shown.iter().any(|c| c == "tumbao/one-bar");
            rules.push((
                conga,
                "the tumbao is on the screen the first evening".into(),
            ));
            for (name, of) in [
                (
                    "a clave",
                    &(|c: &str| c.starts_with("clave/")) as &dyn Fn(&str) -> bool,
                ),
                ("a tumbao", &|c: &str| c.starts_with("tumbao/")),
                ("a variation", &is_variation),
            ] {
                let n = met_by(2, of);
                rules.push((
                    n > 0,
                    format!("{name} is met on the first two evenings: {n}"),
                ));
            }
            let (met, held) = (until(30).variations, until(30).variations_held);
            rules.push((met >= 20, format!("20 variations are met by day 30: {met}")));
            rules.push((
                held >= 10,
                format!("10 variations are held by day 30: {held}"),
            ));
            let (second, rest) = (place(8, 14), place(15, 30));
            rules.push((
                second > 0 && rest > 0,
                format!(
                    "`place` is asked from the second week on: {second} times in it, {rest} later"
                ),
            ));
        }
        "plays a tumbao" => {
            let mut missed = BTreeSet::new();
            let mut taught = Vec::new();
            for evening in evenings {
                missed.extend(&evening.unseen);
                let known = evening.shown.iter().filter(|c| month.knew.contains(*c));
                taught.extend(known.filter(|c| c.starts_with("strokes/") && !missed.contains(c)));
            }
            let n = taught.len();
            rules.push((
                n <= 2,
                format!(
                    "known strokes are not taught, but those that were missed and one or two: {n}"
                ),
            ));
        }
        "plays in bands" => {
            let n = met_by(1, &is_variation);
            rules.push((n > 0, format!("variations come the first evening: {n}")));
            let new = evenings[..2].iter().flat_map(|e| &e.shown).count();
            rules.push((
                new > 0,
                format!("something new is taught on the first two evenings: {new}"),
            ));
        }
        _ => {
            let first = |week: usize| {
                let shown = &evenings[week * 7].shown;
                shown
                    .iter()
                    .filter(|c| c.starts_with(&format!("week-{week}/")))
                    .count()
            };
            for week in 0..evenings.len().div_ceil(7).min(4) {
                let n = first(week);
                rules.push((
                    n == 5,
                    format!(
                        "the deck of week {} is met the evening that it is there: {n} of 5",
                        week + 1
                    ),
                ));
            }
            let ends: Vec<&Evening> = (all().filter(|e| e.day % 7 == 6)).collect();
            let held: usize = ends.iter().map(|e| e.until.week_held).sum();
            rules.push((
                held as f64 >= WEEK_HELD * 5.0 * ends.len() as f64,
                format!(
                    "of the cards of a week's own deck 80 % are held when the week ends: {held} of {} in {} months",
                    5 * ends.len(),
                    1 + alike.len()
                ),
            ));
            let whole = evenings.iter().filter(|e| e.open <= LESSON);
            let passed: Vec<&String> = whole.flat_map(|e| &e.passed_over).collect();
            rules.push((passed.is_empty(), format!("what of the lesson is not held is met or asked each evening, up to {LESSON} cards: {passed:?} were not")));
            let course = met_by(30, &|c| !c.starts_with("week-"));
            rules.push((
                course >= 30,
                format!("the course goes on beside the lesson: {course} of its cards met"),
            ));
        }
    }
    let by_ear = evenings
        .iter()
        .flat_map(|e| &e.asked)
        .any(|i| i.sense == Sense::Hear);
    rules.push((by_ear, "something is asked by ear".into()));
    rules
}

fn thread_of(card: &str) -> Option<Thread> {
    let decks = whichside::deck::shipped();
    let card = decks.iter().flat_map(|d| &d.cards).find(|c| c.id == card)?;
    Some(Thread::of(card))
}
