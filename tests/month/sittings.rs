//! Evenings of a simulated player with the session and the course themselves, without the program around them: fast enough for
//! several players and months.

use super::player::Player;
use std::collections::{BTreeMap, BTreeSet};
use whichside::deck::{self, Deck};
use whichside::memory::{Memory, Settings, UnseenAnswer};
use whichside::question::tempo::{HeldTempos, Past};
use whichside::question::{
    Answer, Course, Draw, Form, ItemKey, Learner, Question, REST, Sense, Stands, Thread, items,
    kind,
};
use whichside::rhythm::Tempo;
use whichside::session::{Effect, Event, Profile, Session, Stage, Start, Step};
use whichside::sound::{CountIn, JoinPoint, Take};
use whichside::taps::Tap;
use whichside::time::{Moment, Seconds};

const DAY: f64 = 86_400.0;
const WEEK: f64 = 7.0 * DAY;
/// The first evening, seconds UTC.
const BEGIN: f64 = 1.8e9;
/// Seconds that a new card, a right answer and a wrong one are looked at, about. Ours.
const READS: [f64; 3] = [14.0, 2.5, 7.0];
/// A card is held where what was asked of it is recalled, on average, more often than not a night later: the point at which
/// half-lives are measured. Guesses do not count.
const HELD: f64 = 0.5;
/// Share of the strokes left out of a part that is tapped and not recalled. Ours.
const LEFT_OUT: f64 = 0.3;
/// A tempo is drawn within 4 % of where the player stands.
const EDGE: f64 = 0.96;
/// Questions that sound a player out, for each minute of the evening, as in the program.
const SOUNDINGS: f64 = 2.4;

/// Who plays.
#[derive(Clone, Debug)]
pub struct Who {
    pub name: &'static str,
    pub stands: Stands,
    /// Share of each thread that the player knows before the first evening.
    pub knows: [f64; 3],
    /// Spread of taps, as a share of the time from stroke to stroke: musicians have 2 to 4 %, others 4 to 8 % (Repp 2005;
    /// Repp & Su 2013; from memory).
    pub spread: f64,
    /// A deck of five cards of their own is put into the folder each week.
    pub weekly: bool,
    pub minutes: f64,
    pub days: usize,
    pub seed: u64,
    /// Without the lesson and the threads: what is worth most alone, in the order of the course.
    pub plain: bool,
}

/// What came of the evenings until a day, that one included.
#[derive(Clone, Debug, Default)]
pub struct Until {
    /// By thread, in the order of [`Thread::ALL`].
    pub met: [usize; 3],
    pub asked: [usize; 3],
    pub held: [usize; 3],
    pub by_ear: usize,
    pub questions: usize,
    pub right: usize,
    /// Variations among what was met (shown or asked), and held.
    pub variations: usize,
    pub variations_held: usize,
    /// Items that are recalled a night later: the sum of their true chances.
    pub kept: f64,
    /// Cards of the player's own that were met, and held.
    pub own: usize,
    pub own_held: usize,
    /// Those that came in the week that runs, and are held.
    pub week_held: usize,
}

/// One evening.
#[derive(Clone, Debug, Default)]
pub struct Evening {
    /// The day, from 0.
    pub day: usize,
    /// Cards shown in full for the first time, in order.
    pub shown: Vec<String>,
    /// Cards asked without having been shown.
    pub unseen: Vec<String>,
    /// Items asked, in order.
    pub asked: Vec<ItemKey>,
    /// Seconds from the first question to the last page, and on what was met for the first time.
    pub seconds: f64,
    pub new_seconds: f64,
    /// Seconds until what is to be heard begins: count-ins, and the rest of the bar before a band goes on.
    pub waiting: f64,
    /// Questions by ear to which the band went on.
    pub joined: usize,
    /// Right answers, and of these the late ones.
    pub right: usize,
    pub late: usize,
    /// The same at the edge of what the player can: at the fastest tempo so far at which the item came in time, or above.
    pub edge_right: usize,
    pub edge_late: usize,
    /// Questions about variations that are past their first week, and of these the ones that are produced.
    pub ripe: usize,
    pub ripe_produced: usize,
    /// Cards of the lesson that were not held when the evening began, and of these those that were not asked.
    pub open: usize,
    pub passed_over: Vec<String>,
    /// Cards of each thread that the player is taken to know when the evening ends.
    pub placed: [usize; 3],
    pub until: Until,
    /// What came, a line each.
    pub story: Vec<String>,
}

