//! A memory as bytes, so that it need not be folded from the log at every start: a head, which all items share, and
//! the bytes of each item by themselves. A memory can be opened with the head and those items alone that are wanted.
//! The bytes hold no check of their own; whoever keeps them sees to it that they come back as they were.

use super::bytes::{Reader, put, put_first, put_kin, put_name, put_names};
use super::curve::{CELLS, HALVES};
use super::kin::Share;
use super::names::Names;
use super::pace::{Habit, Pace};
use super::residual::{FEATURES, Shift};
use super::states::{Item, Kind, Memory};

/// Version of the bytes and of the arithmetic behind them: raise it with any change to either, so that older bytes
/// are replaced by a replay of the log.
pub const VERSION: u32 = 8;

/// These bytes are not what a memory of this version wrote. The mend is always the same: replay the log.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("the saved memory is damaged")]
pub struct Damaged;

impl Memory {
    /// What the items share: counts, kinds, concepts and the player's own figures.
    pub fn head(&self) -> Vec<u8> {
        let mut out = Vec::with_capacity(1024);
        put(&mut out, &self.outcomes.to_le_bytes());
        put(&mut out, &self.latest.to_le_bytes());
        put_kin(&mut out, &self.all);
        put_first(&mut out, &self.first);
        let covariance = self.residual.covariance.as_flattened();
        for v in self.residual.weights.iter().chain(covariance) {
            put(&mut out, &v.to_le_bytes());
        }
        let h = &self.habit;
        for v in [
            h.with.0,
            h.with.1,
            h.without.0,
            h.without.1,
            h.squares,
            h.count,
        ] {
            put(&mut out, &v.to_le_bytes());
        }
        put_names(&mut out, &self.kind_names);
        put_names(&mut out, &self.concept_names);
        for kind in &self.kinds {
            for v in [kind.pace.count, kind.pace.mean, kind.pace.spread] {
                put(&mut out, &v.to_le_bytes());
            }
            put(&mut out, &kind.shift.weight.to_le_bytes());
            put(&mut out, &kind.shift.variance.to_le_bytes());
            put_kin(&mut out, &kind.kin);
            put_first(&mut out, &kind.first);
            put(&mut out, &kind.guess.to_le_bytes());
            put(&mut out, &kind.answers.to_le_bytes());
        }
        for kin in &self.concepts {
            put_kin(&mut out, kin);
        }
        out
    }

    /// A memory with what [`Memory::head`] wrote, no item yet and room for some. Each item that is asked for or answered must be
    /// taken in first ([`Memory::take_in`]), unless it was never answered.
    ///
    /// # Errors
    /// [`Damaged`]; the log is then to be replayed.
    pub fn from_head(bytes: &[u8], room: usize) -> Result<Self, Damaged> {
        let mut reader = Reader { bytes };
        let mut memory = Memory::new();
        memory.names = Names::with_capacity(room);
        memory.items.reserve(room);
        memory.beliefs.reserve(room * CELLS);
        memory.outcomes = u64::from_le_bytes(reader.take()?);
        memory.latest = reader.f64()?;
        memory.all = reader.kin()?;
        memory.first = reader.first()?;
        for i in 0..FEATURES {
            memory.residual.weights[i] = reader.f64()?;
        }
        for v in memory.residual.covariance.as_flattened_mut() {
            *v = reader.f64()?;
        }
        memory.habit = Habit {
            with: (reader.f32()?, reader.f32()?),
            without: (reader.f32()?, reader.f32()?),
            squares: reader.f32()?,
            count: reader.f32()?,
        };
        memory.kind_names = reader.names()?;
        memory.concept_names = reader.names()?;
        for _ in 0..memory.kind_names.len() {
            memory.kinds.push(reader.kind()?);
        }
        for _ in 0..memory.concept_names.len() {
            memory.concepts.push(reader.kin()?);
        }
        reader.end()?;
        Ok(memory)
    }

