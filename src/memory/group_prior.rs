//! What related items show: shrunken means of ease for the player, for each kind and for each concept.

/// What the items of one group (all of them, a kind, a concept) showed about their ease.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct GroupPrior {
    /// Sum of what the items showed, each weighted by how much it showed.
    pub shown: f64,
    /// Sum of those weights.
    pub weight: f64,
}

/// What one item added to its groups.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub(super) struct ItemEvidence {
    /// Expected ease when the item was new.
    pub prior: f32,
    pub shown: f32,
    pub weight: f32,
}

impl ItemEvidence {
    /// From the moments of an item's ease: a posterior mean is a mixture of prior and evidence, `weight` the share
    /// of the evidence (1 - posterior variance / prior variance).
    pub fn new(prior: f32, prior_variance: f32, mean: f32, variance: f32) -> Self {
        let weight = (1.0 - variance / prior_variance).clamp(0.0, 1.0);
        Self {
            prior,
            shown: mean - (1.0 - weight) * prior,
            weight,
        }
    }
}

impl GroupPrior {
    pub fn exchange(&mut self, old: &ItemEvidence, new: &ItemEvidence) {
        self.shown += f64::from(new.shown) - f64::from(old.shown);
        self.weight += f64::from(new.weight) - f64::from(old.weight);
    }

    /// Mean ease above `base`, shrunk by `inertia` (variance within over variance between).
    pub fn above(&self, base: f64, inertia: f64) -> f64 {
        (self.shown - self.weight * base) / (self.weight + inertia)
    }
}
