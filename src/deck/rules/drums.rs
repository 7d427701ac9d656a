use super::Rule;
use crate::deck::check::{Desk, Finding};
use crate::deck::diagnostic::Severity;
use crate::rhythm::Drum;

/// A drum that the player has not got.
pub static DRUMS: Rule = Rule {
    name: "drum",
    severity: Severity::Mistake,
    title: "a drum that is not there",
    page: "\
A deck may say which drums it is for: `drums = [\"conga\"]` for one drum, `drums = [\"conga\", \"tumba\"]` for two. A card that
strikes another drum cannot be played there. Without the line a deck is for all drums that the player has got.",
    check: Some(check),
};

fn check(desk: &Desk) -> Vec<Finding> {
    let mut found = Vec::new();
    for (sheet, card, draft) in desk.cards() {
        let declared = &desk.sheets[sheet].drums;
        let (there, whose) = match declared.is_empty() {
            true => (&desk.setting.drums, "the player has"),
            false => (declared, "the deck is for"),
        };
        let Some(drums) = &draft.card.score.drums else {
            continue;
        };
        for (pulse, stroke) in drums.strokes() {
            if there.contains(&stroke.drum)
                || drums
                    .strokes()
                    .any(|(p, s)| p < pulse && s.drum == stroke.drum)
            {
                continue;
            }
            let name = stroke.drum.name();
            found.push(Finding {
                sheet,
                card: Some(card),
                span: desk.pulse(sheet, draft, name, pulse),
                message: format!("this strikes the {name}, but {whose} {}", listed(there)),
                mend: format!("write it for the drums that are there, or add {name} to the `drums` of the deck"),
            });
        }
    }
    found
}

fn listed(drums: &[Drum]) -> String {
    match drums {
        [] => "no drum".into(),
        _ => drums
            .iter()
            .map(|d| d.name())
            .collect::<Vec<_>>()
            .join(" and "),
    }
}
