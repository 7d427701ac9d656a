//! One stroke: drum, tone, weight, hand.

use serde::{Deserialize, Serialize};

/// The sound that a hand gets out of a drum. The letters are those that players write.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Tone {
    /// Open tone, `O`: fingers at the edge, the head rings.
    Open,
    /// Slap, `S`: the fingers snap at the edge and come off, a sharp crack.
    Slap,
    /// Closed slap, `C`: the same with the fingers left on the head, a dry crack.
    ClosedSlap,
    /// Muffled tone, `M`: an open tone pressed into the head.
    Muffled,
    /// Bass, `B`: the palm in the centre.
    Bass,
    /// Heel, `H`: the heel of the hand, quiet.
    Heel,
    /// Tip, `T`: the finger tips, quiet.
    Tip,
}

impl Tone {
    /// Every tone there is.
    pub const ALL: [Tone; 7] = [
        Tone::Open,
        Tone::Slap,
        Tone::ClosedSlap,
        Tone::Muffled,
        Tone::Bass,
        Tone::Heel,
        Tone::Tip,
    ];

    /// The letter of the trade.
    pub const fn letter(self) -> char {
        match self {
            Tone::Open => 'O',
            Tone::Slap => 'S',
            Tone::ClosedSlap => 'C',
            Tone::Muffled => 'M',
            Tone::Bass => 'B',
            Tone::Heel => 'H',
            Tone::Tip => 'T',
        }
    }

    /// The tone of a letter; `None` for any other character.
    pub fn from_letter(letter: char) -> Option<Tone> {
        Tone::ALL.into_iter().find(|t| t.letter() == letter)
    }

    /// The name in words.
    pub const fn name(self) -> &'static str {
        match self {
            Tone::Open => "open tone",
            Tone::Slap => "slap",
            Tone::ClosedSlap => "closed slap",
            Tone::Muffled => "muffled tone",
            Tone::Bass => "bass",
            Tone::Heel => "heel",
            Tone::Tip => "tip",
        }
    }
}

/// One of the player's hands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Hand {
    /// Left hand, `L` in a hand row.
    Left,
    /// Right hand, `R` in a hand row.
    Right,
}

impl Hand {
    /// Both hands.
    pub const ALL: [Hand; 2] = [Hand::Left, Hand::Right];

    /// `L` or `R`.
    pub const fn letter(self) -> char {
        match self {
            Hand::Left => 'L',
            Hand::Right => 'R',
        }
    }

    /// The hand of a letter; `None` for any other character.
    pub fn from_letter(letter: char) -> Option<Hand> {
        Hand::ALL.into_iter().find(|h| h.letter() == letter)
    }

    /// `left` or `right`.
    pub const fn name(self) -> &'static str {
        match self {
            Hand::Left => "left",
            Hand::Right => "right",
        }
    }

    /// The hand that it is not.
    pub const fn other(self) -> Hand {
        match self {
            Hand::Left => Hand::Right,
            Hand::Right => Hand::Left,
        }
    }
}

/// A drum of the player's set, from high to low.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Drum {
    /// The highest of the three, the lead drum.
    Quinto,
    /// The middle one, that plays the tumbao.
    Conga,
    /// The low drum.
    Tumbadora,
}

impl Drum {
    /// The set, from high to low.
    pub const ALL: [Drum; 3] = [Drum::Quinto, Drum::Conga, Drum::Tumbadora];

    /// The row name in decks and on screen.
    pub const fn name(self) -> &'static str {
        match self {
            Drum::Quinto => "quinto",
            Drum::Conga => "conga",
            Drum::Tumbadora => "tumba",
        }
    }

    /// The drum in a sentence.
    pub const fn spoken(self) -> &'static str {
        match self {
            Drum::Tumbadora => "low drum",
            other => other.name(),
        }
    }

    /// The prefix letter in one-line notation: `q`, `c`, `t`.
    pub const fn prefix(self) -> char {
        match self {
            Drum::Quinto => 'q',
            Drum::Conga => 'c',
            Drum::Tumbadora => 't',
        }
    }

    /// The drum of a prefix letter; `None` for any other character.
    pub fn from_prefix(letter: char) -> Option<Drum> {
        Drum::ALL.into_iter().find(|d| d.prefix() == letter)
    }
}

/// How strongly a stroke is played, from weak to strong.
#[derive(
    Clone, Copy, Debug, Default, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize,
)]
#[serde(rename_all = "kebab-case")]
pub enum Weight {
    /// Barely touched, `(T)` in a row.
    Ghost,
    /// As strong as the strokes around it.
    #[default]
    Plain,
    /// Stronger than the strokes around it, `>O` in a row.
    Accent,
}

impl Weight {
    /// The sign of a mark row.
    pub(super) const fn mark(self) -> char {
        match self {
            Weight::Ghost => '(',
            Weight::Plain => '.',
            Weight::Accent => '>',
        }
    }

    /// The weight of such a sign, an accent or a ghost; `None` for any other character.
    pub(super) fn from_mark(mark: char) -> Option<Weight> {
        let marked = [Weight::Ghost, Weight::Accent];
        marked.into_iter().find(|w| w.mark() == mark)
    }

    /// What is so strong, with its mark at its letters: `>O`, `(T)`.
    pub(super) fn written(self, letters: &str) -> String {
        match self {
            Weight::Ghost => format!("({letters})"),
            Weight::Plain => letters.to_string(),
            Weight::Accent => format!(">{letters}"),
        }
    }
}

/// One stroke of a hand on a drum. `hand` is `None` where the sticking is left open.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub struct Stroke {
    /// The drum that is struck.
    pub drum: Drum,
    /// How it is struck.
    pub tone: Tone,
    /// How strongly.
    pub weight: Weight,
    /// With which hand, where that is settled.
    pub hand: Option<Hand>,
}

impl Stroke {
    /// A plain stroke on `drum` with the hand left open.
    pub const fn new(drum: Drum, tone: Tone) -> Stroke {
        Stroke {
            drum,
            tone,
            weight: Weight::Plain,
            hand: None,
        }
    }

    /// The stroke with its article: `the slap`, `the ghost open tone on the low drum`.
    pub fn spoken(self) -> String {
        let weight = match self.weight {
            Weight::Ghost => "ghost ",
            Weight::Accent => "accented ",
            Weight::Plain => "",
        };
        let name = self.tone.name();
        match self.drum {
            Drum::Conga => format!("the {weight}{name}"),
            other => format!("the {weight}{name} on the {}", other.spoken()),
        }
    }
}
