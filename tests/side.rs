//! `whichside side` as a program, and its reading of open data.

use assert_cmd::Command;
use serde_json::Value;
use whichside::clave::read_onsets;

fn side(args: &[&str], input: &str) -> (Option<i32>, String, String) {
    let done = Command::cargo_bin("whichside")
        .expect("the program is built")
        .arg("side")
        .args(args)
        .write_stdin(input)
        .output()
        .expect("it runs");
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).expect("UTF-8");
    (done.status.code(), text(done.stdout), text(done.stderr))
}

#[test]
fn a_line_in_is_an_object_out() {
    // Toussaint 2013, ch. 7: son clave in 3-2, rumba clave in 2-3; then one bar twice, and nothing at all
    let input = "x..x..x...x.x...\n..x.x...x..x...x\nx..x..x.x..x..x.\n................\n";
    let (code, out, _) = side(&["-"], input);
    assert_eq!(code, Some(0));
    let objects: Vec<Value> = out
        .lines()
        .map(|l| serde_json::from_str(l).unwrap())
        .collect();
    let calls: Vec<_> = objects
        .iter()
        .map(|o| o["direction"].as_str().unwrap())
        .collect();
    assert_eq!(calls, ["3-2", "2-3", "neutral", "unsure"]);
    for (object, line) in objects.iter().zip(input.lines()) {
        assert_eq!(object["pulses"], line);
        let forward = object["forward"].as_f64().unwrap();
        assert!((0.0..=1.0).contains(&forward));
        let classes = ["3-2", "2-3", "neutral", "crossed"];
        let sum: f64 = classes
            .iter()
            .map(|c| object["classes"][c].as_f64().unwrap())
            .sum();
        assert!((sum - 1.0).abs() < 1e-9);
        for reason in object["reasons"].as_array().unwrap() {
            assert!(!reason["text"].as_str().unwrap().is_empty());
            for pulse in reason["pulses"].as_array().unwrap() {
                let pulse = pulse.as_u64().unwrap() as usize;
                assert_eq!(line.as_bytes()[pulse], b'x');
            }
        }
    }
}

#[test]
fn a_bad_line_is_named_and_stops_nothing() {
    let (code, out, _) = side(&["-"], "x..x\nx..x..x...x.x...\nx..o..x...x.x...\n");
    assert_eq!(code, Some(1));
    let objects: Vec<Value> = out
        .lines()
        .map(|l| serde_json::from_str(l).unwrap())
        .collect();
    assert_eq!(objects.len(), 3);
    assert!(
        objects[0]["error"]
            .as_str()
            .unwrap()
            .starts_with("line 1, 4 pulses")
    );
    assert_eq!(objects[1]["direction"], "3-2");
    assert!(
        objects[2]["error"]
            .as_str()
            .unwrap()
            .contains("column 4: `o`")
    );
}

#[test]
fn a_pattern_is_shown_with_the_clave_and_the_reasons() {
    let (code, out, _) = side(&["x..x..x. ..x.x..."], "");
    assert_eq!(code, Some(0));
    assert!(out.starts_with("3-2"));
    assert!(out.contains("this is the son clave in 3-2"));
    assert!(out.contains("part  x . . x . . x . | . . x . x . . ."));
    assert!(out.contains("in bar 2 strokes on 2 and 3 and nothing on 1: pulls to the two side"));
}

#[test]
fn strokes_and_the_school_of_the_low_drum_are_read() {
    let part = "HTS tO HTOO | HTSTHTOO";
    let call = |args: &[&str]| {
        let (code, out, _) = side(&[&["--json", part], args].concat(), "");
        assert_eq!(code, Some(0));
        let object: Value = serde_json::from_str(&out).unwrap();
        object["direction"].as_str().unwrap().to_string()
    };
    assert_eq!(call(&[]), "neutral");
    assert_eq!(call(&["--low-drum", "three"]), "3-2");
    assert_eq!(call(&["--low-drum", "two"]), "2-3");
}

#[test]
fn a_pattern_that_is_no_whole_bar_is_refused_with_the_mend() {
    let (code, _, err) = side(&["x..x"], "");
    assert_eq!(code, Some(2));
    assert!(
        err.contains("4 pulses; whole bars of 8 are needed"),
        "{err}"
    );
    let (code, _, err) = side(&["HTSX"], "");
    assert_eq!(code, Some(2));
    assert!(err.contains("column 4"), "{err}");
}

/// The bounds are those that the weights were fitted to reach; rows that the weights have seen say nothing about
/// rows that they have not (`cargo bench --bench fit_side` does), but they say that the table in the source is whole.
#[test]
fn the_open_data_are_read_as_well_as_they_were_fitted() {
    let path = "../shared/data/clave-direction.csv";
    let Ok(mut table) = csv::Reader::from_path(path) else {
        println!("skipped: {path} is not here (DOI 10.24432/C5GC9F)");
        return;
    };
    let (mut rows, mut right, mut directed, mut forward_right) = (0, 0, 0, 0);
    for record in table.records() {
        let record = record.unwrap();
        let reading = read_onsets(&record[0]).unwrap();
        let expected = match &record[1] {
            "forward" => "3-2",
            "reverse" => "2-3",
            "incoherent" => "crossed",
            other => other,
        };
        rows += 1;
        right += usize::from(reading.call.name() == expected);
        if expected.contains('-') {
            directed += 1;
            forward_right += usize::from((reading.forward > 0.5) == (expected == "3-2"));
        }
    }
    assert!(right as f64 >= 0.84 * rows as f64, "{right} of {rows}");
    assert!(
        forward_right as f64 >= 0.96 * directed as f64,
        "{forward_right} of {directed}"
    );
}
