//! Time: a moment, and a length of time in seconds.
//!
//! A moment and a length add up to a moment, two moments lie a length apart, and a length divided by another is a number:
//! anything else does not compile. Nothing here reads a clock.

use serde::{Deserialize, Serialize};
use std::cmp::Ordering;
use std::fmt;
use std::iter::Sum;
use std::ops::{Add, AddAssign, Div, Mul, Neg, Sub, SubAssign};
use std::time::Duration;

/// A length of time, in seconds. It may be negative, or not a number where nothing was measured. In files it is the bare
/// number.
#[derive(Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Seconds(f64);

/// A point in time: seconds since 1970-01-01 00:00 UTC, fractions included. In files it is the bare number.
#[derive(Clone, Copy, PartialEq, PartialOrd, Default, Serialize, Deserialize)]
#[serde(transparent)]
pub struct Moment(f64);

impl Seconds {
    /// No time at all.
    pub const ZERO: Seconds = Seconds(0.0);
    /// 60 seconds.
    pub const MINUTE: Seconds = Seconds(60.0);
    /// 60 minutes.
    pub const HOUR: Seconds = Seconds(3600.0);
    /// 24 hours.
    pub const DAY: Seconds = Seconds(86_400.0);

    /// So many seconds.
    pub const fn new(seconds: f64) -> Seconds {
        Seconds(seconds)
    }

    /// As long as a span that the system measured.
    pub fn of(span: Duration) -> Seconds {
        Seconds(span.as_secs_f64())
    }

    /// So many minutes.
    pub const fn from_minutes(minutes: f64) -> Seconds {
        Seconds(minutes * 60.0)
    }

    /// So many hours.
    pub const fn from_hours(hours: f64) -> Seconds {
        Seconds(hours * 3600.0)
    }

    /// So many days of 24 hours.
    pub const fn from_days(days: f64) -> Seconds {
        Seconds(days * 86_400.0)
    }

    /// The number of seconds.
    pub const fn seconds(self) -> f64 {
        self.0
    }

    /// The number of milliseconds.
    pub const fn millis(self) -> f64 {
        self.0 * 1000.0
    }

    /// The number of minutes.
    pub const fn minutes(self) -> f64 {
        self.0 / 60.0
    }

    /// The number of days of 24 hours.
    pub const fn days(self) -> f64 {
        self.0 / 86_400.0
    }

    /// The shorter of two; the other one where one is not a number.
    pub const fn min(self, other: Seconds) -> Seconds {
        Seconds(self.0.min(other.0))
    }

    /// The longer of two; the other one where one is not a number.
    pub const fn max(self, other: Seconds) -> Seconds {
        Seconds(self.0.max(other.0))
    }

    /// The nearest to it from `least` to `most`.
    ///
    /// # Panics
    /// Where `least` is above `most`, or one of them is not a number.
    pub const fn clamp(self, least: Seconds, most: Seconds) -> Seconds {
        Seconds(self.0.clamp(least.0, most.0))
    }

    /// How long it is, whatever its sign.
    pub const fn abs(self) -> Seconds {
        Seconds(self.0.abs())
    }

    /// Is it a number, and not endless?
    pub const fn is_finite(self) -> bool {
        self.0.is_finite()
    }

    /// The order of all lengths, those that are not a number included.
    pub fn total_cmp(&self, other: &Seconds) -> Ordering {
        self.0.total_cmp(&other.0)
    }
}

impl Moment {
    /// Before every other: when something that never was would have been.
    pub const NEVER: Moment = Moment(f64::NEG_INFINITY);
    /// After every other.
    pub const AT_NO_END: Moment = Moment(f64::INFINITY);
    /// 1970-01-01 00:00 UTC.
    pub const EPOCH: Moment = Moment(0.0);

    /// So many seconds after 1970-01-01 00:00 UTC.
    pub const fn new(seconds: f64) -> Moment {
        Moment(seconds)
    }

    /// The moment of a stamp in the log: milliseconds since 1970-01-01 00:00 UTC.
    pub const fn from_millis(millis: i64) -> Moment {
        Moment(millis as f64 / 1000.0)
    }

    /// Seconds since 1970-01-01 00:00 UTC.
    pub const fn seconds(self) -> f64 {
        self.0
    }

    /// The stamp of the moment in the log: the nearest whole number of milliseconds since 1970-01-01 00:00 UTC.
    pub const fn millis(self) -> i64 {
        (self.0 * 1000.0).round() as i64
    }

    /// The earlier of two; the other one where one is not a number.
    pub const fn min(self, other: Moment) -> Moment {
        Moment(self.0.min(other.0))
    }

    /// The later of two; the other one where one is not a number.
    pub const fn max(self, other: Moment) -> Moment {
        Moment(self.0.max(other.0))
    }

    /// The order of all moments, those that are not a number included.
    pub fn total_cmp(&self, other: &Moment) -> Ordering {
        self.0.total_cmp(&other.0)
    }
}

/// So much later.
impl Add<Seconds> for Moment {
    type Output = Moment;

    fn add(self, later: Seconds) -> Moment {
        Moment(self.0 + later.0)
    }
}

/// So much earlier.
impl Sub<Seconds> for Moment {
    type Output = Moment;

    fn sub(self, earlier: Seconds) -> Moment {
        Moment(self.0 - earlier.0)
    }
}

/// How much later than another moment.
impl Sub for Moment {
    type Output = Seconds;

    fn sub(self, other: Moment) -> Seconds {
        Seconds(self.0 - other.0)
    }
}

impl AddAssign<Seconds> for Moment {
    fn add_assign(&mut self, later: Seconds) {
        self.0 += later.0;
    }
}

