//! Which strokes of a bar can be left blank: what there is left to know, given the hands that are shown, the drums and
//! the tempo.

use super::scene;
use crate::hands::{self, Player};
use crate::rhythm::{Hand, Pattern, Stroke, Tempo};
use crate::sound::Take;

/// Most strokes of a bar that are looked at together.
const WINDOW: usize = 8;
/// Most blanks among hands that are shown.
const FEW: usize = 4;
/// The largest share of all ways to fill a few blanks that may be right; the next is the same for a whole bar: our
/// choice.
const SHARE_OF_FEW: f64 = 0.25;
const SHARE_OF_ALL: f64 = 0.125;
/// Most rows that are right where there are two drums: our choice.
const MOST_ROWS: usize = 2;

/// The pattern with a hand on every stroke: its own, and where it has none, what the hands find easiest. `None`
/// where nothing is struck.
pub(super) fn with_all_hands(drums: &Pattern, tempo: Tempo, player: &Player) -> Option<Pattern> {
    if drums.has_full_sticking() {
        return Some(drums.clone());
    }
    let found = hands::stick(drums, tempo, player).hands;
    Some(drums.with_each_hand(|p, _| found[p])).filter(Pattern::has_full_sticking)
}

/// Without the hands of these pulses.
pub(super) fn without_hands(drums: &Pattern, pulses: &[usize]) -> Pattern {
    drums.with_each_hand(|p, s| s.hand.filter(|_| !pulses.contains(&p)))
}

/// With these hands at these pulses.
pub(super) fn filled(drums: &Pattern, pulses: &[usize], row: &[Hand]) -> Pattern {
    let of = |pulse: usize| {
        let at = pulses.iter().position(|p| *p == pulse)?;
        row.get(at).copied()
    };
    drums.with_each_hand(|p, s| of(p).or(s.hand))
}

/// With the stroke of a pulse in the other hand.
pub(super) fn swapped(drums: &Pattern, pulse: usize) -> Pattern {
    let other = |p: usize| move |hand: Hand| if p == pulse { hand.other() } else { hand };
    drums.with_each_hand(|p, s| s.hand.map(other(p)))
}

/// Tempos at which a card may be asked about its hands: the one of the set-up, the rest of its range upwards and
/// downwards, and a little beyond it for hands that are slower or faster than most.
pub(super) fn tempos(range: (Tempo, Tempo), tempo: Tempo) -> Vec<Tempo> {
    let (low, high) = range;
    let up = [0.34, 0.67, 1.0].map(|part| tempo.toward(high.max(tempo), part).round());
    let down = [0.34, 0.67, 1.0].map(|part| tempo.toward(low.min(tempo), part).round());
    let slower = [0.85, 0.7, 0.55].map(|part| (low * part).round());
    let faster = [1.15, 1.3].map(|part| (high * part).round());
    let mut tempos = vec![tempo];
    for next in [&up[..], &down, &slower, &faster].concat() {
        if next >= Take::SLOWEST && !tempos.contains(&next) {
            tempos.push(next);
        }
    }
    tempos
}

/// Is there a stroke that only one hand fits, the others as they are, at some tempo of the range? Reckoned for a
/// practised right-hander, as cards are written.
pub(super) fn tells_hands(drums: &Pattern, range: (Tempo, Tempo)) -> bool {
    let player = Player::default();
    let (bars, per) = (scene::speaking_bars(drums), drums.grid().pulses_per_bar());
    let middle = range.0.toward(range.1, 0.5).round();
    tempos(range, middle).into_iter().any(|tempo| {
        let Some(own) = with_all_hands(drums, tempo, &player) else {
            return false;
        };
        let right = |p: &Pattern| hands::judge(p, tempo, &player).is_ok();
        let asked = |p: usize| bars.contains(&(p / per));
        let mut strokes = own.strokes().map(|(p, _)| p);
        right(&own) && strokes.any(|p| asked(p) && !right(&swapped(&own, p)))
    })
}

/// The hands of a player who follows a rule of thumb: heel and tip left, the rest right; without heel and tip the hands
/// take turns from the right. It must not answer the questions too often.
fn thumb(strokes: &[Stroke]) -> Vec<Hand> {
    if !strokes.iter().any(|s| s.tone.is_heel_or_tip()) {
        let turns = [Hand::Right, Hand::Left].into_iter().cycle();
        return turns.take(strokes.len()).collect();
    }
    let hand = |s: &Stroke| match s.tone.is_heel_or_tip() {
        true => Hand::Left,
        false => Hand::Right,
    };
    strokes.iter().map(hand).collect()
}

/// Strokes of a bar with every row of hands that is right for them, all others being as they are.
pub(super) struct Bar {
    /// Which bar, from 0.
    pub bar: usize,
    /// How many strokes the bar has.
    pub strokes: usize,
    /// Those that are looked at, in order.
    pub pulses: Vec<usize>,
    /// What can be left blank.
    pub options: Options,
    drums: usize,
    own: Vec<Hand>,
    rows: Vec<Vec<Hand>>,
    thumb: Vec<Hand>,
}

