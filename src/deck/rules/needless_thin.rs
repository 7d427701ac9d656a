//! Strokes that need not be left out.

use super::{PRACTISED, Rule};
use crate::deck::check::{CardMistake, CheckContext, Finding};
use crate::deck::diagnostic::Severity;
use crate::deck::{Card, ThinningEffect};
use crate::rhythm::Pattern;
use crate::rhythm::listed;

/// Strokes that are left out although the hands get through them, or would get through no faster without them.
pub static NEEDLESS_THIN: Rule = Rule {
    name: "needless-thin",
    severity: Severity::Mistake,
    title: "strokes left out without need",
    page: "\
A stroke is left out only where the hands do not get through all of them, but do without it. As long as there is time,
light strokes get softer: they become ghosts, not rests. The message names the strokes and two tempos: how fast the
written hands go with every stroke and how fast without those in `thin`, worked out for a practised right-handed player.

If the two are the same, the hands get stuck somewhere else: name the light strokes between which one hand has too \
little time, or
take `thin` and `thin_from` out; to make light strokes softer write a mark row with `(` under them. Where `thin_from` is slower
than the hands can go with every stroke, write that tempo or leave `thin_from` out: the thinner form is then played from
there on. If the card ends before that, there is nothing to leave out. The figures are estimates that were not tried on
players.",
    check: Some(check),
};

fn check(context: &CheckContext) -> Vec<Finding> {
    context.each_card(|_, card| {
        let (key, message, mend) = needless(&card.card)?;
        Some(CardMistake::new(card.place(key), message, mend))
    })
}

/// What a card's thinner form does not need: the key where it is written, the message and the mend.
fn needless(card: &Card) -> Option<(&'static str, String, String)> {
    let drums = card.score.drums.as_ref()?;
    let relief = card.relief(&PRACTISED)?;
    let whole = relief.whole.floor();
    let strokes = said(drums, &card.thin);
    let ceilings = format!(
        "with every stroke these hands go to about {whole}, without {strokes} to about {}",
        relief.thinner.floor()
    );
    let out = match card.thin_from {
        Some(_) => "take `thin` and `thin_from` out",
        None => "take `thin` out",
    };
    if !relief.is_clear() {
        let message = format!("leaving out {strokes} does not help: {ceilings}");
        let light = drums.strokes().filter(|(_, s)| s.is_light());
        let helping: Vec<String> = light
            .map(|(p, _)| p)
            .filter(|p| ThinningEffect::new(drums, &[*p], &PRACTISED).is_some_and(|r| r.is_clear()))
            .map(|p| format!("`{}`", name(drums, p)))
            .collect();
        let mut mend =
            format!("{out}; light strokes that get softer are ghosts, `(` in the mark row");
        if !helping.is_empty() {
            mend += &format!(
                "; where it has to go faster than that, {} would help",
                helping.join(" or ")
            );
        }
        return Some(("thin", message, mend));
    }
    let top = card.tempo.1;
    let enough = card.thin.iter().find_map(|p| {
        let others: Vec<usize> = card.thin.iter().copied().filter(|q| q != p).collect();
        let relief = ThinningEffect::new(drums, &others, &PRACTISED)?;
        (relief.thinner >= top).then_some((*p, others, relief.thinner))
    });
    if let Some((idle, others, thinner)) = enough.filter(|_| top > whole) {
        let (idle, others) = (said(drums, &[idle]), said(drums, &others));
        let message = format!(
            "{idle} need not be left out: without {others} alone these hands go to about {}, and the card ends at {top}",
            thinner.floor()
        );
        return Some(("thin", message, format!("take {idle} out of `thin`")));
    }
    if top <= whole {
        let message = format!("the card ends at {top}, and {ceilings}");
        let mend = format!("{out}, or let the card go faster than {whole}");
        return Some(("thin", message, mend));
    }
    let from = card.thin_from.filter(|from| *from < whole)?;
    let message = format!("{strokes} left out from {from} on, but {ceilings}");
    let mend = format!("write `thin_from = {whole}`, or leave it out: then the hands decide");
    Some(("thin_from", message, mend))
}

/// A pulse in the words of `thin`: `1&`, in a later bar `2:1&`.
fn name(drums: &Pattern, pulse: usize) -> String {
    let grid = drums.grid();
    match pulse / grid.pulses_per_bar() {
        0 => grid.spoken(pulse),
        bar => format!("{}:{}", bar + 1, grid.spoken(pulse)),
    }
}

fn said(drums: &Pattern, pulses: &[usize]) -> String {
    listed(pulses.iter().map(|p| format!("`{}`", name(drums, *p))))
}
