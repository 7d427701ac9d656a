//! Cards for tests, one of each sort that decks may hold.

use crate::clave::{Clave, Direction, Family, Side};
use crate::deck::{Card, Deck, PhrasePlace, States, WordChoice};
use crate::rhythm::notation::read_block;
use crate::rhythm::{Grid, Score, Tempo};

pub(crate) fn score(block: &str) -> Score {
    let (score, problems) = read_block(block);
    assert!(problems.is_empty(), "{problems:?}");
    score.expect("a block without problems has a score")
}

pub(crate) fn card(id: &str, clave: Option<Clave>, states: States, score: Score) -> Card {
    Card {
        id: format!("yard/{id}"),
        title: id.replace('-', " "),
        about: "Played in the yard.".into(),
        grid: score.grid,
        score,
        clave,
        states,
        tempo: (Tempo::new(120.0), Tempo::new(200.0)),
        place: None,
        styles: Vec::new(),
        concepts: vec!["yard".into()],
        kinds: Vec::new(),
        source: "common practice, no source".into(),
        needs: Vec::new(),
        school: None,
        rudiment: None,
        thin: Vec::new(),
        thin_from: None,
        often: Vec::new(),
        choice: None,
    }
}

pub(crate) fn son(direction: Direction) -> Option<Clave> {
    Some(Clave {
        family: Family::Son,
        direction,
    })
}

const E1: &str = "count | 1 & 2 & 3 & 4 & |\n";
const E2: &str = "count | 1 & 2 & 3 & 4 & | 1 & 2 & 3 & 4 & |\n";

/// Variations with their place in the phrase and how often they come: one for a side, one of two bars, one for either
/// side. And one with a thinner form.
fn remarks() -> Vec<Card> {
    use Direction::{ThreeTwo, TwoThree};
    let e1 = |rows: &str| score(&format!("{E1}{rows}"));
    let two = score(&format!(
        "{E2}conga | H T S T O T T O | H T T O H T O T |\nhand  | L L R L R L L R | L L L R L L R L |"
    ));
    let place = |bar, phrase| Some(PhrasePlace { bar, of: 8, phrase });
    let often = |n| vec![("salsa".to_string(), 2 * n), ("latin jazz".to_string(), n)];
    vec![
        Card {
            place: place(7, Some(TwoThree)),
            often: often(8),
            ..card(
                "corner",
                son(TwoThree),
                States::Bar(Side::Two),
                e1("conga | H T S T O T O O |\nhand  | L L R L R L R R |"),
            )
        },
        Card {
            place: place(7, Some(TwoThree)),
            often: often(16),
            ..card("call-and-answer", son(TwoThree), States::Direction, two)
        },
        Card {
            place: place(8, None),
            often: often(4),
            ..card(
                "slap-for-open",
                son(ThreeTwo),
                States::Neither,
                e1("conga | H T S T H T S O |\nhand  | L L R L L L R R |"),
            )
        },
        Card {
            thin: vec![5],
            tempo: (Tempo::new(120.0), Tempo::new(230.0)),
            ..card(
                "tips-in-a-row",
                son(TwoThree),
                States::Bar(Side::Two),
                e1("conga | H T S T O T T O |\nhand  | L L R L R L L R |"),
            )
        },
    ]
}

/// One card of each sort.
pub(crate) fn deck() -> Deck {
    use Direction::{ThreeTwo, TwoThree};
    let e1 = |rows: &str| score(&format!("{E1}{rows}"));
    let e2 = |rows: &str| score(&format!("{E2}{rows}"));
    let mut cards = vec![
        card(
            "plain-tumbao",
            son(TwoThree),
            States::Neither,
            e1("conga | H T S T H T O O |\nhand  | L L R L L L R R |"),
        ),
        card(
            "open-tones-in-clave",
            son(ThreeTwo),
            States::Direction,
            e2(
                "conga | H T S T H T O T | H T S T H T O O |\nhand  | L L R L L L R L | L L R L L L R R |",
            ),
        ),
        card(
            "answer-on-two-and-three",
            son(TwoThree),
            States::Bar(Side::Two),
            e1("conga | H T S T S T H T |\nhand  | L L R L R L L L |"),
        ),
        card(
            "bombo-and-four",
            son(ThreeTwo),
            States::Bar(Side::Three),
            e1("conga | H T . O T T S . |\nhand  | L L . R L L R . |"),
        ),
        card(
            "shell",
            son(TwoThree),
            States::Direction,
            e2("shell | x . x . x x . x | x . x x . x . x |"),
        ),
        card(
            "bass",
            son(TwoThree),
            States::Neither,
            e1("bass | . . . 5 . . 8 . |"),
        ),
        card(
            "low-drum",
            son(ThreeTwo),
            States::Direction,
            e2(
                "conga | H T S . . T O O | H T S T H T O O |\ntumba | . . . O O . . . | . . . . . . . . |\nhand  | L L R R R L R R | L L R L L L R R |",
            ),
        ),
        card(
            "three-bars",
            son(TwoThree),
            States::Direction,
            score(
                "count | 1 & 2 & 3 & 4 & | 1 & 2 & 3 & 4 & | 1 & 2 & 3 & 4 & |\nconga | H T S T S T H T | H T S O T T S T | H T S T H T O O |\nhand  | L L R L R L L L | L L R R L L R L | L L R L L L R R |",
            ),
        ),
    ];
    for (id, family, grid) in [
        ("son-clave", Family::Son, Grid::Eighths),
        ("rumba-clave", Family::Rumba, Grid::Sixteenths),
        ("six-eight-clave", Family::Rumba, Grid::SixEight),
    ] {
        let clave = Clave {
            family,
            direction: ThreeTwo,
        };
        let mut only = Score::empty(grid);
        only.set_line(clave.line(grid));
        cards.push(card(id, Some(clave), States::Direction, only));
    }
    cards.extend(remarks());
    let mut talk = card(
        "why-not-turn",
        None,
        States::Neither,
        Score::empty(Grid::Eighths),
    );
    talk.choice = Some(WordChoice {
        ask: "The arrangement has a phrase of nine bars. What does the clave do?".into(),
        right: "It goes on; the next phrase starts on the other side.".into(),
        wrong: vec![
            "It starts again with the phrase.".into(),
            "It rests for a bar.".into(),
        ],
        why: "The clave never turns over; the melody does.".into(),
    });
    cards.push(talk);
    Deck {
        id: "yard".into(),
        title: "Yard".into(),
        about: "For tests.".into(),
        needs: Vec::new(),
        school: None,
        cards,
    }
}
