//! `oddpot watch`: a log that is being written, followed while the engine runs.

use std::fmt::Write as _;
use std::io::{self, IsTerminal, Write};
use std::net::TcpStream;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::answer::Answer;
use super::context::{Context, View, quote};
use super::failure::Failure;
use super::from_log::{self, Asked};
use super::log_args::{self, LogArgs};
use super::tail::{Rows, Tail};
use super::{harmless, named, output};
use crate::engine::{ProbeSite, RunningPoint};
use crate::job::entry::What;
use crate::job::timeline::Standing;
use crate::job::typed::written;
use crate::limits::{self, Limit};
use crate::readings::log::{Hold, Live, Log, LogError, Options, live, points};
use crate::report;
use crate::units::Scale;
use crate::watch::{Bounds, Event, Kept, Watch};

/// Between two pictures of the displays on a terminal.
const PICTURE: Duration = Duration::from_millis(200);

/// Follow a log that is being written, and say STOP at once
///
/// SOURCE is the file that the logger writes, `-` for standard input, or `tcp:HOST:PORT`. Each row is held
/// against the builder's limit, the heat rules and the warning limits of the job; where a point was held and
/// the displays came to rest the reading set is shown with the line that enters it, or entered with `--take`.
/// Without a job only the set is shown. It goes on until Ctrl-C.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot watch run.csv --job van
  oddpot watch run.csv --job van --take --record stop.csv
  oddpot watch tcp:127.0.0.1:5000 --job van --at idle")]
pub(super) struct Args {
    /// The log; `-` for standard input, `tcp:HOST:PORT` for a connection
    source: String,
    /// Job whose engine runs: a name in the store or a path
    #[arg(long, value_name = "JOB")]
    job: Option<String>,
    /// The running point that is held all the time, where the log does not tell it
    #[arg(long, ignore_case = true, value_parser = named::<RunningPoint>(RunningPoint::NAMES))]
    at: Option<RunningPoint>,
    /// Enter what has settled in the job
    #[arg(long, requires = "job")]
    take: bool,
    /// Write the two minutes before a STOP, and half a minute after it, to a CSV file
    #[arg(long, value_name = "FILE", requires = "job")]
    record: Option<PathBuf>,
    /// Stop at the end of the file instead of waiting for more
    #[arg(long)]
    until_end: bool,
    /// Of head and exhaust probes take the former
    #[arg(long)]
    head: bool,
    #[command(flatten)]
    log: LogArgs,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    if let Some(record) = &args.record {
        output::not_itself(Path::new(&args.source), record)?;
        output::folder(record)?;
    }
    let view = args.job.as_deref().map(|job| context.view(job)).transpose()?;
    if args.take
        && let Some(view) = &view
        && view.timeline.standing != Standing::Open
    {
        return Err(Failure::usage("this job is closed: nothing can be taken into it")
            .hint("leave out `--take`, or `oddpot reopen` it"));
    }
    let site = match &view {
        Some(view) if !args.head => view.timeline.engine.probes,
        _ if args.head => ProbeSite::Head,
        _ => ProbeSite::Exhaust,
    };
    let rows = open(args)?;
    let options = args.log.options(site == ProbeSite::Head)?;
    let mut bench = Bench {
        context,
        args,
        options: &options,
        limits: view.as_ref().map_or_else(Vec::new, limits_of),
        view,
        site,
        watch: Watch::new(args.at),
        seen: Seen::default(),
        screen: Screen::new(context),
        failure: None,
    };
    let ended = live(rows, &options, &mut |told| bench.take_in(&told));
    bench.screen.clear();
    if let Some(rows) = bench.watch.end() {
        bench.keep(&rows);
    }
    if let Some(failure) = bench.failure {
        return Err(failure);
    }
    ended.map_err(|error| failed(args, &error))?;
    let Seen { rows, settled, stops, .. } = bench.seen;
    let said = format!(
        "{}, {} settled, {}\n",
        report::words::count(rows, "row", "rows"),
        report::words::count(settled, "point", "points"),
        report::words::count(stops, "STOP", "times STOP"),
    );
    Ok(Answer::new(said, json!({"event": "end", "rows": rows, "settled": settled, "stops": stops})))
}

/// Opens where rows come from.
fn open(args: &Args) -> Result<Rows, Failure> {
    if args.source == "-" {
        return Ok(Rows::Input(io::stdin()));
    }
    if let Some(address) = args.source.strip_prefix("tcp:") {
        let stream = TcpStream::connect(address);
        return stream.map(Rows::Network).map_err(|error| {
            Failure::file(format!("no connection to {address}: {error}"))
                .hint("the logger must listen there: `tcp:HOST:PORT`")
        });
    }
    let path = Path::new(&args.source);
    let tail = Tail::open(path, args.until_end);
    let tail =
        tail.map_err(|error| Failure::file(format!("could not read {}: {error}", path.display())))?;
    if tail.waits() {
        let shown = path.display();
        let note = format!("note: {shown} is not there yet: it is waited for, Ctrl-C ends that\n");
        super::complain(&harmless::plain(&note));
    }
    Ok(Rows::File(tail))
}

