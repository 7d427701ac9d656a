//! What a month must be like, and the table of it.

use super::life::{Evening, Life, Plan};

/// New cards an evening at most, and on the first evenings, which they help to fill.
const NEW_CARDS: usize = 3;
const NEW_AT_FIRST: usize = 6;
const FIRST: usize = 4;
/// New cards at most on the first evening after days away.
const NEW_AFTER_AWAY: usize = 2;
/// Share of the minutes that an evening lasts at least, while there is anything to ask.
const FILLED: f64 = 0.75;
/// Evenings of practice for which an item may go unasked, and one that was missed at its last answer.
const UNASKED: usize = 14;
const MISSED: usize = 7;
/// Evenings until recall is back, and by how much it may fall short of what it was.
const BACK: usize = 5;
const SHORT: f64 = 0.1;
/// Evenings over which it is measured before.
const BEFORE: usize = 5;
/// Seconds by which a sum of rounded seconds may pass the minutes.
const ROUNDING: f64 = 1e-6;

/// A line an evening.
pub fn table(life: &Life) -> String {
    let mut text = String::from(
        "day  plan busiest  shown ended | asked again right | new: items cards said | known items recall\n",
    );
    for e in &life.evenings {
        let (plan, busiest, shown, ended) = (
            e.planned_seconds,
            e.busiest_seconds,
            e.last_shown,
            e.seconds,
        );
        text += &format!(
            "{:3} {plan:5.0} {busiest:7.0} {shown:6.0} {ended:5.0} | {:5} {:5} {:4.0}% | {:10} {:5} {:4} | {:11} {:6.2}\n",
            e.day + 1,
            e.asked,
            e.again,
            100.0 * e.share(),
            e.new_items,
            e.new_cards,
            e.told_new_cards,
            e.items,
            e.recall
        );
    }
    text
}

/// Every rule, with whether it was kept and what was seen.
pub fn rules(life: &Life, plan: &Plan) -> Vec<(bool, String)> {
    let most = plan.minutes * 60.0;
    let evenings = &life.evenings;
    let greatest = |of: &dyn Fn(&Evening) -> f64| evenings.iter().map(of).fold(0.0, f64::max);
    // Before the first page the plan knows nothing of the player's minutes.
    let planned = evenings.iter().skip(1);
    let planned = planned
        .map(|e| e.planned_seconds.max(e.busiest_seconds))
        .fold(0.0, f64::max);
    let shown = greatest(&|e| e.last_shown);
    let most_new = |evenings: &[Evening]| evenings.iter().map(|e| e.new_cards).max().unwrap_or(0);
    let (first, later) = evenings.split_at(evenings.len().min(FIRST));
    let (first, new) = (most_new(first), most_new(later) as f64);
    let told = greatest(&|e| e.told_new_cards as f64);
    let mut rules = vec![
        (
            planned <= most + ROUNDING,
            format!("no plan passes {most:.0} seconds; the longest has {planned:.1}"),
        ),
        (
            shown <= most,
            format!(
                "nothing new is put on the screen after {most:.0} seconds; the last was at {shown:.1}"
            ),
        ),
        (
            new.max(told) <= NEW_CARDS as f64 && first <= NEW_AT_FIRST,
            format!(
                "at most {NEW_CARDS} new cards an evening, {NEW_AT_FIRST} on the first {FIRST}: {first} came, then at most {new}; {told} were foretold"
            ),
        ),
    ];
    let shortest = evenings
        .iter()
        .map(|e| e.seconds)
        .fold(f64::INFINITY, f64::min);
    rules.push((
        shortest >= FILLED * most,
        format!(
            "no evening ends before {:.0} seconds; the shortest had {shortest:.0}",
            FILLED * most
        ),
    ));
    let now = evenings.len();
    let gap = |last: usize| now - 1 - last;
    let items = || life.items.values();
    let longest = items()
        .map(|i| i.longest.max(gap(i.last)))
        .max()
        .unwrap_or(0);
    rules.push((
        longest <= UNASKED,
        format!("nothing met goes unasked for more than {UNASKED} evenings of practice; the longest was {longest}"),
    ));
    let missed = items()
        .filter(|i| !i.right)
        .map(|i| gap(i.last))
        .max()
        .unwrap_or(0);
    rules.push((
        missed <= MISSED,
        format!(
            "what was missed comes again within {MISSED} evenings; the longest wait was {missed}"
        ),
    ));
    if !plan.away.is_empty() {
        rules.extend(recovery(evenings, plan));
    }
    rules
}

fn recovery(evenings: &[Evening], plan: &Plan) -> Vec<(bool, String)> {
    let after = evenings.iter().position(|e| e.day >= plan.away.end);
    let Some(after) = after.filter(|after| *after >= BEFORE) else {
        return vec![(
            false,
            "there are evenings before and after the days away".into(),
        )];
    };
    // Of everything met, as the player would know it: of what is asked it would tell what the plan picked, and after days
    // away that is what faded most.
    let before = &evenings[after - BEFORE..after];
    let before = before.iter().map(|e| e.recall).sum::<f64>() / BEFORE as f64;
    let mut since = evenings[after..].iter();
    let back = since.position(|e| e.recall >= before - SHORT);
    let first = &evenings[after];
    vec![
        (
            first.new_cards <= NEW_AFTER_AWAY,
            format!(
                "after {} days away at most {NEW_AFTER_AWAY} new cards: {} came",
                plan.away.len(),
                first.new_cards
            ),
        ),
        (
            back.is_some_and(|back| back < BACK),
            format!(
                "recall of all that was met was {before:.2} before the days away and {:.2} on the first evening after; \
                 within {SHORT} of what it was within {BACK} evenings: {}",
                first.recall,
                back.map_or("never".into(), |back| format!("on evening {}", back + 1))
            ),
        ),
    ]
}
