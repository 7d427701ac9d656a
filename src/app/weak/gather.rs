use crate::app::agenda::{Agenda, Scope};
use crate::app::cli::DataArgs;
use crate::app::shelf::Shelf;
use crate::report::{self, DIARY_VERSION, Diary, Input, RECENT, Report};
use crate::session::Profile;
use crate::store::{Fact, Mark, Store, Wanted, Words};

/// Name of the saved diary beside the log.
const DIARY: &str = "diary";
/// A saved diary no more than so many reviews behind is left as it is.
const BEHIND: i64 = 200;

/// The report of the player whose data these are, at this moment.
pub fn report(data: &DataArgs) -> anyhow::Result<Report> {
    let folder = data.folder()?;
    let shelf = Shelf::load(&folder, None)?;
    let store = Store::open(folder.path())?;
    let memory = store.states(Wanted::These(&shelf.items()))?.memory;
    let (words, recent, diary) = read(&store)?;
    let everything = Profile {
        two_drums: true,
        ..Profile::default()
    };
    let agenda = Agenda::new(&shelf, &Scope::default(), everything);
    let input = Input {
        words: &words,
        recent: &recent,
        memory: &memory,
        items: agenda.candidates(),
        now: data.clock().now().timestamp_millis() as f64 / 1000.0,
    };
    Ok(report::report(&input, &diary))
}

/// The latest reviews and the diary of all, from its saved state where that still holds.
fn read(store: &Store) -> anyhow::Result<(Words, Vec<Fact>, Diary)> {
    let saved = store.snapshot(DIARY, DIARY_VERSION);
    let (mut diary, from) = saved
        .and_then(|s| Some((Diary::from_bytes(&s.bytes)?, s.mark)))
        .unwrap_or_default();
    let mark = store.mark()?;
    // Withdrawn reviews are passed over, so that there may be fewer.
    let after = from.review.min(mark.review - RECENT as i64).max(0);
    let mut recent = Vec::new();
    let (words, mark) = store.facts(after, |_, fact| {
        if fact.id > from.review {
            diary.observe(fact);
        }
        if fact.id > mark.review - RECENT as i64 {
            recent.push(*fact);
        }
    })?;
    if mark.review - from.review > BEHIND {
        save(store, &diary, mark);
    }
    Ok((words, recent, diary))
}

/// Saves the diary; it can be made anew from the log, so that a failure is no loss.
fn save(store: &Store, diary: &Diary, mark: Mark) {
    let _ = store.save_snapshot(DIARY, DIARY_VERSION, mark, &diary.to_bytes());
}
