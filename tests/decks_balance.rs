//! Nobody can score by answering always the same, or by a cue on the surface: questions of the shipped decks are
//! asked by the thousand, and one-question decision rules are fitted to what shows without listening to the clave.

mod cues;

use cues::{Shown, share_right};
use std::collections::BTreeMap;
use whichside::deck::{Card, shipped};
use whichside::question::{KINDS, Kind, Mark, Question, Sense, Setup};
use whichside::rhythm::{Instrument, Score, Tempo};

fn side() -> &'static Kind {
    KINDS.iter().copied().find(|k| k.name == "side").unwrap()
}

/// What shows on the surface of a question.
struct Asked {
    three: bool,
    /// Strokes in the marked bar, in the first bar where the whole is marked.
    strokes: f64,
    /// The letter of the stroke on 1 of that bar, or `x` or `.` of the first line.
    first: char,
    /// Place of the card among all cards.
    order: f64,
    bpm: f64,
    bars: f64,
    /// The marked bar, from 0.
    bar: f64,
    /// By eye or by ear, and whether a bar is asked for or the direction.
    form: (Sense, bool),
    /// Strokes in the first bar.
    before: f64,
    /// Strokes of the clave in the marked bar, where the clave is what is asked about.
    clave: Option<usize>,
}

fn bar(score: &Score, bar: usize) -> (usize, char) {
    let per = score.grid.pulses_per_bar();
    if let Some(drums) = &score.drums {
        let cells = drums.bar(bar);
        let first = cells[0].map_or('.', |s| s.tone.letter());
        return (cells.iter().flatten().count(), first);
    }
    let hits = |p: usize| {
        score
            .lines
            .iter()
            .filter(|l| l.at(bar * per + p).is_some())
            .count()
    };
    let first = if hits(0) > 0 { 'x' } else { '.' };
    ((0..per).map(hits).sum(), first)
}

fn surface(question: &Question, order: usize, tempo: Tempo) -> Option<Asked> {
    let key = question.form.right()[0].text().chars().next().unwrap();
    if key == 'c' || key == 'b' {
        return None;
    }
    let score = &question.prompt.take.score;
    let marked = match question.prompt.mark {
        Mark::Bar(bar) => bar,
        _ => 0,
    };
    let (strokes, first) = bar(score, marked);
    Some(Asked {
        three: key == '3',
        strokes: strokes as f64,
        first,
        order: order as f64,
        bpm: tempo.bpm(),
        bars: score.bars() as f64,
        bar: marked as f64,
        form: (question.item.sense, question.prompt.mark == Mark::Whole),
        before: bar(score, 0).0 as f64,
        clave: score.line(Instrument::Clave).map(|line| {
            let per = score.grid.pulses_per_bar();
            let pulses = marked * per..(marked + 1) * per;
            pulses.filter(|p| line.at(*p).is_some()).count()
        }),
    })
}

/// All side questions of all cards, `seeds` of each.
fn ask(seeds: std::ops::Range<u64>) -> Vec<Asked> {
    let decks = shipped();
    let cards: Vec<&Card> = decks.iter().flat_map(|d| &d.cards).collect();
    let mut asked = Vec::new();
    for (order, card) in cards.iter().enumerate() {
        for sense in Sense::ALL {
            for seed in seeds.clone() {
                let (low, high) = card.tempo;
                let tempo = low.toward(high, (seed % 7) as f64 / 6.0);
                let setup = Setup {
                    tempo,
                    player: Default::default(),
                    as_written: false,
                    weighed: false,
                    unseen: false,
                };
                if let Some(question) = side().ask(card, sense, seed * 7919 + order as u64, &setup)
                {
                    asked.extend(surface(&question, order, tempo));
                }
            }
        }
    }
    asked
}

#[test]
fn two_and_three_are_asked_equally_often() {
    let asked = ask(0..SEEDS);
    assert!(asked.len() >= 1000, "{}", asked.len());
    let two = asked.iter().filter(|a| !a.three).count() as f64 / asked.len() as f64;
    println!(
        "{} sided questions, {:.1} % of them two",
        asked.len(),
        100.0 * two
    );
    assert!((0.45..=0.55).contains(&two), "{two}");
    // By eye and by ear, of a bar and of a phrase.
    for sense in Sense::ALL {
        for whole in [false, true] {
            let of = asked.iter().filter(|a| a.form == (sense, whole));
            let (two, all) = of.fold((0, 0), |n, a| (n.0 + usize::from(!a.three), n.1 + 1));
            let share = two as f64 / all as f64;
            println!(
                "{sense:?}, direction {whole}: {:.1} % two of {all}",
                100.0 * share
            );
            assert!((0.42..=0.58).contains(&share), "{sense:?} {whole}: {share}");
        }
    }
}

