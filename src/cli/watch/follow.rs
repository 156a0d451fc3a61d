//! What comes of each row of a log that is followed, whoever shows it.
//!
//! The rules are those of [`judge::watch`]; here are the job that rows are held against, as it is while
//! others enter things in it, what settles, and entering that. It must not print.

use std::fs;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant, SystemTime};

use serde_json::{Value, json};

use super::source::{Manner, table};
use crate::cli::answer::Answer;
use crate::cli::context::{Context, View, quote};
use crate::cli::failure::Failure;
use crate::cli::from_log::{self, Asked};
use crate::cli::points;
use crate::cli::tail::Rows;
use crate::cli::{log_args, output};
use facts::job::entry::{Entry, What};
use facts::job::store;
use facts::job::timeline::Standing;
use facts::job::typed::written;
use facts::knowledge::{Knowledge, RunningPoint};
use judge::limits::{self, Limit};
use judge::watch::{Bounds, Event, Kept, Levels, Watch};
use measure::engine::{ProbeSite, Regime};
use measure::readings::log::{Hold, Live, Log, Options, live, points as guessed};
use measure::units::Scale;
use pages::report;

/// Between two looks whether others have entered something in the job.
const LOOK: Duration = Duration::from_secs(1);

/// What is followed, for which job, how.
#[derive(Clone, Copy)]
pub(in crate::cli) struct Followed<'a> {
    pub(in crate::cli) source: &'a str,
    pub(in crate::cli) job: Option<&'a str>,
    pub(in crate::cli) manner: &'a Manner,
}

impl Followed<'_> {
    /// Whether what led to a stop can be written where that is wanted.
    ///
    /// # Errors
    /// When it cannot.
    pub(in crate::cli) fn check(&self) -> Result<(), Failure> {
        if let Some(record) = &self.manner.record {
            output::not_itself(Path::new(self.source), record)?;
            output::folder(record)?;
        }
        Ok(())
    }
}

/// A point that was held and had settled.
#[derive(Debug, Clone)]
pub(in crate::cli) struct Settled {
    job: Option<String>,
    /// The running point, where it is known, and what makes it doubtful.
    pub(in crate::cli) at: Option<RunningPoint>,
    pub(in crate::cli) doubt: &'static str,
    /// When in the log, s.
    from: f64,
    pub(in crate::cli) to: f64,
    /// The readings as an entry; its point is a guess where `at` has none.
    pub(in crate::cli) what: What,
    /// Values in °C, in the scale of the job, and as they are shown.
    values: Vec<String>,
    typed: Vec<String>,
    shown: Vec<String>,
    /// Entries that were in the job by then.
    pub(in crate::cli) entries: usize,
}

impl Settled {
    /// The line that enters it.
    pub(in crate::cli) fn line(&self) -> String {
        let point = self.at.map_or("POINT", RunningPoint::as_str);
        let job = quote(self.job.as_deref().unwrap_or("JOB"));
        format!("temps {job} --at {point} {}", self.typed.join(" "))
    }

    /// What it is, in a line.
    pub(in crate::cli) fn text(&self) -> String {
        let place = self.at.map_or_else(
            || "settled".to_owned(),
            |at| format!("settled at {}", report::terms::point(at)),
        );
        format!("{place}: {}", self.shown.join(" "))
    }

    pub(super) fn document(&self) -> Value {
        json!({
            "event": "settled", "point": self.at.map(RunningPoint::as_str), "from_s": self.from,
            "to_s": self.to, "readings": self.values, "line": format!("oddpot {}", self.line()),
            "entry": null,
        })
    }

    /// The same at the point that a person says.
    pub(in crate::cli) fn said_at(mut self, point: RunningPoint) -> Self {
        if let What::Temps { at, .. } = &mut self.what {
            *at = point.id;
        }
        Self { at: Some(point), ..self }
    }
}

/// What became of a set that was to be entered.
#[derive(Debug, Clone)]
pub(in crate::cli) enum Taken {
    /// It was entered, with what was said.
    Now(usize, String),
    /// It had been entered before, from the same log.
    Before(usize),
}

impl Taken {
    /// Its entry.
    pub(in crate::cli) fn entry(&self) -> usize {
        match self {
            Self::Now(entry, _) | Self::Before(entry) => *entry,
        }
    }

