//! What was played, stroke by stroke.

use super::layout::{Layout, layout, rounds, turns};
use super::matching::{EDGE, pairs};
use super::task::TapRounds;
use super::trend::{swing, trend, unevenness};
use super::{COMMON, HeldClave, Tap, TapTask, TappedHands, held, sticking};
use crate::clave::{Clave, Direction, Family};
use crate::rhythm::Pattern;
use crate::time::Seconds;
use serde::Serialize;

/// A stroke of the task: a round (from 0) and a pulse in it (from 0).
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Serialize)]
pub struct StrokePlace {
    /// Which time round, from 0.
    pub cycle: usize,
    /// The pulse in the part, from 0.
    pub pulse: usize,
}

/// A stroke and the tap that stands for it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct TapPair {
    /// The stroke.
    #[serde(flatten)]
    pub place: StrokePlace,
    /// The number of the tap in [`Played::taps`].
    pub tap: usize,
    /// Asynchrony: by how much the tap came after its stroke, negative before it.
    pub late: Seconds,
}

/// A tap that stands for no stroke, with the pulse that is nearest to it.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct AddedTap {
    /// The nearest pulse; the first of all for a tap that came before it.
    #[serde(flatten)]
    pub place: StrokePlace,
    /// The number of the tap in [`Played::taps`].
    pub tap: usize,
}

/// Which way round a part was tapped.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum TappedDirection {
    /// As it is written.
    AsWritten,
    /// With the bars of the other side: the other direction.
    Other,
    /// The taps fit neither, or both alike.
    Unclear,
}

impl Played {
    /// Is this matched stroke markedly before (-1) or after (1) the rest, or neither (0)?
    pub fn lean(&self, pair: &TapPair, pulse_seconds: Seconds) -> i8 {
        let together = TOGETHER.min(pulse_seconds / 4.0);
        let off = pair.late - self.common;
        i8::from(off > together) - i8::from(off < -together)
    }
}

/// What was played.
#[derive(Clone, Debug, PartialEq)]
pub struct Played {
    /// The taps that count, in the order of time. Times that are no numbers are left out.
    pub taps: Vec<Tap>,
    /// The part as it was tapped: as written, or turned round where the direction is the other one.
    pub part: Pattern,
    /// Taps that came so soon after another that no hand struck twice: left out of all else.
    pub bounced: usize,
    /// Strokes with a tap within half a pulse, the common delay of all taps taken off and a steady drift followed; in
    /// order.
    pub matched: Vec<TapPair>,
    /// Matched strokes that a drift has taken more than half a pulse from their place.
    pub displaced: usize,
    /// Strokes without a tap, in order.
    pub missed: Vec<StrokePlace>,
    /// Taps without a stroke, in order.
    pub added: Vec<AddedTap>,
    /// Strokes that are wrong as an examiner counts them: missed, added, or one for one exchanged, which counts once, and
    /// displaced ones.
    pub wrong: usize,
    /// Matched strokes that came markedly before or after the rest.
    pub early: usize,
    /// See `early`.
    pub late: usize,
    /// The delay that all taps have in common where it is within [`COMMON`]: nobody is blamed for it. Else 0.
    pub common: Seconds,
    /// What the taps are off in common where that is more than [`COMMON`]: not a machine's delay.
    pub shift: Option<Seconds>,
    /// Mean asynchrony of the matched strokes, negative where the player is ahead; `None` where nothing matched.
    pub mean: Option<Seconds>,
    /// Standard deviation of the asynchronies about their linear trend, what is swung taken off; `None` for fewer than four
    /// taps.
    pub spread: Option<Seconds>,
    /// Standard deviation of the errors from stroke to stroke over the square root of 2: the spread without its slow
    /// wander, which is what a timer that is never corrected adds (Wing & Kristofferson 1973). `None` as `spread`.
    pub unevenness: Option<Seconds>,
    /// How much later the second pulse of each pair comes than the first, negative where earlier: see
    /// [`crate::rhythm::Grid`]. `None` where that is within chance, or what a computer keyboard blurs.
    pub swing: Option<Seconds>,
    /// How much later each round comes than the one before; `None` where less than two rounds were
    /// tapped.
    pub drift: Option<Seconds>,
    /// How often the player stopped and went on in another place, half a pulse or more away.
    pub hesitations: usize,
    /// Which way round it was tapped. `None` where the part is the same in both. Where it is the other one, all else is
    /// said of the part as it was tapped, the bars of the other side in place.
    pub direction: Option<TappedDirection>,
    /// The direction that was tapped, where it is known which one the part states and the taps are clear.
    pub tapped: Option<Direction>,
    /// Where the part is a clave and the direction is clear: which clave was tapped, son or rumba.
    pub family: Option<Family>,
    /// The hands, where both the taps and the part tell them.
    pub hands: Option<TappedHands>,
    /// What became of a clave that was to be held.
    pub held: Option<HeldClave>,
}

