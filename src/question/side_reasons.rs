//! Why a part lies on its side, or fits both: the reasons under a question about the side.

use super::scene::{self, Scene};
use super::signs::{Sign, SignContext, SignKind, Voice};
use super::strokes_reasons::on_one_drum;
use super::{Mark, Reason};
use crate::clave::{self, Clave, Family, PartMatch, Side};
use crate::deck::{Card, States};
use crate::rhythm::{Grid, Score, capital, listed};

/// Most signs that are named for one question, the one that decides first.
const SIGNS: usize = 2;

/// Why a part lies as it does: the signs that say so; each would say the opposite if the other answer were right. If
/// the bar that decides is not the one asked for, it is named.
pub(super) fn reasons(card: &Card, scene: &Scene, mark: Mark) -> Vec<Reason> {
    let Some(case) = SideCase::of(card, scene, mark) else {
        return Vec::new();
    };
    if card.states == States::Neither {
        return case.neutral();
    }
    if scene::is_clave(&scene.score) {
        return case.clave_itself();
    }
    case.decisive()
}

/// The signs that the reasons are made of, also those that speak for another answer.
#[cfg(test)]
pub(super) fn signs(card: &Card, scene: &Scene) -> Vec<Sign> {
    SideCase::of(card, scene, Mark::Whole).map_or_else(Vec::new, |case| case.shown.signs())
}

/// Does the name belong here? Strokes of the bass may be those of a click, but that is not what they are called.
fn is_of(known: PartMatch, score: &Score) -> bool {
    let instrument = clave::part(known.name).and_then(|p| p.instrument);
    instrument.is_some_and(|i| score.line(i).is_some())
}

fn counted_stroke(count: usize) -> &'static str {
    if count == 1 { "stroke" } else { "strokes" }
}

struct SideCase<'a> {
    scene: &'a Scene,
    clave: Clave,
    shown: SignContext<'a>,
    known: Option<PartMatch>,
    mark: Mark,
}