    pub(super) fn said(&self) -> String {
        match self {
            Self::Now(_, said) => said.trim_end().to_owned(),
            Self::Before(entry) => format!("it is in the job already, as entry {entry}"),
        }
    }
}

/// The displays as they stand.
#[derive(Clone, Copy)]
pub(in crate::cli) struct Stands<'a> {
    /// To be worked out where someone looks.
    pub(in crate::cli) levels: &'a dyn Fn() -> Option<Levels>,
    pub(in crate::cli) hold: Hold,
    pub(in crate::cli) stops: bool,
    pub(in crate::cli) scale: Scale,
}

/// Where it is shown.
pub(in crate::cli) trait Outlet {
    /// Something is said at a moment of the log, s.
    fn says(&mut self, seconds: Option<f64>, text: &str, document: &Value);

    /// Something begins or ends.
    fn event(&mut self, event: &Event, seconds: Option<f64>, text: &str);

    /// A point was held and had settled, and was entered where that is wanted.
    fn settled(&mut self, set: &Settled, taken: Option<&Taken>);

    /// It was to be entered and could not be.
    fn refused(&mut self, set: &Settled, seconds: Option<f64>, failure: &Failure);

    /// The displays after the rows that came together, and how the engine is held.
    fn stands(&mut self, stands: &Stands<'_>);

    /// What led to a stop, as far as it is known.
    fn led(&mut self, _rows: &[Kept]) {}

    /// Nothing more comes.
    fn ended(&mut self) {}
}

/// What came of it so far.
#[derive(Debug, Clone, Default)]
pub(in crate::cli) struct Seen {
    pub(in crate::cli) rows: usize,
    pub(in crate::cli) settled: usize,
    pub(in crate::cli) stops: usize,
    /// The file that holds what led to a stop is written and may be written over.
    recorded: bool,
}

/// The file of a job as it was when it was last read.
type Stamp = Option<(SystemTime, u64)>;

/// Everything at hand while a log is followed.
pub(in crate::cli) struct Follow<'a, O> {
    context: &'a Context,
    followed: Followed<'a>,
    options: Options,
    /// As it is without any job.
    knowledge: Knowledge,
    view: Option<View>,
    limits: Vec<Limit>,
    site: ProbeSite,
    /// The running point, where it was said.
    said: Option<RunningPoint>,
    watch: Watch,
    seen: Seen,
    outlet: O,
    failure: Option<Failure>,
    stamp: Stamp,
    looked: Instant,
}

#[expect(
    clippy::disallowed_methods,
    reason = "how often one looks whether others entered something"
)]
fn now() -> Instant {
    Instant::now()
}

impl<'a, O: Outlet> Follow<'a, O> {
    /// Reads the job.
    ///
    /// # Errors
    /// When it cannot be read, or is closed and something is to be taken.
    pub(in crate::cli) fn new(
        context: &'a Context,
        followed: Followed<'a>,
        outlet: O,
    ) -> Result<Self, Failure> {
        let manner = followed.manner;
        let stamp = followed.job.and_then(|job| stamp(context, job));
        let view = followed.job.map(|job| context.view(job)).transpose()?;
        if manner.take
            && let Some(view) = &view
            && view.timeline.standing != Standing::Open
        {
            return Err(Failure::usage("this job is closed: nothing can be taken into it")
                .hint("leave out `--take`, or `oddpot reopen` it"));
        }
        let site = match &view {
            Some(view) if !manner.head => view.timeline.engine.probes,
            _ if manner.head => ProbeSite::Head,
            _ => ProbeSite::Exhaust,
        };
        let options = manner.log.options(site == ProbeSite::Head)?;
        let knowledge = context.knowledge()?;
        let said = points::known_if(&knowledge.points, manner.at)?;
        Ok(Self {
            context,
            followed,
            options,
            knowledge,
            limits: view.as_ref().map_or_else(Vec::new, limits_of),
            view,
            site,
            said,
            watch: Watch::new(said),
            seen: Seen::default(),
            outlet,
            failure: None,
            stamp,
            looked: now(),
        })
    }

    /// Follows it until nothing more comes.
    ///
    /// # Errors
    /// When it cannot be read, is no log, or does not go with the engine.
    pub(in crate::cli) fn until_over(mut self, rows: Rows) -> Result<Seen, Failure> {
        let options = self.options.clone();
        let ended = live(rows, &options, &mut |told| self.take_in(&told));
        self.outlet.ended();
        if let Some(rows) = self.watch.end() {
            self.keep(&rows);
        }
        if let Some(failure) = self.failure {
            return Err(failure);
        }
        ended.map_err(|error| log_args::failure(Path::new(self.followed.source), &error))?;
        Ok(self.seen)
    }