/// The fewest strokes that must fit for a direction to be told: chosen, one tap fits somewhere in any.
const ENOUGH: f64 = 1.9;
/// Share of the strokes (or of the taps, where those are fewer) that must fit for a direction to be told: chosen.
const FITS: f64 = 0.4;
/// By how much, as the same share, the better direction must fit better than the other one: chosen.
const BETTER: f64 = 0.15;
/// A stroke further from the rest is early or late: the window within which onsets count as together (mir_eval,
/// `onset`); half of half a pulse where that is less.
const TOGETHER: Seconds = Seconds::new(0.050);
/// No hand strikes twice within so short a time: some 20 strokes a second are the most that two hands reach (from memory).
const BOUNCE: Seconds = Seconds::new(0.040);
/// So much further than [`COMMON`], and by three standard errors, a common delay may be measured: chosen.
const BEYOND: Seconds = Seconds::new(0.010);

/// Lays taps beside a task.
pub(super) fn play(task: &TapTask, taps: &[Tap]) -> Played {
    let mut taps: Vec<Tap> = taps
        .iter()
        .copied()
        .filter(|t| t.seconds.is_finite() && t.seconds.abs() <= super::read::LATEST)
        .collect();
    taps.sort_by(|a, b| a.seconds.total_cmp(&b.seconds));
    let all = taps.len();
    taps.dedup_by(|tap, before| {
        let hands = tap.hand.zip(before.hand);
        tap.seconds - before.seconds < BOUNCE && hands.is_none_or(|(a, b)| a == b)
    });
    let bounced = all - taps.len();
    let times: Vec<f64> = taps
        .iter()
        .map(|t| (t.seconds - task.lead).seconds())
        .collect();
    let rounds = rounds(task, &times);
    let written = layout(task, 0, &times, &rounds);
    let others = turns(task);
    let enough = written.times.len().min(taps.len()).max(1) as f64;
    let mut direction = None;
    let mut chosen = written;
    let best = others
        .into_iter()
        .map(|turned| layout(task, turned, &times, &rounds))
        .max_by(|a, b| a.track.score.total_cmp(&b.track.score));
    if let Some(other) = best {
        let (as_written, turned) = (chosen.track.score / enough, other.track.score / enough);
        let best = as_written.max(turned);
        let clear = best >= FITS && best * enough >= ENOUGH;
        direction = Some(match clear && (as_written - turned).abs() >= BETTER {
            false => TappedDirection::Unclear,
            true if turned > as_written => TappedDirection::Other,
            true => TappedDirection::AsWritten,
        });
        if direction == Some(TappedDirection::Other) {
            chosen = other;
        }
    }
    let tapped = match direction {
        Some(TappedDirection::AsWritten) => task.direction(),
        Some(TappedDirection::Other) => task.direction().map(|d| d.begun_later(1)),
        _ => None,
    };
    let family = tapped.zip(task.own_clave()).map(|(direction, own)| {
        let score = |family: Family| {
            let task = TapTask::of_clave(Clave { family, direction }, task.part.grid(), task.tempo);
            layout(&task, 0, &times, &rounds).track.score
        };
        let others = Family::ALL
            .into_iter()
            .filter(|family| *family != own.family);
        // Taps of the side that both have alike are the one that was asked for.
        others.fold(own.family, |best, other| match score(other) > score(best) {
            true => other,
            false => best,
        })
    });
    let mut played = Played {
        bounced,
        direction,
        tapped,
        family,
        ..finish(task, taps, &times, chosen)
    };
    if let Some(held) = &mut played.held {
        let from = |round: &usize| *round >= task.away.start;
        let later = task.clone().without_clave(0..0);
        let later = later.in_turns(rounds.iter().copied().filter(from));
        held.direction = play(&later, &played.taps).direction;
    }
    played
}

