//! Tests of the replay: rows, errors, forecasts.

use super::replay::{ForecastError, forecast};

fn run(text: &str) -> (Vec<serde_json::Value>, Result<u64, ForecastError>) {
    run_with(text, false)
}

fn run_with(text: &str, alone: bool) -> (Vec<serde_json::Value>, Result<u64, ForecastError>) {
    let mut out = Vec::new();
    let result = forecast(text.as_bytes(), &mut out, alone);
    let text = String::from_utf8(out).unwrap();
    (
        text.lines()
            .map(|l| serde_json::from_str(l).unwrap())
            .collect(),
        result,
    )
}

const HEADER: &str = "learner,item,concepts,kind,at,correct,guess,seconds\n";

#[test]
fn a_line_comes_for_each_row_with_probabilities() {
    let text = format!(
        "{HEADER}a,x,one;two,side,0,1,0.5,2\na,x,one;two,side,86400,0,0.5,\nb,x,,side,5,1,0.5,2\n"
    );
    let (lines, result) = run(&text);
    assert_eq!(result.unwrap(), 3);
    assert_eq!(lines.len(), 3);
    for line in &lines {
        let (expected, recall) = (
            line["expected"].as_f64().unwrap(),
            line["recall"].as_f64().unwrap(),
        );
        assert!((0.0..=1.0).contains(&expected) && (0.0..=1.0).contains(&recall));
        assert!(expected >= 0.5 * (1.0 - recall) - 1e-9);
    }
    // The second learner is asked what the first knew, and then did not.
    assert_ne!(lines[0]["expected"], lines[2]["expected"]);
    // Alone they have nothing in common: the first row of each has the same forecast.
    let (lines, _) = run_with(&text, true);
    assert_eq!(lines[0]["expected"], lines[2]["expected"]);
}

#[test]
fn no_row_is_known_ahead() {
    let rows = [
        "a,x,c,side,0,1,0.5,2\n",
        "a,y,c,side,9,1,0.5,2\n",
        "a,x,c,side,90000,1,0.2,3\n",
    ];
    let (all, _) = run(&format!("{HEADER}{}", rows.concat()));
    for n in 1..=rows.len() {
        let flipped = rows[n - 1].replace(",1,0.", ",0,0.");
        let (part, _) = run(&format!("{HEADER}{}{flipped}", rows[..n - 1].concat()));
        assert_eq!(part[..], all[..n]);
    }
}

#[test]
fn columns_may_come_in_any_order() {
    let (a, _) = run(&format!("{HEADER}a,x,c,side,0,1,0.5,2\n"));
    let (b, _) =
        run("at,learner,note,item,kind,concepts,guess,correct,seconds\n0,a,hm,x,side,c,0.5,1,2\n");
    assert_eq!(a, b);
}

#[test]
fn bad_rows_are_named_with_line_and_mend_and_the_others_kept() {
    let cases = [
        (
            "a,x,c,side,soon,1,0.5,2",
            "at is `soon`: write seconds since 1970 UTC",
        ),
        (
            "a,x,c,side,50,yes,0.5,2",
            "correct is `yes`: write 1 for right, 0 for wrong",
        ),
        (
            "a,x,c,side,50,2,0.5,2",
            "correct is 2: write 1 for right, 0 for wrong",
        ),
        (
            "a,x,c,side,50,1,-1,2",
            "guess is -1: write the chance of a right guess, 0 to 1",
        ),
        ("a,,c,side,50,1,0.5,2", "item is empty: give it a name"),
        (
            "a,x,c,side,50,1,0.5,-2",
            "seconds is -2: write the seconds that the answer took, or nothing",
        ),
        (
            "a,x,c,side",
            "the row has 4 values, fewer than the header (8): fill them all in",
        ),
        (
            "a,x,one,two,side,50,1,0.5,2",
            "the row has 9 values, more than the header (8): put quotation marks around",
        ),
        (
            "a,x,c,side,1700000000000,1,0.5,2",
            "at is 1700000000000, thousands of years from now: write seconds since 1970 UTC, not milliseconds",
        ),
        ("a,x,c,side,NaN,1,0.5,2", "at is `NaN`"),
        (
            "a,x,c,side,3,1,0.5,2",
            "at 3 is earlier than the row above by the same learner (9): sort the rows by time",
        ),
    ];
    for (row, problem) in cases {
        let (lines, result) = run(&format!(
            "{HEADER}a,x,c,side,9,1,0.5,2\n{row}\na,x,c,side,99,1,0.5,2\n"
        ));
        assert_eq!(lines.len(), 2, "{row}");
        let Err(ForecastError::Rows(bad)) = result else {
            panic!("{row}")
        };
        assert_eq!(bad[0].0, 3);
        assert!(bad[0].1.starts_with(problem), "{}", bad[0].1);
    }
}