    fn take_in(&mut self, told: &Live<'_>) -> ControlFlow<()> {
        match told {
            Live::Form(form) => {
                let document = json!({"event": "form", "columns": form.names});
                self.outlet.says(self.seconds(), &report::watch_form(form), &document);
                let cylinders = self.view.as_ref().map(|view| view.timeline.engine.cylinders);
                let count = cylinders.map_or(Ok(()), |n| from_log::displays(form, n));
                if let Err(failure) = count {
                    self.failure = Some(failure);
                    return ControlFlow::Break(());
                }
            }
            Live::Row(moment) => {
                self.seen.rows += 1;
                self.look();
                let bounds = bounds(self.view.as_ref(), &self.limits, self.site);
                let events = self.watch.row(bounds, moment);
                for event in &events {
                    self.event(event);
                }
            }
            Live::Settled(log) => {
                // The engine is watched on, whatever becomes of a set.
                if let Err(failure) = self.settled(log) {
                    self.outlet.says(self.seconds(), &failure.text(), &failure.json());
                }
            }
            // After the rows that came together.
            Live::Hold(hold) => {
                let bounds = bounds(self.view.as_ref(), &self.limits, self.site);
                let watch = &self.watch;
                self.outlet.stands(&Stands {
                    levels: &|| watch.levels(bounds),
                    hold: *hold,
                    stops: watch.stops(),
                    scale: self.context.scale(),
                });
            }
        }
        ControlFlow::Continue(())
    }

    fn seconds(&self) -> Option<f64> {
        self.watch.seconds()
    }

    /// Reads the job again where others have entered something in it.
    fn look(&mut self) {
        let Some(job) = self.followed.job else { return };
        if self.looked.elapsed() < LOOK {
            return;
        }
        self.looked = now();
        let stamp = stamp(self.context, job);
        if stamp.is_none() || stamp == self.stamp {
            return;
        }
        self.stamp = stamp;
        self.read_again();
    }

    /// A job that cannot be read just now is what it was.
    fn read_again(&mut self) {
        let Some(job) = self.followed.job else { return };
        let journal = self.context.path(job).ok().and_then(|path| store::open(&path).ok());
        let view = journal
            .and_then(|journal| self.context.view_with(self.knowledge.clone(), journal).ok());
        if let Some(view) = view {
            self.limits = limits_of(&view);
            self.view = Some(view);
        }
    }

    fn event(&mut self, event: &Event) {
        if let Event::Recorded(rows) = event {
            self.keep(rows);
            return;
        }
        if matches!(event, Event::Stop(_)) {
            self.seen.stops += 1;
            let led = self.watch.led().to_vec();
            self.keep(&led);
        }
        let Some(view) = &self.view else { return };
        if let Some(text) = report::watch_event(event, &view.timeline, self.context.scale()) {
            self.outlet.event(event, self.seconds(), &text);
        }
    }

    /// A point that was held and had settled: shown, and entered where that is wanted.
    fn settled(&mut self, log: &Log) -> Result<(), Failure> {
        self.seen.settled += 1;
        let manner = self.followed.manner;
        let guess = guessed(&log.windows, &log.range).into_iter().next();
        let known = &self.knowledge.points;
        let of_log = guess.as_ref().and_then(|guess| Some(known.of(guess.point?)));
        let at = self.said.or(of_log);
        let file = PathBuf::from(self.followed.source);
        let asked = Asked {
            job: self.followed.job.unwrap_or("JOB"),
            file: &file,
            log: &manner.log,
            windows: &[],
            at: manner.at,
            head: manner.head,
        };
        let view = self.view.as_ref();
        let knowledge = view.map_or(&self.knowledge, |view| &view.knowledge);
        let known = at.unwrap_or_else(|| known.of(Regime::Idle));
        let (_, what) =
            from_log::set_of(&asked, knowledge, log, &self.options.rule, known, self.site)?;
        let What::Temps { readings, .. } = &what else { return Ok(()) };
        // The line is typed into the job, which has a scale of its own; a document is in °C.
        let own = view.and_then(|view| view.timeline.scale).unwrap_or(Scale::Celsius);
        let values = |scale| readings.iter().map(move |r| written(*r, scale)).collect();
        let shown = readings.iter().map(|r| report::words::reading(*r, self.context.scale()));
        let set = Settled {
            job: self.followed.job.map(str::to_owned),
            at,
            doubt: guess.filter(|_| at.is_none()).map_or("", |guess| guess.doubt),
            from: log.windows[0].from,
            to: log.windows[0].to,
            values: values(Scale::Celsius),
            typed: values(own),
            shown: shown.collect(),
            entries: view.map_or(0, |view| view.journal.entries.len()),
            what,
        };
        if at.is_none() || !manner.take {
            let entry = view.and_then(|view| from_log::taken(&view.journal, &set.what));
            self.outlet.settled(&set, entry.map(Taken::Before).as_ref());
            return Ok(());
        }
        let job = self.followed.job.unwrap_or_default();
        match enter(self.context, job, &set) {
            Ok(taken) => {
                self.outlet.settled(&set, Some(&taken));
                self.stamp = stamp(self.context, job);
                self.read_again();
            }
            Err(failure) => self.outlet.refused(&set, self.seconds(), &failure),
        }
        Ok(())
    }

