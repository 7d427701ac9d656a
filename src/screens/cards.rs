//! The list of decks and cards: choose, search, put into the lesson.

use super::help;
use super::page::{Keys, ListRow, Page, PageList, Paragraph};
use crate::question::Choice;
use crate::rhythm::counted;
use crossterm::event::{KeyCode, KeyEvent};
use serde::Serialize;

/// A card as the list has it.
#[derive(Clone, Debug, Default, PartialEq, Eq, Serialize)]
pub struct CardEntry {
    /// `deck/name`.
    #[serde(rename = "card")]
    pub id: String,
    /// Its name as players read it.
    pub title: String,
    /// The title of its deck.
    pub deck: String,
    /// What else a search finds it by: what it says, and its concepts.
    #[serde(skip)]
    pub words: String,
    /// Is it in the lesson?
    pub lesson: bool,
    /// Was it met?
    pub met: bool,
    /// Is it held?
    pub held: bool,
}

impl CardEntry {
    /// All of `words` (in small letters) are somewhere in it.
    fn has(&self, words: &str) -> bool {
        let text = format!("{} {} {} {}", self.id, self.title, self.deck, self.words);
        let text = text.to_lowercase();
        words.split_whitespace().all(|word| text.contains(word))
    }

    /// How it stands: in the lesson, held, met.
    pub fn state(&self) -> String {
        let words = [
            (self.lesson, "lesson"),
            (self.held, "held"),
            (self.met && !self.held, "met"),
        ];
        let words: Vec<&str> = words.into_iter().filter(|w| w.0).map(|w| w.1).collect();
        words.join(", ")
    }
}

/// Which cards are listed, and which one is chosen.
#[derive(Clone, Debug, Default)]
pub struct CardList {
    /// All cards, those of a deck one after the other.
    pub entries: Vec<CardEntry>,
    /// Only those of the lesson.
    pub only_lesson: bool,
    search: String,
    typing: bool,
    /// The number of the chosen one among those listed.
    chosen: usize,
    /// Something that the player should know, until the next key.
    pub notice: Option<String>,
}

/// What a key asks for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum CardListAction {
    /// Nothing but what the list did by itself.
    Nothing,
    /// Look at the card of this id.
    Look(String),
    /// Put the card into the lesson, or take it out.
    Lesson(String),
    /// Keys and words.
    Help,
    /// Leave the list.
    Leave,
}

/// What each key does, for the help page.
pub const HELP: &[(&str, &str)] = &[
    (
        "up, down",
        "the previous card, the next; the wheel does too",
    ),
    ("Tab", "the next deck; with shift, the previous one"),
    ("PgUp, PgDn", "ten cards up or down"),
    (
        "Enter",
        "look at the card and hear it; a second click does too",
    ),
    (
        "/",
        "search titles, ids, concepts and what the cards say; Esc ends it",
    ),
    ("l", "into this week's lesson, or out of it"),
    ("Esc", "back"),
];

/// The key that puts a card into the lesson, or takes it out if it is `inside`.
pub(super) fn lesson_choice(inside: bool) -> Choice {
    let way = if inside { "out of" } else { "into" };
    Choice::new('l', format!("{way} the lesson"))
}

/// Cards that PgUp and PgDn go over.
const LEAP: isize = 10;

impl CardList {
    /// The list at its first card.
    pub fn new(entries: Vec<CardEntry>, only_lesson: bool) -> CardList {
        CardList {
            entries,
            only_lesson,
            ..CardList::default()
        }
    }

    /// The same list, with only the cards that have all of these words.
    pub fn narrowed(self, words: &str) -> CardList {
        CardList {
            search: words.into(),
            ..self
        }
    }

    /// The cards that are listed.
    pub fn listed(&self) -> Vec<&CardEntry> {
        let words = self.search.to_lowercase();
        let fits = |e: &&CardEntry| (e.lesson || !self.only_lesson) && e.has(&words);
        self.entries.iter().filter(fits).collect()
    }

    /// The chosen card.
    pub fn chosen(&self) -> Option<&CardEntry> {
        self.listed().get(self.chosen).copied()
    }

    fn go(&mut self, by: isize) {
        let last = self.listed().len().saturating_sub(1);
        self.chosen = self.chosen.saturating_add_signed(by).min(last);
    }