impl Add for Seconds {
    type Output = Seconds;

    fn add(self, other: Seconds) -> Seconds {
        Seconds(self.0 + other.0)
    }
}

impl Sub for Seconds {
    type Output = Seconds;

    fn sub(self, other: Seconds) -> Seconds {
        Seconds(self.0 - other.0)
    }
}

impl AddAssign for Seconds {
    fn add_assign(&mut self, other: Seconds) {
        self.0 += other.0;
    }
}

impl SubAssign for Seconds {
    fn sub_assign(&mut self, other: Seconds) {
        self.0 -= other.0;
    }
}

impl Neg for Seconds {
    type Output = Seconds;

    fn neg(self) -> Seconds {
        Seconds(-self.0)
    }
}

/// So many times as long.
impl Mul<f64> for Seconds {
    type Output = Seconds;

    fn mul(self, times: f64) -> Seconds {
        Seconds(self.0 * times)
    }
}

/// So many times a length.
impl Mul<Seconds> for f64 {
    type Output = Seconds;

    fn mul(self, length: Seconds) -> Seconds {
        Seconds(self * length.0)
    }
}

/// One of so many equal parts.
impl Div<f64> for Seconds {
    type Output = Seconds;

    fn div(self, parts: f64) -> Seconds {
        Seconds(self.0 / parts)
    }
}

/// How many times as long as another.
impl Div for Seconds {
    type Output = f64;

    fn div(self, other: Seconds) -> f64 {
        self.0 / other.0
    }
}

impl Sum for Seconds {
    fn sum<I: Iterator<Item = Seconds>>(lengths: I) -> Seconds {
        Seconds(lengths.map(|length| length.0).sum())
    }
}

impl fmt::Display for Seconds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0, f)
    }
}

impl fmt::Display for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Display::fmt(&self.0, f)
    }
}

impl fmt::Debug for Seconds {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&self.0, f)
    }
}

impl fmt::Debug for Moment {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        fmt::Debug::fmt(&self.0, f)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 2025-11-25 12:00 UTC, by `date -u -d 2025-11-25T12:00 +%s`.
    const NOON: Moment = Moment::new(1_764_072_000.0);

    #[test]
    fn a_day_is_twenty_four_hours_of_sixty_minutes() {
        assert_eq!(Seconds::DAY, Seconds::HOUR * 24.0);
        assert_eq!(Seconds::HOUR, Seconds::MINUTE * 60.0);
        assert_eq!(Seconds::MINUTE, Seconds::new(60.0));
        assert_eq!(Seconds::from_days(1.5).seconds(), 129_600.0);
        assert_eq!(Seconds::of(Duration::from_millis(1500)).seconds(), 1.5);
        assert_eq!(Seconds::from_hours(8.0).seconds(), 28_800.0);
        assert_eq!(Seconds::from_minutes(2.5).seconds(), 150.0);
        assert_eq!(Seconds::new(0.25).millis(), 250.0);
        assert_eq!(Seconds::new(90.0).minutes(), 1.5);
        assert_eq!(Seconds::new(43_200.0).days(), 0.5);
    }

    #[test]
    fn moments_lie_a_length_apart() {
        // The noon after is 2025-11-26 12:00 UTC.
        let next = NOON + Seconds::DAY;
        assert_eq!(next.seconds(), 1_764_158_400.0);
        assert_eq!(next - NOON, Seconds::DAY);
        assert_eq!(NOON - next, -Seconds::DAY);
        assert_eq!(next - Seconds::DAY, NOON);
        assert!(Moment::NEVER < NOON && NOON < Moment::AT_NO_END);
        assert!(!(NOON - Moment::NEVER).is_finite());
        assert_eq!(NOON.max(next), next);
        assert_eq!(NOON.min(next), NOON);
    }

    #[test]
    fn a_stamp_of_the_log_is_the_nearest_millisecond() {
        assert_eq!(NOON.millis(), 1_764_072_000_000);
        assert_eq!((NOON + Seconds::new(0.0006)).millis(), 1_764_072_000_001);
        assert_eq!(Moment::new(-0.0016).millis(), -2);
        assert_eq!(
            Moment::from_millis(1_764_072_000_250) - NOON,
            Seconds::new(0.25)
        );
    }

    #[test]
    fn lengths_add_up_and_have_ratios() {
        let lengths = [0.5, 0.25, 3.0].map(Seconds::new);
        assert_eq!(lengths.into_iter().sum::<Seconds>(), Seconds::new(3.75));
        assert_eq!(lengths[2] / lengths[0], 6.0);
        assert_eq!(lengths[2] / 2.0, Seconds::new(1.5));
        assert_eq!(2.0 * lengths[0] - lengths[1], Seconds::new(0.75));
        assert_eq!(Seconds::new(9.0).clamp(lengths[0], lengths[2]), lengths[2]);
        assert_eq!(Seconds::new(-2.0).abs(), Seconds::new(2.0));
        assert_eq!(Seconds::new(f64::NAN).max(lengths[0]), lengths[0]);
    }

    #[test]
    fn in_files_and_on_the_screen_they_are_bare_numbers() {
        assert_eq!(serde_json::to_string(&Seconds::new(2.5)).unwrap(), "2.5");
        assert_eq!(serde_json::to_string(&NOON).unwrap(), "1764072000.0");
        assert_eq!(
            serde_json::from_str::<Moment>("12").unwrap(),
            Moment::new(12.0)
        );
        assert_eq!(
            format!("{:.1} {:?}", Seconds::new(2.0), NOON),
            "2.0 1764072000.0"
        );
    }
}
