//! When the samples of a stream are heard: their count says so, moved to what the stamps of the last seconds say together.
//!
//! One stamp says little: a sound server stamps no finer than its blocks, its own reckoning wanders by milliseconds, and a
//! thread that is held up between reading the delay and the time stamps too late.

use crate::time::Seconds;
use std::collections::VecDeque;

/// For how long back the middle of the stamps counts. Clocks differ by some ten thousandths at most (common practice,
/// no source), so that the middle of these is a tenth of a millisecond behind. A line through them, which would follow
/// that, was tried on stamps of a sound server: it follows the wander of the server's own reckoning as well, and was no
/// better on the few runs tried.
const WINDOW: Seconds = Seconds::new(2.0);
/// For how long back the latest stamps show whether a stream stood still or lost samples, and the fewest of them.
const LATEST: Seconds = Seconds::new(0.2);
const FEWEST: usize = 5;
/// Where the middle of the latest lies so far from that of all, nanoseconds, it did: chosen, twice what the reckoning of a sound
/// server was seen to wander by in so long.
const MOVED: i64 = 15_000_000;

/// When a sample was heard, and whether the stream stood still or lost samples of which nobody told.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct SampleTime {
    /// Nanoseconds on the clock of the stamps.
    pub nanos: u64,
    /// Stamps have moved for good since the one before.
    pub moved: bool,
}

/// Follows the stamps of one stream. Takes no memory after it was made.
#[derive(Debug)]
pub(super) struct SampleClock {
    rate: f64,
    /// A sample, and when sample 0 was heard by its stamp, nanoseconds.
    starts: VecDeque<(u64, i64)>,
    sorted: Vec<i64>,
}

/// Most stamps that are kept: as many as blocks of 5 ms in the window.
const MOST: usize = 640;

impl SampleClock {
    /// For samples of `rate` a second.
    pub fn new(rate: u32) -> SampleClock {
        SampleClock {
            rate: f64::from(rate.max(1)),
            starts: VecDeque::with_capacity(MOST),
            sorted: Vec::with_capacity(MOST),
        }
    }

    /// Forgets the stamps so far: they say nothing of what comes.
    pub fn restart(&mut self) {
        self.starts.clear();
    }

    /// When sample `first` is heard, which a stamp puts at `nanos`.
    pub fn heard(&mut self, first: u64, nanos: u64) -> SampleTime {
        let since = (first as f64 / self.rate * 1e9) as i64;
        if self.starts.len() == MOST {
            self.starts.pop_front();
        }
        self.starts.push_back((first, nanos as i64 - since));
        let ago = |length: Seconds| first.saturating_sub((length.seconds() * self.rate) as u64);
        let old = self.starts.partition_point(|s| s.0 < ago(WINDOW));
        self.starts.drain(..old);
        let count = self.starts.len();
        let from = self.starts.partition_point(|s| s.0 < ago(LATEST));
        let from = from.min(count.saturating_sub(FEWEST));
        let latest = self.middle(from);
        let mut middle = self.middle(0);
        let moved = count >= 2 * FEWEST && (latest - middle).abs() > MOVED;
        if moved {
            self.starts.drain(..from);
            middle = latest;
        }
        SampleTime {
            nanos: u64::try_from(middle + since).unwrap_or(0),
            moved,
        }
    }

    /// The middle of the starts from this one on.
    fn middle(&mut self, from: usize) -> i64 {
        self.sorted.clear();
        self.sorted.extend(self.starts.range(from..).map(|s| s.1));
        let half = self.sorted.len() / 2;
        *self.sorted.select_nth_unstable(half).1
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const BLOCK: u64 = 480;

    /// When the sample is heard that a stamp off by this many nanoseconds stands at, in blocks of 10 ms that began 5 ms after the
    /// clock.
    fn due(block: u64) -> i64 {
        5_000_000 + 10_000_000 * block as i64
    }

    #[test]
    fn uneven_stamps_do_not_move_the_samples() {
        let mut clock = SampleClock::new(48_000);
        // One stamp in four is off by milliseconds, one of them by a tenth of a second, as on a machine that is busy.
        for n in 0..200u64 {
            let off = match n {
                50 => 100_000_000,
                n if n % 8 == 3 => 4_000_000,
                n if n % 8 == 7 => -3_000_000,
                _ => 0,
            };
            let heard = clock.heard(BLOCK * n, (due(n) + off) as u64);
            assert_eq!((heard.nanos as i64, heard.moved), (due(n), false), "{n}");
        }
    }

    #[test]
    fn a_clock_that_goes_faster_is_followed() {
        let mut clock = SampleClock::new(48_000);
        // A ten thousandth, for a minute: the middle of two seconds lies 1 s back, so .1 ms.
        for n in 0..6000u64 {
            let nanos = due(n) - due(n) / 10_000;
            let heard = clock.heard(BLOCK * n, nanos as u64).nanos as i64;
            assert!((heard - nanos).abs() <= 101_000, "{n}");
        }
    }

    #[test]
    fn samples_that_were_lost_are_noticed_and_a_stop_is() {
        for gap in [20_000_000, 1_000_000_000] {
            let mut clock = SampleClock::new(48_000);
            (0..300u64).for_each(|n| {
                assert!(!clock.heard(BLOCK * n, due(n) as u64).moved);
            });
            // From here on everything is so much later. Ten of twenty stamps, 200 ms, say so.
            let later: Vec<SampleTime> = (300..330u64)
                .map(|n| clock.heard(BLOCK * n, (due(n) + gap) as u64))
                .collect();
            let told: Vec<usize> = (0..30).filter(|n| later[*n].moved).collect();
            assert_eq!(told, [10]);
            for (n, heard) in (310..330).zip(&later[10..]) {
                assert_eq!(heard.nanos as i64, due(n) + gap);
            }
        }
    }
}
