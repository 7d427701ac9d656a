//! Knowing a part by name, even with a stroke added, left out or moved.

use super::salient_onsets::SalientOnsets;
use super::{Direction, NamedPart, PARTS};
use crate::rhythm::Grid;
use serde::Serialize;
use std::sync::LazyLock;

/// A named part found in what was played.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
pub struct PartMatch {
    /// Name in the table of parts.
    pub name: &'static str,
    /// The direction in which it is played; `None` for a part that states no side.
    pub direction: Option<Direction>,
    /// Strokes to add, take away or move by one pulse until it is the part of the table: 0 or 1.
    pub distance: u32,
}

/// A two-bar part as a ring of bits.
pub(super) struct Entry {
    pub(super) part: &'static NamedPart,
    pub(super) direction: Option<Direction>,
    pub(super) ring: u16,
    pub(super) strokes: u32,
}

/// The named parts on one kind of pulse.
pub(super) struct Table {
    pub(super) entries: Vec<Entry>,
    /// One bit a ring: may it be one of the entries? Most rings are not, and are found out at once.
    near: Vec<u64>,
}

/// Fewest strokes of a part that is known by anything but its exact form: in a sparser part one stroke is too much
/// of it.
pub(super) const ENOUGH_STROKES: u32 = 5;
/// Most pulses in which a ring with one stroke more, less or moved differs.
const MOST_DIFFERING: u32 = 2;

/// The table of the parts in six, or of those in four.
pub(super) fn parts(six: bool) -> &'static Table {
    static FOUR: LazyLock<Table> = LazyLock::new(|| Table::new(Grid::Eighths));
    static SIX: LazyLock<Table> = LazyLock::new(|| Table::new(Grid::SixEight));
    if six { &SIX } else { &FOUR }
}

impl Table {
    fn new(grid: Grid) -> Table {
        let entries = table(grid);
        let mut near = vec![0; (1 << grid.pulses_per_cycle()) / 64];
        let pulses = grid.pulses_per_cycle();
        for entry in &entries {
            for a in 0..pulses {
                for b in 0..=a {
                    let ring = usize::from(entry.ring) ^ 1 << a ^ 1 << b;
                    near[ring / 64] |= 1 << (ring % 64);
                    let ring = usize::from(entry.ring) ^ 1 << a;
                    near[ring / 64] |= 1 << (ring % 64);
                }
            }
        }
        Table { entries, near }
    }

    /// The part of one bar that is this bar; of a conga not one that another instrument plays.
    fn going_round(&self, bar: u8, salient: &SalientOnsets) -> Option<PartMatch> {
        let played = |e: &&Entry| !(salient.drummed && e.part.instrument.is_some());
        let mut own = self.begun(bar, salient.in_six()).filter(played);
        let entry = own.find(|e| e.direction.is_none())?;
        Some(PartMatch {
            name: entry.part.name,
            direction: None,
            distance: 0,
        })
    }

    /// The parts whose first bar is this one, as eighths.
    pub(super) fn begun(&self, bar: u8, six: bool) -> impl Iterator<Item = &Entry> {
        self.entries
            .iter()
            .filter(move |e| bars_of(e.ring, six)[0] == bar)
    }

    fn may_know(&self, ring: u16) -> bool {
        let ring = usize::from(ring);
        self.near[ring / 64] >> (ring % 64) & 1 == 1
    }
}

fn table(grid: Grid) -> Vec<Entry> {
    let parts = PARTS.iter().filter(|p| p.grid == grid);
    parts
        .flat_map(|part| {
            let directions: &[_] = if part.states_side {
                &Direction::ALL
            } else {
                &Direction::ALL[..1]
            };
            directions.iter().map(move |direction| {
                let onsets = part.onsets(*direction);
                let ring =
                    (0..grid.pulses_per_cycle()).map(|p| u16::from(onsets[p % onsets.len()]) << p);
                let ring = ring.sum::<u16>();
                Entry {
                    part,
                    direction: part.states_side.then_some(*direction),
                    ring,
                    strokes: ring.count_ones(),
                }
            })
        })
        .collect()
}