/// Who plays, where they were placed and what came of it.
pub struct Month {
    pub evenings: Vec<Evening>,
    /// Cards known before the first evening.
    pub knew: BTreeSet<String>,
}

/// Is a card a variation?
pub fn is_variation(card: &str) -> bool {
    card.starts_with("variations/") || card.starts_with("variations-two-bars/")
}

/// The deck of the player's own of a week: bars of the tumbao with some strokes changed, made up for this.
pub fn own_deck(week: usize) -> Deck {
    let bars = [
        "S T S T H T O O",
        "H T O T H T S O",
        "H T S T O T O S",
        "H T S O H T S O",
        "O T S T H T S S",
        "H T S T S T O O",
        "H T C T H T O O",
        "H T S T H O O O",
        "H T S T H T M O",
        "O O S T H T O O",
        "H T S S H T O O",
        "H T S T O O O O",
        "S T O T H T O O",
        "H T S T C T O O",
        "H T M T H T O O",
        "O T S T O T O O",
        "H T S T S T S O",
        "H T O O H T O O",
        "C T S T H T O O",
        "H T S M H T O O",
    ];
    let mut text = format!(
        "id = \"week-{week}\"\ntitle = \"Week {week}\"\nabout = \"What we worked on in the lesson.\"\nsource = \"our own, after common practice\"\n"
    );
    for (nth, bar) in bars.iter().skip(week * 5 % 20).take(5).enumerate() {
        text += &format!(
            "\n[[card]]\nid = \"bar-{nth}\"\ntitle = \"Bar {nth} of week {week}\"\nabout = \"A bar of the lesson.\"\nstates = \"neither\"\n\
             tempo = [80, 160]\nconcepts = [\"lesson\"]\nkinds = [\"strokes\", \"hand\"]\ngrid = \"\"\"\ncount | 1 & 2 & 3 & 4 & |\n\
             conga | {bar} |\nhand  | L L R L L L R R |\n\"\"\"\n"
        );
    }
    let (deck, notes) = deck::read("week.toml", &text);
    assert!(notes.iter().all(|n| !n.is_mistake()), "{notes:?}");
    assert_eq!(deck.cards.len(), 5);
    deck
}

/// Lives through the days.
pub fn live(who: &Who) -> Month {
    let mut life = Life::new(who);
    for day in 0..who.days {
        let evening = life.evening(day);
        life.evenings.push(evening);
    }
    Month {
        evenings: life.evenings,
        knew: life.knew,
    }
}

struct Life<'a> {
    who: &'a Who,
    player: Player,
    decks: Vec<Deck>,
    own: BTreeSet<String>,
    memory: Memory,
    introduced: BTreeSet<String>,
    unseen: Vec<(ItemKey, UnseenAnswer)>,
    /// Items asked so far, by card.
    asked: BTreeMap<String, BTreeSet<String>>,
    last: BTreeMap<ItemKey, Past>,
    held: HeldTempos,
    /// The fastest tempo at which each item was answered in time.
    tops: BTreeMap<ItemKey, Tempo>,
    /// When something of a card was first asked.
    begun: BTreeMap<String, f64>,
    knew: BTreeSet<String>,
    evenings: Vec<Evening>,
    sum: Until,
}

/// The course of a player with one drum and the usual school.
pub fn course(decks: &[Deck]) -> (Course, Vec<ItemKey>) {
    let mut items = items(decks);
    items.retain(|i| i.drums <= 1 && !i.key.card.starts_with("low-drum-two/"));
    let keys = items.iter().map(|i| i.key.clone()).collect();
    (Course::new(decks, &items), keys)
}

