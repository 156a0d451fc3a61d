//! What every command needs: clock, scale, knowledge base, the job it is about.
//!
//! The only place that looks at the environment.

use std::cell::Cell;
use std::path::{Path, PathBuf};
use std::rc::Rc;

use etcetera::BaseStrategy;
use jiff::Timestamp;
use serde_json::{Value, json};

use super::answer::Answer;
use super::failure::Failure;
use super::memory::{self, Remember};
use super::{lacking, texts};
use facts::job::check;
use facts::job::entry::{Entry, Journal, What};
use facts::job::read::read;
use facts::job::store::{self, Held};
use facts::job::timeline::{Standing, Timeline};
use facts::knowledge::Knowledge;
use facts::knowledge::embedded::embedded;
use facts::knowledge::finding::{Finding, any_error, render};
use facts::knowledge::{SourceText, load};
use measure::engine::PointId;
use measure::names::nearest;
use measure::units::{Celsius, Scale};
use pages::report::{self, Doc, LocalTime, Style, text};

/// What was said for all commands alike.
#[derive(Debug, Clone)]
pub(crate) struct Context {
    /// The answer is for a program.
    pub(crate) json: bool,
    /// The whole answer is wanted, not that of one screen.
    pub(crate) detail: bool,
    /// The line as it was typed, to be typed again.
    pub(crate) typed: String,
    /// Scale of plain numbers, if one was said.
    pub(crate) units: Option<Scale>,
    /// The scale of the job that was opened last, if it has one.
    pub(crate) of_the_job: Cell<Option<Scale>>,
    /// Overlay of the knowledge base.
    pub(crate) overlay: Option<PathBuf>,
    /// The job store, if said.
    pub(crate) jobs: Option<PathBuf>,
    /// The workshop's memory, if one is wanted.
    pub(crate) memory: Remember,
    /// The time of entries made now.
    pub(crate) now: Timestamp,
    /// The clock goes on; else the time was told.
    pub(crate) ticking: bool,
    /// The clock by which pages show times.
    pub(crate) local: LocalTime,
    /// Cells in a line of text.
    pub(crate) width: usize,
    /// The entry in whose place the next one is to stand.
    pub(crate) correcting: Option<usize>,
    /// The entry that was kept last by this command, whatever becomes of its answer.
    pub(crate) kept: Rc<Cell<Option<usize>>>,
}

/// The texts of the knowledge base and what was made of them.
pub(crate) struct Loaded {
    /// The built-in texts and the overlay's.
    pub(crate) files: Vec<SourceText>,
    /// What is wrong with them.
    pub(crate) findings: Vec<Finding>,
    /// The whole, if it can be used.
    pub(crate) knowledge: Option<Knowledge>,
}

/// A job to look at.
pub(crate) struct View {
    /// The knowledge base, moved by the workshop's memory where one is used.
    pub(crate) knowledge: Knowledge,
    /// What was entered.
    pub(crate) journal: Journal,
    /// What follows from it.
    pub(crate) timeline: Timeline,
}

/// A job to write to, held against others.
pub(crate) struct Work {
    /// The knowledge base.
    pub(crate) knowledge: Knowledge,
    /// The job.
    pub(crate) held: Held,
    /// What follows from it.
    pub(crate) timeline: Timeline,
    now: Timestamp,
    width: usize,
    units: Option<Scale>,
    instead: Option<usize>,
    kept: Rc<Cell<Option<usize>>>,
}

#[cfg(test)]
impl Context {
    /// Nothing said but a time.
    pub(crate) fn for_tests() -> Self {
        Self {
            json: false,
            detail: false,
            typed: "oddpot".to_owned(),
            units: None,
            of_the_job: Cell::new(None),
            overlay: None,
            jobs: None,
            memory: Remember::Off,
            now: Timestamp::UNIX_EPOCH,
            ticking: false,
            local: LocalTime::default(),
            width: 80,
            correcting: None,
            kept: Rc::default(),
        }
    }
}

impl Context {
    /// The time now, for a command that goes on for a while.
    pub(crate) fn time(&self) -> Timestamp {
        if self.ticking { super::clock() } else { self.now }
    }

    /// Scale of plain numbers, read and shown: the one said, else the job's, else °C.
    pub(crate) fn scale(&self) -> Scale {
        self.units.or(self.of_the_job.get()).unwrap_or(Scale::Celsius)
    }

