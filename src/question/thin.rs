use super::one_key::OneKey;
use super::{Choice, Draw, Kind, Mark, Prompt, Question, Reason, Sense, Setup, scene, words};
use crate::deck::Card;
use crate::rhythm::Pattern;
use crate::sound::Take;

/// What is left out at fast tempos: which strokes become rests, and whether a tempo is fast enough for that.
///
/// It is asked by eye. Only strong strokes stand against the right ones: which light stroke goes first is often a
/// matter of taste.
pub struct Thin;

/// How far a tempo lies from that where the thinner form begins, as a share of it, so that nobody has to know it to the
/// beat: our choice.
const MARGIN: f64 = 0.1;
/// Most strokes of one answer.
const MOST: usize = 2;
const KEYS: [char; 4] = ['a', 'b', 'c', 'd'];

impl Kind for Thin {
    fn name(&self) -> &'static str {
        "thin"
    }

    fn about(&self) -> &'static str {
        "which strokes are left out at fast tempos, and from when"
    }

    fn fits(&self, card: &Card, sense: Sense) -> bool {
        let strong = card.score.drums.as_ref().map_or(0, |p| strong(p).len());
        sense == Sense::Read && !card.thin.is_empty() && strong > 1
    }

    fn concepts(&self, _card: &Card, _sense: Sense) -> Vec<String> {
        vec!["thin form".to_string()]
    }

    fn ask(&self, card: &Card, sense: Sense, seed: u64, setup: &Setup) -> Option<Question> {
        if !self.fits(card, sense) {
            return None;
        }
        let mut draw = Draw::new(seed);
        let drums = card.score.drums.as_ref()?;
        let (slow, fast) = tempos(card);
        let asks_when = slow.is_some() && !setup.as_written && draw.chance(0.5);
        let thinner = !asks_when || draw.chance(0.5);
        let (low, high) = if thinner { fast } else { slow? };
        let bpm = (low + (high - low) * draw.unit()).round().clamp(low, high);
        let (text, choices, key) = match asks_when {
            true => when(bpm, thinner),
            false => which(bpm, card, drums, &mut draw),
        };
        let scene = scene::as_written(card, setup, &mut draw);
        // A card that is met is played at the tempo where the player starts, whatever tempo the words name.
        let played = if setup.as_written { setup.bpm } else { bpm };
        let take = Take::new(scene.score.clone(), played, draw.seed());
        let mut shown = take.clone();
        if thinner && !setup.as_written {
            shown.score.drums = card.thinned();
        }
        let mut reveal = scene::reveal(card, &scene, &shown, String::new());
        reveal.reasons = reasons(card, drums, asks_when);
        let prompt = Prompt {
            text,
            take,
            mark: Mark::Whole,
            show_hands: true,
            hidden: Vec::new(),
            audible: true,
            worded: true,
        };
        let made = OneKey {
            prompt,
            choices,
            key,
            reveal,
        };
        made.question(self, card, sense, seed)
    }
}

/// Tempos at which the whole card is clearly played, where there are any, and those at which the thinner form is.
fn tempos(card: &Card) -> (Option<(f64, f64)>, (f64, f64)) {
    let (low, high) = card.tempo;
    let Some(from) = card.thin_from else {
        return (None, (high, high));
    };
    let slow = (low, (from / (1.0 + MARGIN)).floor());
    let fast = ((from * (1.0 + MARGIN)).min(high), high);
    ((slow.0 <= slow.1).then_some(slow), fast)
}

/// Is this tempo one for the whole bar?
fn when(bpm: f64, thinner: bool) -> (String, Vec<Choice>, char) {
    let choices = vec![
        Choice::new('a', "all of it"),
        Choice::new('t', "the thinner form"),
    ];
    let text = format!("At {bpm:.0}: all of it, or the thinner form?");
    (text, choices, if thinner { 't' } else { 'a' })
}

/// Which strokes go? Each stroke named stands in two answers where answers have two strokes, so that counting them tells
/// nothing.
fn which(bpm: f64, card: &Card, drums: &Pattern, draw: &mut Draw) -> (String, Vec<Choice>, char) {
    let mut light = shuffled(card.thin.clone(), draw);
    let mut strong = shuffled(strong(drums), draw);
    let size = MOST.min(light.len());
    light.truncate(size);
    let answers: Vec<Vec<usize>> = match size {
        2 => {
            strong.truncate(2);
            let ([a, b], [c, d]) = ([light[0], light[1]], [strong[0], strong[1]]);
            vec![vec![a, b], vec![c, d], vec![a, c], vec![b, d]]
        }
        _ => {
            strong.truncate(KEYS.len() - 1);
            let each = light.iter().chain(&strong);
            each.map(|p| vec![*p]).collect()
        }
    };
    let order = shuffled((0..answers.len()).collect(), draw);
    let mut key = KEYS[0];
    let mut choices = Vec::new();
    for (k, at) in KEYS.into_iter().zip(order) {
        if at == 0 {
            key = k;
        }
        choices.push(Choice::new(k, said(drums, &answers[at])));
    }
    let text = format!("At {bpm:.0} it is too fast for every stroke. What becomes a rest first?");
    (text, choices, key)
}

/// Pulses of the strokes on which the groove lives.
fn strong(drums: &Pattern) -> Vec<usize> {
    let strokes = drums.strokes().filter(|(_, s)| !s.is_light());
    strokes.map(|(p, _)| p).collect()
}

fn said(drums: &Pattern, pulses: &[usize]) -> String {
    let mut pulses = pulses.to_vec();
    pulses.sort_unstable();
    let places: Vec<String> = pulses
        .iter()
        .map(|p| words::place(drums.grid(), drums.bars(), *p))
        .collect();
    words::list(&places)
}

fn reasons(card: &Card, drums: &Pattern, asks_when: bool) -> Vec<Reason> {
    let at = said(drums, &card.thin);
    let (is, rest) = match card.thin.len() {
        1 => ("is a light stroke: it", "becomes a rest"),
        _ => ("are light strokes: they", "become rests"),
    };
    let only = format!("{at} {is} only keeps the time between the others.");
    let mut all = vec![Reason {
        text: only.replace("they only keeps", "they only keep"),
        pulses: card.thin.clone(),
    }];
    let kept = strong(drums);
    all.push(Reason {
        text: format!("The groove lives on {}: these stay.", said(drums, &kept)),
        pulses: kept,
    });
    if let Some(from) = card.thin_from {
        let text = match asks_when {
            true => format!(
                "About {from:.0} is where {at} {rest}; slower, everything has room. A habit, and your own hands may draw the line elsewhere."
            ),
            false => format!("From about {from:.0} on {at} {rest}."),
        };
        all.push(Reason {
            text,
            pulses: Vec::new(),
        });
    }
    all
}

fn shuffled<T>(mut from: Vec<T>, draw: &mut Draw) -> Vec<T> {
    let mut all = Vec::new();
    while !from.is_empty() {
        all.push(from.swap_remove(draw.below(from.len())));
    }
    all
}
