use std::sync::Arc;

use indexmap::IndexSet;

/// Names numbered in the order in which they were first seen.
#[derive(Clone, Debug, Default)]
pub(super) struct Names {
    set: IndexSet<Arc<str>>,
}

impl Names {
    pub fn with_capacity(n: usize) -> Self {
        Self {
            set: IndexSet::with_capacity(n),
        }
    }

    pub fn find(&self, name: &str) -> Option<usize> {
        self.set.get_index_of(name)
    }

    /// The number of a name, new or known.
    pub fn intern(&mut self, name: &str) -> usize {
        self.find(name)
            .unwrap_or_else(|| self.set.insert_full(name.into()).0)
    }

    /// The same, and whether it is new: where most are.
    pub fn add(&mut self, name: &str) -> (usize, bool) {
        self.set.insert_full(name.into())
    }

    pub fn len(&self) -> usize {
        self.set.len()
    }

    pub fn iter(&self) -> impl ExactSizeIterator<Item = &str> {
        self.set.iter().map(|n| &**n)
    }
}