    /// Loads the knowledge base with everything found in it.
    ///
    /// # Errors
    /// When a file of the overlay cannot be read.
    pub(crate) fn load(&self) -> Result<Loaded, Failure> {
        let built_in = embedded();
        let overlay = match &self.overlay {
            Some(folder) => texts_in(folder)?,
            None => Vec::new(),
        };
        let (knowledge, findings) = load(built_in, &overlay);
        Ok(Loaded { files: built_in.iter().cloned().chain(overlay).collect(), findings, knowledge })
    }

    /// The knowledge base, to be used.
    ///
    /// # Errors
    /// When it cannot be read or used.
    pub(crate) fn knowledge(&self) -> Result<Knowledge, Failure> {
        let loaded = self.load()?;
        match loaded.knowledge {
            Some(knowledge) if !any_error(&loaded.findings) => Ok(knowledge),
            _ => Err(Failure::usage(format!(
                "the knowledge base cannot be used:\n{}",
                render(&loaded.findings, &loaded.files, false)
            ))
            .hint("`oddpot knowledge check` shows everything that is wrong")),
        }
    }

    /// The folder of named jobs.
    ///
    /// # Errors
    /// When none was said and the user has no home.
    pub(crate) fn store(&self) -> Result<PathBuf, Failure> {
        if let Some(folder) = &self.jobs {
            return Ok(folder.clone());
        }
        etcetera::choose_base_strategy()
            .map(|base| base.data_dir().join("oddpot").join("jobs"))
            .map_err(|_| {
                Failure::usage("no home folder was found to keep jobs in")
                    .hint("say where they are with `--jobs DIR`, or give a path as JOB")
            })
    }

    /// Where a job is.
    ///
    /// # Errors
    /// When it is neither a path nor a lawful name.
    pub(crate) fn path(&self, job: &str) -> Result<PathBuf, Failure> {
        // A path needs no store, so that a missing home does not matter then.
        match store::locate(job, Path::new("")) {
            Ok(path) if path == Path::new(job) => Ok(path),
            other => {
                other?;
                let store = self.store()?;
                let path = store::locate(job, &store)?;
                store::stays_in(&path, &store)?;
                Ok(path)
            }
        }
    }

    /// Reads a job.
    ///
    /// # Errors
    /// When it or the knowledge base cannot be read.
    pub(crate) fn view(&self, job: &str) -> Result<View, Failure> {
        let path = self.path(job)?;
        let journal = store::open(&path).map_err(|e| self.missing(job, e))?;
        self.view_with(self.knowledge()?, journal)
    }

    /// What follows from a journal that was read.
    ///
    /// # Errors
    /// When the memory cannot be used.
    pub(crate) fn view_with(
        &self,
        knowledge: Knowledge,
        journal: Journal,
    ) -> Result<View, Failure> {
        let knowledge = memory::recall(self, lacking::mark(self, knowledge), &journal)?;
        let timeline = read(&knowledge, &journal);
        self.of_the_job.set(timeline.scale);
        Ok(View { knowledge, journal, timeline })
    }

    /// Reads a job for a page that does not hang on the overlay; says so where that cannot be used.
    ///
    /// # Errors
    /// When the job cannot be read.
    pub(crate) fn view_anyway(&self, job: &str) -> Result<(View, Option<String>), Failure> {
        let path = self.path(job)?;
        let journal = store::open(&path).map_err(|e| self.missing(job, e))?;
        let (knowledge, note) = self.knowledge_anyway()?;
        Ok((self.view_with(knowledge, journal)?, note))
    }

    /// The knowledge base, without an overlay that cannot be used, which is then said.
    fn knowledge_anyway(&self) -> Result<(Knowledge, Option<String>), Failure> {
        let failure = match self.knowledge() {
            Ok(knowledge) => return Ok((knowledge, None)),
            Err(failure) => failure,
        };
        // A folder that is not there is a slip of the pen, not damage.
        let Some(folder) = self.overlay.as_ref().filter(|_| self.load().is_ok()) else {
            return Err(failure);
        };
        let note = format!(
            "the knowledge in {} cannot be used, and was left out here: `oddpot knowledge check` shows \
             what is wrong",
            folder.display()
        );
        let built_in = Self { overlay: None, ..self.clone() };
        Ok((built_in.knowledge()?, Some(note)))
    }

