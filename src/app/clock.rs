//! The wall clock, or the moment that `--now` gives instead.

use crate::time::Moment;
use chrono::{DateTime, Local, NaiveTime, TimeDelta, Utc};
use std::sync::atomic::{AtomicI64, Ordering};

/// The clock of the whole program. Nothing else asks the machine what time it is.
#[derive(Clone, Copy, Debug, Default)]
pub struct Clock {
    /// What is added to the machine's time.
    shift: TimeDelta,
    /// Where the clock is moved by hand, the microseconds since 1970 UTC that it shows.
    hand: Option<&'static AtomicI64>,
}

impl Clock {
    /// The machine's own time, or a clock that shows `start` at this moment and runs on from there.
    pub fn new(start: Option<DateTime<Utc>>) -> Clock {
        let shift = start.map_or(TimeDelta::zero(), |start| start - Utc::now());
        Clock { shift, hand: None }
    }

    /// A clock that stands still at `start`, or at the present moment, but for what [`step`](Self::step) adds. With
    /// it a run can be repeated to the last digit. It is kept for as long as the program runs.
    pub fn by_hand(start: Option<DateTime<Utc>>) -> Clock {
        let start = start.unwrap_or_else(Utc::now);
        let hand = AtomicI64::new(start.timestamp_micros());
        Clock {
            shift: TimeDelta::zero(),
            hand: Some(Box::leak(Box::new(hand))),
        }
    }

    /// Moves a clock that is moved by hand; any other runs by itself and does not mind.
    pub fn step(self, by: TimeDelta) {
        if let (Some(hand), Some(micros)) = (self.hand, by.num_microseconds()) {
            hand.fetch_add(micros, Ordering::Relaxed);
        }
    }

    /// Does it go only where it is moved?
    pub fn is_by_hand(self) -> bool {
        self.hand.is_some()
    }

    /// The time of this moment.
    pub fn now(self) -> DateTime<Utc> {
        self.hand
            .and_then(|hand| DateTime::from_timestamp_micros(hand.load(Ordering::Relaxed)))
            .unwrap_or_else(|| Utc::now() + self.shift)
    }

    /// This moment, to the microsecond.
    pub fn moment(self) -> Moment {
        moment(self.now())
    }

    /// A day from now, in milliseconds since 1970 UTC. What was answered later than that was answered on a wrong clock.
    pub fn tomorrow(self) -> i64 {
        self.now().timestamp_millis() + DAY
    }

    /// The player's present day, as `2026-11-25`.
    pub fn day(self) -> String {
        self.now()
            .with_timezone(&Local)
            .format("%Y-%m-%d")
            .to_string()
    }

    /// The beginning of the player's present day, by the time zone of the machine.
    pub fn midnight(self) -> DateTime<Utc> {
        let now = self.now().with_timezone(&Local);
        let midnight = now.with_time(NaiveTime::MIN);
        // Where the clocks are put forward at midnight that moment does not exist; the hour after it does.
        midnight.earliest().map_or_else(
            || self.now() - (now.time() - NaiveTime::MIN),
            |midnight| midnight.to_utc(),
        )
    }
}

/// The moment of a time, to the microsecond.
pub fn moment(at: DateTime<Utc>) -> Moment {
    Moment::new(at.timestamp_micros() as f64 / 1e6)
}

/// A day in milliseconds.
pub const DAY: i64 = 86_400_000;
/// A year in milliseconds.
pub const YEAR: i64 = 365 * DAY;

/// A time in milliseconds since 1970 UTC, by the player's clock and in words.
pub fn shown(at: i64) -> String {
    let time = DateTime::<Utc>::from_timestamp_millis(at);
    time.map_or_else(
        || format!("{at} ms"),
        |time| {
            let time = time.with_timezone(&Local);
            time.format("%Y-%m-%d %H:%M").to_string()
        },
    )
}

/// Why a clock that shows `now` is doubted, where answers were given at `answers`; all in milliseconds since 1970 UTC.
/// Behind the last answer by more than `leeway` it is wrong, or was. Ahead of it by more than that it may be; who has been
/// away for half as long before is believed.
pub fn doubt(now: i64, answers: AnswerTimes, leeway: i64) -> Option<String> {
    let ahead = |at: &i64| now - at > leeway.max(2 * answers.longest);
    let behind = answers.written.filter(|at| at - now > leeway);
    let last = behind.or(answers.newest.filter(ahead))?;
    let side = if last > now { "after" } else { "before" };
    let days = match (now - last).abs() / DAY {
        1 => "a day".to_string(),
        n => format!("{n} days"),
    };
    Some(format!(
        "Your last answer is from {}. That is {days} {side} the time that the clock shows now, {}.",
        shown(last),
        shown(now)
    ))
}

/// When answers were given, milliseconds since 1970 UTC.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct AnswerTimes {
    /// The one that was written last.
    pub written: Option<i64>,
    /// The newest that counts.
    pub newest: Option<i64>,
    /// The longest time between two that count.
    pub longest: i64,
}

/// Reads `--now`: a date and time with its zone, as in RFC 3339.
///
/// # Errors
/// A sentence with an example where the text is not such a time.
pub fn parse(text: &str) -> Result<DateTime<Utc>, String> {
    DateTime::parse_from_rfc3339(text)
        .map(|time| time.to_utc())
        .map_err(|_| "write a date and time with a time zone, such as 2026-11-25T18:30:00Z".into())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shifted_clock_shows_the_given_time_and_runs_on() {
        let start = parse("2027-02-01T18:00:00+01:00").unwrap();
        assert_eq!(start, parse("2027-02-01T17:00:00Z").unwrap());
        let clock = Clock::new(Some(start));
        let first = clock.now();
        assert!(first >= start && first - start < TimeDelta::minutes(1));
        assert!(clock.now() >= first);
    }

    #[test]
    fn a_clock_moved_by_hand_shows_what_it_was_moved_to() {
        let start = parse("2027-02-01T18:00:00Z").unwrap();
        let clock = Clock::by_hand(Some(start));
        clock.step(TimeDelta::seconds(2));
        assert_eq!(clock.now(), start + TimeDelta::seconds(2));
        let running = Clock::new(Some(start));
        running.step(TimeDelta::days(1));
        assert!(running.now() < start + TimeDelta::hours(1));
    }

    #[test]
    fn a_day_off_is_doubted_unless_there_were_such_breaks() {
        let answered = |written, newest, longest| AnswerTimes {
            written: Some(written),
            newest: Some(newest),
            longest,
        };
        let doubted = |now, answered| doubt(now, answered, DAY).is_some();
        assert!(!doubted(DAY, answered(0, 0, 0)) && !doubted(-DAY, answered(0, 0, 0)));
        assert!(doubted(DAY + 1, answered(0, 0, 0)) && doubted(-DAY - 1, answered(0, 0, 0)));
        assert!(!doubted(6 * DAY, answered(0, 0, 3 * DAY)));
        assert!(doubted(6 * DAY + 1, answered(0, 0, 3 * DAY)));
        // What was written on a clock ten years ahead does not count, and is doubted once.
        assert!(doubted(DAY / 2, answered(3650 * DAY, 0, 0)));
        assert!(!doubted(DAY / 2, answered(DAY / 4, DAY / 4, 0)));
        assert!(!doubted(0, AnswerTimes::default()));
    }

    #[test]
    fn what_is_no_time_is_answered_with_an_example() {
        assert!(parse("tomorrow").unwrap_err().contains("2026-11-25T18"));
    }
}
