//! Names numbered in the order in which they were first seen.

use std::sync::Arc;

use indexmap::IndexSet;

/// Names numbered in the order in which they were first seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Names {
    set: IndexSet<Arc<str>>,
}

impl Names {
    pub fn find(&self, name: &str) -> Option<usize> {
        self.set.get_index_of(name)
    }

    /// The number of a name, new or known.
    pub fn intern(&mut self, name: &str) -> usize {
        self.find(name)
            .unwrap_or_else(|| self.set.insert_full(name.into()).0)
    }
}