/// Strokes to add, take away or move by one pulse until ring `a` is ring `b`, both of `pulses` pulses. Moves over
/// the end of the ring count like others.
pub(super) fn distance(a: u16, b: u16, pulses: u32) -> u32 {
    let (more, less) = (a & !b, b & !a);
    let differing = (more | less).count_ones();
    if differing < 2 {
        return differing;
    }
    // Pair strokes with their neighbours; on a ring the best pairing is found from either end of each run.
    let turned = |x: u16, by: u32| {
        let all = (1u32 << pulses) - 1;
        let x = u32::from(x);
        ((x >> by | x << (pulses - by)) & all) as u16
    };
    let pairs = |start: u32| {
        let (more, less) = (turned(more, start), turned(less, start));
        let (mut pulse, mut pairs) = (0, 0);
        while pulse + 1 < pulses {
            let here = |x: u16| x >> pulse & 1;
            let next = |x: u16| x >> (pulse + 1) & 1;
            if here(more) & next(less) | here(less) & next(more) == 1 {
                pairs += 1;
                pulse += 1;
            }
            pulse += 1;
        }
        pairs
    };
    differing - pairs(0).max(pairs(1))
}

/// The eighths on which the six pulses of a bar in six stand.
pub(super) const OF_SIX: [usize; 6] = [0, 2, 3, 4, 6, 7];

/// The two-bar cycles of a part of at least two bars as rings of its own pulses, each of `2 * width` pulses. An odd bar
/// at the end is read with the one before it, in the order of the clave.
pub(super) fn rings(salient: &SalientOnsets, width: u32) -> impl Iterator<Item = u16> {
    let own = move |bar: u8| -> u16 {
        if width == 8 {
            return bar.into();
        }
        let eighths = OF_SIX.into_iter().enumerate();
        eighths.map(|(i, e)| u16::from(bar >> e & 1) << i).sum()
    };
    let bars = &salient.bars;
    (0..bars.len()).step_by(2).map(move |i| {
        let second = if i + 1 < bars.len() { i + 1 } else { i - 1 };
        own(bars[i]) | own(bars[second]) << width
    })
}

/// The two bars of a ring as eighths.
pub(super) fn bars_of(ring: u16, six: bool) -> [u8; 2] {
    if !six {
        return [ring as u8, (ring >> 8) as u8];
    }
    [0, 6].map(|first| {
        let pulses = OF_SIX.into_iter().enumerate();
        let bits = pulses.map(|(i, e)| ((ring >> (first + i) & 1) as u8) << e);
        bits.sum()
    })
}

impl PartMatch {
    /// What the part strikes in the odd and in the even bars, as eighths.
    pub(super) fn bars(&self, six: bool) -> [u8; 2] {
        let entries = parts(six).entries.iter();
        let mut own = entries.filter(|e| e.part.name == self.name && e.direction == self.direction);
        own.next().map_or([0; 2], |e| bars_of(e.ring, six))
    }
}

