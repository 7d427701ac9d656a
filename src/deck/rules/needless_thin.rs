use super::Rule;
use crate::deck::check::{Desk, Finding};
use crate::deck::diagnostic::Severity;
use crate::deck::{Card, Relief};
use crate::hands::{Handed, Level, Player};
use crate::rhythm::Pattern;

/// Strokes that are left out although the hands get through them, or would get through no faster without them.
pub static NEEDLESS_THIN: Rule = Rule {
    name: "needless-thin",
    severity: Severity::Mistake,
    title: "strokes left out without need",
    page: "\
A stroke is left out only where the hands do not get through every one of them, and where they do without it. As long as there
is time, light strokes get softer: they become ghosts, not rests. The message names the strokes and two tempos: how fast the
written hands go with every stroke and how fast without those in `thin`, reckoned for a practised right-handed player.

Where the two are alike, the hands get stuck somewhere else: name the light strokes between which one hand has too little time, or
take `thin` and `thin_from` out; to make light strokes softer write a mark row with `(` under them. Where `thin_from` is slower
than the hands can go with every stroke, write that tempo or leave `thin_from` out: the thinner form is then played from
there on. Where the card ends before that, there is nothing to leave out. The figures are estimates that were not tried on
players.",
    check: Some(check),
};

const PLAYER: Player = Player {
    level: Level::Practised,
    handed: Handed::Right,
};

fn check(desk: &Desk) -> Vec<Finding> {
    let mut found = Vec::new();
    for (sheet, card, draft) in desk.cards() {
        let Some((key, message, mend)) = needless(&draft.card) else {
            continue;
        };
        found.push(Finding {
            sheet,
            card: Some(card),
            span: draft.place(key),
            message,
            mend,
        });
    }
    found
}

/// What is needless about a card's thinner form: the key where it is written, the message and the mend.
fn needless(card: &Card) -> Option<(&'static str, String, String)> {
    let drums = card.score.drums.as_ref()?;
    let relief = card.relief(&PLAYER)?;
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
        let helping: Vec<String> = light(drums)
            .filter(|p| Relief::new(drums, &[*p], &PLAYER).is_some_and(|r| r.is_clear()))
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
    let idle: Vec<usize> = card
        .thin
        .iter()
        .copied()
        .filter(|p| is_idle(drums, &card.thin, *p, &relief))
        .collect();
    if !idle.is_empty() && idle.len() < card.thin.len() {
        let idle = said(drums, &idle);
        let message =
            format!("{idle} need not be left out: the other strokes named are enough; {ceilings}");
        return Some(("thin", message, format!("take {idle} out of `thin`")));
    }
    if card.tempo.1 <= whole {
        let message = format!("the card ends at {}, and {ceilings}", card.tempo.1);
        let mend = format!("{out}, or let the card go faster than {whole}");
        return Some(("thin", message, mend));
    }
    let from = card.thin_from.filter(|from| *from < whole)?;
    let message = format!("{strokes} left out from {from} on, but {ceilings}");
    let mend = format!("write `thin_from = {whole}`, or leave it out: then the hands decide");
    Some(("thin_from", message, mend))
}

/// Do the hands go as fast where this stroke stays and the others named are left out?
fn is_idle(drums: &Pattern, thin: &[usize], pulse: usize, all: &Relief) -> bool {
    let others: Vec<usize> = thin.iter().copied().filter(|p| *p != pulse).collect();
    let without = Relief::new(drums, &others, &PLAYER);
    without.is_some_and(|r| r.thinner * Relief::CLEAR > all.thinner)
}

fn light(drums: &Pattern) -> impl Iterator<Item = usize> {
    drums
        .strokes()
        .filter(|(_, s)| s.is_light())
        .map(|(p, _)| p)
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
    let names: Vec<String> = pulses
        .iter()
        .map(|p| format!("`{}`", name(drums, *p)))
        .collect();
    match names.split_last() {
        Some((last, [])) => last.clone(),
        Some((last, most)) => format!("{} and {last}", most.join(", ")),
        None => String::new(),
    }
}