/// Sets of strokes that can be left blank, by their numbers in the bar.
#[derive(Clone, Debug, Default)]
pub(super) struct Options {
    /// Single strokes, a few, the whole bar.
    pub sizes: [Vec<Vec<usize>>; 3],
    against: Vec<Vec<usize>>,
}

impl Options {
    /// Is there nothing to ask?
    pub fn is_empty(&self) -> bool {
        self.sizes.iter().all(Vec::is_empty)
    }

    /// The most blanks that there can be.
    pub fn largest(&self) -> Option<&Vec<usize>> {
        let [one, few, all] = &self.sizes;
        let few = few.iter().max_by_key(|blank| blank.len());
        all.first().or(few).or(one.first())
    }

    /// Without single strokes where all of them are for one hand and there is more to ask: of such a part the one key
    /// would always be right.
    pub fn for_either_hand(mut self, bar: &Bar) -> Options {
        let [one, few, all] = &mut self.sizes;
        let hands: Vec<Hand> = one.iter().map(|blank| bar.own(blank[0])).collect();
        let more = !few.is_empty() || !all.is_empty();
        if more && hands.iter().all(|hand| *hand == hands[0]) {
            one.clear();
        }
        self
    }

    /// Those for which the rule of thumb gives no right row.
    pub fn against_thumb(&self) -> Options {
        let mut options = self.clone();
        let sizes = options.sizes.iter_mut();
        sizes.for_each(|of| of.retain(|blank| self.against.contains(blank)));
        options
    }
}

impl Bar {
    /// A bar of a pattern whose hands are all there, drawn among those that have something to ask; the first one where
    /// it is shown as written. `None` where no bar has, or the hands are not right themselves.
    pub fn drawn(
        drums: &Pattern,
        tempo: Tempo,
        player: &Player,
        as_written: bool,
        draw: &mut super::Draw,
    ) -> Option<Bar> {
        let bars = scene::speaking_bars(drums);
        let first = if as_written {
            0
        } else {
            draw.below(bars.len())
        };
        let start = draw.unit();
        if hands::judge(drums, tempo, player).is_err() {
            return None;
        }
        (0..bars.len()).find_map(|i| {
            let bar = bars[(first + i) % bars.len()];
            let pulses = of_bar(drums, bar);
            let over = pulses.len().saturating_sub(WINDOW);
            let from = match as_written {
                true => 0,
                false => (start * (over + 1) as f64) as usize,
            };
            let window = pulses.iter().skip(from).take(WINDOW).copied();
            let bar = Bar::new(drums, bar, window.collect(), tempo, player)?;
            (!bar.options.is_empty()).then_some(bar)
        })
    }

    /// The same strokes in another pattern. `None` where its hands are not right.
    pub fn of(&self, drums: &Pattern, tempo: Tempo, player: &Player) -> Option<Bar> {
        Bar::new(drums, self.bar, self.pulses.clone(), tempo, player)
    }

    fn new(
        drums: &Pattern,
        bar: usize,
        pulses: Vec<usize>,
        tempo: Tempo,
        player: &Player,
    ) -> Option<Bar> {
        let of_bar = of_bar(drums, bar);
        let strokes: Vec<Stroke> = of_bar.iter().filter_map(|p| drums.at(*p)).collect();
        let by_thumb = of_bar.iter().zip(thumb(&strokes));
        let by_thumb: Vec<Hand> = by_thumb
            .filter(|(p, _)| pulses.contains(p))
            .map(|(_, hand)| hand)
            .collect();
        let own: Option<Vec<Hand>> = pulses.iter().map(|p| drums.at(*p)?.hand).collect();
        let own = own?;
        let rows = hands::all_right(&without_hands(drums, &pulses), tempo, player);
        if !rows.contains(&own) {
            return None;
        }
        let mut bar = Bar {
            bar,
            strokes: of_bar.len(),
            pulses,
            options: Options::default(),
            drums: drums.drums().len(),
            own,
            rows,
            thumb: by_thumb,
        };
        bar.options = bar.options();
        Some(bar)
    }

    /// The hand of a stroke as it is.
    pub fn own(&self, stroke: usize) -> Hand {
        self.own[stroke]
    }

    /// Rows that are right where these strokes are blank and the others shown, the bar's own first.
    pub fn right(&self, blank: &[usize]) -> Vec<Vec<Hand>> {
        let shown = |row: &&Vec<Hand>| {
            let all = row.iter().zip(&self.own).enumerate();
            all.filter(|(i, _)| !blank.contains(i))
                .all(|(_, (a, b))| a == b)
        };
        let of = |row: &Vec<Hand>| blank.iter().map(|i| row[*i]).collect::<Vec<Hand>>();
        let own = of(&self.own);
        let mut right = vec![own.clone()];
        right.extend(self.rows.iter().filter(shown).map(of).filter(|r| *r != own));
        right
    }

