use super::one_key::OneKey;
use super::{Choice, Draw, Kind, Mark, Prompt, Question, Reason, Sense, Setup, scene, words};
use crate::deck::Card;
use crate::sound::Take;

/// How sparingly does a variation come, in one of its styles? A habit, asked as one: the answers are a factor of two
/// apart, and any of them may be the right one.
pub struct Often;

/// Answers that are offered.
const CHOICES: u32 = 4;
const KEYS: [char; CHOICES as usize] = ['a', 'b', 'c', 'd'];

impl Kind for Often {
    fn name(&self) -> &'static str {
        "often"
    }

    fn about(&self) -> &'static str {
        "how sparingly a variation comes, by style"
    }

    fn fits(&self, card: &Card, sense: Sense) -> bool {
        sense == Sense::Read && !card.often.is_empty() && card.score.drums.is_some()
    }

    fn concepts(&self, _card: &Card, _sense: Sense) -> Vec<String> {
        vec!["how often".to_string()]
    }

    fn ask(&self, card: &Card, sense: Sense, seed: u64, setup: &Setup) -> Option<Question> {
        if !self.fits(card, sense) {
            return None;
        }
        let mut draw = Draw::new(seed);
        let (style, bars) = &card.often[draw.below(card.often.len())];
        let below = smaller(*bars, &mut draw);
        let choices = KEYS
            .into_iter()
            .zip(0..)
            .map(|(key, i)| Choice::new(key, said((bars >> below) << i)));
        let choices: Vec<Choice> = choices.collect();
        let scene = scene::as_written(card, setup, &mut draw);
        let take = Take::new(scene.score.clone(), setup.bpm, draw.seed());
        let mut reveal = scene::reveal(card, &scene, &take, String::new());
        reveal.reasons = reasons(card, style, *bars);
        let prompt = Prompt {
            text: format!("In {style}: about how often does this come, at most?"),
            take,
            mark: Mark::Whole,
            show_hands: false,
            hidden: Vec::new(),
            audible: true,
            worded: true,
        };
        let made = OneKey {
            prompt,
            choices,
            key: KEYS[below as usize],
            reveal,
        };
        made.question(self, card, sense, seed)
    }
}

/// How many of the answers are smaller than the right one: as many as halving it leaves whole, drawn evenly.
fn smaller(bars: u32, draw: &mut Draw) -> u32 {
    let halves = bars.trailing_zeros().min(CHOICES - 1);
    draw.below(halves as usize + 1) as u32
}

fn said(bars: u32) -> String {
    match bars {
        1 => "in every bar".into(),
        n => format!("once in {n} bars"),
    }
}

fn reasons(card: &Card, style: &str, bars: u32) -> Vec<Reason> {
    let says = |text: String| Reason {
        text,
        pulses: Vec::new(),
    };
    let mut all = vec![says(format!(
        "{}: usually {} at most. The rest is the plain tumbao, or it would be no variation.",
        words::capital(style),
        said(bars)
    ))];
    let others: Vec<String> = card
        .often
        .iter()
        .filter(|(other, _)| other != style)
        .map(|(other, n)| format!("in {other} {}", said(*n)))
        .collect();
    if !others.is_empty() {
        all.push(says(format!("For comparison: {}.", words::list(&others))));
    }
    all.push(says(
        "A habit, not a law: singer, section and band decide.".into(),
    ));
    all
}