    /// Writes what led to a stop, if that is wanted.
    fn keep(&mut self, rows: &[Kept]) {
        if rows.is_empty() {
            return;
        }
        self.outlet.led(rows);
        let Some(path) = &self.followed.manner.record else { return };
        match output::write(path, table(rows).as_bytes(), self.seen.recorded) {
            Ok(()) if self.seen.recorded => {
                let text = format!("what led to it is in {}", path.display());
                let document = json!({"event": "recorded", "file": path.display().to_string()});
                self.outlet.says(self.seconds(), &text, &document);
            }
            Ok(()) => self.seen.recorded = true,
            // An engine that must stop is said to, whatever becomes of the file.
            Err(failure) => self.outlet.says(self.seconds(), &failure.text(), &Value::Null),
        }
    }
}

/// What rows are held against.
fn bounds<'a>(view: Option<&'a View>, limits: &'a [Limit], site: ProbeSite) -> Option<Bounds<'a>> {
    let (knowledge, timeline) = view.map(|view| (&view.knowledge, &view.timeline))?;
    Some(Bounds { knowledge, timeline, limits, site })
}

/// The warning limits that were set in a job.
fn limits_of(view: &View) -> Vec<Limit> {
    limits::as_set(&view.knowledge, &view.journal).map_or_else(Vec::new, |limits| limits.rows)
}

fn stamp(context: &Context, job: &str) -> Stamp {
    let about = context.path(job).ok().and_then(|path| fs::metadata(path).ok())?;
    Some((about.modified().ok()?, about.len()))
}

/// Enters a set, in a job that another may have entered something in meanwhile.
///
/// # Errors
/// When the job cannot be written to, or work was done since the displays came to rest.
pub(in crate::cli) fn enter(context: &Context, job: &str, set: &Settled) -> Result<Taken, Failure> {
    let now = Context { now: context.time(), ..context.clone() };
    let mut work = now.work(job)?;
    let entries = &work.held.journal().entries;
    if let Some(entry) = from_log::taken(work.held.journal(), &set.what) {
        return Ok(Taken::Before(entry));
    }
    // What was read before the parts were moved would stand after that.
    let since = (1..).zip(entries).skip(set.entries).find(|(_, entry)| moves(entry));
    if let Some((number, entry)) = since {
        let said = report::entry_text(&work.knowledge, &entry.what, context.scale());
        return Err(Failure::usage(format!(
            "these readings are older than entry {number} ({said}), and would stand after it"
        ))
        .hint("hold the point once more"));
    }
    let words = report::entry_text(&work.knowledge, &set.what, context.scale());
    let Answer { text, json, .. } = work.enter(set.line(), set.what.clone(), &words)?;
    let entry = json["entry"].as_u64().and_then(|n| usize::try_from(n).ok()).unwrap_or(0);
    Ok(Taken::Now(entry, text))
}

/// Whether readings before an entry are others than those after it.
fn moves(entry: &Entry) -> bool {
    entry.instead.is_some()
        || !matches!(
            entry.what,
            What::Temps { .. }
                | What::Found { .. }
                | What::Logged { .. }
                | What::LoadConfirmed
                | What::BuilderLimit(_)
                | What::LimitsSet { .. }
                | What::Recorded
        )
}
