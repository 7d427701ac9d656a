//! Every number of the hand model, each with its unit and where it comes from.

use super::Level;

macro_rules! constants {
    ($($(#[$doc:meta])* $name:ident = $value:literal, $unit:literal, $source:literal;)*) => {
        /// The numbers of the hand model. None of them was tried on hand drummers: what follows from them is an
        /// estimate.
        #[derive(Clone, Debug, PartialEq)]
        pub struct Model {
            $($(#[$doc])* pub $name: f64,)*
        }

        impl Model {
            /// The numbers in use.
            pub const DEFAULT: Model = Model { $($name: $value,)* };

            /// Name, value, unit and source of every number.
            #[cfg(test)]
            const TABLE: &'static [(&'static str, f64, &'static str, &'static str)] =
                &[$((stringify!($name), $value, $unit, $source),)*];

            /// A model whose every number is multiplied by what `factor` gives for it, to see how much an answer
            /// depends on the numbers.
            #[cfg(any(test, feature = "internals"))]
            pub fn scaled(&self, mut factor: impl FnMut(&'static str) -> f64) -> Model {
                Model { $($name: self.$name * factor(stringify!($name)),)* }
            }
        }
    };
}

constants! {
    /// Least time between two strokes of the stronger hand.
    repeat_strong = 150.0, "ms", "Fujii, Kudo, Ohtsuki & Oda 2009, Neurosci Lett 459:69-73: one-hand tapping of ordinary people, 5 to 7 a second";
    /// Least time between two strokes of the weaker hand.
    repeat_weak = 155.0, "ms", "our choice: in the untrained the weaker hand is about 10 % slower (from memory), in drummers nearly as fast (direction: Fujii & Oda 2006, Percept Mot Skills 103:265-272)";
    /// Least time between heel and tip of one rocking hand.
    rock = 90.0, "ms", "our choice";
    /// Least time between bass and tip of one rocking hand, which has to lift a little.
    rock_bass = 120.0, "ms", "our choice";
    /// Least time that a movement takes.
    travel_base = 12.8, "ms", "from memory: Fitts 1954, J Exp Psychol 47:381-391";
    /// Time for each doubling of distance against landing width.
    travel_bit = 94.7, "ms a bit", "from memory: Fitts 1954; MacKenzie 1992 warns of large differences between studies";
    /// Landing width on the drum where the hand is.
    width_same = 8.0, "cm", "our choice";
    /// Landing width on another drum: the arm aims at a drum, not at a spot, so the whole head less a hand's breadth.
    width_other = 21.0, "cm", "our choice: a head of about 30 cm less a hand of 9 cm; the way to the low drum then takes 169 ms";
    /// From the middle of one drum to the middle of the next.
    spacing = 33.0, "cm", "common practice, no source: two heads of about 30 cm side by side";
    /// From the edge, where open tones and slaps are played, to where the hand lies flat for heel and tip.
    flat = 9.0, "cm", "our choice";
    /// From the edge to the centre, where the bass is played.
    centre = 12.0, "cm", "our choice";
    /// Time that the hand stays on the head for a closed slap or a muffled tone.
    hold = 30.0, "ms", "our choice";
    /// A learner's times against those of the practised.
    learner = 1.25, "times", "our choice";
    /// The practised player's times.
    practised = 1.0, "times", "our choice: the level to which the numbers above apply";
    /// An expert's times (direction: Honda & Fujii 2022, Front Psychol 13:861821).
    expert = 0.8, "times", "our choice";
    /// Load from which a movement feels hurried.
    ease = 0.6, "of the time there is", "our choice";
    /// Cost of a movement that takes all the time there is, less by the square down to the ease.
    strain = 60.0, "cost", "our choice";
    /// Cost of each millisecond that is missing.
    shortage = 4.0, "cost a ms", "our choice";
    /// Cost of moving a hand.
    effort = 0.4, "cost a cm", "our choice";
    /// Cost of changing to another place on the head.
    place = 12.0, "cost", "our choice";
    /// Cost of a stroke that is marked as an accent in the weaker hand, beside that of any strong one.
    stress_weak = 10.0, "cost", "common practice, no source: the stronger hand takes the accents";
    /// Cost of one hand playing heel after heel or tip after tip.
    double_light = 80.0, "cost", "common practice, no source: a hand rocks between heel and tip, or the hands take turns";
    /// Cost of the stronger hand striking two strong strokes next to each other.
    double_strong = 20.0, "cost", "common practice, no source: open tones and slaps in a row alternate";
    /// Cost of the weaker hand striking two strong strokes next to each other.
    double_weak = 40.0, "cost", "our choice: such doubles are given to the stronger hand";
    /// Cost added where the two strokes of such a double are on two drums.
    double_across = 19.0, "cost", "our choice: from about 145 quarter notes a minute the slap of the two-drum tumbao then moves to the weaker hand";
    /// Cost of one hand playing a heel or tip and a stroke that carries, on one drum, where the other hand could have one
    /// of them; half of it where the other hand has the carrying stroke next to them.
    double_mixed = 30.0, "cost", "common practice, no source: one hand keeps time, the other one is kept for the strong strokes";
    /// Cost of the stronger hand's rocking between heel and tip, each time, beside that of its heels and tips.
    rock_strong = 5.0, "cost", "our choice: so that not both hands rock";
    /// Cost of one hand striking two in a row, in a run of three or more equal tones, loud or soft, or of three or more
    /// strokes that carry; such a run of unlike tones may close with two equal ones in one hand.
    double_run = 80.0, "cost", "common practice, no source: strong strokes in a row change hands";
    /// Cost of heel or tip in the stronger hand.
    light_strong = 25.0, "cost", "common practice, no source: the weaker hand keeps time with heel and tip";
    /// Cost of a strong stroke in the weaker hand.
    accent_weak = 15.0, "cost", "common practice, no source: the stronger hand takes the accents";
    /// Cost of the weaker hand's going to the low drum, which stands on the other side.
    low_weak = 30.0, "cost", "common practice, no source";
    /// Cost of a strong stroke on the beat in the weaker hand; settles which hand begins a row of equal strokes.
    lead = 2.0, "cost", "common practice, no source: the stronger hand leads on the beat";
    /// Cost, beside that, where the stroke begins a bar; settles it where beats lie alike in both hands.
    lead_bar = 1.0, "cost", "common practice, no source: the stronger hand begins";
    /// Cost of crossed hands.
    cross = 80.0, "cost", "our choice";
    /// Hands cross where one strikes beyond the drum that the other one struck less than this time before, and strikes
    /// again, there or further over, less than this time after. A hand that is on its way over crosses nothing.
    cross_within = 1000.0, "ms", "our choice";
    /// How much dearer, tempo apart, a sticking may be in a bar than the usual one before it counts as an invention.
    relearn = 30.0, "cost a bar", "our choice";
    /// Peak load from which leaving a light stroke out is considered.
    crowded = 0.95, "of the time there is", "our choice";
    /// How far the peak load must fall for a light stroke to be left out.
    relief = 0.1, "of the time there is", "our choice";
}

impl Model {
    /// What a player's level does to every time.
    pub fn pace(&self, level: Level) -> f64 {
        match level {
            Level::Learner => self.learner,
            Level::Practised => self.practised,
            Level::Expert => self.expert,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_number_says_where_it_comes_from() {
        for (name, value, unit, source) in Model::TABLE {
            assert!(
                source.starts_with("our choice")
                    || source.starts_with("from memory")
                    || source.starts_with("common practice, no source")
                    || source.contains(", Neurosci Lett "),
                "{name}: {source}"
            );
            assert!(*value > 0.0 && !unit.is_empty());
        }
    }
}