    /// Every set of strokes that leaves something to know.
    fn options(&self) -> Options {
        let n = self.pulses.len();
        let mut options = Options::default();
        for set in 1..1usize << n {
            let blank: Vec<usize> = (0..n).filter(|i| set >> i & 1 == 1).collect();
            let whole = blank.len() == self.strokes && n > 2;
            // Of a few at least one is for either hand: else one key all through would do.
            let mixed = blank.iter().any(|i| self.own[*i] != self.own[blank[0]]);
            if !whole && (blank.len() > FEW || blank.len() > 1 && !mixed) {
                continue;
            }
            let right = self.right(&blank);
            let share = right.len() as f64 / (1u64 << blank.len()) as f64;
            let thumb: Vec<Hand> = blank.iter().map(|i| self.thumb[*i]).collect();
            let (most, size) = match blank.len() {
                _ if whole => (SHARE_OF_ALL, 2),
                1 => (0.5, 0),
                _ => (SHARE_OF_FEW, 1),
            };
            // On two drums much depends on the way between them: few rows may be right.
            if share > most || self.drums > 1 && right.len() > MOST_ROWS {
                continue;
            }
            options.sizes[size].push(blank.clone());
            if !right.contains(&thumb) {
                options.against.push(blank);
            }
        }
        options
    }
}

/// The struck pulses of a bar.
pub(super) fn of_bar(drums: &Pattern, bar: usize) -> Vec<usize> {
    let per = drums.grid().pulses_per_bar();
    let struck = drums.strokes().map(|(p, _)| p);
    struck.filter(|p| p / per == bar).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rhythm::Grid;
    use crate::rhythm::notation::read_line;

    fn pattern(strokes: &str, hands: &str) -> Pattern {
        let hands: Vec<Option<Hand>> = hands.chars().map(Hand::from_letter).collect();
        read_line(strokes, Grid::Eighths)
            .unwrap()
            .with_hands(&hands)
    }

    fn first_bar(drums: &Pattern, tempo: Tempo) -> Bar {
        let player = Player::default();
        Bar::new(drums, 0, of_bar(drums, 0), tempo, &player).unwrap()
    }

    #[test]
    fn the_tumbao_tells_the_hand_of_its_slap_at_any_tempo() {
        // Wikipedia, Conga and Tumbao: `LLRLLLRR`.
        for tempo in [100.0, 140.0, 200.0] {
            let bar = first_bar(&pattern("H T S T H T O O", "LLRLLLRR"), Tempo::new(tempo));
            let options = &bar.options;
            assert!(options.sizes[0].contains(&vec![2]), "{tempo}: {options:?}");
            assert_eq!(bar.right(&[2]), [[Hand::Right]]);
        }
    }

    #[test]
    fn a_bar_left_blank_is_right_either_way_round() {
        let bar = first_bar(&pattern("H T S T H T O O", "LLRLLLRR"), Tempo::new(160.0));
        let all: Vec<usize> = (0..8).collect();
        let letters = |row: &Vec<Hand>| row.iter().map(|h| h.letter()).collect::<String>();
        let right: Vec<String> = bar.right(&all).iter().map(letters).collect();
        assert_eq!(right[0], "LLRLLLRR");
        assert!(right.contains(&"RRLRRRLL".to_string()), "{right:?}");
    }

    #[test]
    fn open_tones_far_apart_leave_nothing_to_know() {
        // A teacher's list (common practice, no source): `O . O . O . O .` must not be asked, RRRR and LRLR are both right.
        assert!(!tells_hands(
            &pattern("O . O . O . O .", "RRRR"),
            (Tempo::new(60.0), Tempo::new(120.0))
        ));
    }

    #[test]
    fn open_hands_are_filled_in() {
        let player = Player::default();
        let open = read_line("H T S T H T O O", Grid::Eighths).unwrap();
        let filled = with_all_hands(&open, Tempo::new(150.0), &player).unwrap();
        assert!(filled.has_full_sticking());
        let none = Pattern::new(Grid::Eighths, vec![None; 8]).unwrap();
        assert!(with_all_hands(&none, Tempo::new(150.0), &player).is_none());
    }

    #[test]
    fn the_rule_of_thumb_is_the_one_of_the_review() {
        let hands = |strokes: &str| {
            let drums = read_line(strokes, Grid::Eighths).unwrap();
            let strokes: Vec<Stroke> = drums.strokes().map(|(_, s)| s).collect();
            thumb(&strokes)
                .iter()
                .map(|h| h.letter())
                .collect::<String>()
        };
        assert_eq!(hands("H T S T H T O O"), "LLRLLLRR");
        assert_eq!(hands("O O O O O O O O"), "RLRLRLRL");
    }
}