fn failed(args: &Args, error: &LogError) -> Failure {
    log_args::failure(Path::new(&args.source), error)
}

/// The warning limits that were set in a job.
fn limits_of(view: &View) -> Vec<Limit> {
    limits::as_set(&view.knowledge, &view.journal).map_or_else(Vec::new, |limits| limits.rows)
}

/// What came of it so far.
#[derive(Default)]
struct Seen {
    rows: usize,
    settled: usize,
    stops: usize,
    hold: Hold,
    /// The file that holds what led to a stop is written and may be written over.
    recorded: bool,
}

/// Everything at hand while a log is followed.
struct Bench<'a> {
    context: &'a Context,
    args: &'a Args,
    options: &'a Options,
    view: Option<View>,
    limits: Vec<Limit>,
    site: ProbeSite,
    watch: Watch,
    seen: Seen,
    screen: Screen,
    failure: Option<Failure>,
}

impl Bench<'_> {
    fn take_in(&mut self, told: &Live<'_>) -> ControlFlow<()> {
        match told {
            Live::Form(form) => {
                self.say(
                    &report::watch_form(form),
                    &json!({"event": "form", "columns": form.names}),
                );
                let cylinders = self.view.as_ref().map(|view| view.timeline.engine.cylinders);
                let count = cylinders.map_or(Ok(()), |n| from_log::displays(form, n));
                if let Err(failure) = count {
                    self.failure = Some(failure);
                    return ControlFlow::Break(());
                }
            }
            Live::Row(moment) => {
                self.seen.rows += 1;
                let bounds = self.view.as_ref().map(|view| Bounds {
                    knowledge: &view.knowledge,
                    timeline: &view.timeline,
                    limits: &self.limits,
                    site: self.site,
                });
                let events = self.watch.row(bounds, moment);
                for event in &events {
                    self.event(event);
                }
            }
            Live::Settled(log) => {
                // The engine is watched on, whatever becomes of a set.
                if let Err(failure) = self.settled(log) {
                    self.say(&failure.text(), &failure.json());
                }
            }
            Live::Hold(hold) => self.seen.hold = *hold,
        }
        let (scale, stops) = (self.context.scale(), self.watch.stops());
        if let Some(levels) = self.watch.levels() {
            self.screen.show(|| report::watch_panel(levels, self.seen.hold, stops, scale));
        }
        ControlFlow::Continue(())
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
        let text = report::watch_event(event, &view.timeline, self.context.scale());
        let displays: Vec<Value> = match event {
            Event::Stop(heat) | Event::Watch(heat) => heat
                .readings
                .iter()
                .map(|hot| json!({"display": hot.display, "value": hot.value}))
                .collect(),
            Event::Strayed { display, .. } | Event::Back(display) => {
                vec![json!({"display": display})]
            }
            Event::Cool | Event::Recorded(_) => Vec::new(),
        };
        let word = event.as_str();
        if let Some(text) = text {
            let seconds = self.watch.levels().map(|levels| levels.seconds);
            let document =
                json!({"event": word, "seconds": seconds, "displays": displays, "text": text});
            self.say(&text, &document);
        }
    }

    /// A point that was held and had settled: shown, and entered where that is wanted.
    fn settled(&mut self, log: &Log) -> Result<(), Failure> {
        self.seen.settled += 1;
        let guess = points(&log.windows, &log.range).into_iter().next();
        let ended = Some(log.windows[0].to);
        let at = self.args.at.or(guess.as_ref().and_then(|guess| guess.point));
        let known = at.unwrap_or(RunningPoint::Idle);
        let file = PathBuf::from(&self.args.source);
        let job = self.args.job.as_deref().unwrap_or("JOB");
        let asked = Asked {
            job,
            file: &file,
            log: &self.args.log,
            windows: &[],
            at: self.args.at,
            head: self.args.head,
        };
        let built_in;
        let knowledge = if let Some(view) = &self.view {
            &view.knowledge
        } else {
            built_in = self.context.knowledge()?;
            &built_in
        };
        let (_, what) =
            from_log::set_of(&asked, knowledge, log, &self.options.rule, known, self.site)?;
        let What::Temps { readings, .. } = &what else { return Ok(()) };
        // The line is typed into the job, which has a scale of its own; a document is in °C.
        let own = self.view.as_ref().and_then(|view| view.timeline.scale).unwrap_or(Scale::Celsius);
        let values = |scale| readings.iter().map(move |r| written(*r, scale)).collect::<Vec<_>>();
        let point = at.map_or("POINT", RunningPoint::as_str);
        let line = format!("temps {} --at {point} {}", quote(job), values(own).join(" "));
        let place = at.map_or_else(
            || "settled".to_owned(),
            |at| format!("settled at {}", report::terms::point(at)),
        );
        let shown = readings.iter().map(|r| report::words::reading(*r, self.context.scale()));
        let shown: Vec<String> = shown.collect();
        let text = format!("{place}: {}", shown.join(" "));
        let mut document = json!({
            "event": "settled", "point": at.map(RunningPoint::as_str), "from_s": log.windows[0].from, "to_s": log.windows[0].to,
            "readings": values(Scale::Celsius), "line": format!("oddpot {line}"), "entry": null,
        });
        if at.is_none() || !self.args.take {
            let doubt = guess.filter(|_| at.is_none()).map_or("", |guess| guess.doubt);
            let why = if doubt.is_empty() { String::new() } else { format!("; {doubt}") };
            self.say_of(ended, &format!("{text}{why}"), &document);
            if !self.context.json {
                self.screen.line(&harmless::plain(&format!("      oddpot {line}")));
            }
            return Ok(());
        }
        let said = self.enter(&what, &line)?;
        document["entry"] = said.json["entry"].clone();
        self.say_of(ended, &text, &document);
        self.say_of(ended, said.text.trim_end(), &Value::Null);
        Ok(())
    }

    /// Enters a set, in a job that another may have entered something in meanwhile.
    fn enter(&mut self, what: &What, line: &str) -> Result<Answer, Failure> {
        let job = self.args.job.as_deref().unwrap_or_default();
        let now = Context { now: self.context.time(), ..self.context.clone() };
        let mut work = now.work(job)?;
        let words = report::entry_text(&work.knowledge, what, self.context.scale());
        let answer = work.enter(line.to_owned(), what.clone(), &words)?;
        drop(work);
        let view = self.context.view(job)?;
        self.limits = limits_of(&view);
        self.view = Some(view);
        Ok(answer)
    }

    /// Writes what led to a stop, if that is wanted.
    fn keep(&mut self, rows: &[Kept]) {
        let Some(path) = self.args.record.as_deref().filter(|_| !rows.is_empty()) else { return };
        let written = output::write(path, table(rows).as_bytes(), self.seen.recorded);
        match written {
            Ok(()) if self.seen.recorded => {
                let text = format!("what led to it is in {}", path.display());
                self.say(&text, &json!({"event": "recorded", "file": path.display().to_string()}));
            }
            Ok(()) => self.seen.recorded = true,
            // An engine that must stop is said to, whatever becomes of the file.
            Err(failure) => self.say(&failure.text(), &Value::Null),
        }
    }

    /// A line below those before it, or its document.
    fn say(&mut self, text: &str, document: &Value) {
        self.say_of(self.watch.levels().map(|levels| levels.seconds), text, document);
    }

    /// The same of a moment of the log, s.
    fn say_of(&mut self, seconds: Option<f64>, text: &str, document: &Value) {
        let seconds = seconds.map(report::seconds);
        if self.context.json {
            if !document.is_null() {
                self.screen.line(&harmless::document(&document.to_string()));
            }
            return;
        }
        let before = seconds.map_or_else(String::new, |seconds| format!("{seconds}: "));
        let text = format!("{before}{text}");
        let lines = report::wrap(&harmless::plain(&text), self.context.width);
        for line in &lines {
            self.screen.line(line);
        }
    }
}