    /// To the first card of the next deck, or of this one or the one before.
    fn turn(&mut self, forward: bool) {
        let listed = self.listed();
        let starts = |n: &usize| *n == 0 || listed[*n].deck != listed[n - 1].deck;
        let to = match forward {
            true => (self.chosen + 1..listed.len()).find(starts),
            false => (0..self.chosen).rev().find(starts),
        };
        self.chosen = to.unwrap_or(self.chosen);
    }

    /// A click on a row of [`CardList::page`]: the first chooses, the second looks.
    pub fn click(&mut self, row: usize) -> CardListAction {
        let (rows, _) = self.rows();
        let nth = rows.iter().take(row).filter(|r| !r.heading).count();
        if nth == self.chosen {
            return self.key(KeyCode::Enter.into());
        }
        self.chosen = nth;
        CardListAction::Nothing
    }

    /// Takes a key.
    pub fn key(&mut self, key: KeyEvent) -> CardListAction {
        self.notice = None;
        if self.typing && self.typed(key.code) {
            return CardListAction::Nothing;
        }
        let id = self.chosen().map(|e| e.id.clone());
        match (key.code, id) {
            (KeyCode::Up, _) => self.go(-1),
            (KeyCode::Down, _) => self.go(1),
            (KeyCode::PageUp, _) => self.go(-LEAP),
            (KeyCode::PageDown, _) => self.go(LEAP),
            (KeyCode::Home, _) => self.go(isize::MIN),
            (KeyCode::End, _) => self.go(isize::MAX),
            (KeyCode::Tab | KeyCode::Right, _) => self.turn(true),
            (KeyCode::BackTab | KeyCode::Left, _) => self.turn(false),
            (KeyCode::Enter, Some(id)) => return CardListAction::Look(id),
            (KeyCode::Char('l' | 'L'), Some(id)) => return CardListAction::Lesson(id),
            (KeyCode::Char('/'), _) => self.typing = true,
            (KeyCode::Char('?'), _) => return CardListAction::Help,
            (KeyCode::Esc, _) if !self.search.is_empty() => self.search.clear(),
            (KeyCode::Esc, _) => return CardListAction::Leave,
            (KeyCode::Enter | KeyCode::Char('l' | 'L'), None) => {}
            (other, _) => self.notice = Some(help::not_a_key(other)),
        }
        CardListAction::Nothing
    }

    /// Takes a key of the search; false if it is one of the list.
    fn typed(&mut self, key: KeyCode) -> bool {
        match key {
            KeyCode::Char(letter) => self.search.push(letter),
            KeyCode::Backspace => {
                self.search.pop();
            }
            KeyCode::Enter => self.typing = false,
            KeyCode::Esc => {
                self.typing = false;
                self.search.clear();
            }
            _ => return false,
        }
        self.chosen = 0;
        true
    }

    /// The rows with the headings of the decks, and the number of the chosen one.
    fn rows(&self) -> (Vec<ListRow>, usize) {
        let listed = self.listed();
        let mut rows = Vec::new();
        let mut at = 0;
        for (n, entry) in listed.iter().enumerate() {
            if n == 0 || listed[n - 1].deck != entry.deck {
                rows.push(ListRow {
                    text: entry.deck.clone(),
                    heading: true,
                    ..ListRow::default()
                });
            }
            if n == self.chosen {
                at = rows.len();
            }
            rows.push(ListRow {
                text: entry.title.clone(),
                detail: format!("{}  {}", entry.state(), entry.id),
                heading: false,
            });
        }
        (rows, at)
    }

