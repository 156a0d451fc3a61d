//! `oddpot memory`: what the workshop's proven jobs have taught, and where it is kept.

use std::collections::BTreeMap;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};

use serde_json::{Value, json};
use sha2::{Digest, Sha256};

use super::answer::Answer;
use super::context::{Context, quote};
use super::failure::Failure;
use super::folder::make_folder;
use super::{output, texts};
use facts::job::brief::Brief;
use facts::job::entry::Journal;
use facts::job::store::{self, write_whole};
use facts::knowledge::Knowledge;
use judge::memory::file::{self, MemoryFileError};
use judge::memory::{Learned, Memory, PoolError, Pooled, Standing, moved, standing};
use measure::hexadecimal::hexadecimal;
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
    Learn(Learn),
    /// Show what is remembered, how much it moves, and from how many jobs
    #[command(after_long_help = "Examples:\n  oddpot memory show\n  oddpot memory show --all")]
    Show {
        /// Everything, not only what is moved most
        #[arg(long)]
        all: bool,
    },
    /// Write sums of this workshop's own counts, for another workshop
    ///
    /// Nothing in the file speaks of one job, vehicle or customer. What was pooled from others is not
    /// handed on, so that no job comes back by another way.
    #[command(after_long_help = "Examples:\n  oddpot memory export -o ours.counts")]
    Export {
        /// File to write
        #[arg(short, long, value_name = "FILE")]
        output: PathBuf,
        /// Write over a file that is there
        #[arg(long)]
        force: bool,
    },
    /// Pool the counts of another workshop
    ///
    /// They replace what was pooled of the same workshop before, so that nothing counts twice.
    #[command(after_long_help = "Examples:\n  oddpot memory import theirs.counts")]
    Import {
        /// What `oddpot memory export` wrote there
        file: PathBuf,
    },
    /// Drop what was pooled of another workshop
    #[command(after_long_help = "Examples:\n  oddpot memory forget harbour-garage")]
    Forget {
        /// The workshop, as `oddpot memory show` names it
        workshop: String,
    },
}

/// Learn from all closed and proven jobs of the store
///
/// A job counts once, however often it is learned. One that was opened again counts no more until it
/// is proven anew; one whose file is gone goes on to count. Jobs closed later are learned as they are
/// closed.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot memory learn
  oddpot memory learn --workshop harbour-garage")]
