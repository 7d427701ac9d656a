//! Salience: which strokes carry a part, and which only keep time between them. This is the one place that says so.
//!
//! Common practice, no source: open tones, slaps, muffled tones and the bass are what a listener takes away from a
//! part, and so is whatever is accented; heel, tip and ghost strokes fill the time between. The bass belongs to the
//! first: many a part has it as a main stroke, and anyone who hears the clave in bass strokes hears the clave. An
//! accent is written to be heard, so that an accented heel or tip carries too, although the hand that plays it still
//! rocks. What the hands make of a stroke is another matter: it depends on where the hand lies, not on how loud it is.

use super::{Drum, Pattern, Score, Stroke, Tone, Weight};

impl Tone {
    /// Is it heel or tip, played by the flat hand that lies on the drum? There one hand rocks and keeps the time,
    /// however loud. Common practice, no source.
    pub const fn is_heel_or_tip(self) -> bool {
        matches!(self, Tone::Heel | Tone::Tip)
    }

    /// Is it struck at the edge, with the fingers: open tone, either slap or muffled tone? Common practice, no source.
    pub const fn is_at_edge(self) -> bool {
        !self.is_heel_or_tip() && !matches!(self, Tone::Bass)
    }
}

impl Stroke {
    /// Does it carry the part: accented, or neither heel nor tip nor a ghost?
    pub fn carries(self) -> bool {
        match self.weight {
            Weight::Accent => true,
            Weight::Plain => !self.tone.is_heel_or_tip(),
            Weight::Ghost => false,
        }
    }

    /// Does it only keep time, so that the part keeps its shape without it? The opposite of [`Stroke::carries`].
    pub fn is_light(self) -> bool {
        !self.carries()
    }

    /// Does the hand come down on the drum for it, so that it does not rock: does it carry, and is neither heel nor tip, however
    /// accented? Common practice, no source.
    pub fn lifts_hand(self) -> bool {
        self.carries() && !self.tone.is_heel_or_tip()
    }

    /// Does it ask for the stronger hand: a stroke at the edge that carries, or an accent? The bass carries too, but
    /// the palm falls by its weight, in either hand. Common practice, no source.
    pub fn asks_for_stronger_hand(self) -> bool {
        self.carries() && (self.tone.is_at_edge() || self.weight == Weight::Accent)
    }
}

impl Pattern {
    /// The strokes that carry it, with their pulses, in time order.
    pub fn carrying(&self) -> impl Iterator<Item = (usize, Stroke)> + '_ {
        self.strokes().filter(|(_, s)| s.carries())
    }

    /// The low drum, where it is one of several. Its strokes carry the part like any other, but which side of the
    /// clave they mark is a matter of school.
    pub fn low_drum(&self) -> Option<Drum> {
        let drums = self.drums();
        let low = |d: &Drum| *d == Drum::Tumbadora && drums.len() > 1;
        drums.iter().copied().find(low)
    }
}

impl Score {
    /// Whether something that carries falls on each of the first `pulses` pulses, parts read as cycles: the strokes that
    /// carry the drums, and every sound of the band.
    pub fn carrying(&self, pulses: usize) -> Vec<bool> {
        let drums = |p: usize| self.drums.as_ref().and_then(|d| d.at(p));
        let band = |p: usize| self.lines.iter().any(|l| l.at(p).is_some());
        (0..pulses)
            .map(|p| drums(p).is_some_and(Stroke::carries) || band(p))
            .collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rhythm::notation::read_line;
    use crate::rhythm::{Grid, Hit, Instrument, Line};

    fn pattern(strokes: &str) -> Pattern {
        read_line(strokes, Grid::Eighths).unwrap()
    }

    fn carrying(strokes: &str) -> Vec<usize> {
        pattern(strokes).carrying().map(|(p, _)| p).collect()
    }

    /// Every tone in every weight, written down by hand (common practice, no source): does it carry, does it ask for
    /// the stronger hand, does the hand come down for it?
    #[test]
    fn each_tone_in_each_weight() {
        for (strokes, carries, asks, lifts) in [
            ("O", true, true, true),
            ("S", true, true, true),
            ("C", true, true, true),
            ("M", true, true, true),
            ("B", true, false, true),
            ("H", false, false, false),
            ("T", false, false, false),
            (">O", true, true, true),
            (">B", true, true, true),
            (">H", true, true, false),
            (">T", true, true, false),
            ("(O)", false, false, false),
            ("(S)", false, false, false),
            ("(B)", false, false, false),
            ("(T)", false, false, false),
        ] {
            let bar = pattern(&format!("{strokes} . . . . . . ."));
            let stroke = bar.at(0).unwrap();
            assert_eq!(stroke.carries(), carries, "{strokes}");
            assert_eq!(stroke.is_light(), !carries, "{strokes}");
            assert_eq!(stroke.asks_for_stronger_hand(), asks, "{strokes}");
            assert_eq!(stroke.lifts_hand(), lifts, "{strokes}");
        }
    }

    #[test]
    fn heel_tip_and_ghosts_carry_nothing_even_where_there_is_nothing_else() {
        assert_eq!(carrying("H T S T H T O O"), [2, 6, 7]);
        assert_eq!(carrying("B T . T (O) T >T ."), [0, 6]);
        assert_eq!(carrying("H . T . . (T) . ."), [] as [usize; 0]);
    }

    #[test]
    fn the_low_drum_is_known_only_where_it_is_one_of_several() {
        assert_eq!(
            pattern("H T S tO . . O O").low_drum(),
            Some(Drum::Tumbadora)
        );
        assert_eq!(pattern(". . . tO . . tO .").low_drum(), None);
        assert_eq!(pattern("H T S T H T O O").low_drum(), None);
    }

    #[test]
    fn every_sound_of_the_band_carries_and_short_parts_go_round() {
        let hit = |p: usize| (p == 3).then(Hit::default);
        let bell = Line::new(Instrument::Bell, Grid::Eighths, (0..16).map(hit).collect());
        let score = Score {
            drums: Some(pattern(". . S . . T . .")),
            lines: vec![bell.unwrap()],
            ..Score::empty(Grid::Eighths)
        };
        let struck: Vec<usize> = (0..19).filter(|p| score.carrying(19)[*p]).collect();
        assert_eq!(struck, [2, 3, 10, 18]);
    }
}
