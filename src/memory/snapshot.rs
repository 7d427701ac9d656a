//! A memory as bytes: saves the replay at the start of the program, and may be thrown away at any time.

use super::curve::CELLS;
use super::kin::{Kin, Share};
use super::names::Names;
use super::pace::{Habit, Pace};
use super::residual::{FEATURES, Shift};
use super::states::{First, Item, Kind, Memory};

/// Version of the bytes and of the arithmetic behind them: raise it with any change to either, so that an older
/// snapshot is replaced by a replay.
pub const VERSION: u32 = 3;

const MARK: &[u8; 8] = b"whichmem";

/// Why bytes are no snapshot. In each case the mend is the same: replay the log.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum SnapshotError {
    #[error("these bytes are not a snapshot of memory")]
    Foreign,
    #[error("the snapshot is of version {found}, this program writes version {VERSION}")]
    Version { found: u32 },
    #[error("the snapshot is damaged")]
    Damaged,
}

impl Memory {
    /// The whole memory as bytes (little-endian): mark, version, counts, names, groups, items, beliefs, checksum.
    pub fn to_bytes(&self) -> Vec<u8> {
        let mut out = Vec::with_capacity(1024 + self.beliefs.len() * 2 + self.items.len() * 96);
        out.extend_from_slice(MARK);
        put(&mut out, &VERSION.to_le_bytes());
        put(&mut out, &self.outcomes.to_le_bytes());
        put(&mut out, &self.latest.to_le_bytes());
        put_kin(&mut out, &self.all);
        put_first(&mut out, &self.first);
        for v in self
            .residual
            .weights
            .iter()
            .chain(self.residual.covariance.as_flattened())
        {
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
        for names in [&self.kind_names, &self.concept_names, &self.names] {
            put(&mut out, &(names.len() as u32).to_le_bytes());
            for name in names.iter() {
                put(&mut out, &(name.len() as u32).to_le_bytes());
                out.extend_from_slice(name.as_bytes());
            }
        }
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
        for item in &self.items {
            put(&mut out, &item.kind.to_le_bytes());
            put(&mut out, &item.reviews.to_le_bytes());
            put(&mut out, &item.last.to_le_bytes());
            for v in [
                item.share.prior,
                item.share.shown,
                item.share.weight,
                item.correct,
                item.slower,
            ] {
                put(&mut out, &v.to_le_bytes());
            }
            put(&mut out, &(item.concepts.len() as u32).to_le_bytes());
            for concept in &item.concepts {
                put(&mut out, &concept.to_le_bytes());
            }
        }
        for cell in &self.beliefs {
            out.extend_from_slice(&cell.to_le_bytes());
        }
        let sum = checksum(&out);
        put(&mut out, &sum.to_le_bytes());
        out
    }

    /// Reads what [`Memory::to_bytes`] wrote.
    ///
    /// # Errors
    /// [`SnapshotError`] where the bytes are foreign, of another version or damaged. The log is then replayed.
    pub fn from_bytes(bytes: &[u8]) -> Result<Self, SnapshotError> {
        if bytes.len() < 24 || &bytes[..8] != MARK {
            return Err(SnapshotError::Foreign);
        }
        let mut reader = Reader { bytes: &bytes[8..] };
        let found = u32::from_le_bytes(reader.take()?);
        if found != VERSION {
            return Err(SnapshotError::Version { found });
        }
        let (body, sum) = bytes.split_at(bytes.len() - 8);
        if checksum(body).to_le_bytes() != sum {
            return Err(SnapshotError::Damaged);
        }
        let mut memory = Memory::new();
        memory.outcomes = u64::from_le_bytes(reader.take()?);
        memory.latest = f64::from_le_bytes(reader.take()?);
        memory.all = reader.kin()?;
        memory.first = reader.first()?;
        for i in 0..FEATURES {
            memory.residual.weights[i] = reader.f64()?;
        }
        for i in 0..FEATURES * FEATURES {
            memory.residual.covariance.as_flattened_mut()[i] = reader.f64()?;
        }
        memory.habit = Habit {
            with: (reader.f32()?, reader.f32()?),
            without: (reader.f32()?, reader.f32()?),
            squares: reader.f32()?,
            count: reader.f32()?,
        };
        memory.kind_names = reader.names()?;
        memory.concept_names = reader.names()?;
        memory.names = reader.names()?;
        for _ in 0..memory.kind_names.len() {
            let pace = Pace {
                count: reader.f32()?,
                mean: reader.f32()?,
                spread: reader.f32()?,
            };
            let shift = Shift {
                weight: reader.f64()?,
                variance: reader.f64()?,
            };
            memory.kinds.push(Kind {
                pace,
                shift,
                kin: reader.kin()?,
                first: reader.first()?,
                guess: reader.f32()?,
                answers: reader.u32()?,
            });
        }
        for _ in 0..memory.concept_names.len() {
            let kin = reader.kin()?;
            memory.concepts.push(kin);
        }
        memory.items.reserve(memory.names.len());
        for _ in 0..memory.names.len() {
            let item = reader.item()?;
            if item.kind as usize >= memory.kinds.len()
                || item
                    .concepts
                    .iter()
                    .any(|&c| c as usize >= memory.concepts.len())
            {
                return Err(SnapshotError::Damaged);
            }
            memory.items.push(item);
        }
        let cells = reader.slice(memory.items.len() * CELLS * 2)?;
        memory.beliefs = cells
            .chunks_exact(2)
            .map(|b| u16::from_le_bytes([b[0], b[1]]))
            .collect();
        if reader.bytes.len() == 8 {
            Ok(memory)
        } else {
            Err(SnapshotError::Damaged)
        }
    }
}

fn put(out: &mut Vec<u8>, bytes: &[u8]) {
    out.extend_from_slice(bytes);
}

fn put_kin(out: &mut Vec<u8>, kin: &Kin) {
    put(out, &kin.shown.to_le_bytes());
    put(out, &kin.weight.to_le_bytes());
}

fn put_first(out: &mut Vec<u8>, first: &First) {
    put(out, &first.above.to_le_bytes());
    put(out, &first.weight.to_le_bytes());
}

/// Finds damage, not malice: a multiply-and-rotate sum over words of eight bytes, in four lanes.
fn checksum(bytes: &[u8]) -> u64 {
    const ODD: u64 = 0x9e37_79b9_7f4a_7c15;
    let mut lanes = [1u64, 2, 3, 4];
    let mut blocks = bytes.chunks_exact(32);
    for block in &mut blocks {
        for (lane, word) in lanes.iter_mut().zip(block.chunks_exact(8)) {
            let word = u64::from_le_bytes([
                word[0], word[1], word[2], word[3], word[4], word[5], word[6], word[7],
            ]);
            *lane = (*lane ^ word).wrapping_mul(ODD).rotate_left(29);
        }
    }
    for &byte in blocks.remainder() {
        lanes[0] = (lanes[0] ^ u64::from(byte))
            .wrapping_mul(ODD)
            .rotate_left(29);
    }
    lanes.iter().fold(bytes.len() as u64, |sum, &lane| {
        (sum ^ lane).wrapping_mul(ODD).rotate_left(29)
    })
}

struct Reader<'a> {
    bytes: &'a [u8],
}

