//! What memory believes of an item at one moment.

use super::states::Memory;

/// What is believed of one item at one moment.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sight {
    /// Chance of recall, 0 to 1.
    pub chance: f64,
    /// Variance of what the item's own belief says of it.
    pub variance: f64,
    /// How fast the chance rises with the log odds of recall of every half-life that is held possible: the mean of
    /// `r (1 - r)`.
    pub slope: f64,
    /// Days since the last answer.
    pub days: f64,
    /// Share right of the last answer.
    pub last: f64,
}

impl Memory {
    /// What is believed of an item at `now` (seconds UTC); `None` where it was never asked.
    pub fn sight(&self, item: &str, now: f64) -> Option<Sight> {
        let at = self.names.find(item)?;
        let belief = &self.beliefs[at];
        let moment = self.moment(at, belief, now);
        let kind = &self.kinds[self.items[at].kind as usize];
        let odds = self.residual.odds(&kind.shift, &moment.features());
        let (chance, slope) = (self.filter).recall(belief, &self.filter.after(moment.days, odds));
        let (chance, slope) = (f64::from(chance), f64::from(slope));
        Some(Sight {
            chance,
            // The slope is E[r (1 - r)], so that E[r^2] is the mean less the slope.
            variance: (chance - slope - chance * chance).max(0.0),
            slope,
            days: f64::from(moment.days),
            last: f64::from(moment.last),
        })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::memory::Outcome;

    #[test]
    fn what_is_seen_is_the_chance_with_its_moments() {
        let mut memory = Memory::new();
        for n in 0..6 {
            memory.observe(&Outcome {
                item: "deck/card:side:read".into(),
                concepts: vec!["two side".into()],
                kind: "side".into(),
                at: 1e9 + f64::from(n) * 40_000.0,
                correct: f64::from(u8::from(n != 3)),
                guess: 1.0 / 3.0,
                seconds: 0.0,
                limit: 0.0,
                replays: 0,
                slowed: false,
            });
        }
        let now = 1e9 + 5.0 * 40_000.0 + 2.0 * 86_400.0;
        let seen = memory.sight("deck/card:side:read", now).unwrap();
        assert_eq!(memory.chance("deck/card:side:read", now), Some(seen.chance));
        assert!(
            (seen.days - 2.0).abs() < 1e-6 && seen.last == 1.0,
            "{seen:?}"
        );
        // A share has at most the variance of one that is 0 or 1; mean and slope make up the rest of it.
        let most = seen.chance * (1.0 - seen.chance);
        assert!((seen.variance + seen.slope - most).abs() < 1e-6, "{seen:?}");
        assert!(memory.sight("deck/other:side:read", now).is_none());
    }
}
