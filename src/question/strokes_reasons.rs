//! Why these strokes: how they sound, what is around them, what they are there for.

use super::{Reason, Sense};
use crate::clave::{Clave, Side};
use crate::rhythm::{Drum, Grid, Pattern, Stroke, Tone, Weight, listed};

/// Why these strokes: how they sound or lie under the hand, what stands around them, what they are there for.
///
/// `clave` lies under the first bar of a part that states a side; `None` under any other.
pub(super) fn reasons(
    drums: &Pattern,
    pulses: &[usize],
    sense: Sense,
    clave: Option<Clave>,
) -> Vec<Reason> {
    let drums = &on_one_drum(drums);
    let bar_of = |pulse: &usize| pulse / drums.grid().pulses_per_bar();
    let mut reasons = match pulses {
        [pulse] => one(drums, *pulse, sense),
        _ => (pulses.chunk_by(|a, b| bar_of(a) == bar_of(b)))
            .map(|of| bar(drums, of))
            .collect(),
    };
    reasons.extend(jobs(drums, pulses, clave));
    reasons
}

/// With a single drum it goes without saying which one it is: it counts as the conga.
pub(super) fn on_one_drum(drums: &Pattern) -> Pattern {
    let drum = match drums.drums()[..] {
        [_] => Some(Drum::Conga),
        _ => None,
    };
    drums.map(|_, s| {
        let drum = drum.unwrap_or(s.drum);
        Some(Stroke { drum, ..s })
    })
}

fn one(drums: &Pattern, pulse: usize, sense: Sense) -> Vec<Reason> {
    let Some(stroke) = drums.at(pulse) else {
        return Vec::new();
    };
    let at = drums.spoken(pulse);
    let how = match sense {
        _ if stroke.weight == Weight::Ghost => "a ghost, hardly more than a touch",
        Sense::Read => touch(stroke.tone),
        Sense::Hear => sound(stroke.tone),
    };
    let mut reasons = vec![Reason::new(
        format!("The stroke on {at} is {}: {how}.", stroke.spoken()),
        vec![pulse],
    )];
    let n = drums.pulses();
    let struck = |p: usize, gap: usize| Some((p, drums.at(p)?, gap));
    let before = (1..n).find_map(|gap| struck((pulse + n - gap) % n, gap));
    let after = (1..n).find_map(|gap| struck((pulse + gap) % n, gap));
    if let (Some(before), Some(after)) = (before, after) {
        // A stroke further off than a beat does not stand beside it: there is silence.
        let beat = drums.grid().pulses_per_beat();
        let spoken = |(p, s, gap): (usize, Stroke, usize)| match gap <= beat {
            true => {
                let grid = drums.grid();
                let bar = |p: usize| p / grid.pulses_per_bar();
                let on = match bar(p) == bar(pulse) {
                    true => grid.spoken(p),
                    false => drums.spoken(p),
                };
                format!("{} on {on}", s.spoken())
            }
            false => "silence".to_string(),
        };
        let near = [before, after].into_iter().filter(|(.., gap)| *gap <= beat);
        let (before_it, after_it) = (spoken(before), spoken(after));
        let text = match before_it == after_it {
            true => format!("Before it and after it: {before_it}."),
            false => format!("Before it comes {before_it}, after it {after_it}."),
        };
        reasons.push(Reason::new(text, near.map(|(p, ..)| p).collect()));
    }
    reasons
}

/// What a bar has on these pulses of it.
fn bar(drums: &Pattern, pulses: &[usize]) -> Reason {
    let per = drums.grid().pulses_per_bar();
    let said: Vec<(String, String)> = pulses
        .iter()
        .filter_map(|p| {
            let stroke = drums.at(*p)?;
            let low = match stroke.drum {
                Drum::Tumbadora => "low ",
                _ => "",
            };
            let letter = stroke.tone.letter();
            Some((drums.grid().spoken(*p), format!("{low}{letter}")))
        })
        .collect();
    let bar = pulses.first().map_or(0, |p| p / per);
    let name = match drums.bars() {
        1 => "The bar".to_string(),
        _ => format!("Bar {}", bar + 1),
    };
    let whole = drums.bar(bar).iter().flatten().count() == pulses.len();
    let all: Vec<String> = said
        .iter()
        .map(|(on, stroke)| match whole {
            true => format!("{on} {stroke}"),
            false => format!("{stroke} on {on}"),
        })
        .collect();
    let strokes = match whole {
        true => format!("goes {}", all.join(", ")),
        false => format!("has {}", listed(&all)),
    };
    Reason::new(format!("{name} {strokes}."), pulses.to_vec())
}

