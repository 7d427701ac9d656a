//! Rules that hold while a deck is read: what breaks one of them never becomes a card.

use super::Rule;
use crate::deck::diagnostic::Severity::Mistake;

macro_rules! rules {
    ($($id:ident $name:literal $title:literal $page:literal)*) => {
        $(#[doc = $title] pub static $id: Rule = Rule { name: $name, severity: Mistake, title: $title, page: $page, check: None };)*
        /// Every rule of reading.
        pub(super) static READING: &[&Rule] = &[$(&$id),*];
    };
}

rules! {
SYNTAX "syntax" "this is not TOML" "\
A deck is a TOML file. Text stands in quotes, a grid between two lines of three quotes, a list in square brackets:

    title = \"Street corner\"
    tempo = [160, 200]
    grid = \"\"\"
    count | 1 & 2 & 3 & 4 & |
    conga | H T S T H T O O |
    \"\"\"

Most often a closing quote is missing. Cards before and after the mistake are still read."

UNKNOWN_KEY "unknown-key" "unknown key" "\
A word to the left of `=` that no deck or card has, most often a slip of the pen. At the top of a deck: id, title,
about, needs, school, drums, and for all its cards source, styles, tempo. In a card: id, title, about, clave, states,
tempo, place, styles, concepts, kinds, source, grid, needs, school, rudiment, thin, thin_from, often, and for a
card of words ask, right, wrong, why."

MISSING_KEY "missing-key" "something is missing" "\
A deck needs a title. A card needs id, title, concepts and source; a card with a grid also states and tempo, and clave
where it states a side or a direction; a card of words needs ask, right, wrong and why. A card needs a grid or words.
A source or tempo at the top holds for every card that has none of its own."

VALUE "value" "a value of the wrong sort" "\
The key is known, but what is to the right of it is not what it takes. The message says what it takes. Some examples:

    tempo = [160, 200]                 quarter notes a minute; dotted quarters in 6/8
    clave = \"son 2-3\"                  son or rumba, 2-3 or 3-2: the clave under the first bar
    states = \"two side\"                two side, three side, direction, neither
    place = \"bar 7 of 8 in 2-3\"
    thin = [\"1&\", \"2:3&\"]              the 1& of the first bar and the 3& of the second
    thin_from = 200                    these strokes become rests from 200 up
    often = { salsa = 16 }             usually at most once in 16 bars
    school = \"low drum: three side\"    subject: way"

CONTROL "control-character" "a character that a terminal would obey" "\
Control characters are not printed but obeyed: they move the cursor, clear the screen or change the title of the window.
No text of a deck may hold one, not even written as `\\u001b`: neither the escape character (U+001B) nor any other below
U+0020, nor U+007F to U+009F. Texts in sentences (about, source, ask, right, wrong, why) may run over several lines and
hold tabs; titles, concepts and all other names stay on one line. The program itself never sends control characters on:
it shows their codes instead."

TOO_LONG "too-long" "more than a deck may hold" "\
A deck has limits, so that nobody has to wait for a file that went wrong: 64 MiB in a file; 100,000 cards in a deck; \
1,000 bars
in a grid; 120 characters in a title, a concept or another name; 4,000 characters in a text in sentences (about, source,
ask, right, wrong, why); 100 entries in a list. Anything longer is not used. Make several cards or decks of it."

ID "name" "not a usable name" "\
The id of a deck or card is what its history hangs on, so it is kept plain: small letters, digits and hyphens, such as
`corner-7`. Titles may be anything and may change; the id stays."

DUPLICATE "duplicate-name" "a name used twice" "\
Two cards of a deck have the same id. The history of one would be mixed with that of the other, so only the first is
used. Give the second an id of its own."

TEMPO "tempo-range" "an impossible tempo range" "\
`tempo` is the slowest and the fastest tempo at which the card is asked, slowest first, between 20 and 400 beats a
minute. The beat is the quarter note in 4/4 and the dotted quarter note in 6/8."

GRID_ROW "grid-row" "not a row of the grid" "\
Each line of a grid is the name of a row, then `|`, then its cells. Rows are count; the drums quinto, conga, tumba;
hand and mark; and the band: clave, bell, shell, bass, piano, shaker, click. A row appears once in each block of rows; a
long phrase goes on below, after an empty line."

GRID_COUNT "grid-count" "the count row does not count" "\
The count row decides how a bar is divided:

    count | 1 & 2 & 3 & 4 & |                      eighths
    count | 1 e & a 2 e & a 3 e & a 4 e & a |      sixteenths
    count | 1 & a 2 & a 3 & a 4 & a |              triplets
    count | 1 2 3 4 5 6 |                          6/8"

BAR_LENGTH "bar-length" "a bar of the wrong length" "\
Every bar of every row has as many pulses as the count row counts: 8 eighths, 16 sixteenths, 12 triplets, 6 in 6/8.
A rest takes up a place too: it is written `.`."

ROW_LENGTH "row-length" "rows of different length" "\
The drum rows, the hand row and the mark row belong to one player and are equally long. A row of the band may be shorter
and then goes round; it has to fit a whole number of times. In a phrase that is written in several blocks of rows, all
rows of a block are equally long."

STROKE_LETTER "stroke-letter" "a letter that means nothing here" "\
Drum rows: O open tone, S slap, C closed slap, M muffled tone, B bass, H heel, T tip. The hand row: L, R, and ? where
the hand is left open. The mark row: > accent, ( ghost. The band: x hit, >x accent, (x) ghost; bass and piano also 1 to 8,
the degree of the scale over the chord. A rest is `.` everywhere."

TWO_STROKES "two-strokes" "two drums struck at once" "\
At most one stroke falls on a pulse, counting all drum rows: the grid says which hand plays where, one stroke after the
other."

HAND_ROW "hand-row" "hands and strokes do not match" "\
Where a grid has a hand row, each stroke has a hand under it and each rest has `.`. If many places are wrong at once,
the row is probably shifted. `?` leaves a hand open on purpose."

MARK_ROW "mark-row" "a mark without a stroke" "\
An accent or a ghost belongs to a stroke or a hit, never to a rest. In the mark row `>` is an accent and `(` a
ghost; in the other rows a mark may come before its letter: `>O`, `(T)`."

EMPTY_GRID "empty-grid" "nothing plays" "\
A grid needs at least one row with a stroke or a hit in it: a drum row such as `conga | H T S T H T O O |`, or a row of the
band. The count row alone is silent, and so is a row of rests."

CLAVE_ROW "clave-row" "the clave row says something else" "\
A clave row may be written under the strokes, as a help to the reader. It has to be the clave that the card names,
beginning on the side that the card names, so that a card cannot teach the wrong side by a slip. `clave` names the clave under the
first bar: `son 2-3` begins with the two side."

RUDIMENT "rudiment" "hands that are not those of the rudiment" "\
`rudiment` names the sticking that is the idea of a card: its hands are then right by definition and no others are, and
the question calls them by that name. It needs a hand row with exactly this sticking, led by either hand, as many times
round as the strokes of the card need:

    rudiment = \"single paradiddle\"
    grid = \"\"\"
    count | 1 & 2 & 3 & 4 & |
    conga | O O O O O O O O |
    hand  | R L R R L R L L |
    \"\"\"

Names: single stroke roll, double stroke roll, triple stroke roll, six stroke roll, single, double and triple paradiddle,
single paradiddle-diddle, inverted paradiddle. If the hands are simply the ones that work best, leave `rudiment` out."

SIDE "side" "side and grid do not go together" "\
`states = \"two side\"` and `\"three side\"` are for a single bar that belongs to one side of the clave, and the clave under
that bar has to begin with the same side. `states = \"direction\"` is for two bars or more that follow the clave. A part
that goes with either side states `neither`."

PLACE "place" "a bar of the other side" "\
`place = \"bar 7 of 8 in 2-3\"` says where in a phrase the card comes. In a phrase that begins 2-3 the odd bars are the two side
and the even bars the three side; in 3-2 it is the other way round. The side of that bar has to be the side of the
clave under the card's first bar, and the card has to end within the phrase."

THIN "thin" "a thinner form that does not fit" "\
`thin` names strokes that may become rests at fast tempos, by their counts: `[\"1&\", \"3&\"]`; in the second bar
`\"2:1&\"`. There has to be a stroke on each of them, and something has to be left. They should be light strokes (heel,
tip or ghost), since the groove lives on the strong ones.

The thinner form is played from the tempo at which the hands no longer get through every stroke. `thin_from = 200` may
make that a little later: above the slowest tempo of the card, and at most its fastest. The drill asks for it only above
that tempo."

CHOICE "words" "a card of words that does not ask" "\
A card of words has `ask`, the `right` answer, one to five `wrong` ones and `why`, the reason. All answers differ. A
card has either a grid or words, so that the answer is not there beside the question." }
