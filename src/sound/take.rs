use crate::rhythm::Score;

/// What is to be heard: everything that decides the wave.
#[derive(Clone, Debug, PartialEq)]
pub struct Take {
    pub score: Score,
    /// Beats a minute (see [`crate::rhythm::Grid`] for the beat).
    pub bpm: f64,
    /// How often the whole score goes round.
    pub cycles: u32,
    /// One clave cycle of clicks on the beat before the score begins.
    pub count_in: bool,
    /// Varies the strokes a little, as hands do; the same seed gives the same wave.
    pub seed: u64,
}