fn finish(task: &TapTask, taps: Vec<Tap>, times: &[f64], layout: Layout) -> Played {
    let half = task.pulse_seconds().seconds() / 2.0;
    let track = &layout.track;
    let followed = pairs(&layout.times, times, half, |t| track.at(t));
    let late = |(s, t): &(usize, usize)| times[*t] - layout.times[*s];
    let points: Vec<(f64, f64)> = followed
        .iter()
        .map(|pair| (layout.times[pair.0], late(pair)))
        .collect();
    let span = points.last().map_or(0.0, |l| l.0 - points[0].0);
    let second = |stroke: usize| layout.places[stroke].pulse % 2 == 1;
    let seconds: Vec<bool> = followed.iter().map(|pair| second(pair.0)).collect();
    let swing = match task.part.grid().pulses_per_beat().is_multiple_of(2) {
        true => swing(&points, &seconds),
        false => None,
    };
    let even: Vec<(f64, f64)> = points
        .iter()
        .zip(&seconds)
        .map(|((due, late), second)| match second {
            true => (*due, late - swing.unwrap_or(0.0)),
            false => (*due, *late),
        })
        .collect();
    let (straight, trend) = (trend(&even), trend(&points));
    let drift = trend.filter(|_| span >= task.cycle_seconds().seconds() * 0.999);
    let hesitations = track.jumps(half);
    let common = super::track::common(points.iter().map(|p| p.1).collect(), half);
    let drifts = drift.filter(|t| hesitations == 0 && (t.slope * span).abs() > half / 2.0);
    let error = trend.map_or(0.0, |t| 3.0 * t.spread / (points.len() as f64).sqrt());
    let (common, shift) = match common.abs() <= (COMMON + BEYOND).seconds() + error {
        true => (common, None),
        false if drifts.is_some() => (common.clamp(-COMMON.seconds(), COMMON.seconds()), None),
        false => (0.0, Some(Seconds::new(common) + task.lead)),
    };
    let in_place = pairs(&layout.times, times, half, |t| match &drifts {
        Some(trend) => trend.at(t),
        None => common,
    });
    let expected = expected(task, &layout, &followed);

    let matched: Vec<TapPair> = in_place
        .iter()
        .map(|pair| TapPair {
            place: layout.places[pair.0],
            tap: pair.1,
            late: Seconds::new(late(pair)) + task.lead,
        })
        .collect();
    let mut has = vec![false; layout.places.len()];
    let mut stands = vec![false; taps.len()];
    for (s, t) in &in_place {
        has[*s] = true;
        stands[*t] = true;
    }
    let missed_at: Vec<usize> = expected.filter(|s| !has[*s]).collect();
    let added: Vec<AddedTap> = (0..taps.len())
        .filter(|t| !stands[*t])
        .map(|tap| {
            let pulse = ((times[tap] - common) / task.pulse_seconds().seconds())
                .round()
                .max(0.0) as usize;
            let pulses = task.part.pulses();
            let (cycle, pulse) = (pulse / pulses, pulse % pulses);
            let place = StrokePlace { cycle, pulse };
            AddedTap { place, tap }
        })
        .filter(|added| {
            task.turns()
                .is_none_or(|turns| turns.contains(&added.place.cycle))
        })
        .collect();
    let mean = matched.iter().map(|p| p.late).sum::<Seconds>() / matched.len() as f64;
    let part = layout.part.clone();
    let away = |pair: &&(usize, usize)| (late(pair) - common).abs() > half + EDGE;
    let displaced = in_place.iter().filter(away).count();
    let mut played = Played {
        hands: sticking::judge(task, &part, &taps, &matched),
        wrong: displaced + wrong(&layout, times, common, &in_place, &missed_at, &added),
        early: 0,
        late: 0,
        common: Seconds::new(common) + task.lead,
        mean: (!matched.is_empty()).then_some(mean),
        spread: straight.map(|t| t.spread).map(Seconds::new),
        unevenness: unevenness(&even).map(Seconds::new),
        swing: swing.map(Seconds::new),
        drift: drift.map(|t| t.slope * task.cycle_seconds()),
        hesitations,
        displaced,
        bounced: 0,
        shift,
        missed: missed_at.iter().map(|s| layout.places[*s]).collect(),
        taps,
        part,
        matched,
        added,
        direction: None,
        tapped: None,
        family: None,
        held: (!task.away.is_empty()).then(|| held::held(task, &points)),
    };
    let leans = |way: i8| {
        let pairs = played.matched.iter();
        let same = pairs.filter(|p| played.lean(p, task.pulse_seconds()) == way);
        same.count()
    };
    (played.early, played.late) = (leans(-1), leans(1));
    played
}