    /// The bytes of an item, its name among them; `None` where it is not in this memory.
    pub fn item_bytes(&self, item: &str) -> Option<Vec<u8>> {
        let id = self.names.find(item)?;
        let state = &self.items[id];
        let mut out = Vec::with_capacity(400);
        put_name(&mut out, item);
        put(&mut out, &state.kind.to_le_bytes());
        put(&mut out, &state.reviews.to_le_bytes());
        put(&mut out, &state.last.to_le_bytes());
        for v in [
            state.share.prior,
            state.share.shown,
            state.share.weight,
            state.correct,
            state.slower,
        ] {
            put(&mut out, &v.to_le_bytes());
        }
        put(&mut out, &(state.concepts.len() as u32).to_le_bytes());
        for concept in &state.concepts {
            put(&mut out, &concept.to_le_bytes());
        }
        put_cells(&mut out, &self.beliefs[id * CELLS..][..CELLS]);
        Some(out)
    }

    /// Takes in an item that [`Memory::item_bytes`] wrote, from a memory with this head; one that is there already
    /// stays as it is.
    ///
    /// # Errors
    /// [`Damaged`]; the log is then to be replayed, this memory is of no more use.
    pub fn take_in(&mut self, bytes: &[u8]) -> Result<(), Damaged> {
        let mut reader = Reader { bytes };
        let (_, new) = self.names.add(reader.name()?);
        if !new {
            return Ok(());
        }
        let item = reader.item()?;
        let concepts = self.concepts.len();
        if item.kind as usize >= self.kinds.len()
            || item.concepts.iter().any(|&c| c as usize >= concepts)
        {
            return Err(Damaged);
        }
        let mut cells = [0; CELLS];
        take_cells(&mut reader, &mut cells)?;
        reader.end()?;
        self.beliefs.extend_from_slice(&cells);
        self.items.push(item);
        Ok(())
    }

    /// Names of the items that were answered since this memory was opened or last [`kept`](Memory::kept).
    pub fn changed(&self) -> impl Iterator<Item = &str> {
        let named = self.names.iter().zip(&self.items);
        named.filter(|(_, item)| item.changed).map(|(name, _)| name)
    }

    /// Says that all of it is kept somewhere as it is now: nothing counts as changed any more.
    pub fn kept(&mut self) {
        for item in &mut self.items {
            item.changed = false;
        }
    }

    /// Items in this memory.
    pub fn items(&self) -> impl ExactSizeIterator<Item = &str> {
        self.names.iter()
    }
}

/// Equal to the bit, in whatever order the items came.
impl PartialEq for Memory {
    fn eq(&self, other: &Self) -> bool {
        self.names.len() == other.names.len()
            && self.head() == other.head()
            && self
                .names
                .iter()
                .all(|name| self.item_bytes(name) == other.item_bytes(name))
    }
}

/// Beliefs end in zeros on both sides: of each ease, where the rest begins, how long it is, and the rest.
fn put_cells(out: &mut Vec<u8>, cells: &[u8]) {
    for cells in cells.chunks_exact(HALVES) {
        let start = cells.iter().position(|&c| c > 0).unwrap_or(0);
        let end = cells
            .iter()
            .rposition(|&c| c > 0)
            .map_or(start, |at| at + 1);
        out.extend([start as u8, (end - start) as u8]);
        out.extend_from_slice(&cells[start..end]);
    }
}

fn take_cells(reader: &mut Reader<'_>, cells: &mut [u8]) -> Result<(), Damaged> {
    for cells in cells.chunks_exact_mut(HALVES) {
        let [start, length] = reader.take()?;
        let cells = cells.get_mut(usize::from(start)..).ok_or(Damaged)?;
        let cells = cells.get_mut(..usize::from(length)).ok_or(Damaged)?;
        cells.copy_from_slice(reader.slice(cells.len())?);
    }
    Ok(())
}

