//! What a thinner form does for the hands.

use crate::hands::{Player, fastest};
use crate::rhythm::{Pattern, Tempo};

/// What leaving strokes out does for the hands: how fast they go with every stroke and without some. Estimates of a
/// model that was not tried on players.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ThinningEffect {
    /// Fastest tempo with every stroke.
    pub whole: Tempo,
    /// Fastest tempo without the strokes that are left out.
    pub thinner: Tempo,
}

impl ThinningEffect {
    /// How many times as fast the hands have to get for the relief to be clear: our choice.
    pub const CLEAR: f64 = 1.1;

    /// The relief from leaving out the strokes at these pulses, with the hands as written; where they are open, with
    /// those that go fastest. `None` where nothing is left out, or nothing is left over.
    pub fn new(drums: &Pattern, pulses: &[usize], player: &Player) -> Option<ThinningEffect> {
        let left = drums.without(pulses);
        let some = !pulses.is_empty() && left.strokes().next().is_some();
        some.then(|| ThinningEffect {
            whole: fastest(drums, player),
            thinner: fastest(&left, player),
        })
    }

    /// Do the hands get through clearly more tempo?
    pub fn is_clear(&self) -> bool {
        self.thinner >= self.whole * ThinningEffect::CLEAR
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rhythm::notation::read_block;

    fn relief(strokes: &str, hands: &str, pulses: &[usize]) -> ThinningEffect {
        let block = format!("count | 1 & 2 & 3 & 4 & |\nconga | {strokes} |\nhand | {hands} |");
        let drums = read_block(&block).0.unwrap().drums.unwrap();
        ThinningEffect::new(&drums, pulses, &Player::default()).unwrap()
    }

    #[test]
    fn a_light_stroke_helps_only_where_the_hands_get_stuck() {
        // The tight spot of the plain tumbao is the right hand's two open tones: no heel or tip helps (a teacher's
        // count: 200 with and without them).
        let opens = relief("H T S T H T O O", "L L R L L L R R", &[1, 5]);
        assert!(
            !opens.is_clear() && opens.whole == opens.thinner,
            "{opens:?}"
        );
        // Here the left hand plays two tips in a row, on 3& and 4, and nothing else is as tight.
        let tips = relief("H T S T O T T O", "L L R L R L L R", &[5]);
        assert!(tips.is_clear(), "{tips:?}");
        let elsewhere = relief("H T S T O T T O", "L L R L R L L R", &[1]);
        assert!(!elsewhere.is_clear(), "{elsewhere:?}");
    }
}
