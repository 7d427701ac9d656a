//! What `whichside check` draws: the bar, the mark beneath, and that nothing in a deck breaks the drawing.

use std::fs;
use std::path::PathBuf;
use unicode_width::UnicodeWidthStr;
use whichside::deck::{Diagnostic, Setting, check, render};

fn found(file: &str, text: &str) -> Vec<Diagnostic> {
    check(&[(file.into(), text.into())], &Setting::default()).remove(0)
}

fn bad_decks() -> Vec<(String, String)> {
    let folder = PathBuf::from(env!("CARGO_MANIFEST_DIR")).join("tests/decks/bad");
    let files = fs::read_dir(folder).unwrap().map(|f| f.unwrap().path());
    let decks = files.filter(|f| f.extension().is_some_and(|e| e == "toml"));
    let decks = decks.map(|f| {
        let name = f.file_name().unwrap().to_string_lossy().into_owned();
        (name, fs::read_to_string(&f).unwrap())
    });
    decks.collect()
}

/// The columns (from 0) of the mark of a drawing, and the lines above it, the nearest last.
fn mark(drawn: &str) -> Option<(usize, Vec<&str>)> {
    let lines: Vec<&str> = drawn.lines().collect();
    let is_mark = |l: &&str| {
        let l = l.trim();
        l.starts_with(['^', '╰']) && l.chars().all(|c| "^╰─╯".contains(c))
    };
    let at = lines.iter().position(is_mark)?;
    let column = lines[at].chars().take_while(|c| *c == ' ').count();
    Some((column, lines[..at].to_vec()))
}

/// Drawn by hand from the file: the hand under the tip on 3& in the second bar is missing.
#[test]
fn a_finding_in_a_grid_is_the_bar_with_its_count() {
    let text = "title = \"Street\"\nsource = \"s\"\ntempo = 100\n[[card]]\nid = \"corner\"\ntitle = \"Corner\"\n\
                states = \"neither\"\nconcepts = [\"tumbao\"]\ngrid = \"\"\"\ncount | 1 & 2 & 3 & 4 & |\n\
                conga | H T S T H T O O | H T S T H T O O |\nhand|LLRLLLRR|LLRLL.RR|\n\"\"\"\n";
    let drawn = render(&found("street.toml", text), text, 80);
    let expected = "\
street.toml, line 12: card \"Corner\" (street/corner), bar 2, on 3&

    count │ 1   &   2   &   3   &   4   & │
    hand  │ L   L   R   L   L   .   R   R │
                                ^

  Mistake: the tip on the conga here has no hand [hand-row]
  Mend it: write `L` or `R`, or `?` to leave it open; is the row shifted?
";
    assert_eq!(drawn, expected);
}

#[test]
fn a_finding_on_a_field_is_its_line_and_a_syntax_error_tells_its_column() {
    let text = "title = \"T\"\ntempo = \"fast\"\ncard = []\n";
    let drawn = render(&found("t.toml", text), text, 80);
    let expected = "\
t.toml, line 2: `tempo`

    tempo = \"fast\"
            ╰────╯

  Mistake: `tempo` takes two numbers, such as [160, 200], but this is text
    [value]
  Mend it: write two numbers, such as [160, 200]
";
    assert_eq!(drawn, expected);
    // The quote is missing at the end of line 2, which has ten characters.
    let text = "title = \"T\"\nabout = \"x\n";
    let drawn = render(&found("t.toml", text), text, 80);
    assert!(drawn.starts_with("t.toml, line 2, column 11\n"), "{drawn}");
    assert!(
        drawn.contains("\n    about = \"x\n              ^\n"),
        "{drawn}"
    );
}

/// Whatever the width: under the cell that is meant, at the pulse that is named, and no line is too wide.
#[test]
fn the_mark_lies_under_the_cell_at_any_width() {
    let sixteenths = "title = \"T\"\nsource = \"s\"\ntempo = 60\n[[card]]\nid = \"a\"\ntitle = \"A\"\nstates = \"neither\"\n\
                      concepts = [\"tumbao\"]\ngrid = \"\"\"\ncount | 1 e & a 2 e & a 3 e & a 4 e & a |\n\
                      conga | O . T . >S . (T) . O . T . Q . T Z | O . . . . . . . . . . . . . W . |\n\"\"\"\n";
    let mut decks = bad_decks();
    decks.push(("sixteenths.toml".into(), sixteenths.into()));
    let mut marked = 0;
    for (name, text) in decks {
        for d in found(&name, &text) {
            for width in [30, 34, 40, 53, 80, 120] {
                let drawn = render(std::slice::from_ref(&d), &text, width);
                let widest = drawn.lines().map(UnicodeWidthStr::width).max().unwrap();
                assert!(widest <= width, "{width}:\n{drawn}");
                let Some(pulse) = &d.pulse else { continue };
                let (column, above) = mark(&drawn).unwrap();
                let at = |line: &str, column: usize| line.chars().nth(column).unwrap();
                let [.., count, row] = above[..] else {
                    panic!("{drawn}")
                };
                let line = text.lines().nth(d.line - 1).unwrap();
                assert_eq!(at(row, column), at(line, d.column - 1), "{drawn}");
                let counted = if line.starts_with("count") {
                    row
                } else {
                    count
                };
                if !line.starts_with("count") {
                    assert!(pulse.ends_with(at(counted, column)), "{pulse}:\n{drawn}");
                }
                marked += 1;
            }
        }
    }
    assert!(marked >= 6 * 10, "{marked}");
}