#[test]
fn a_missing_column_or_header_is_said() {
    let (_, result) = run(&HEADER.replace(',', ";"));
    assert!(matches!(result, Err(ForecastError::Header(m)) if m.ends_with("not by `;`")));
    let (_, result) = run(&HEADER.replace("item", "kind"));
    assert!(matches!(result, Err(ForecastError::Header(m)) if m.contains("kind twice")));
    let (_, result) = run(&HEADER.to_uppercase());
    assert!(matches!(result, Err(ForecastError::Header(m)) if m.ends_with("in small letters")));
    let (_, result) = run("");
    assert!(matches!(result, Err(ForecastError::Header(m)) if m.starts_with("the file is empty")));
    for text in [
        "a,x,c,side,9,1,0.5,2\n",
        "learner,item,kind,at,correct,guess,seconds\n",
    ] {
        let (lines, result) = run(text);
        assert!(lines.is_empty());
        assert!(matches!(result, Err(ForecastError::Header(m)) if m.contains("concepts")));
    }
}

/// What editors and tables put in and round a file.
#[test]
fn lines_are_counted_as_an_editor_counts_them() {
    let rows = [
        "a,x,c,side,5,1,0.5,2",
        "a,\"x, or \"\"y\"\"\",c,side,6,1,0.5,",
        "a,x,c,side,7,1,0.5,0",
    ];
    let header = HEADER.trim_end();
    let (plain, _) = run(&format!("{HEADER}{}\n", rows.join("\n")));
    assert_eq!(plain.len(), 3);
    assert_eq!(plain[1]["item"], "x, or \"y\"");
    for end in ["\n", "\r\n", "\r"] {
        for mark in ["", "\u{feff}"] {
            let (lines, result) = run(&format!("{mark}{header}{end}{}", rows.join(end)));
            assert_eq!(result.unwrap(), 3);
            assert_eq!(lines, plain, "{end:?} {mark:?}");
        }
        let (lines, _) = run(&format!("{header}{end}{end}{}{end}{end}", rows.join(end)));
        let numbers: Vec<_> = lines.iter().map(|l| l["line"].as_u64().unwrap()).collect();
        assert_eq!(numbers, [3, 4, 5], "{end:?}");
    }
    let text = format!("{HEADER}a,\"two\nlines\",c,side,5,1,0.5,2\na,x,c,side,soon,1,0.5,2\n");
    assert!(matches!(run(&text).1, Err(ForecastError::Rows(bad)) if bad[0].0 == 4));
}

#[test]
fn a_quotation_mark_left_open_is_said() {
    let (lines, result) = run(&format!(
        "{HEADER}a,x,c,side,5,1,0.5,2\na,\"x,c,side,6,1,0.5,2\na,x,c,side,7,1,0.5,2\n"
    ));
    assert_eq!(lines.len(), 1);
    let Err(ForecastError::Rows(bad)) = result else {
        panic!()
    };
    assert_eq!(bad[0].0, 3);
    assert!(bad[0].1.ends_with("close it"), "{}", bad[0].1);
}

/// Chances stay chances at the edges of what may be written.
#[test]
fn odd_rows_give_chances() {
    let mut text = String::from(HEADER);
    let year = 365.0 * 86_400.0;
    let mut at = -3e9;
    for (n, gap) in [0.0, 0.0, 1e-9, 10.0 * year, 0.0, 60.0, 90.0 * year, 1.0]
        .into_iter()
        .cycle()
        .take(200)
        .enumerate()
    {
        at += gap;
        let (correct, guess) = (
            [0.0, 1.0, 0.5, 1e-9][n % 4],
            [0.0, 1.0, 0.5, 1e-12, 1.0][n % 5],
        );
        let seconds = ["", "0", "1e-300", "1e300", "3"][n % 5];
        text += &format!(
            "a,x{},{},k{},{at},{correct},{guess},{seconds}\n",
            n % 3,
            [";; ;", "", "c;c"][n % 3],
            n % 7
        );
    }
    let (lines, result) = run(&text);
    assert_eq!(result.unwrap(), 200);
    for line in lines {
        for name in ["expected", "recall"] {
            let p = line[name].as_f64().unwrap();
            assert!((0.0..=1.0).contains(&p), "{line}");
        }
    }
}

#[test]
fn bytes_that_are_no_text_are_refused_without_a_panic() {
    let mut out = Vec::new();
    let mut text = HEADER.as_bytes().to_vec();
    text.extend(b"a,x,\xff\xfe,side,9,1,0.5,2\na,x,c,side,9,1,0.5,2\n");
    let Err(ForecastError::Rows(bad)) = forecast(&text[..], &mut out, false) else {
        panic!()
    };
    assert_eq!((bad.len(), bad[0].0), (1, 2));
    assert_eq!(out.iter().filter(|b| **b == b'\n').count(), 1);
}

/// What is full says so once.
#[test]
fn a_full_disk_is_said_once() {
    struct Full;
    impl std::io::Write for Full {
        fn write(&mut self, _: &[u8]) -> std::io::Result<usize> {
            Err(std::io::Error::from_raw_os_error(28))
        }
        fn flush(&mut self) -> std::io::Result<()> {
            Ok(())
        }
    }
    let text = format!("{HEADER}a,x,c,side,0,1,0.5,2\n");
    let error = anyhow::Error::from(forecast(text.as_bytes(), Full, false).unwrap_err());
    let said = format!("{error:#}");
    assert_eq!(said.matches("os error 28").count(), 1, "{said}");
}