    /// Takes hold of an open job to enter something.
    ///
    /// # Errors
    /// As [`Self::view`], when another session holds it, and when it is closed.
    pub(crate) fn work(&self, job: &str) -> Result<Work, Failure> {
        let work = self.work_on_any(job)?;
        if matches!(work.timeline.standing, Standing::Closed(_)) {
            return Err(Failure::usage("this job is closed")
                .hint(format!("`oddpot reopen {}` opens it again", quote(job))));
        }
        Ok(work)
    }

    /// The same for a job that may be closed.
    ///
    /// # Errors
    /// As [`Self::work`] but for closed jobs.
    pub(crate) fn work_on_any(&self, job: &str) -> Result<Work, Failure> {
        self.work_with(job, || self.knowledge())
    }

    /// The same to take something back, which hangs on no knowledge; says so where the overlay cannot be
    /// used.
    ///
    /// # Errors
    /// As [`Self::work_on_any`] but for the overlay.
    pub(crate) fn work_anyway(&self, job: &str) -> Result<(Work, Option<String>), Failure> {
        let mut note = None;
        let work = self.work_with(job, || {
            let (knowledge, said) = self.knowledge_anyway()?;
            note = said;
            Ok(knowledge)
        })?;
        Ok((work, note))
    }

    fn work_with(
        &self,
        job: &str,
        knowledge: impl FnOnce() -> Result<Knowledge, Failure>,
    ) -> Result<Work, Failure> {
        let path = self.path(job)?;
        let held = Held::take(&path).map_err(|e| self.missing(job, e))?;
        let knowledge = memory::recall(self, lacking::mark(self, knowledge()?), held.journal())?;
        let timeline = read(&knowledge, held.journal());
        self.of_the_job.set(timeline.scale);
        let (now, units, instead) = (self.now, self.units, self.correcting);
        let (kept, width) = (self.kept.clone(), self.width);
        Ok(Work { knowledge, held, timeline, now, width, units, instead, kept })
    }

    /// A page as text for the terminal, cut to one screen unless all of it is wanted.
    pub(crate) fn page(&self, doc: &Doc) -> String {
        if self.detail { self.whole(doc) } else { self.whole(&report::cut(doc, &self.again())) }
    }

    /// The same of a page that grows at its end, of which the newest is kept.
    pub(crate) fn newest(&self, doc: &Doc) -> String {
        if self.detail { self.whole(doc) } else { self.whole(&report::newest(doc, &self.again())) }
    }

    /// The whole of a page; styles are taken out again where they do not belong.
    pub(crate) fn whole(&self, doc: &Doc) -> String {
        text::render(doc, self.width, Style::Colour)
    }

    /// What to type to see all of an answer.
    pub(crate) fn again(&self) -> String {
        format!("{} --detail", self.typed)
    }

    /// Where the rest of an answer is found, for below it.
    pub(crate) fn foot(&self) -> String {
        format!("More: `{}`.", self.again())
    }

    /// Adds the nearest name to "there is no such job".
    fn missing(&self, job: &str, error: store::StoreError) -> Failure {
        let near = if matches!(error, store::StoreError::Missing(_)) {
            let jobs = self.store().ok().and_then(|s| store::list(&s).ok());
            let names: Vec<String> = jobs.unwrap_or_default().into_iter().map(|j| j.name).collect();
            nearest(job, names.iter().map(String::as_str))
                .map(|name| format!("did you mean `{name}`?"))
        } else {
            None
        };
        Failure::from(error).hints_first(near)
    }
}

impl Work {
    /// Adds an entry and says so; `said` is one line without a number.
    ///
    /// # Errors
    /// When the entry does not go with the engine or cannot be written.
    pub(crate) fn enter(
        &mut self,
        typed: String,
        what: What,
        said: &str,
    ) -> Result<Answer, Failure> {
        self.enter_timed(typed, what, said, None)
    }

    /// The same for work that took so many minutes, if that was told.
    ///
    /// # Errors
    /// As [`Self::enter`], and when no work takes so long.
    pub(crate) fn enter_timed(
        &mut self,
        typed: String,
        what: What,
        said: &str,
        minutes: Option<f64>,
    ) -> Result<Answer, Failure> {
        let at = self.timeline.point_of(&self.knowledge, &what);
        self.enter_at(typed, what, said, minutes, at)
    }