    /// The list as a page.
    pub fn page(&self) -> Page<'static> {
        let (rows, chosen) = self.rows();
        let count = self.listed().len();
        let search = match (self.typing, self.search.as_str()) {
            (true, words) => format!("Search: {words}_"),
            (false, "") => String::new(),
            (false, words) => format!("Search: {words}  (Esc shows all again)"),
        };
        let body = match (count, self.only_lesson) {
            (1.., _) => None,
            (0, true) => Some(
                "The lesson is empty. Look at all cards and press l on one, or put a deck of your own into the \
                 decks folder.",
            ),
            (0, false) => Some("No card has all of these words."),
        };
        let body = body.map(Paragraph::plain);
        let inside = self.chosen().is_some_and(|e| e.lesson);
        let place = match self.only_lesson {
            true => "this week's lesson",
            false => "cards",
        };
        let head = Some(Paragraph::strong(search)).filter(|p| !p.text.is_empty());
        Page {
            place: place.into(),
            left: counted(count, "card"),
            head: head.into_iter().collect(),
            list: Some(PageList { rows, chosen }),
            body: body.into_iter().collect(),
            choices: vec![Choice::new('/', "search"), lesson_choice(inside)],
            notice: self.notice.clone(),
            keys: Keys::of_list((count > 0).then_some("look at it")),
            ..Page::default()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn list() -> CardList {
        let entry = |deck: &str, name: &str, words: &str| CardEntry {
            id: format!("{deck}/{name}"),
            title: name.to_uppercase(),
            deck: deck.into(),
            words: words.into(),
            lesson: name == "corner",
            ..CardEntry::default()
        };
        CardList {
            entries: vec![
                entry("clave", "son", "the son clave"),
                entry("clave", "rumba", "later on the three side"),
                entry("street", "corner", "bombo and open tone"),
                entry("street", "hold", "bombo"),
            ],
            ..CardList::default()
        }
    }

    fn press(list: &mut CardList, keys: &[KeyCode]) -> Vec<CardListAction> {
        keys.iter().map(|key| list.key((*key).into())).collect()
    }

    fn chosen(list: &CardList) -> &str {
        list.chosen().map_or("", |e| e.id.as_str())
    }

    #[test]
    fn arrows_and_tab_go_through_cards_and_decks_and_stop_at_the_ends() {
        let mut list = list();
        press(&mut list, &[KeyCode::Up]);
        assert_eq!(chosen(&list), "clave/son");
        press(&mut list, &[KeyCode::Tab]);
        assert_eq!(chosen(&list), "street/corner");
        press(
            &mut list,
            &[KeyCode::Down, KeyCode::Down, KeyCode::PageDown],
        );
        assert_eq!(chosen(&list), "street/hold");
        press(&mut list, &[KeyCode::BackTab, KeyCode::BackTab]);
        assert_eq!(chosen(&list), "clave/son");
        press(&mut list, &[KeyCode::End]);
        assert_eq!(chosen(&list), "street/hold");
    }

    #[test]
    fn a_search_finds_cards_by_all_of_its_words_and_ends() {
        let mut list = list();
        let typed = |list: &mut CardList, text: &str| {
            for letter in text.chars() {
                list.key(KeyCode::Char(letter).into());
            }
        };
        typed(&mut list, "/bombo l");
        assert_eq!((list.listed().len(), chosen(&list)), (1, "street/hold"));
        let look = press(&mut list, &[KeyCode::Enter, KeyCode::Enter]);
        assert_eq!(look[1], CardListAction::Look("street/hold".into()));
        press(&mut list, &[KeyCode::Esc]);
        assert_eq!(list.listed().len(), 4);
        typed(&mut list, "/nothing");
        assert!(list.page().body[0].text.contains("No card"));
        assert_eq!(
            press(&mut list, &[KeyCode::Esc, KeyCode::Esc])[1],
            CardListAction::Leave
        );
    }

    #[test]
    fn a_click_chooses_and_a_second_one_looks() {
        let mut list = list();
        // Rows: clave, son, rumba, street, corner, hold.
        assert_eq!(list.click(4), CardListAction::Nothing);
        assert_eq!(chosen(&list), "street/corner");
        assert_eq!(list.click(4), CardListAction::Look("street/corner".into()));
        assert_eq!(list.page().list.map(|l| l.chosen), Some(4));
    }

    #[test]
    fn the_lesson_alone_is_listed_and_l_changes_it() {
        let mut list = CardList {
            only_lesson: true,
            ..list()
        };
        assert_eq!(list.listed().len(), 1);
        let asked = press(&mut list, &[KeyCode::Char('l')]);
        assert_eq!(asked, [CardListAction::Lesson("street/corner".into())]);
        list.entries.iter_mut().for_each(|e| e.lesson = false);
        assert!(list.page().body[0].text.starts_with("The lesson is empty"));
        assert_eq!(
            press(&mut list, &[KeyCode::Enter]),
            [CardListAction::Nothing]
        );
        press(&mut list, &[KeyCode::Char('j')]);
        assert!(
            list.page()
                .notice
                .is_some_and(|n| n.starts_with("j does nothing"))
        );
    }
}
