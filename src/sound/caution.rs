/// What every player should know about loudness; shown in the help and the README.
///
/// NIOSH 1998, *Criteria for a Recommended Standard: Occupational Noise Exposure*, publication 98-126: 85 dBA as an
/// 8-hour average with a 3 dB exchange rate.
pub const HEARING: &str = "Mind your ears. The United States occupational health institute NIOSH recommends no more \
    than 85 dBA over 8 hours, and half the time for every 3 dB more: 88 dBA for 4 hours, 94 dBA for 1 hour, 100 dBA \
    for 15 minutes. Drums and headphones pass that easily. Start soft, take breaks, and wear protection next to \
    drums. If your ears ring or sounds seem dull, stop and see a clinician; local rules on noise come first.";