/// How the hand makes it (common practice, no source).
const fn touch(tone: Tone) -> &'static str {
    match tone {
        Tone::Open => "fingers at the edge and off at once, so that the head rings",
        Tone::Slap => "the fingers snap at the edge and come off, a sharp crack",
        Tone::ClosedSlap => "the same snap with the fingers left on the head, a dry crack",
        Tone::Muffled => "struck as an open tone, but the fingers stay and press",
        Tone::Bass => "the palm in the centre",
        Tone::Heel => "the hand rocks down on its heel, quiet",
        Tone::Tip => "the hand rocks forward on its finger tips, quiet",
    }
}

/// How to recognise it by ear (common practice, no source).
const fn sound(tone: Tone) -> &'static str {
    match tone {
        Tone::Open => "round, with the note of the drum ringing on",
        Tone::Slap => "a sharp crack that rings on a little, higher than the open tone",
        Tone::ClosedSlap => "a dry crack, choked at once",
        Tone::Muffled => "the note of the open tone, cut short",
        Tone::Bass => "the lowest sound of the drum, no crack",
        Tone::Heel => "quiet and dull, one of the strokes that only keep time",
        Tone::Tip => "quiet and a little brighter than the heel",
    }
}

/// What strokes are there for in a tumbao and what is made of it (common practice, no source); at most two things. What heel and
/// tip are there for is said of one that is asked by itself: of a row it holds nearly always, and tells nothing new.
fn jobs(drums: &Pattern, pulses: &[usize], clave: Option<Clave>) -> Vec<Reason> {
    let per = drums.grid().pulses_per_bar();
    let found = pulses.iter().filter_map(|p| Some((*p, drums.at(*p)?)));
    let mut jobs: Vec<Reason> = Vec::new();
    for (pulse, stroke) in found {
        let bar = pulse - pulse % per;
        if pulses.len() > 1 && stroke.tone.is_heel_or_tip() && stroke.drum != Drum::Tumbadora {
            continue;
        }
        let Some((text, mates)) = job(drums, bar, pulse, stroke, clave) else {
            continue;
        };
        if !jobs.iter().any(|j| j.text == text) {
            jobs.push(Reason::new(text, mates));
        }
    }
    jobs.sort_by_key(|j| j.pulses.len() > 3);
    jobs.truncate(2);
    jobs
}