pub(super) struct Learn {
    /// Name by which other workshops tell this one, when the memory is made [default: a hash]
    #[arg(long, value_name = "NAME", value_parser = workshop_name)]
    workshop: Option<String>,
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

fn workshop_name(name: &str) -> Result<String, String> {
    let lawful = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if !name.is_empty() && name.len() <= 40 && name.chars().all(lawful) {
        Ok(name.to_owned())
    } else {
        Err("a workshop's name has small letters, digits and hyphens, 40 at most".to_owned())
    }
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    match args {
        Args::Learn(args) => learn(context, args),
        Args::Show { all } => show(context, *all),
        Args::Export { output, force } => export(context, output, *force),
        Args::Import { file } => import(context, file),
        Args::Forget { workshop } => forget(context, workshop),
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
    let own = memory.own().keys().filter(|other| **other != key).count();
    let own = u32::try_from(own).unwrap_or(u32::MAX).min(standing.jobs);
    let jobs = (own, standing.jobs - own);
    let moved = moved(knowledge, &standing, jobs, &head.engine, &head.recent);
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

fn broken(path: &Path, error: &MemoryFileError) -> Failure {
    Failure::file(format!("{}: {error}", path.display()))
}

fn load(path: &Path) -> Result<Option<Memory>, Failure> {
    let Some(text) = text_of(path)? else { return Ok(None) };
    file::read(&text).map(Some).map_err(|error| {
        broken(path, &error)
            .hint("`--memory off` goes on without it; the file was left as it is")
            .hint("without the file, `oddpot memory learn` makes it anew of the jobs in the store")
    })
}

/// Changes the memory under its lock; it is written only if it then differs.
fn change<T>(
    context: &Context,
    how: impl FnOnce(&mut Memory) -> Result<T, Failure>,
) -> Result<T, Failure> {
    change_or_make(context, None, how)
}

/// The same; one that is not there is made if it is told of which workshop.
fn change_or_make<T>(
    context: &Context,
    workshop: Option<String>,
    how: impl FnOnce(&mut Memory) -> Result<T, Failure>,
) -> Result<T, Failure> {
    let path = place(context)?;
    if workshop.is_some()
        && let Some(folder) = path.parent().filter(|folder| !folder.as_os_str().is_empty())
    {
        make_folder(folder).map_err(Failure::file)?;
    }
    if workshop.is_none() && !path.exists() {
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
    let mut memory = match (before.clone(), workshop) {
        (Some(memory), _) => memory,
        (None, Some(workshop)) => Memory::new(workshop),
        (None, None) => return Err(none_at(&path)),
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
    let learn = || -> Result<u32, Failure> {
        if used(context)?.is_none() {
            return Ok(0);
        }
        let (jobs, _) = jobs(context)?;
        change(context, |memory| {
            let before = memory.revision;
            for brief in jobs.values() {
                memory.learn(brief);
            }
            Ok(u32::try_from(memory.revision - before).unwrap_or(u32::MAX))
        })
    };
    match learn() {
        Ok(0) => None,
        Ok(n) => Some(format!(
            "The workshop's memory has learned: {}.",
            report::words::count(n as usize, "job", "jobs")
        )),
        Err(failure) => Some(format!("The memory has not learned: {}.", failure.in_a_line())),
    }
}

fn learn(context: &Context, args: &Learn) -> Result<Answer, Failure> {
    let (jobs, notes) = jobs(context)?;
    let workshop = args.workshop.clone().unwrap_or_else(|| {
        let mut hash = Sha256::new();
        hash.update(context.now.to_string());
        hash.update(jobs.keys().next().map_or("", String::as_str));
        hash.update(place(context).unwrap_or_default().as_os_str().as_encoded_bytes());
        hexadecimal(&hash.finalize()[..6])
    });
    let mut count = [0_usize; 3];
    let (own, named) = change_or_make(context, Some(workshop), |memory| {
        for brief in jobs.values() {
            match memory.learn(brief) {
                Learned::New => count[0] += 1,
                Learned::Changed => count[1] += 1,
                Learned::Withdrawn => count[2] += 1,
                Learned::Known | Learned::Nothing => {}
            }
        }
        Ok((memory.own().len(), memory.workshop.clone()))
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
        "ok": true, "file": path.display().to_string(), "workshop": named, "own": own,
        "new": new, "changed": changed, "withdrawn": withdrawn,
    });
    let other = args.workshop.as_ref().filter(|wanted| **wanted != named).map(|wanted| {
        format!("this memory has the name `{named}` already; `{wanted}` was not used")
    });
    Ok(Answer::new(text, document).notes(notes).notes(other))
}

fn show(context: &Context, all: bool) -> Result<Answer, Failure> {
    let path = place(context)?;
    let Some(memory) = load(&path)? else { return Err(none_at(&path)) };
    let knowledge = context.knowledge()?;
    let standing = standing(&knowledge, &memory.counts(None));
    let doc = report::memory(&knowledge, &memory, &standing, all);
    Ok(Answer::new(context.page(&doc), document(&knowledge, &memory, &standing)))
}

fn document(knowledge: &Knowledge, memory: &Memory, standing: &Standing) -> Value {
    let causes = standing.causes.iter().map(|c| {
        json!({
            "id": knowledge.causes[c.cause].id, "proven": c.seen, "expected": c.expected,
            "factor": c.factor,
        })
    });
    let flags = standing.flags.iter().map(|f| {
        json!({
            "id": knowledge.causes[f.cause].id, "recent": f.flag, "proven": f.seen, "from": f.from,
            "to": f.to,
        })
    });
    let times = standing.times.iter().map(|t| {
        json!({
            "id": knowledge.tests[t.test].id, "times": t.times, "told": t.told, "from": t.from,
            "to": t.to,
        })
    });
    let aside = standing
        .aside
        .iter()
        .map(|aside| json!({"id": aside.id, "count": aside.count, "why": aside.why}));
    let pooled = memory.pooled().map(|share| {
        json!({
            "workshop": share.workshop, "revision": share.revision, "jobs": share.counts.jobs(),
        })
    });
    json!({
        "workshop": memory.workshop,
        "revision": memory.revision,
        "own": memory.own().len(),
        "pooled": pooled.collect::<Vec<_>>(),
        "jobs": standing.jobs,
        "worth": standing.worth,
        "causes": causes.collect::<Vec<_>>(),
        "recent": flags.collect::<Vec<_>>(),
        "times": times.collect::<Vec<_>>(),
        "aside": aside.collect::<Vec<_>>(),
    })
}

fn export(context: &Context, to: &Path, force: bool) -> Result<Answer, Failure> {
    let path = place(context)?;
    let Some(memory) = load(&path)? else { return Err(none_at(&path)) };
    let share = memory.share();
    output::write_beside(&path, to, file::write_share(&share).as_bytes(), force)?;
    let jobs = share.counts.jobs();
    let said = format!("wrote the counts of {} to {}", some_jobs(jobs), to.display());
    let document = json!({
        "ok": true, "said": said, "file": to.display().to_string(), "jobs": jobs,
        "workshop": share.workshop, "revision": share.revision,
    });
    Ok(Answer::new(said, document))
}

fn some_jobs(jobs: u32) -> String {
    report::words::count(usize::try_from(jobs).unwrap_or(usize::MAX), "job", "jobs")
}

fn import(context: &Context, from: &Path) -> Result<Answer, Failure> {
    let Some(text) = text_of(from)? else {
        return Err(Failure::file(format!("there is no file {}", from.display())));
    };
    let share = file::read_share(&text).map_err(|error| {
        broken(from, &error).hint("expected what `oddpot memory export -o FILE` wrote there")
    })?;
    let (workshop, jobs) = (share.workshop.clone(), share.counts.jobs());
    let pooled = change(context, |memory| {
        memory.pool(share).map_err(|error| {
            let failure = Failure::usage(error.to_string());
            match error {
                PoolError::Own => failure,
                PoolError::Older { workshop, .. } => failure.hint(format!(
                    "`oddpot memory forget {}` drops it, if the older one is wanted",
                    quote(&workshop)
                )),
            }
        })
    })?;
    let some = some_jobs(jobs);
    let said = match pooled {
        Pooled::New => format!("pooled: {some} of workshop {workshop}"),
        Pooled::Replaced => {
            format!("pooled: {some} of workshop {workshop}, in place of what was here of it")
        }
        Pooled::Known => format!("pooled before: {some} of workshop {workshop}"),
    };
    let document = json!({"ok": true, "said": said, "workshop": workshop, "jobs": jobs});
    Ok(Answer::new(said, document))
}

fn forget(context: &Context, workshop: &str) -> Result<Answer, Failure> {
    let dropped = change(context, |memory| {
        let known: Vec<String> = memory.pooled().map(|share| share.workshop.clone()).collect();
        if memory.drop_share(workshop) {
            Ok(())
        } else {
            Err(Failure::unknown("workshop", workshop, known.iter().map(String::as_str))
                .hint("`oddpot memory show` names those that were pooled"))
        }
    });
    dropped?;
    let said = format!("what was pooled of workshop {workshop} is dropped");
    let document = json!({"ok": true, "said": said});
    Ok(Answer::new(said, document))
}
