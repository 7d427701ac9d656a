//! The caution about hearing.

/// What every player should know about loudness; shown in the help and the README.
///
/// NIOSH 1998, *Criteria for a Recommended Standard: Occupational Noise Exposure*, publication 98-126: 85 dBA as an
/// 8-hour average with a 3 dB exchange rate.
pub const HEARING: &str = "Hearing: the recommended limit of NIOSH is 85 dBA over 8 hours, and every 3 dB more halves \
    the time: 94 dBA for 1 hour, 100 dBA for 15 minutes. The program cannot know how loud it is at your ear: start \
    low, keep it at a level at which you could talk over it, take breaks, and wear protection next to drums. If your \
    ears ring or sounds seem dull, stop and see a clinician. The rules of your place of work come first.";
