//! `oddpot memory`: what the workshop's proven jobs have taught, and where it is kept.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use serde::Serialize;
use serde_json::json;

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::folder::make_folder;
use super::texts;
use facts::job::brief::Brief;
use facts::job::entry::Journal;
use facts::job::store::{self, write_whole};
use facts::knowledge::Knowledge;
use judge::memory::file;
use judge::memory::{Learned, Memory, Standing, moved, standing};
use pages::report;

/// Learn from this workshop's own closed and proven jobs
///
/// A memory counts which cause each closed and proven job had, what recent work was done before it,
/// and how many minutes tests took where that was told. Once there is one, it moves the weights of
/// causes and the times of tests on every page of a job, and the page says how much.
#[derive(Debug, clap::Subcommand)]
#[command(after_long_help = "\
Examples:
  oddpot memory learn
  oddpot memory show")]
pub(super) enum Args {
    /// Learn from all closed and proven jobs of the store
    ///
    /// A job counts once, however often it is learned. One that was opened again counts no more until it
    /// is proven anew; one whose file is gone goes on to count. Jobs closed later are learned as they are
    /// closed.
    #[command(after_long_help = "Examples:\n  oddpot memory learn")]
    Learn,
    /// Show what is remembered, how much it moves, and from how many jobs
    #[command(after_long_help = "Examples:\n  oddpot memory show\n  oddpot memory show --all")]
    Show {
        /// Everything, not only what is moved most
        #[arg(long)]
        all: bool,
    },
}

/// Where the memory of a command is.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub(crate) enum Remember {
    /// Beside the jobs, if there is one.
    #[default]
    Usual,
    /// Nowhere.
    Off,
    /// In a file.
    File(PathBuf),
}

impl Remember {
    /// Reads what `--memory` says.
    #[expect(clippy::unnecessary_wraps, reason = "what a value parser must give")]
    pub(super) fn read(given: &str) -> Result<Self, std::convert::Infallible> {
        Ok(if given == "off" { Self::Off } else { Self::File(PathBuf::from(given)) })
    }
}

/// Name of the memory in the folder of jobs; that of no job, by its ending.
const NAME: &str = "workshop.memory";

/// No memory is larger; a device or a wrong file must not fill the memory of the machine.
const LARGEST: u64 = 64 * 1024 * 1024;

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    match args {
        Args::Learn => learn(context),
        Args::Show { all } => show(context, *all),
    }
}

/// The memory that pages of jobs use; none where there is none or none is wanted.
///
/// # Errors
/// When it is there and cannot be read, or was named and is not there.
pub(super) fn used(context: &Context) -> Result<Option<Memory>, Failure> {
    let path = match &context.memory {
        Remember::Off => return Ok(None),
        Remember::File(path) => path.clone(),
        Remember::Usual => match context.store() {
            Ok(store) => store.join(NAME),
            Err(_) => return Ok(None),
        },
    };
    match load(&path)? {
        None if matches!(context.memory, Remember::File(_)) => Err(none_at(&path)),
        memory => Ok(memory),
    }
}

/// The knowledge base of a job, moved by the memory if one is used, with the times of its engine.
///
/// # Errors
/// As [`used`].
pub(super) fn recall(
    context: &Context,
    knowledge: Knowledge,
    journal: &Journal,
) -> Result<Knowledge, Failure> {
    let knowledge = match used(context)? {
        Some(memory) => recalled(&knowledge, &memory, journal).unwrap_or(knowledge),
        None => knowledge,
    };
    Ok(knowledge.fitted_to(&journal.head.engine))
}

/// The knowledge base of a job as a memory moves it; none if it has nothing to say.
pub(super) fn recalled(
    knowledge: &Knowledge,
    memory: &Memory,
    journal: &Journal,
) -> Option<Knowledge> {
    let head = &journal.head;
    let key = facts::job::brief::key(head);
    let standing = standing(knowledge, &memory.counts(Some(&key)));
    let moved = moved(knowledge, &standing, &head.engine, &head.recent);
    moved.recall.is_some().then_some(moved)
}

/// Learns a job that was just closed or opened again, where there is a memory; gives what to say of
/// it. Nothing that goes wrong here touches the job.
pub(super) fn note(context: &Context, journal: &Journal) -> Option<String> {
    let learned = || -> Result<Option<Learned>, Failure> {
        if used(context)?.is_none() {
            return Ok(None);
        }
        change(context, |memory| Ok(memory.learn(&Brief::of(journal)))).map(Some)
    };
    match learned() {
        Ok(Some(Learned::New | Learned::Changed)) => {
            Some("the workshop's memory has learned this job".to_owned())
        }
        Ok(Some(Learned::Withdrawn)) => {
            Some("the workshop's memory no longer counts this job".to_owned())
        }
        Ok(Some(Learned::Known | Learned::Nothing) | None) => None,
        Err(failure) => Some(format!(
            "the workshop's memory did not learn this job: {}; `oddpot memory learn` tries again",
            failure.in_a_line()
        )),
    }
}

