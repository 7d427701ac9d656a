//! Names numbered in the order in which they were first seen.

use std::collections::HashMap;

/// Names with their numbers, from 0.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Names {
    numbers: HashMap<Box<str>, usize>,
}

impl Names {
    pub fn find(&self, name: &str) -> Option<usize> {
        self.numbers.get(name).copied()
    }

    /// The number of a name, new or known.
    pub fn intern(&mut self, name: &str) -> usize {
        self.find(name).unwrap_or_else(|| {
            let number = self.numbers.len();
            self.numbers.insert(name.into(), number);
            number
        })
    }
}