impl<'a> Life<'a> {
    fn new(who: &'a Who) -> Life<'a> {
        let mut player = Player::new(who.seed, 0.1);
        let decks = deck::shipped();
        let (course, items) = course(&decks);
        let mut knew = BTreeSet::new();
        for (thread, share) in Thread::ALL.into_iter().zip(who.knows) {
            let chain = course.chain(thread);
            knew.extend(
                chain[..(share * chain.len() as f64) as usize]
                    .iter()
                    .cloned(),
            );
        }
        for card in &knew {
            player.has(card);
        }
        // Played again and again over the last season.
        for item in items.iter().filter(|i| knew.contains(&i.card)) {
            for days in (1..=30).rev() {
                player.see(&item.card, &item.to_string(), -3.0 * f64::from(days) * DAY);
            }
        }
        Life {
            who,
            player,
            decks,
            own: BTreeSet::new(),
            memory: Memory::new(),
            introduced: BTreeSet::new(),
            unseen: Vec::new(),
            asked: BTreeMap::new(),
            last: BTreeMap::new(),
            held: HeldTempos::default(),
            tops: BTreeMap::new(),
            begun: BTreeMap::new(),
            knew,
            evenings: Vec::new(),
            sum: Until::default(),
        }
    }

    fn evening(&mut self, day: usize) -> Evening {
        if self.who.weekly && day.is_multiple_of(7) {
            let deck = own_deck(day / 7);
            self.own.extend(deck.cards.iter().map(|c| c.id.clone()));
            self.decks.push(deck);
        }
        let (course, items) = course(&self.decks);
        let mut session = Session::new(Start {
            decks: self.decks.clone().into(),
            met: self.introduced.clone(),
            profile: Some(Profile {
                stands: self.who.stands,
                minutes: self.who.minutes,
                ..Profile::default()
            }),
            minutes: None,
            sound: true,
            seed: self.who.seed * 1000 + day as u64,
        })
        .with_held(self.held.clone());
        let mut today = Today {
            evening: Evening::default(),
            draw: Draw::new(self.who.seed * 977 + day as u64),
            shown: BTreeSet::new(),
            sounded: 0,
            begin: BEGIN + day as f64 * DAY,
            band: Band::default(),
            elapsed: 0.0,
        };
        let open = self.open(&items);
        today.evening.open = open.len();
        self.tell(&mut session, Event::Begin, &course, &items, &mut today);
        let mut new_until = None;
        loop {
            let now = today.begin + today.elapsed;
            let at = now - BEGIN;
            let (seconds, event) = match session.stage() {
                Stage::Done(_) => break,
                Stage::Introduction(meeting) => {
                    let item = meeting.question.item.clone();
                    new_until = Some(item.clone());
                    let seconds = self.player.reads(READS[0]);
                    today.evening.new_seconds += seconds;
                    self.player.see(&item.card, &item.to_string(), at);
                    (seconds, vec![Event::Next])
                }
                Stage::Asking(asking) => {
                    let question = &asking.question;
                    let listens = (asking.clock.seconds() - now).max(0.0);
                    if question.item.sense == Sense::Hear {
                        let joins = question.prompt.take.count_in == CountIn::None;
                        today.evening.joined += usize::from(joins);
                        today.evening.waiting += today.band.first_bar - now;
                    }
                    let (answering, events) = self.reply(question, at);
                    let seconds = listens + answering;
                    if new_until.as_ref().is_some_and(|i| *i == question.item) {
                        today.evening.new_seconds += seconds;
                    }
                    (seconds, events)
                }
                Stage::Feedback(told) => {
                    let item = told.review.question.item.clone();
                    let seconds = self
                        .player
                        .reads(READS[if told.review.verdict.right { 1 } else { 2 }]);
                    if new_until.take().is_some_and(|i| i == item) {
                        today.evening.new_seconds += seconds;
                    }
                    self.player.see(&item.card, &item.to_string(), at);
                    (seconds, vec![Event::Next])
                }
                stage => panic!("{stage:?}"),
            };
            today.elapsed += seconds;
            for event in event {
                self.tell(&mut session, event, &course, &items, &mut today);
            }
        }
        let mut evening = today.evening;
        evening.day = day;
        evening.seconds = today.elapsed;
        let met = |card: &str| evening.shown.iter().any(|c| c == card);
        let asked = |card: &str| met(card) || evening.asked.iter().any(|i| i.card == card);
        evening.passed_over = open.iter().filter(|card| !asked(card)).cloned().collect();
        evening.until = self.until(day, &course);
        let placement = course.placement(&self.standing(&today.shown));
        evening.placed = [0, 1, 2].map(|t| placement.place(t));
        evening
    }

    /// Answers a question: the seconds from its clock on, and the keys or taps.
    fn reply(&mut self, question: &Question, at: f64) -> (f64, Vec<Event>) {
        let (card, item) = (&question.item.card, question.item.to_string());
        let form = &question.form;
        let right = form.right().swap_remove(0);
        if let (Form::Taps { task, cycles, .. }, Answer::Taps(exact)) = (form, &right) {
            let (cycle, spread) = (task.cycle_seconds().seconds(), self.who.spread);
            let spread = spread * task.mean_interval().seconds();
            let left_out = if task.is_clave() { 0.0 } else { LEFT_OUT };
            let (taps, recalled, thinks) =
                self.player
                    .tap(card, &item, exact.len(), spread, left_out, at);
            // The player thinks while the band goes round once, and comes in where it begins anew.
            let later = (thinks / cycle).ceil().max(1.0);
            // Who does not know the direction of a clave claps one of two.
            let turned = task.is_clave() && !recalled && self.player.chance(0.5);
            let begin = later * cycle + if turned { cycle / 2.0 } else { 0.0 };
            let taps = exact.iter().zip(taps).filter_map(|(exact, off)| {
                Some(Tap {
                    seconds: Seconds::new(begin + exact.seconds.seconds() + off?),
                    ..*exact
                })
            });
            let answering = (begin - cycle) + *cycles as f64 * cycle;
            return (answering, vec![Event::Taps(taps.collect())]);
        }
        let right = form.right_at(&right);
        let right: Vec<Vec<char>> = right.iter().map(|r| r.chars().collect()).collect();
        let choices: Vec<char> = form.choices().iter().map(|c| c.key).collect();
        if let Form::Written { .. } = form {
            let bars = right.len() / question.prompt.take.score.grid.pulses_per_bar();
            let reply = self.player.write(card, &item, &right, &choices, bars, at);
            let keys = reply.keys.chars();
            let events = match keys.clone().all(|key| key == REST) {
                true => vec![Event::Unknown],
                false => keys.map(Event::Key).chain([Event::Next]).collect(),
            };
            return (reply.seconds, events);
        }
        let reply = self.player.answer(card, &item, &right, &choices, at);
        (reply.seconds, reply.keys.chars().map(Event::Key).collect())
    }

    /// Cards of the lesson that memory does not take to be held.
    fn open(&self, items: &[ItemKey]) -> Vec<String> {
        let held = |card: &str| {
            let keys: Vec<String> = items
                .iter()
                .filter(|i| i.card == card)
                .map(|i| i.to_string())
                .collect();
            whichside::memory::hold(&self.memory, keys.iter().map(String::as_str)).held
        };
        self.own
            .iter()
            .filter(|card| !held(card))
            .cloned()
            .collect()
    }

    fn tell(
        &mut self,
        session: &mut Session,
        event: Event,
        course: &Course,
        items: &[ItemKey],
        today: &mut Today,
    ) {
        let mut events = vec![event];
        let now = today.begin + today.elapsed;
        while !events.is_empty() {
            let effects: Vec<Effect> = events
                .drain(..)
                .flat_map(|e| session.update(e, Moment::new(now)))
                .collect();
            for effect in effects {
                match effect {
                    Effect::Plan { minutes, asked, .. } => {
                        events.extend(self.plan(minutes, &asked, course, items, today, now));
                    }
                    Effect::Play { take, joins, .. } => today.band.play(&take, joins, now),
                    Effect::Met { card, .. } => {
                        today.shown.insert(card.clone());
                        today.evening.shown.push(card.clone());
                        let at = today.elapsed;
                        today
                            .evening
                            .story
                            .push(format!("{at:4.0} s  is shown       {card}"));
                        self.introduced.insert(card);
                    }
                    Effect::Record { ticket, review } => {
                        self.take_in(&review, today);
                        events.push(Event::Saved(ticket));
                    }
                    _ => {}
                }
            }
        }
        if today.band.first_bar > now {
            session.update(Event::Sounding, Moment::new(today.band.begins));
        }
    }

    fn plan(
        &mut self,
        minutes: f64,
        asked: &[ItemKey],
        course: &Course,
        items: &[ItemKey],
        today: &mut Today,
        now: f64,
    ) -> Vec<Event> {
        let places: BTreeMap<&ItemKey, usize> = items.iter().zip(0..).collect();
        let asked: Vec<usize> = asked
            .iter()
            .filter_map(|i| places.get(i).copied())
            .collect();
        let settings = Settings {
            minutes,
            ..Settings::default()
        };
        let seed = today.draw.seed();
        let evening = if self.who.plain {
            whichside::question::Evening {
                planned: whichside::memory::plan_composed(
                    &self.memory,
                    course.candidates(),
                    &Default::default(),
                    &asked,
                    &settings,
                    Moment::new(now),
                    today.shown.len(),
                    seed,
                ),
                ..Default::default()
            }
        } else {
            let standing = self.standing(&today.shown);
            let left = ((SOUNDINGS * self.who.minutes) as usize).saturating_sub(today.sounded);
            course.evening(
                &self.memory,
                &standing,
                &asked,
                &settings,
                left,
                Moment::new(now),
                seed,
            )
        };
        let step = |i: usize, seconds: f64| Step {
            item: items[i].clone(),
            why: String::new(),
            seconds: Seconds::new(seconds),
            last: self.last.get(&items[i]).copied(),
        };
        let mut steps: Vec<Step> = evening
            .planned
            .iter()
            .map(|p| step(p.candidate, p.seconds.seconds()))
            .collect();
        for i in evening.soundings {
            steps.push(step(i, course.sounding_seconds(&self.memory, i).seconds()));
        }
        vec![Event::Unseen(evening.unseen), Event::Planned(steps)]
    }

    fn standing(&self, today: &BTreeSet<String>) -> Learner {
        Learner {
            stands: self.who.stands,
            introduced: self.introduced.clone(),
            today: today.clone(),
            unseen: self.unseen.clone(),
            lesson: self.own.clone(),
            sounded: (self.who.stands != Stands::New).then_some(0),
        }
    }

    fn take_in(&mut self, review: &whichside::session::Review, today: &mut Today) {
        let item = review.question.item.clone();
        let first = self
            .asked
            .entry(item.card.clone())
            .or_default()
            .insert(item.to_string());
        if first && !self.introduced.contains(&item.card) {
            today.sounded += 1;
            today.evening.unseen.push(item.card.clone());
            let question = &review.question;
            let (correct, limit) = (review.verdict.correct, question.limit());
            let reply = UnseenAnswer::new(correct, question.form.guess(), review.seconds, limit);
            self.unseen.push((item.clone(), reply));
        }
        self.memory.observe(&review.row("month", 0, "").outcome());
        let (tempo, verdict) = (review.question.prompt.take.tempo, &review.verdict);
        let before = self.last.get(&item).copied();
        let past = Past::after(before, tempo, verdict.right, verdict.in_time);
        self.last.insert(item.clone(), past);
        let (cycle, right) = (review.question.cycle_seconds(), verdict.right);
        self.held.observe(&item, cycle, right, past.in_time);
        let told = match (right, past.in_time) {
            (true, true) => "in time",
            (true, false) => "late",
            _ if verdict.partly => "partly right",
            _ => "missed",
        };
        today.evening.story.push(format!(
            "{:4.0} s  {:7} {:6} {:32} {tempo:3.0}  {told}",
            today.elapsed,
            item.kind,
            item.sense.spoken(),
            item.card,
        ));
        let tops = self.tops.entry(item.clone()).or_insert(Tempo::UNLIMITED);
        let edge = tempo >= *tops * EDGE;
        if past.in_time {
            *tops = match *tops == Tempo::UNLIMITED {
                true => tempo,
                false => tempo.max(*tops),
            };
        }
        self.sum.questions += 1;
        self.sum.by_ear += usize::from(item.sense == Sense::Hear);
        self.sum.right += usize::from(review.verdict.right);
        let verdict = &review.verdict;
        today.evening.right += usize::from(verdict.right);
        today.evening.late += usize::from(verdict.right && !verdict.in_time);
        if edge {
            today.evening.edge_right += usize::from(verdict.right);
            today.evening.edge_late += usize::from(verdict.right && !verdict.in_time);
        }
        let begun = *self
            .begun
            .entry(item.card.clone())
            .or_insert(review.at.seconds());
        if is_variation(&item.card) && review.at.seconds() - begun >= WEEK {
            today.evening.ripe += 1;
            let produced = kind(&item.kind).is_some_and(|k| k.is_produced());
            today.evening.ripe_produced += usize::from(produced);
        }
        let card = self
            .decks
            .iter()
            .flat_map(|d| &d.cards)
            .find(|c| c.id == item.card);
        self.sum.asked[Thread::of(card.expect("its card")) as usize] += 1;
        today.evening.asked.push(item);
    }

    fn until(&self, day: usize, course: &Course) -> Until {
        let mut until = self.sum.clone();
        let at = (day + 1) as f64 * DAY;
        let seen =
            |card: &&String| self.introduced.contains(*card) || self.asked.contains_key(*card);
        for thread in Thread::ALL {
            for card in course.chain(thread).iter().filter(seen) {
                let items = self.asked.get(card);
                let chances = items
                    .into_iter()
                    .flatten()
                    .map(|i| self.player.recall(card, i, at));
                let chances: Vec<f64> = chances.collect();
                let sum: f64 = chances.iter().sum();
                until.kept += sum;
                let held = !chances.is_empty() && sum / chances.len() as f64 >= HELD;
                until.met[thread as usize] += 1;
                until.held[thread as usize] += usize::from(held);
                let variation = is_variation(card);
                until.variations += usize::from(variation);
                until.variations_held += usize::from(variation && held);
                let own = self.own.contains(card);
                until.own += usize::from(own);
                until.own_held += usize::from(own && held);
                let of_week = card.starts_with(&format!("week-{}/", day / 7));
                until.week_held += usize::from(of_week && held);
            }
        }
        until
    }
}

struct Today {
    evening: Evening,
    draw: Draw,
    shown: BTreeSet<String>,
    /// Answers about cards never shown.
    sounded: usize,
    begin: f64,
    elapsed: f64,
    band: Band,
}

/// What a sound card would do.
#[derive(Default)]
struct Band {
    /// When what was played last begins to be heard, and when its first bar does, seconds UTC.
    begins: f64,
    first_bar: f64,
    /// A moment at which a bar of what plays begins.
    line: f64,
}

impl Band {
    fn play(&mut self, take: &Take, joins: Option<JoinPoint>, now: f64) {
        let pulse = take.playable_tempo().pulse(take.score.grid).seconds();
        (self.begins, self.first_bar) = match joins {
            None => (now, now + take.count_in_pulses() as f64 * pulse),
            Some(JoinPoint { line: 0 | 1, .. }) => (now, now),
            Some(join) => {
                let bar = join.line as f64 * pulse;
                let next = self.line + ((now - self.line) / bar).ceil() * bar;
                (next, next)
            }
        };
        if joins.is_none_or(|join| join.pulse.is_some()) {
            self.line = self.first_bar;
        }
    }
}