    /// The same for what belongs to a running point.
    ///
    /// # Errors
    /// As [`Self::enter_timed`].
    pub(crate) fn enter_at(
        &mut self,
        typed: String,
        what: What,
        said: &str,
        minutes: Option<f64>,
        at: Option<PointId>,
    ) -> Result<Answer, Failure> {
        let entry = Entry { minutes, at, ..Entry::new(self.now, typed, what) };
        self.keep(entry, said)
    }

    /// The same for displays that were read beside a thermometer.
    ///
    /// # Errors
    /// As [`Self::enter`].
    pub(crate) fn enter_beside(
        &mut self,
        typed: String,
        what: What,
        said: &str,
        air: Option<Celsius>,
    ) -> Result<Answer, Failure> {
        self.keep(Entry { air, ..Entry::new(self.now, typed, what) }, said)
    }

    /// Keeps an entry, in the place of another where that is asked for.
    fn keep(&mut self, entry: Entry, said: &str) -> Result<Answer, Failure> {
        let number = self.held.journal().entries.len() + 1;
        let scale = self.scale_of(&entry.what);
        let instead = self.instead;
        let entry = Entry { instead, scale, ..entry };
        check::whole(&self.timeline.engine, number, &entry)?;
        let number = self.held.append(entry)?;
        self.kept.set(Some(number));
        self.timeline = read(&self.knowledge, self.held.journal());
        let place = instead.map_or_else(String::new, |n| format!(" in the place of entry {n}"));
        let line = self.lines(&format!("entry {number}{place}: {said}"));
        Ok(Answer::new(line, entered(number, said)))
    }

    /// A line of text, broken where it is too long for the terminal.
    pub(crate) fn lines(&self, text: &str) -> String {
        report::wrap(text, self.width).join("\n")
    }

    /// The number under which what is entered now will stand in the timeline.
    pub(crate) fn number(&self) -> usize {
        self.instead.unwrap_or(self.held.journal().entries.len() + 1)
    }

    /// The scale that temperatures were said to be in, where the job goes by another.
    fn scale_of(&self, what: &What) -> Option<Scale> {
        self.units
            .filter(|_| matches!(what, What::Temps { .. }))
            .filter(|said| *said != self.held.journal().scale().unwrap_or(Scale::Celsius))
    }

    /// What would follow if this were entered.
    pub(crate) fn trial(&self, what: What) -> Timeline {
        let mut journal = self.held.journal().clone();
        let entry = Entry::new(self.now, String::new(), what);
        journal.entries.push(Entry { instead: self.instead, ..entry });
        read(&self.knowledge, &journal)
    }
}

/// The document of a command that entered something.
fn entered(number: usize, said: &str) -> Value {
    json!({"ok": true, "entry": number, "said": said})
}

/// The knowledge base with that of a folder, if it can be used.
pub(crate) fn built_on(folder: &Path) -> Option<Knowledge> {
    load(embedded(), &texts_in(folder).ok()?).0
}

/// All RON files of a folder and the folders in it, in order of path, named as they would be
/// found from the folder given.
fn texts_in(folder: &Path) -> Result<Vec<SourceText>, Failure> {
    let failed = |path: &Path, error: &std::io::Error| {
        Failure::file(format!("could not read {}: {error}", path.display()))
    };
    let files = texts::ron_files(folder).map_err(|(path, error)| failed(&path, &error))?;
    Ok(files
        .into_iter()
        .map(|(path, text)| SourceText::new(path.display().to_string(), text))
        .collect())
}

/// A word as a shell would need it.
pub(crate) fn quote(word: &str) -> String {
    let plain = |c: char| c.is_alphanumeric() || "-_.,@/+°=".contains(c);
    if !word.is_empty() && word.chars().all(plain) {
        word.to_owned()
    } else {
        format!("'{}'", word.replace('\'', r"'\''"))
    }
}

#[cfg(test)]
mod tests {
    use super::quote;

    #[test]
    fn words_are_quoted_for_a_shell_only_when_they_must_be() {
        assert_eq!(quote("652,5"), "652,5");
        assert_eq!(quote("van 3"), "'van 3'");
        assert_eq!(quote(""), "''");
        assert_eq!(quote("it's"), r"'it'\''s'");
    }
}