/// The part that was played, if it is one with a name: a single bar if it is a part of one bar, phrases exactly, or with one stroke more, less or moved in each
/// cycle where the part states a side and is not sparse.
pub(super) fn find(salient: &SalientOnsets) -> Option<PartMatch> {
    let width = if salient.in_six() { 6 } else { 8 };
    let table = parts(salient.in_six());
    if let [bar] = salient.bars[..] {
        return table.going_round(bar, salient);
    }
    if salient.bars.is_empty() || !rings(salient, width).all(|r| table.may_know(r)) {
        return None;
    }
    let mut best: Option<PartMatch> = None;
    let mut twice = false;
    for entry in &table.entries {
        let far = |ring: u16| (ring ^ entry.ring).count_ones() > MOST_DIFFERING;
        if rings(salient, width).any(far) {
            continue;
        }
        let distances = rings(salient, width).map(|r| distance(r, entry.ring, 2 * width));
        let furthest = distances.max()?;
        let allowed = u32::from(entry.direction.is_some() && entry.strokes >= ENOUGH_STROKES);
        if furthest > allowed {
            continue;
        }
        let known = PartMatch {
            name: entry.part.name,
            direction: entry.direction,
            distance: furthest,
        };
        match best {
            Some(b) if b.distance < furthest => {}
            Some(b) if b.distance == furthest => twice |= b.direction != known.direction,
            _ => {
                best = Some(known);
                twice = false;
            }
        }
    }
    best.filter(|_| !twice)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ring(text: &str) -> u16 {
        text.bytes()
            .enumerate()
            .map(|(i, c)| u16::from(c == b'x') << i)
            .sum()
    }

    #[test]
    fn distances_counted_by_hand() {
        let d = |a: &str, b: &str| distance(ring(a), ring(b), a.len() as u32);
        // son against rumba: one stroke moved (Toussaint 2013: swap distance 1)
        assert_eq!(d("x..x..x...x.x...", "x..x...x..x.x..."), 1);
        assert_eq!(d("x..x..x...x.x...", "x..x..x...x..x.."), 1);
        assert_eq!(d("x..x..x...x.x...", "x..x..x...x....."), 1);
        assert_eq!(d("x..x..x...x.x...", "x.xx..x...x.x.x."), 2);
        // over the end of the ring
        assert_eq!(d("x...............", "...............x"), 1);
        assert_eq!(d("x...............", "..x............."), 2);
        assert_eq!(d("x.x.x.x.", ".x.x.x.x"), 4);
        // son clave and its swapped form: 3-4 and 10-11 pair up, the other six strokes are taken away or added
        assert_eq!(d("x..x..x...x.x...", "..x.x...x..x..x."), 8);
    }

    #[test]
    fn every_named_part_is_known_in_both_directions() {
        for part in PARTS.iter().filter(|p| p.grid != Grid::Triplets) {
            for direction in Direction::ALL {
                let onsets = part.onsets(direction).repeat(2 / part.bars());
                let known = find(&SalientOnsets::of_onsets(part.grid, &onsets));
                let known = known.unwrap_or_else(|| panic!("{}", part.name));
                assert_eq!(known.distance, 0);
                assert_eq!(
                    known.direction,
                    part.states_side.then_some(direction),
                    "{}",
                    part.name
                );
            }
        }
    }

    #[test]
    fn a_variant_is_known_with_its_distance() {
        let on = |text: &str| text.bytes().map(|c| c == b'x').collect::<Vec<_>>();
        // cáscara 3-2 with a stroke more on 2 of the three side
        let known = find(&SalientOnsets::of_onsets(
            Grid::Eighths,
            &on("x.xxxx.xx.x.xx.x"),
        ))
        .unwrap();
        assert_eq!((known.name, known.distance), ("cáscara", 1));
        assert_eq!(known.direction, Some(Direction::ThreeTwo));
        // a bass line with one stroke more is just a pattern
        assert_eq!(
            find(&SalientOnsets::of_onsets(
                Grid::Eighths,
                &on("...x..xx...x..x.")
            )),
            None
        );
    }

    #[test]
    fn a_long_phrase_is_known_by_all_its_cycles() {
        let on = |text: &str| text.bytes().map(|c| c == b'x').collect::<Vec<_>>();
        let son = "x..x..x...x.x...";
        let known = find(&SalientOnsets::of_onsets(
            Grid::Eighths,
            &on(&son.repeat(4)),
        ))
        .unwrap();
        assert_eq!((known.name, known.distance), ("son clave", 0));
        // three bars: three, two, three
        let known = find(&SalientOnsets::of_onsets(
            Grid::Eighths,
            &on(&format!("{son}x..x..x.")),
        ))
        .unwrap();
        assert_eq!(known.direction, Some(Direction::ThreeTwo));
        let turned = format!("{son}..x.x...x..x..x.");
        assert_eq!(
            find(&SalientOnsets::of_onsets(Grid::Eighths, &on(&turned))),
            None
        );
    }
}
