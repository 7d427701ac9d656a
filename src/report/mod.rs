//! Reports made from states and reviews: weak concepts, the coming days.
