//! The caution about hands and wrists.

/// What every player should know about their hands; shown with each answer of the `hands` command.
///
/// General advice on playing-related disorders; of 831 kit drummers 68 % had had one, wrists before all: Azar 2020, Med
/// Probl Perform Art 35:153. No figure for hand drums was found.
pub const HANDS: &str = "Tempos are estimates from a model that was never tried on players; your hands decide. Warm up \
    slowly, keep the wrists loose, take breaks, let bruised or split skin rest, and stop at pain, tingling, numbness or \
    swelling. If it lasts, or your urine turns dark after playing, see a doctor.";
