use std::collections::HashMap;
use std::sync::Arc;

/// Names numbered in the order in which they were first seen.
#[derive(Clone, Debug, Default)]
pub(super) struct Names {
    number: HashMap<Arc<str>, u32>,
    list: Vec<Arc<str>>,
}

impl Names {
    pub fn with_capacity(n: usize) -> Self {
        Self {
            number: HashMap::with_capacity(n),
            list: Vec::with_capacity(n),
        }
    }

    pub fn find(&self, name: &str) -> Option<usize> {
        self.number.get(name).map(|&n| n as usize)
    }

    /// The number of a name, new or known.
    pub fn intern(&mut self, name: &str) -> usize {
        if let Some(n) = self.find(name) {
            return n;
        }
        let n = self.list.len();
        let name: Arc<str> = name.into();
        self.list.push(name.clone());
        self.number.insert(name, n as u32);
        n
    }

    pub fn len(&self) -> usize {
        self.list.len()
    }

    pub fn iter(&self) -> impl ExactSizeIterator<Item = &str> {
        self.list.iter().map(|n| &**n)
    }
}