impl Reader<'_> {
    fn kind(&mut self) -> Result<Kind, Damaged> {
        Ok(Kind {
            pace: Pace {
                count: self.f32()?,
                mean: self.f32()?,
                spread: self.f32()?,
            },
            shift: Shift {
                weight: self.f64()?,
                variance: self.f64()?,
            },
            kin: self.kin()?,
            first: self.first()?,
            guess: self.f32()?,
            answers: self.u32()?,
        })
    }

    fn item(&mut self) -> Result<Item, Damaged> {
        let kind = self.u32()?;
        let reviews = self.u32()?;
        let last = self.f64()?;
        let share = Share {
            prior: self.f32()?,
            shown: self.f32()?,
            weight: self.f32()?,
        };
        let correct = self.f32()?;
        let slower = self.f32()?;
        let count = self.u32()? as usize;
        let concepts = self.slice(count.saturating_mul(4))?.as_chunks().0;
        Ok(Item {
            kind,
            concepts: concepts.iter().map(|&b| u32::from_le_bytes(b)).collect(),
            last,
            reviews,
            share,
            correct,
            slower,
            changed: false,
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::memory::Outcome;

    fn log() -> Vec<Outcome> {
        (0..400u32)
            .map(|i| Outcome {
                item: format!("item {}", i * 7 % 31),
                concepts: vec![format!("idea {}", i * 7 % 31 % 4), "both".into()],
                kind: ["side", "strokes"][(i * 7 % 31 % 2) as usize].into(),
                at: 1.7e9 + f64::from(i) * 7000.0,
                correct: [1.0, 0.0, 1.0, 0.875, 1.0][(i % 5) as usize],
                guess: 0.5,
                seconds: 2.0 + f64::from(i % 9),
                limit: 4.0,
                replays: i % 3,
                slowed: i % 11 == 0,
            })
            .collect()
    }

    fn told(log: &[Outcome]) -> Memory {
        let mut memory = Memory::new();
        for outcome in log {
            memory.observe(outcome);
        }
        memory
    }

    /// A memory with the head of another and those of its items whose names `wanted` holds.
    fn opened(memory: &Memory, wanted: impl Fn(&str) -> bool) -> Memory {
        let mut opened = Memory::from_head(&memory.head(), 9).unwrap();
        for name in memory.items().filter(|name| wanted(name)) {
            opened.take_in(&memory.item_bytes(name).unwrap()).unwrap();
        }
        opened
    }

    #[test]
    fn what_follows_a_snapshot_equals_the_replay_to_the_bit() {
        let log = log();
        let whole = told(&log);
        let half = told(&log[..200]);
        let mut resumed = opened(&half, |_| true);
        assert!(resumed == half && resumed != whole);
        assert_eq!(resumed.changed().count(), 0);
        for outcome in &log[200..] {
            resumed.observe(outcome);
        }
        assert!(whole == resumed);
    }

    /// Items that nobody asks about may stay away: the others and the head come out the same.
    #[test]
    fn items_that_are_not_answered_need_not_be_there() {
        let log = log();
        let mut whole = told(&log[..200]);
        let mut part = opened(&whole, |name| name.ends_with('7'));
        let later: Vec<_> = log[200..]
            .iter()
            .filter(|o| o.item.ends_with('7'))
            .collect();
        for outcome in &later {
            assert_eq!(part.observe(outcome), whole.observe(outcome));
        }
        assert!(later.len() > 10 && part.items().len() < whole.items().len());
        assert_eq!(part.head(), whole.head());
        let changed: Vec<_> = part.changed().collect();
        assert_eq!(changed.len(), 3, "items 7, 17 and 27");
        for name in changed {
            assert_eq!(part.item_bytes(name), whole.item_bytes(name));
        }
        part.kept();
        assert_eq!(part.changed().count(), 0);
    }

    #[test]
    fn bytes_cut_short_or_too_long_are_damaged_and_never_a_panic() {
        let memory = told(&log()[..40]);
        let (head, item) = (memory.head(), memory.item_bytes("item 7").unwrap());
        let take_in = |bytes: &[u8]| Memory::from_head(&head, 0).unwrap().take_in(bytes);
        assert_eq!(take_in(&item), Ok(()));
        assert_eq!(take_in(&[&item[..], &[0]].concat()), Err(Damaged));
        assert!(Memory::from_head(&[&head[..], &[0]].concat(), 0).is_err());
        for at in 0..head.len() {
            assert!(Memory::from_head(&head[..at], 0).is_err());
        }
        for at in 0..item.len() {
            assert_eq!(take_in(&item[..at]), Err(Damaged));
            for bit in 0..8 {
                let mut bent = item.clone();
                bent[at] ^= 1 << bit;
                let _ = take_in(&bent);
            }
        }
    }
}