/// Where the memory is or would be.
fn place(context: &Context) -> Result<PathBuf, Failure> {
    match &context.memory {
        Remember::Off => Err(Failure::usage("the memory is off")
            .hint("leave out `--memory off`, or say which file it is")),
        Remember::File(path) => Ok(path.clone()),
        Remember::Usual => Ok(context.store()?.join(NAME)),
    }
}

fn none_at(path: &Path) -> Failure {
    Failure::file(format!("there is no memory at {}", path.display()))
        .hint("`oddpot memory learn` makes one of the closed and proven jobs")
}

/// The text of a file, if it is there.
fn text_of(path: &Path) -> Result<Option<String>, Failure> {
    let failed = |error: &dyn std::fmt::Display| {
        Failure::file(format!("could not read {}: {error}", path.display()))
    };
    // A pipe would be waited for, for ever.
    if fs::metadata(path).is_ok_and(|there| !there.is_file()) {
        return Err(failed(&"it is no plain file"));
    }
    match fs::File::open(path) {
        Err(error) if error.kind() == io::ErrorKind::NotFound => Ok(None),
        Err(error) => Err(failed(&error)),
        Ok(file) => texts::bounded(file, LARGEST).map(Some).map_err(|error| failed(&error)),
    }
}

fn load(path: &Path) -> Result<Option<Memory>, Failure> {
    let Some(text) = text_of(path)? else { return Ok(None) };
    file::read(&text).map(Some).map_err(|error| {
        Failure::file(format!("{}: {error}", path.display()))
            .hint("`--memory off` goes on without it; the file was left as it is")
            .hint("without the file, `oddpot memory learn` makes it anew of the jobs in the store")
    })
}

/// Changes the memory under its lock; it is written only if it then differs.
fn change<T>(
    context: &Context,
    how: impl FnOnce(&mut Memory) -> Result<T, Failure>,
) -> Result<T, Failure> {
    change_or_make(context, false, how)
}

/// The same; one that is not there is made if so wanted.
fn change_or_make<T>(
    context: &Context,
    make: bool,
    how: impl FnOnce(&mut Memory) -> Result<T, Failure>,
) -> Result<T, Failure> {
    let path = place(context)?;
    if make && let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty()) {
        make_folder(folder).map_err(Failure::file)?;
    }
    if !make && !path.exists() {
        return Err(none_at(&path));
    }
    let _hold = store::hold(&path).map_err(|error| match error {
        store::StoreError::Locked { .. } => {
            Failure::file(format!("another process writes to {}", path.display()))
                .hint("try again, nothing was changed")
        }
        other => other.into(),
    })?;
    let before = load(&path)?;
    let mut memory = match &before {
        Some(memory) => memory.clone(),
        None if make => Memory::default(),
        None => return Err(none_at(&path)),
    };
    let done = how(&mut memory)?;
    if before.as_ref() != Some(&memory) {
        write_whole(&path, file::write(&memory).as_bytes())?;
    }
    Ok(done)
}

/// All jobs of the store that can be read, each once, and what to say of the others.
fn jobs(context: &Context) -> Result<(BTreeMap<String, Brief>, Vec<String>), Failure> {
    let mut jobs: BTreeMap<String, Brief> = BTreeMap::new();
    let mut notes = Vec::new();
    for scanned in store::scan(&context.store()?)? {
        match scanned.job {
            Ok(brief) => {
                // Of a job and its copy the one that has come farther speaks.
                let far = |brief: &Brief| (brief.entries, brief.entered);
                let known = jobs.get(&brief.key).is_some_and(|known| far(known) >= far(&brief));
                if !known {
                    jobs.insert(brief.key.clone(), brief);
                }
            }
            Err(error) => notes.push(format!("`{}` is not counted: {error}", scanned.name)),
        }
    }
    Ok((jobs, notes))
}

