//! A moment at which an item is asked, in figures: what may shift the log odds of recall for this player.

use std::collections::HashMap;

/// One moment, as the log or memory has it.
pub(super) struct Moment<'m, 'a> {
    /// Chance of recall that memory forecasts, 0 to 1.
    pub forecast: f64,
    /// Days since the item was asked before.
    pub days: f64,
    /// Share right of that answer.
    pub last: f64,
    /// Answers of the player from then to now.
    pub ago: f64,
    pub kind: &'a str,
    pub concepts: &'m [&'a str],
}

/// A moment in figures: the columns that are not 0, and the log odds that memory forecasts.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Row {
    pub entries: Vec<(usize, f64)>,
    pub odds: f64,
}

/// Forecasts are not taken to be surer than this, on either side.
const SUREST: f64 = 0.98;
/// Answers after which a shift of the latest time counts a third.
const LATEST: f64 = 250.0;

/// The columns that every moment has: by how much each may shift the log odds of recall, as a standard deviation. In
/// order: always; by the gap; by the last answer; minutes after it; by the forecast itself; of late; of late by the gap.
const ALWAYS: [f64; 7] = [0.07, 0.1, 0.14, 0.5, 0.08, 0.15, 0.15];
/// The same of a concept and of a kind of question.
const CONCEPT: f64 = 0.4;
const KIND: f64 = 0.1;

/// Which column stands for what.
#[derive(Clone, Debug, Default)]
pub(super) struct Columns<'a> {
    concepts: HashMap<&'a str, usize>,
    kinds: HashMap<&'a str, usize>,
    spreads: Vec<f64>,
}

impl<'a> Columns<'a> {
    pub fn new() -> Columns<'a> {
        Columns {
            spreads: ALWAYS.to_vec(),
            ..Columns::default()
        }
    }

    /// How far each column may shift the log odds: standard deviations before any answer.
    pub fn spreads(&self) -> &[f64] {
        &self.spreads
    }

    /// A moment in figures; a concept or kind that was not seen yet gets a column of its own.
    pub fn row(&mut self, moment: &Moment<'_, 'a>) -> Row {
        // Each is set about its middle and on a scale of about one, so that their spreads can be compared (chosen).
        let gap = moment.days.clamp(0.02, 3650.0).log2() / 4.0 - 0.3;
        let odds = log_odds(moment.forecast);
        let late = (-moment.ago / LATEST).exp();
        let minutes = 1.0 / (1.0 + (24.0 * moment.days).powi(2));
        let figures = [
            1.0,
            gap,
            moment.last - 0.7,
            minutes,
            odds / 2.0,
            late,
            late * gap,
        ];
        let mut entries: Vec<(usize, f64)> = figures.into_iter().enumerate().collect();
        // However many ideas an item has, together they may shift it as far as one idea.
        let share = 1.0 / (moment.concepts.len().max(1) as f64).sqrt();
        for concept in moment.concepts {
            let at = column(&mut self.concepts, concept, &mut self.spreads, CONCEPT);
            entries.push((at, share));
        }
        let at = column(&mut self.kinds, moment.kind, &mut self.spreads, KIND);
        entries.push((at, 1.0));
        Row { entries, odds }
    }
}

fn column<'a>(
    known: &mut HashMap<&'a str, usize>,
    name: &'a str,
    spreads: &mut Vec<f64>,
    spread: f64,
) -> usize {
    *known.entry(name).or_insert_with(|| {
        spreads.push(spread);
        spreads.len() - 1
    })
}

/// Logarithm of the odds of a chance, which is kept from both ends.
pub(in crate::report) fn log_odds(chance: f64) -> f64 {
    let chance = chance.clamp(1.0 - SUREST, SUREST);
    (chance / (1.0 - chance)).ln()
}

/// The chance with these log odds, kept from 0 and 1.
pub(in crate::report) fn chance(odds: f64) -> f64 {
    1.0 / (1.0 + (-odds.clamp(-8.0, 8.0)).exp())
}

impl Row {
    /// The chance of recall with these shifts.
    pub fn chance(&self, shifts: &[f64]) -> f64 {
        let shift: f64 = self.entries.iter().map(|(at, x)| x * shifts[*at]).sum();
        chance(self.odds + shift)
    }
}