/// The strokes that were to be tapped. Where the task leaves open how often the part goes round, that is from the first
/// round with a matched stroke to the last; of a first or last round with less than half of its strokes only what lies
/// between them counts, since one may join late and end on a stroke of the next round.
fn expected(
    task: &TapTask,
    layout: &Layout,
    followed: &[(usize, usize)],
) -> std::ops::Range<usize> {
    let all = 0..layout.places.len();
    let once = task.part.strokes().count();
    let (Some(first), Some(last)) = (followed.first(), followed.last()) else {
        return all;
    };
    if task.rounds != TapRounds::Open {
        return all;
    }
    let round = |stroke: usize| stroke / once;
    let few = |n: usize| {
        let in_round = followed.iter().filter(|p| round(p.0) == n).count();
        2 * in_round < once && round(first.0) != round(last.0)
    };
    let from = match few(round(first.0)) {
        true => first.0,
        false => round(first.0) * once,
    };
    let to = match few(round(last.0)) {
        true => last.0 + 1,
        false => (round(last.0) + 1) * once,
    };
    from..to
}

/// Strokes that are wrong: between two matched strokes a missed one and an added tap are one stroke in another place.
fn wrong(
    layout: &Layout,
    taps: &[f64],
    common: f64,
    in_place: &[(usize, usize)],
    missed: &[usize],
    added: &[AddedTap],
) -> usize {
    #[derive(Clone, Copy, PartialEq)]
    enum Happened {
        Matched,
        Missed,
        Added,
    }
    let matched = in_place
        .iter()
        .map(|p| (layout.times[p.0], Happened::Matched));
    let missed = missed.iter().map(|s| (layout.times[*s], Happened::Missed));
    let added = added
        .iter()
        .map(|a| (taps[a.tap] - common, Happened::Added));
    let mut events: Vec<(f64, Happened)> = matched.chain(missed).chain(added).collect();
    events.sort_by(|a, b| a.0.total_cmp(&b.0));
    let gaps = events.split(|e| e.1 == Happened::Matched);
    gaps.map(|gap| {
        let missed = gap.iter().filter(|e| e.1 == Happened::Missed).count();
        missed.max(gap.len() - missed)
    })
    .sum()
}
