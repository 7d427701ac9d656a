//! Numbers, names and groups as bytes (little-endian), and back.

use super::kin::Kin;
use super::names::Names;
use super::snapshot::Damaged;
use super::states::First;

pub(super) fn put(out: &mut Vec<u8>, bytes: &[u8]) {
    out.extend_from_slice(bytes);
}

pub(super) fn put_kin(out: &mut Vec<u8>, kin: &Kin) {
    put(out, &kin.shown.to_le_bytes());
    put(out, &kin.weight.to_le_bytes());
}

pub(super) fn put_first(out: &mut Vec<u8>, first: &First) {
    put(out, &first.above.to_le_bytes());
    put(out, &first.weight.to_le_bytes());
}

pub(super) fn put_name(out: &mut Vec<u8>, name: &str) {
    put(out, &(name.len() as u32).to_le_bytes());
    put(out, name.as_bytes());
}

pub(super) fn put_names(out: &mut Vec<u8>, names: &Names) {
    put(out, &(names.len() as u32).to_le_bytes());
    for name in names.iter() {
        put_name(out, name);
    }
}

/// Takes values off the front of bytes; where they end too early they are [`Damaged`].
pub(super) struct Reader<'a> {
    pub bytes: &'a [u8],
}

impl<'a> Reader<'a> {
    pub fn slice(&mut self, length: usize) -> Result<&'a [u8], Damaged> {
        let (head, rest) = self.bytes.split_at_checked(length).ok_or(Damaged)?;
        self.bytes = rest;
        Ok(head)
    }

    pub fn take<const N: usize>(&mut self) -> Result<[u8; N], Damaged> {
        self.slice(N)?.try_into().map_err(|_| Damaged)
    }

    pub fn u32(&mut self) -> Result<u32, Damaged> {
        Ok(u32::from_le_bytes(self.take()?))
    }

    pub fn f32(&mut self) -> Result<f32, Damaged> {
        Ok(f32::from_le_bytes(self.take()?))
    }

    pub fn f64(&mut self) -> Result<f64, Damaged> {
        Ok(f64::from_le_bytes(self.take()?))
    }

    pub fn kin(&mut self) -> Result<Kin, Damaged> {
        Ok(Kin {
            shown: self.f64()?,
            weight: self.f64()?,
        })
    }

    pub fn first(&mut self) -> Result<First, Damaged> {
        Ok(First {
            above: self.f64()?,
            weight: self.f64()?,
        })
    }

    pub fn name(&mut self) -> Result<&'a str, Damaged> {
        let length = self.u32()? as usize;
        std::str::from_utf8(self.slice(length)?).map_err(|_| Damaged)
    }

    pub fn names(&mut self) -> Result<Names, Damaged> {
        let count = self.u32()? as usize;
        // Each name takes at least the four bytes of its length.
        let mut names = Names::with_capacity(count.min(self.bytes.len() / 4));
        for _ in 0..count {
            names.intern(self.name()?);
        }
        if names.len() == count {
            Ok(names)
        } else {
            Err(Damaged)
        }
    }

    /// That nothing is left.
    pub fn end(self) -> Result<(), Damaged> {
        if self.bytes.is_empty() {
            Ok(())
        } else {
            Err(Damaged)
        }
    }
}