/// What one stroke is there for, and the pulses that belong to it.
fn job(
    drums: &Pattern,
    bar: usize,
    pulse: usize,
    stroke: Stroke,
    clave: Option<Clave>,
) -> Option<(String, Vec<usize>)> {
    let grid = drums.grid();
    let on = |said: &str| {
        let per = grid.pulses_per_bar();
        (bar..bar + per).find(|p| grid.spoken(*p) == said)
    };
    let is =
        |p: Option<usize>, tone: Tone| p.and_then(|p| drums.at(p)).is_some_and(|s| s.tone == tone);
    let (two, four, four_and) = (on("2"), on("4"), on("4&"));
    let said = grid.spoken(pulse);
    let in_four = grid != Grid::SixEight;
    let inside = || {
        let bar = bar..bar + grid.pulses_per_bar();
        drums.strokes().filter(move |(p, _)| bar.contains(p))
    };
    let struck = inside().count();
    let light: Vec<usize> = inside()
        .filter(|(_, s)| s.tone.is_heel_or_tip())
        .map(|(p, _)| p)
        .collect();
    let on_three = || {
        let bar = bar / grid.pulses_per_bar();
        clave.is_some_and(|c| c.direction.side(bar) == Side::Three)
    };
    let slap_on_two = is(two, Tone::Slap) || is(two, Tone::ClosedSlap);
    // Slap on 2, open tone on 4, light strokes around them: only of such a bar is said what holds of a tumbao.
    let other_opens = is(on("1"), Tone::Open) || is(on("3"), Tone::Open);
    let tumbao =
        in_four && slap_on_two && is(four, Tone::Open) && !light.is_empty() && !other_opens;
    let text = match (stroke.tone, said.as_str()) {
        _ if stroke.drum == Drum::Tumbadora => {
            let per = grid.pulses_per_bar();
            let low = drums.strokes().filter(|(_, s)| s.drum == Drum::Tumbadora);
            let mut bars: Vec<usize> = low.map(|(p, _)| p / per + 1).collect();
            bars.dedup();
            let [only] = bars[..] else {
                return None;
            };
            if drums.bars() == 1 {
                return None;
            }
            format!("The low drum comes only in bar {only}: it marks that bar.")
        }
        (Tone::Open, "4" | "4&")
            if in_four && !light.is_empty() && is(four, Tone::Open) && is(four_and, Tone::Open) =>
        {
            return Some((
                "The open tones on 4 and 4& lead into the next bar.".to_string(),
                four.into_iter().chain(four_and).collect(),
            ));
        }
        (Tone::Open, "4") if tumbao => {
            "A single open tone on 4 is the ponche: it leans over the bar line.".to_string()
        }
        // In double time, and on the two side, 2& is not the bombo.
        (Tone::Open | Tone::Slap, "2&") if grid == Grid::Eighths && on_three() => {
            format!("The {} on 2& is on the bombo.", stroke.tone.name())
        }
        (Tone::Slap, "2") if tumbao => {
            "In the tumbao the slap is on 2; many play it closed, with the other hand on the head."
                .to_string()
        }
        (Tone::ClosedSlap, "2") if tumbao => {
            "In the tumbao the slap is on 2; here it is closed, the other hand on the head."
                .to_string()
        }
        (Tone::Heel | Tone::Tip, _) if light.len() < struck => {
            let there = |tone: Tone| inside().any(|(_, s)| s.tone == tone);
            let who = match (there(Tone::Heel), there(Tone::Tip)) {
                (true, true) => "Heel and tip keep",
                (true, false) => "The heel keeps",
                _ => "The tip keeps",
            };
            let text = format!("{who} time between the strong strokes.");
            return Some((text, light));
        }
        _ => return None,
    };
    Some((text, vec![pulse]))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::rhythm::notation::read_line;

    /// What is said of the stroke at a pulse besides how it is made and what stands around it.
    fn said(strokes: &str, pulse: usize) -> Vec<String> {
        let drums = read_line(strokes, Grid::Eighths).unwrap();
        let jobs = jobs(&drums, &[pulse], None);
        jobs.into_iter().map(|job| job.text).collect()
    }

    /// The cases are a teacher's and their neighbours (common practice, no source).
    #[test]
    fn what_holds_of_a_tumbao_is_said_of_nothing_else() {
        let ponche = |strokes: &str| said(strokes, 6).iter().any(|s| s.contains("ponche"));
        assert!(ponche("H T S T H T O T"));
        assert!(ponche("H T C T H T O T"));
        assert!(!ponche("H T S T H T O O"));
        assert!(!ponche("C . O . C . O ."));
        assert!(!ponche("O . O . O . O ."));
        let slap = |strokes: &str| said(strokes, 2).iter().any(|s| s.contains("tumbao"));
        assert!(slap("H T S T H T O O") && slap("H T C T H T O O"));
        assert!(!slap("B . S . B . S .") && !slap("H T S T S T H T"));
        let row = read_line("HTSTSTHT", Grid::Eighths).unwrap();
        let heel = |pulses: &[usize]| {
            let jobs = jobs(&row, pulses, None);
            jobs.iter()
                .any(|job| job.text.starts_with("Heel and tip keep"))
        };
        assert!(heel(&[0]) && !heel(&[0, 1, 2, 3]));
        let into_the_next = |strokes: &str| !said(strokes, 7).is_empty();
        assert!(into_the_next("H T S T H T O O"));
        assert!(!into_the_next("O O O O O O O O"));
    }
}