/// Learns all jobs of the store, where there is a memory; what goes wrong is said and no more.
pub(super) fn note_all(context: &Context) -> Option<String> {
    let learn = || -> Result<usize, Failure> {
        if used(context)?.is_none() {
            return Ok(0);
        }
        let (jobs, _) = jobs(context)?;
        change(context, |memory| {
            let learned = jobs.values().map(|brief| memory.learn(brief));
            let news = |learned: &Learned| !matches!(learned, Learned::Known | Learned::Nothing);
            Ok(learned.filter(news).count())
        })
    };
    match learn() {
        Ok(0) => None,
        Ok(n) => Some(format!(
            "The workshop's memory has learned: {}.",
            report::words::count(n, "job", "jobs")
        )),
        Err(failure) => Some(format!("The memory has not learned: {}.", failure.in_a_line())),
    }
}

fn learn(context: &Context) -> Result<Answer, Failure> {
    let (jobs, notes) = jobs(context)?;
    let mut count = [0_usize; 3];
    let own = change_or_make(context, true, |memory| {
        for brief in jobs.values() {
            match memory.learn(brief) {
                Learned::New => count[0] += 1,
                Learned::Changed => count[1] += 1,
                Learned::Withdrawn => count[2] += 1,
                Learned::Known | Learned::Nothing => {}
            }
        }
        Ok(memory.own().len())
    })?;
    let [new, changed, withdrawn] = count;
    let path = place(context)?;
    let said = format!(
        "{} of {} in the store are closed and proven: {new} new",
        jobs.values().filter(|brief| brief.proven().is_some()).count(),
        report::words::count(jobs.len(), "job", "jobs"),
    );
    let but = |n: usize, word: &str| if n > 0 { format!(", {n} {word}") } else { String::new() };
    let said = format!("{said}{}{}", but(changed, "changed"), but(withdrawn, "withdrawn"));
    let text = format!("{said}\nremembered: {own} in {}\n", path.display());
    let document = json!({
        "ok": true, "file": path.display().to_string(), "own": own, "new": new,
        "changed": changed, "withdrawn": withdrawn,
    });
    Ok(Answer::new(text, document).notes(notes))
}

fn show(context: &Context, all: bool) -> Result<Answer, Failure> {
    let path = place(context)?;
    let Some(memory) = load(&path)? else { return Err(none_at(&path)) };
    let knowledge = context.knowledge()?;
    let standing = standing(&knowledge, &memory.counts(None));
    let doc = report::memory(&knowledge, &memory, &standing, all);
    Ok(Answer::new(context.page(&doc), MemoryDocument::of(&knowledge, &memory, &standing)))
}

/// `memory show`.
#[derive(Debug, Serialize)]
struct MemoryDocument<'a> {
    own: usize,
    left_out: u32,
    jobs: u32,
    worth: f64,
    causes: Vec<CauseDocument<'a>>,
    recent: Vec<RecentDocument<'a>>,
    times: Vec<TimeDocument<'a>>,
    aside: Vec<AsideDocument<'a>>,
}

#[derive(Debug, Serialize)]
struct CauseDocument<'a> {
    id: &'a str,
    proven: u32,
    expected: f64,
    factor: f64,
}

/// What recent work does to a cause.
#[derive(Debug, Serialize)]
struct RecentDocument<'a> {
    id: &'a str,
    recent: &'a str,
    proven: u32,
    from: f64,
    to: f64,
}

/// How long a test takes.
#[derive(Debug, Serialize)]
struct TimeDocument<'a> {
    id: &'a str,
    times: u32,
    told: f64,
    from: f64,
    to: f64,
}

/// What was counted and moves nothing.
#[derive(Debug, Serialize)]
struct AsideDocument<'a> {
    id: &'a str,
    count: u32,
    why: &'static str,
}

impl<'a> MemoryDocument<'a> {
    fn of(knowledge: &'a Knowledge, memory: &Memory, standing: &'a Standing) -> Self {
        let causes = standing.causes.iter().map(|moved| CauseDocument {
            id: &knowledge.causes[moved.cause].id,
            proven: moved.seen,
            expected: moved.expected,
            factor: moved.factor,
        });
        let recent = standing.flags.iter().map(|moved| RecentDocument {
            id: &knowledge.causes[moved.cause].id,
            recent: &moved.flag,
            proven: moved.seen,
            from: moved.from,
            to: moved.to,
        });
        let times = standing.times.iter().map(|moved| TimeDocument {
            id: &knowledge.tests[moved.test].id,
            times: moved.times,
            told: moved.told,
            from: moved.from,
            to: moved.to,
        });
        let aside = standing.aside.iter().map(|aside| AsideDocument {
            id: &aside.id,
            count: aside.count,
            why: aside.why,
        });
        Self {
            own: memory.own().len(),
            left_out: memory.left_out(),
            jobs: standing.jobs,
            worth: standing.worth,
            causes: causes.collect(),
            recent: recent.collect(),
            times: times.collect(),
            aside: aside.collect(),
        }
    }
}
