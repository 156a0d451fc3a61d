//! Where lines go: below each other, and on a terminal with a picture under them that is drawn anew.

use std::io::{self, IsTerminal, Write};
use std::time::{Duration, Instant};

use serde_json::{Value, json};

use super::follow::{Outlet, Settled, Taken};
use crate::cli::context::Context;
use crate::cli::failure::Failure;
use crate::cli::harmless;
use judge::watch::Event;
use pages::report;

use super::follow::Stands;

/// Between two pictures of the displays on a terminal.
const PICTURE: Duration = Duration::from_millis(200);

/// Lines for people, or documents.
pub(in crate::cli) struct Printer {
    json: bool,
    /// Cells in a line; what is longer would be two, and taken away as one.
    width: usize,
    pictures: bool,
    drawn: usize,
    last: Option<Instant>,
}

impl Printer {
    /// One with a picture where there is a terminal, or never.
    pub(in crate::cli) fn new(context: &Context, pictures: bool) -> Self {
        let pictures = pictures && !context.json && io::stdout().is_terminal();
        Self { json: context.json, width: context.width, pictures, drawn: 0, last: None }
    }

    /// A line below those before it, or its document; with a moment of the log, s.
    fn say(&mut self, seconds: Option<f64>, text: &str, document: &Value) {
        if self.json {
            if !document.is_null() {
                self.line(&harmless::document(&document.to_string()));
            }
            return;
        }
        let before = seconds.map_or_else(String::new, |s| format!("{}: ", report::seconds(s)));
        let text = format!("{before}{text}");
        for line in &report::wrap(&harmless::plain(&text), self.width) {
            self.line(line);
        }
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

impl Outlet for Printer {
    fn says(&mut self, seconds: Option<f64>, text: &str, document: &Value) {
        self.say(seconds, text, document);
    }

    fn event(&mut self, event: &Event, seconds: Option<f64>, text: &str) {
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
        let document =
            json!({"event": word, "seconds": seconds, "displays": displays, "text": text});
        self.say(seconds, text, &document);
    }

    fn settled(&mut self, set: &Settled, taken: Option<&Taken>) {
        let ended = Some(set.to);
        let mut document = set.document();
        match taken {
            None => {
                let why =
                    if set.doubt.is_empty() { String::new() } else { format!("; {}", set.doubt) };
                self.say(ended, &format!("{}{why}", set.text()), &document);
                if !self.json {
                    self.line(&harmless::plain(&format!("      oddpot {}", set.line())));
                }
            }
            Some(taken) => {
                document["entry"] = json!(taken.entry());
                self.say(ended, &set.text(), &document);
                self.say(ended, &taken.said(), &Value::Null);
            }
        }
    }

    fn refused(&mut self, _set: &Settled, seconds: Option<f64>, failure: &Failure) {
        self.say(seconds, &failure.text(), &failure.json());
    }

    fn stands(&mut self, stands: &Stands<'_>) {
        let Stands { levels, hold, stops, scale } = *stands;
        self.show(|| {
            levels()
                .map_or_else(Vec::new, |levels| report::watch_panel(&levels, hold, stops, scale))
        });
    }

    fn ended(&mut self) {
        self.clear();
    }
}