impl<'a> SideCase<'a> {
    fn of(card: &Card, scene: &'a Scene, mark: Mark) -> Option<SideCase<'a>> {
        let classifier = card.classifier();
        let reading = classifier.score(&scene.own_score());
        let exact = reading.known.filter(|known| known.distance == 0);
        let known = exact.filter(|known| is_of(*known, &scene.score));
        Some(SideCase {
            scene,
            clave: scene.clave?,
            shown: SignContext::of(scene, classifier.low_drum, known)?,
            known,
            mark,
        })
    }

    fn grid(&self) -> Grid {
        self.scene.score.grid
    }

    fn bars(&self) -> usize {
        self.scene.score.bars()
    }

    /// The bar whose side is asked for; of a phrase the first.
    fn asked(&self) -> usize {
        match self.mark {
            Mark::Bar(bar) | Mark::Bars(bar, _) => bar,
            Mark::Pulse(pulse) => pulse / self.grid().pulses_per_bar(),
            Mark::Whole => 0,
        }
    }

    fn side(&self, bar: usize) -> Side {
        self.clave.direction.side(bar)
    }

    /// The signs that say what is right, in words.
    fn decisive(&self) -> Vec<Reason> {
        let mut signs = self.shown.signs();
        signs.retain(|sign| sign.side == self.side(sign.bar));
        let mut chosen: Vec<Sign> = Vec::new();
        for sign in &signs {
            let alike: Vec<&Sign> = signs.iter().filter(|s| s.what == sign.what).collect();
            let best = alike
                .iter()
                .find(|s| s.bar == self.asked())
                .or(alike.first());
            if let Some(best) = best.filter(|best| !chosen.contains(best)) {
                chosen.push((*best).clone());
            }
        }
        let (names, mut chosen): (Vec<Sign>, Vec<Sign>) = chosen
            .into_iter()
            .partition(|s| matches!(s.what, SignKind::Part(_)));
        // Strokes on both sides: what the other side has says it once more.
        let strokes = signs.into_iter();
        let strokes = strokes.filter(|s| matches!(s.what, SignKind::Strokes(_)));
        let more: Vec<Sign> = strokes.filter(|s| !chosen.contains(s)).take(1).collect();
        chosen.extend(more);
        chosen.truncate(SIGNS);
        if chosen.is_empty() && names.is_empty() {
            return vec![self.by_the_card()];
        }
        let all = chosen.into_iter().chain(names).enumerate();
        all.map(|(nth, sign)| self.reason(&sign, nth == 0))
            .collect()
    }

    fn by_the_card(&self) -> Reason {
        let side = self.side(self.scene.own.start).name();
        let bar = self.bar_name(self.scene.own.start);
        Reason::of(format!(
            "The card says that {bar} is the {side}; its strokes alone do not decide."
        ))
    }

    fn bar_name(&self, bar: usize) -> String {
        match self.bars() {
            1 => "this bar".to_string(),
            _ => format!("bar {}", bar + 1),
        }
    }

    fn reason(&self, sign: &Sign, decides: bool) -> Reason {
        let so = match decides {
            true => self.so(sign),
            false => String::new(),
        };
        Reason::new(
            format!("{}{so}.", capital(&self.says(sign))),
            sign.pulses.clone(),
        )
    }

    /// What a sign says, up to the bar that it speaks of.
    fn says(&self, sign: &Sign) -> String {
        let (bar, side) = (self.bar_name(sign.bar), sign.side.name());
        let alone = self.bars() == 1;
        match sign.what {
            SignKind::LowDrum if alone => {
                format!("the low drum comes in here, and you play it on the {side}")
            }
            SignKind::LowDrum => {
                format!("the low drum comes only in {bar}, and you play it on the {side}")
            }
            SignKind::Opens => {
                let drums = self.scene.score.drums.as_ref();
                let several = drums.is_some_and(|d| d.drums().len() > 1);
                let on = if several { "on the conga " } else { "" };
                format!(
                    "{on}{bar} has one open tone, on 4, bar {} has two, on 4 and 4&: the bar with one is the {side}",
                    2 - sign.bar
                )
            }
            SignKind::Downbeat(who) => match (sign.side, alone) {
                (Side::Two, true) => format!(
                    "the {} states 1, the downbeat: that is its bar of the {side}",
                    who.name()
                ),
                (Side::Three, true) => format!(
                    "the {} begins after 1, the downbeat: that is its bar of the {side}",
                    who.name()
                ),
                (Side::Two, false) => format!(
                    "the {} states 1, the downbeat, in {bar} and not in the next: its bar with the downbeat is the {side}",
                    who.name()
                ),
                (Side::Three, false) => format!(
                    "the {} begins after 1 in {bar}, and on 1 in the next: its bar without the downbeat is the {side}",
                    who.name()
                ),
            },
            SignKind::Start(who) => format!(
                "the {} of {bar} starts on the beat, 1 and 2, without 2& (the bombo): that is how the bar of the {side} begins",
                who.name()
            ),
            SignKind::Strokes(voice) => self.strokes(sign, voice),
            SignKind::Part(known) => {
                let way = known.direction.map_or("", |d| d.name());
                // The sticks of rumba play the same strokes under another name (common practice, no source).
                let name = match (known.name, self.clave.family) {
                    ("cáscara", Family::Rumba) => "guagua",
                    (name, _) => name,
                };
                format!("the part: {name}, {way}")
            }
        }
    }

    fn strokes(&self, sign: &Sign, voice: Voice) -> String {
        let per = self.grid().pulses_per_bar();
        let (bar, side) = (self.bar_name(sign.bar), sign.side.name());
        let there = self.named(&sign.pulses, voice, sign.side);
        let unlike = |b: usize| self.shown.unlike(voice, b);
        let within = |b: usize| sign.pulses.iter().all(|p| unlike(b).contains(&(p % per)));
        if self.bars() == 1 || !within(sign.bar) {
            let other = sign.side.other();
            let of_the_other = self.shown.on_clave(voice, sign.bar, other);
            let few = match of_the_other.is_empty() {
                true => format!("and the {} with nothing", other.name()),
                false => format!(
                    "the {} only with the {} on {}",
                    other.name(),
                    counted_stroke(of_the_other.len()),
                    self.grid().spoken_all(&of_the_other)
                ),
            };
            return format!("{bar} meets the {side} of the clave with {there}, {few}");
        }
        let mut same_side = (0..self.bars()).filter(|b| b % 2 == sign.bar % 2 && *b != sign.bar);
        let only = match same_side.any(within) {
            true => format!("{bar} has what no bar of the other side has, {there}"),
            false => format!("only {bar} has {there}"),
        };
        format!("{only}, where the {side} of the clave strikes")
    }

    /// Strokes by name and count, `the slap on 2 and the open tone on 2& (the bombo)`; of the band `the shell on 3`:
    /// others may sound beside it.
    fn named(&self, pulses: &[usize], voice: Voice, side: Side) -> String {
        let count = |p: usize| match self.grid().spoken(p) {
            count if count == "2&" && side == Side::Three => format!("{count} (the bombo)"),
            count => count,
        };
        if let Some(instrument) = voice {
            let counts = listed(pulses.iter().map(|p| count(*p)));
            return format!("the {} on {counts}", instrument.name());
        }
        let drums = self.scene.score.drums.as_ref().map(on_one_drum);
        let stroke = |p: usize| drums.as_ref().and_then(|d| d.at(p));
        listed(pulses.iter().map(|p| match stroke(*p) {
            Some(stroke) => format!("{} on {}", stroke.spoken(), count(*p)),
            None => count(*p),
        }))
    }

    /// What follows for the bar that is asked for.
    fn so(&self, sign: &Sign) -> String {
        let asked = self.asked();
        if asked == sign.bar || matches!(sign.what, SignKind::Part(_)) {
            return String::new();
        }
        match sign.side_of(asked) == sign.side {
            true => format!(", and bar {} lies on the same side", asked + 1),
            false => format!(", so bar {} is the {}", asked + 1, sign.side.other().name()),
        }
    }

    /// What the clave strikes: of a phrase in both bars.
    fn clave_itself(&self) -> Vec<Reason> {
        let bars = match self.mark {
            Mark::Whole => 0..self.bars().min(2),
            _ => self.asked()..self.asked() + 1,
        };
        bars.map(|bar| self.clave_bar(bar)).collect()
    }

    fn clave_bar(&self, bar: usize) -> Reason {
        let side = self.side(bar);
        let within = self.shown.clave(side);
        let at = self.grid().spoken_all(&within);
        let per = self.grid().pulses_per_bar();
        let said = match side {
            Side::Two => format!("two strokes, {at}, and nothing on 1"),
            Side::Three if self.grid() == Grid::Triplets => format!("three strokes, {at}"),
            Side::Three => format!("three strokes, {}", at.replace("2&", "2& (the bombo)")),
        };
        Reason {
            // Others may sound in the bar as well.
            text: format!(
                "In {} the clave has {said}: the {}.",
                self.bar_name(bar),
                side.name()
            ),
            pulses: within.iter().map(|p| bar * per + p).collect(),
        }
    }

    /// The pulses of the card's own bars that carry the part.
    fn own_strong(&self) -> Vec<usize> {
        let strong = self.scene.score.carrying(self.scene.score.pulses());
        let own = self.scene.own_pulses();
        own.filter(|p| strong[*p]).collect()
    }

    /// Why a part goes with either side.
    fn neutral(&self) -> Vec<Reason> {
        let grid = self.grid();
        let pulses = self.own_strong();
        let count = |clave: Clave| clave.struck(grid, pulses.iter().copied()).len();
        let (with, turned) = (count(self.clave), count(self.clave.begun_later(1)));
        let nothing = match self.mark {
            Mark::Whole => "nothing tells one side from the other",
            _ => "in a tune each lies on one side, but nothing says which",
        };
        let alike = scene::bars_alike(&self.scene.score);
        let text = match (alike, self.bars()) {
            (true, 1) => {
                "It is one bar that goes round, the same on both sides of the clave.".into()
            }
            (true, 2) => format!("Bars 1 and 2 are the same, stroke for stroke: {nothing}."),
            (true, _) => format!("All bars are the same, stroke for stroke: {nothing}."),
            (false, _) if with == turned => format!(
                "It meets the clave {with} times whichever side is under it: no side stands out."
            ),
            (false, _) => "The card says that it is played on either side.".to_string(),
        };
        let mut reasons = vec![Reason::new(text, pulses)];
        if let Some(known) = self.known.filter(|k| k.direction.is_none()) {
            reasons.push(Reason::of(format!("The part: {}.", known.name)));
        }
        reasons
    }
}