/// Rows as a CSV file.
fn table(rows: &[Kept]) -> String {
    let displays = rows.first().map_or(0, |row| row.displays.len());
    let mut text = String::from("seconds");
    for display in 1..=displays {
        let _ = write!(text, ",display {display}");
    }
    text.push_str(",speed,load\n");
    let cell = |value: Option<f64>| value.map_or_else(String::new, |value| format!("{value:.1}"));
    for row in rows {
        let numbers = row.displays.iter().copied().chain([row.speed, row.load]);
        let cells: Vec<String> = numbers.map(cell).collect();
        let _ = writeln!(text, "{:.2},{}", row.seconds, cells.join(","));
    }
    text
}

/// Where lines go: below each other, and on a terminal with a picture under them that is drawn anew.
struct Screen {
    pictures: bool,
    /// Cells in a line; what is longer would be two, and taken away as one.
    width: usize,
    drawn: usize,
    last: Option<Instant>,
}

impl Screen {
    fn new(context: &Context) -> Self {
        let pictures = !context.json && io::stdout().is_terminal();
        Self { pictures, width: context.width, drawn: 0, last: None }
    }

    fn line(&mut self, text: &str) {
        self.clear();
        // A reader that went away is no error; the engine is watched all the same.
        let _ = writeln!(io::stdout().lock(), "{text}");
        let _ = io::stdout().flush();
        self.last = None;
    }

    fn show(&mut self, lines: impl FnOnce() -> Vec<String>) {
        if !self.pictures || self.last.is_some_and(|last| last.elapsed() < PICTURE) {
            return;
        }
        self.clear();
        let lines = lines();
        self.drawn = lines.len();
        for line in lines {
            let line: String = harmless::plain(&line).chars().take(self.width).collect();
            let _ = writeln!(io::stdout().lock(), "{line}");
        }
        let _ = io::stdout().flush();
        #[expect(clippy::disallowed_methods, reason = "how often a picture is drawn")]
        let now = Instant::now();
        self.last = Some(now);
    }

    /// Takes the picture away.
    fn clear(&mut self) {
        if self.drawn > 0 {
            let _ = write!(io::stdout().lock(), "\x1b[{}A\x1b[J", self.drawn);
            self.drawn = 0;
        }
    }
}
