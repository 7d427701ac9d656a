/// How hard the drill may be: how many answers of ten, about what was met before, are to be right at least.
///
/// The planner asks what is worth most, which is what is about to fade, and so what is easily missed. A higher aim has
/// it ask more of what is still fresh, and that has a price: less that is new comes in, and less is kept.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Aim {
    /// Right answers of ten.
    pub of_ten: u8,
    /// Answers that were right in fact, of 100.
    right: f64,
    /// Items met in the first month, of 300.
    met: f64,
    /// Items kept, a minute of practice, sixty days after the last of three months.
    kept: f64,
}

impl Aim {
    /// The choices, from the hardest, with what came of each for simulated learners at five minutes a day and 15 % of
    /// days skipped. Source of the figures: `cargo bench --bench recall`, part "how hard it may be" (rows of 300 items
    /// over 30 days for `right` and `met`, over 90 days for `kept`). Frozen from a run of it.
    pub const ALL: [Aim; 3] = [
        Aim::of(6, 68.0, 244.0, 0.392),
        Aim::of(7, 69.0, 227.0, 0.386),
        Aim::of(8, 69.0, 221.0, 0.381),
    ];

    /// The command that prints the figures anew.
    pub const SOURCE: &str = "cargo bench --bench recall";

    const fn of(of_ten: u8, right: f64, met: f64, kept: f64) -> Aim {
        Aim {
            of_ten,
            right,
            met,
            kept,
        }
    }

    /// The choice nearest to a share of right answers, 0 to 1.
    pub fn nearest(share: f64) -> Aim {
        let away = |aim: &Aim| (aim.share() - share).abs();
        let nearest = Aim::ALL
            .into_iter()
            .min_by(|a, b| away(a).total_cmp(&away(b)));
        nearest.unwrap_or(Aim::ALL[0])
    }

    /// As a share of answers, 0 to 1.
    pub fn share(self) -> f64 {
        f64::from(self.of_ten) / 10.0
    }

    /// The choice `steps` easier than this one, or harder where they are negative; the last one at either end.
    pub fn easier(self, steps: isize) -> Aim {
        let here = Aim::ALL.iter().position(|a| a.of_ten == self.of_ten);
        let there = here.unwrap_or(0).saturating_add_signed(steps);
        Aim::ALL[there.min(Aim::ALL.len() - 1)]
    }

    /// What it costs against the hardest choice: `7 % fewer met, 2 % fewer kept`.
    pub fn cost(self) -> String {
        let hardest = Aim::ALL[0];
        if self.of_ten == hardest.of_ten {
            return "most met, most kept".into();
        }
        let less = |value: f64, whole: f64| (1.0 - value / whole) * 100.0;
        format!(
            "{:.0} % fewer met, {:.0} % fewer kept",
            less(self.met, hardest.met),
            less(self.kept, hardest.kept)
        )
    }

    /// Answers of 100 that were right in fact.
    pub fn right_in_fact(self) -> f64 {
        self.right
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::session::Profile;

    #[test]
    fn the_usual_aim_is_one_of_them() {
        assert_eq!(Aim::nearest(Profile::default().right).of_ten, 6);
        for aim in Aim::ALL {
            assert_eq!(Aim::nearest(aim.share()), aim);
            let (least, most) = Profile::RIGHT;
            assert!((least..=most).contains(&aim.share()));
        }
        // A share that was kept some other way.
        assert_eq!(Aim::nearest(0.0).of_ten, 6);
        assert_eq!(Aim::nearest(0.77).of_ten, 8);
    }

    #[test]
    fn steps_stop_at_both_ends() {
        let steps = |from: u8, steps: isize| Aim::nearest(f64::from(from) / 10.0).easier(steps);
        assert_eq!(steps(6, 1).of_ten, 7);
        assert_eq!(steps(6, -1).of_ten, 6);
        assert_eq!(steps(8, 1).of_ten, 8);
        assert_eq!(steps(8, -1).of_ten, 7);
    }

    #[test]
    fn the_cost_is_told_against_the_hardest() {
        assert!(Aim::ALL[0].cost().contains("most kept"));
        // 229 of 243 are 94.2 %, 0.384 of 0.391 are 98.2 %.
        assert_eq!(Aim::ALL[1].cost(), "7 % fewer met, 2 % fewer kept");
        assert_eq!(Aim::ALL[2].cost(), "9 % fewer met, 3 % fewer kept");
    }
}