/// Escape sequences, signs that turn the direction of writing, tabs, wide letters, very long lines, other line ends,
/// nothing at all: no control character comes through, no line is too wide, and each finding has its mend.
#[test]
fn nothing_in_a_file_breaks_the_drawing() {
    let card = |title: &str, row: &str| {
        format!(
            "title = \"T\"\nsource = \"s\"\ntempo = 100\n[[card]]\nid = \"a\"\ntitle = \"{title}\"\nstates = \"two\"\n\
             concepts = [\"tumbao\"]\ngrid = \"\"\"\ncount | 1 & 2 & 3 & 4 & |\n{row}\n\"\"\"\n"
        )
    };
    let good = "conga | H T S T H T O O |";
    let texts = [
        String::new(),
        "\u{feff}".into(),
        "\u{feff}titel = \"x\"".into(),
        "\u{1b}[2J\u{1b}]0;owned\u{7}".into(),
        "title = \"a\u{0}b\u{1b}[31m\"\n".into(),
        "\t\ttitle\t=\t5\n".into(),
        "title = \"T\"\ncard = 7\r\n\u{85}\u{9b}31m".into(),
        card("\\u001b[31mred", good),
        card("a\\u202Eb \\u2066", good),
        card("\u{202e}turned", good),
        card("clave \u{4e8c}\u{4e09}\u{1f941} e\u{301}", good),
        card("A", "conga | \u{4e8c} T S T H T O O |"),
        card("A", "\u{1b}[31mconga | H T S T H T O O |"),
        card("A", "conga | H T \u{1b} T H T O O |"),
        card("A", "\tconga\t|\tH T S T H T O Q\t|"),
        card("A", "conga |  |"),
        card("A", "conga ||||"),
        card("A", &format!("conga | {}", "Q ".repeat(20_000))),
        card("A", &format!("{} | H", "x".repeat(5_000))),
        card(&"long ".repeat(10_000), good),
        card("A", good).replace('\n', "\r\n"),
        format!("title = \"T\"\n{}", card("A", good)),
        format!("{} = 1", "k".repeat(10_000)),
        format!("{}title = 7", " ".repeat(3_000)),
    ];
    for text in &texts {
        for width in [10, 40, 80] {
            for file in ["t.toml", "\u{1b}[31mred\nfile\u{202e}.toml"] {
                let found = found(file, text);
                assert!(!found.is_empty(), "{text:?}");
                let drawn = render(&found, text, width);
                let stray = |c: &char| {
                    let turns = ['\u{202e}', '\u{2066}', '\u{feff}'].contains(c);
                    turns || (c.is_control() && *c != '\n')
                };
                assert_eq!(drawn.chars().find(stray), None, "{drawn}");
                let widest = drawn.lines().map(UnicodeWidthStr::width).max().unwrap();
                assert!(widest <= width.max(30), "{width}:\n{drawn}");
                let mends = drawn.matches("  Mend it: ").count();
                assert_eq!(mends, found.len().min(40), "{drawn}");
            }
        }
    }
}

/// A text in a deck that would steer the terminal never becomes part of a card.
#[test]
fn control_characters_in_texts_are_a_mistake() {
    let deck = |line: &str| {
        format!(
            "title = \"T\"\nsource = \"s\"\ntempo = 100\n[[card]]\nid = \"a\"\ntitle = \"A\"\nstates = \"neither\"\n\
             concepts = [\"tumbao\"]\n{line}\ngrid = \"\"\"\ncount | 1 & 2 & 3 & 4 & |\nconga | H T S T H T O O |\n\"\"\"\n"
        )
    };
    for line in [
        "about = \"\\u001b[2J\"",
        "styles = [\"salsa\", \"\\u0007\"]",
        "often = { \"a\\u001bb\" = 8 }",
        "about = \"back\\rto the left\"",
    ] {
        let found = found("t.toml", &deck(line));
        assert_eq!(found.len(), 1, "{line}: {found:?}");
        assert!(found[0].message.contains("control character"), "{found:?}");
    }
    // Texts of several lines are texts, in files from any system.
    let lines = deck("about = \"\"\"One line.\nAnother\tone.\"\"\"");
    assert_eq!(found("t.toml", &lines), []);
    assert_eq!(found("t.toml", &lines.replace('\n', "\r\n")), []);
}