impl<'a> Reader<'a> {
    fn slice(&mut self, length: usize) -> Result<&'a [u8], SnapshotError> {
        if length > self.bytes.len() {
            return Err(SnapshotError::Damaged);
        }
        let (head, rest) = self.bytes.split_at(length);
        self.bytes = rest;
        Ok(head)
    }

    fn take<const N: usize>(&mut self) -> Result<[u8; N], SnapshotError> {
        self.slice(N)?
            .try_into()
            .map_err(|_| SnapshotError::Damaged)
    }

    fn u32(&mut self) -> Result<u32, SnapshotError> {
        Ok(u32::from_le_bytes(self.take()?))
    }

    fn f32(&mut self) -> Result<f32, SnapshotError> {
        Ok(f32::from_le_bytes(self.take()?))
    }

    fn f64(&mut self) -> Result<f64, SnapshotError> {
        Ok(f64::from_le_bytes(self.take()?))
    }

    fn kin(&mut self) -> Result<Kin, SnapshotError> {
        Ok(Kin {
            shown: self.f64()?,
            weight: self.f64()?,
        })
    }

    fn first(&mut self) -> Result<First, SnapshotError> {
        Ok(First {
            above: self.f64()?,
            weight: self.f64()?,
        })
    }

    fn names(&mut self) -> Result<Names, SnapshotError> {
        let count = self.u32()? as usize;
        // Each name takes at least the four bytes of its length.
        let mut names = Names::with_capacity(count.min(self.bytes.len() / 4));
        for _ in 0..count {
            let length = self.u32()? as usize;
            let name =
                std::str::from_utf8(self.slice(length)?).map_err(|_| SnapshotError::Damaged)?;
            names.intern(name);
        }
        if names.len() == count {
            Ok(names)
        } else {
            Err(SnapshotError::Damaged)
        }
    }

    fn item(&mut self) -> Result<Item, SnapshotError> {
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
        let concepts = self.slice(count.saturating_mul(4))?.chunks_exact(4);
        let concepts = concepts
            .map(|b| u32::from_le_bytes([b[0], b[1], b[2], b[3]]))
            .collect();
        Ok(Item {
            kind,
            concepts,
            last,
            reviews,
            share,
            correct,
            slower,
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

    #[test]
    fn snapshot_and_what_follows_equal_the_replay_to_the_bit() {
        let log = log();
        let mut whole = Memory::new();
        for outcome in &log {
            whole.observe(outcome);
        }
        let mut half = Memory::new();
        for outcome in &log[..200] {
            half.observe(outcome);
        }
        let mut resumed = Memory::from_bytes(&half.to_bytes()).unwrap();
        for outcome in &log[200..] {
            resumed.observe(outcome);
        }
        assert!(whole.to_bytes() == resumed.to_bytes());
    }

    #[test]
    fn damage_and_other_versions_are_told_apart() {
        let mut memory = Memory::new();
        for outcome in &log()[..40] {
            memory.observe(outcome);
        }
        let bytes = memory.to_bytes();
        assert_eq!(
            Memory::from_bytes(b"PNG").unwrap_err(),
            SnapshotError::Foreign
        );
        for at in (12..bytes.len()).step_by(97) {
            let mut bad = bytes.clone();
            bad[at] ^= 4;
            assert_eq!(
                Memory::from_bytes(&bad).unwrap_err(),
                SnapshotError::Damaged
            );
            assert!(Memory::from_bytes(&bytes[..at]).is_err());
        }
        let mut old = bytes.clone();
        old[8] = 99;
        assert_eq!(
            Memory::from_bytes(&old).unwrap_err(),
            SnapshotError::Version { found: 99 }
        );
    }
}
