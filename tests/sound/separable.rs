//! Nobody mixes up the strokes: the classifier of `cargo bench --bench sound -- separability` on single hits.

use crate::separability;
use whichside::rhythm::{Drum, Weight};

#[test]
fn nearest_neighbours_name_at_least_99_of_100_single_hits() {
    for drum in Drum::ALL {
        let right = separability::singles(drum, &[Weight::Plain]).right();
        assert!(right >= 0.99, "{drum:?}: {right}");
    }
}
