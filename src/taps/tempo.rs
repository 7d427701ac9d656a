//! The tempo of the taps, where it is not the one asked for.

use super::layout::{layout, rounds, turns};
use super::{COMMON, Tap, TapTask};
use crate::rhythm::Tempo;

/// Fewest taps that tell a tempo, and how many of the first are looked at: chosen.
const FEWEST: usize = 8;
const MOST: usize = 40;
/// Tempos that are tried, as a share of the task's: from half of it to double in steps of one per cent.
const STEP: f64 = 1.01;
const STEPS: i32 = 70;
/// Share of the strokes that must fit at another tempo, and by how much more than at the task's own: chosen. Where nearly all
/// fit there, less is enough, since an even row fits in part at any tempo.
const FITS: f64 = 0.75;
const BETTER: f64 = 0.3;
const NEARLY_ALL: f64 = 0.9;
const BETTER_THEN: f64 = 0.1;

impl TapTask {
    /// The tempo at which the taps fit the part, begun on its first pulse, far better than at the task's own tempo.
    /// `None` where they fit that one, or none.
    pub fn tempo_of(&self, taps: &[Tap]) -> Option<Tempo> {
        let mut times: Vec<f64> = taps
            .iter()
            .map(|t| (t.seconds - self.lead).seconds())
            .collect();
        times.retain(|t| t.is_finite());
        times.sort_by(f64::total_cmp);
        times.truncate(MOST);
        if times.len() < FEWEST {
            return None;
        }
        let until = times[times.len() - 1] + COMMON.seconds();
        let fits = |tempo: Tempo| {
            let task = TapTask {
                tempo,
                ..self.clone()
            };
            let rounds = rounds(&task, &times);
            let both = std::iter::once(0).chain(turns(&task));
            let score = both.map(|turned| {
                let laid = layout(&task, turned, &times, &rounds);
                // Of a long part, the strokes after the taps that are looked at are not yet due.
                let due = laid.times.iter().filter(|t| **t <= until).count();
                laid.track.score / due.max(times.len()) as f64
            });
            score.fold(0.0, f64::max)
        };
        let tempos = (-STEPS..=STEPS).map(|n| self.tempo * STEP.powi(n));
        let scored = tempos.map(|tempo| (tempo, fits(tempo)));
        let (tempo, score) = scored.max_by(|a, b| a.1.total_cmp(&b.1))?;
        let better = score - fits(self.tempo);
        let told =
            (score >= FITS && better >= BETTER) || (score >= NEARLY_ALL && better >= BETTER_THEN);
        told.then_some(tempo)
    }
}