/// Share right of the best threshold on `train`, tried on `test`.
fn stump(train: &[Asked], test: &[Asked], of: impl Fn(&Asked) -> f64) -> f64 {
    let mut cuts: Vec<f64> = train.iter().map(&of).collect();
    cuts.sort_by(f64::total_cmp);
    cuts.dedup();
    let right = |set: &[Asked], cut: f64, above: bool| {
        let hits = set
            .iter()
            .filter(|a| ((of(a) > cut) == above) == a.three)
            .count();
        hits as f64 / set.len() as f64
    };
    let tried = cuts.iter().flat_map(|c| [(*c, true), (*c, false)]);
    let best = tried.max_by(|a, b| right(train, a.0, a.1).total_cmp(&right(train, b.0, b.1)));
    best.map_or(0.0, |(cut, above)| right(test, cut, above))
}

/// Share right of the commoner answer for each value.
fn by_value(train: &[Asked], test: &[Asked], of: impl Fn(&Asked) -> String) -> f64 {
    let mut votes: BTreeMap<String, i64> = BTreeMap::new();
    for a in train {
        *votes.entry(of(a)).or_default() += if a.three { 1 } else { -1 };
    }
    let hits = test
        .iter()
        .filter(|a| (votes.get(&of(a)).copied().unwrap_or(0) > 0) == a.three);
    hits.count() as f64 / test.len() as f64
}

/// Seeds to learn from and seeds to try what was learned on, several times.
const HALVES: [(u64, u64); 3] = [(0, 100), (1000, 2000), (31_000, 77_000)];
const SEEDS: u64 = 20;

/// What shows, by name, as something that can be told apart.
fn cues(a: &Asked) -> [(&'static str, String); 8] {
    [
        ("strokes in the bar", a.strokes.to_string()),
        ("first stroke", a.first.to_string()),
        ("strokes in the first bar", a.before.to_string()),
        ("strokes of the clave", format!("{:?}", a.clave)),
        ("odd or even in the file", (a.order % 2.0).to_string()),
        ("length", a.bars.to_string()),
        ("marked bar", a.bar.to_string()),
        ("length and marked bar", format!("{} {}", a.bars, a.bar)),
    ]
}

#[test]
fn no_cue_on_the_surface_gives_the_side_away() {
    for (train, test) in HALVES {
        let (train, test) = (ask(train..train + SEEDS), ask(test..test + SEEDS));
        type Number = fn(&Asked) -> f64;
        let numbers: [(&str, Number); 5] = [
            ("strokes in the bar, cut", |a| a.strokes),
            ("strokes in the first bar, cut", |a| a.before),
            ("file order", |a| a.order),
            ("tempo", |a| a.bpm),
            ("marked bar, cut", |a| a.bar),
        ];
        let cut = numbers.map(|(cue, of)| (cue, stump(&train, &test, of)));
        let each = (0..cues(&train[0]).len()).map(|i| {
            let cue = cues(&train[0])[i].0;
            (cue, by_value(&train, &test, |a| cues(a)[i].1.clone()))
        });
        for (cue, right) in cut.into_iter().chain(each) {
            println!("{cue:30} {:.1} % of {}", 100.0 * right, test.len());
            assert!(right <= 0.60, "{cue}: {right}");
        }
    }
}

#[test]
fn all_cues_together_do_not_give_the_side_away() {
    let shown = |asked: &[&Asked]| -> Vec<Shown> {
        let shown = asked.iter().map(|a| Shown {
            holds: a.three,
            numbers: vec![a.strokes, a.before, a.order, a.bpm],
            words: cues(a).map(|(_, shows)| shows).to_vec(),
        });
        shown.collect()
    };
    for (seen, fresh) in HALVES {
        let (seen, fresh) = (ask(seen..seen + SEEDS), ask(fresh..fresh + SEEDS));
        let tried = |train: &dyn Fn(&Asked) -> bool, test: &dyn Fn(&Asked) -> bool| {
            let train: Vec<&Asked> = seen.iter().filter(|a| train(a)).collect();
            let test: Vec<&Asked> = fresh.iter().filter(|a| test(a)).collect();
            (share_right(&shown(&train), &shown(&test)), test.len())
        };
        let odd = |a: &Asked| a.order % 2.0 == 1.0;
        let found = [
            // A rule found on one half of the cards, tried on the other half.
            ("cards held out", tried(&odd, &|a| !odd(a))),
            ("cards held out, turned round", tried(&|a| !odd(a), &odd)),
            // The same cards in fresh questions, with and without the clave by itself.
            ("questions held out", tried(&|_| true, &|_| true)),
            (
                "without the clave by itself",
                tried(&|a| a.clave.is_none(), &|a| a.clave.is_none()),
            ),
        ];
        for (what, (right, n)) in found {
            println!("all cues together, {what}: {:.1} % of {n}", 100.0 * right);
            assert!(right <= 0.60, "{what}: {right}");
        }
    }
}

#[test]
fn the_regression_finds_what_there_is_to_find() {
    // Given the answer as a cue, it takes it.
    let told = |set: &[Asked]| -> Vec<Shown> {
        let told = set.iter().map(|a| Shown {
            holds: a.three,
            numbers: vec![a.bpm],
            words: vec![a.three.to_string()],
        });
        told.collect()
    };
    assert!(share_right(&told(&ask(0..2)), &told(&ask(100..102))) > 0.99);
}
