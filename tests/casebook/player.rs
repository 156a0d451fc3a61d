//! Somebody who does what `oddpot next --json` says, to the letter, until the job has ended.
//!
//! It enters what the advice says is to be entered (`type`), filled in with what the world shows.
//! It must not know the truth, nor weigh an advice.

use std::collections::BTreeSet;
use std::path::PathBuf;
use std::process::Command;

use serde_json::Value;

use crate::answers::{Answers, binary};
use crate::case::Case;
use crate::play::{End, Manner, Play};
use crate::world::World;

/// Steps after which a job counts as one without an end.
const MOST: usize = 45;

#[expect(clippy::struct_excessive_bools, reason = "what happened once in a play")]
struct Player<'a> {
    world: World<'a>,
    answers: &'a Answers,
    manner: Manner,
    folder: tempfile::TempDir,
    play: Play,
    /// Last running point that was read.
    at: String,
    /// Tests done since something was touched.
    done: BTreeSet<(String, Option<u8>, String)>,
    misread: bool,
    repeated: bool,
    /// A hot cylinder showed in some set.
    seen_hot: bool,
    trace: bool,
    /// Whether the program was told of what was left exchanged.
    whereabouts_said: bool,
    /// An exchange that a person puts back by himself.
    to_put_back: Option<(String, u8, u8)>,
}

/// Plays one case in one manner.
pub(crate) fn play(case: &Case, manner: Manner, answers: &Answers) -> Play {
    let mut player = Player {
        world: World::new(case, 7),
        answers,
        manner,
        folder: tempfile::tempdir().expect("a folder"),
        play: Play::begun(),
        at: "idle".to_owned(),
        done: BTreeSet::new(),
        misread: false,
        repeated: false,
        seen_hot: false,
        trace: std::env::var_os("ODDPOT_TRACE").is_some(),
        whereabouts_said: false,
        to_put_back: None,
    };
    player.go();
    player.play
}

/// The words of a line to type.
fn words(line: &Value) -> Vec<String> {
    line.as_array().into_iter().flatten().filter_map(|w| Some(w.as_str()?.to_owned())).collect()
}

/// Minutes of hands for a reading set at a point.
fn minutes(at: &str) -> f64 {
    match at {
        "cold" | "warming" => 2.0,
        "cruise" => 6.0,
        "full" => 10.0,
        _ => 3.0,
    }
}

impl Player<'_> {
    /// Runs a command; its JSON and status.
    fn run(&mut self, args: &[String]) -> (Value, i32) {
        let out = Command::new(binary())
            .arg("--jobs")
            .arg(self.folder.path())
            .args(args)
            .arg("--json")
            .output()
            .expect("the program runs");
        let json: Value = serde_json::from_slice(&out.stdout).unwrap_or(Value::Null);
        let status = out.status.code().unwrap_or(-1);
        assert!((0..=2).contains(&status), "{args:?}: {}", String::from_utf8_lossy(&out.stderr));
        if json["stop"]["why"].is_string() || json["stop"]["why"].is_array() {
            self.play.stop_said = true;
        }
        if self.trace && status != 0 {
            self.tell(&format!("   {args:?} -> {status}: {}", json["error"]["message"]));
        }
        (json, status)
    }

    fn strings(words: &[&str]) -> Vec<String> {
        words.iter().map(|w| (*w).to_owned()).collect()
    }

    fn go(&mut self) {
        let case = self.world.case;
        let mut open = Self::strings(&["open", "job"]);
        open.extend(case.engine.iter().cloned());
        for flag in &case.recent {
            open.extend(["--recent".to_owned(), flag.clone()]);
        }
        open.extend(["--complaint".to_owned(), case.says.text.clone()]);
        if self.manner != Manner::Idle {
            open.extend(self.complaint());
        }
        let (json, status) = self.run(&open);
        assert_eq!(status, 0, "{}: {json}", case.name);
        let head = case.levels.is_empty();
        let own = case.says.at.clone().unwrap_or_else(|| "idle".to_owned());
        let first: Vec<String> = match self.manner {
            Manner::Complaint | Manner::Human => vec![own],
            Manner::All => {
                let cold = case.says.at.as_deref() == Some("cold");
                let mut all = if cold { Self::strings(&["cold"]) } else { Vec::new() };
                all.extend(Self::strings(&["idle", "cruise"]));
                // Nobody takes a cylinder to full load that is far too hot at cruise already.
                if !self.world.shows_hot("cruise", head) && !case.must_stop {
                    all.push("full".to_owned());
                }
                all
            }
            Manner::Idle => vec!["idle".to_owned()],
        };
        for at in first {
            self.read(&at, head);
        }
        for step in 0..MOST {
            self.keep(step);
            let (next, _) = self.run(&Self::strings(&["next", "job"]));
            if let Some(end) = self.step(&next) {
                self.play.end = end;
                break;
            }
        }
        self.play.left_exchanged = self.world.left_exchanged() && !self.whereabouts_said;
        self.play.left = self.world.worst_left();
        self.play.hot_left = self.world.hot_left();
    }

    fn complaint(&self) -> Vec<String> {
        let says = &self.world.case.says;
        let mut args = Vec::new();
        let mut add = |option: &str, value: Option<String>| {
            if let Some(value) = value {
                args.extend([option.to_owned(), value]);
            }
        };
        add("--complaint-at", says.at.clone());
        let all = says.all.then(|| "all".to_owned());
        add("--complaint-cylinder", all.or_else(|| says.cylinder.map(|c| c.to_string())));
        add("--complaint-does", says.does.clone());
        add("--since", says.since.clone());
        add("--builder-limit", self.world.case.builder_limit.map(|t| format!("{t:.0}")));
        args
    }

    /// Prints a line of the course of a play; several are played at once.
    fn tell(&self, line: &str) {
        let name = self.world.case.name.split('-').next().unwrap_or_default();
        println!("{name} {:?} {line}", self.manner);
    }

    /// Keeps the job as it stands before a step, for the reader of a failed play.
    fn keep(&self, step: usize) {
        let folder = std::env::var_os("ODDPOT_KEEP").filter(|folder| !folder.is_empty());
        let Some(folder) = folder else { return };
        let number = self.world.case.name.split('-').next().unwrap_or_default();
        let name = format!("{number}-{:?}-{step:02}.ron", self.manner);
        let _ = std::fs::create_dir_all(&folder);
        let _ = std::fs::copy(
            self.folder.path().join("job.ron"),
            PathBuf::from(folder).join(name.to_lowercase()),
        );
    }

    /// Takes a reading set and enters it.
    fn read(&mut self, at: &str, head: bool) -> i32 {
        let hot_before = self.seen_hot;
        let mut values = self.world.read(at, head);
        if self.manner == Manner::Human && self.world.sets == 2 && !self.misread {
            self.misread = true;
            if let Ok(value) = values[0].parse::<f64>() {
                values[0] = format!("{:.0}", value + 100.0);
            }
        }
        if at == "full" && hot_before && self.world.hot_left() {
            self.play.load_breaks += 1;
        }
        self.seen_hot |= self.world.shows_hot(at, head);
        self.play.saw_heat = self.seen_hot;
        if at != "cold" {
            at.clone_into(&mut self.at);
        }
        self.play.steps.push(format!("temps {at}"));
        self.play.hands_on += minutes(at);
        let mut args = Self::strings(&["temps", "job", "--at", at]);
        if head && !self.world.case.levels.is_empty() {
            args.push("--head".to_owned());
        }
        if self.trace {
            self.tell(&format!("   temps {at}: {}", values.join(" ")));
        }
        args.extend(values);
        let status = self.run(&args).1;
        if status == 0 {
            return status;
        }
        // What cannot be is asked about; who has looked again types it as it stands.
        args.push("--as-typed".to_owned());
        self.run(&args).1
    }

    /// Does one step; an end if it was the last.
    fn step(&mut self, next: &Value) -> Option<End> {
        let text = |key: &str| next[key].as_str().unwrap_or_default().to_owned();
        let number = |key: &str| next[key].as_u64().and_then(|n| u8::try_from(n).ok());
        let (kind, id) = (text("kind"), text("id"));
        if self.trace {
            self.tell(&format!(
                "-> {kind} {id} c={:?} place={} p={:?} at={} standing={} why={}",
                number("cylinder"),
                next["place"],
                number("partner"),
                next["at"],
                next["standing"],
                next["why"][0]
            ));
        }
        let cost = next["cost"]["hands_on_min"].as_f64().unwrap_or(0.0);
        match kind.as_str() {
            "readings" | "verify" => {
                let at = if kind == "readings" {
                    id
                } else {
                    next["at"].as_str().map_or_else(|| self.at.clone(), str::to_owned)
                };
                let head = next["probes"].as_str() == Some("head")
                    || next["probes"].is_null() && self.world.case.levels.is_empty();
                if self.read(&at, head) != 0 {
                    return self.refused(&format!("temps {at}"));
                }
                if kind == "verify" {
                    self.run(&Self::strings(&["verify", "job"]));
                }
                if let Some((item, a, b)) = self.to_put_back.take() {
                    self.exchange(&item, a, b);
                }
                None
            }
            "put-back" => {
                let item = next["item"].as_str().unwrap_or_default().to_owned();
                let (Some(a), Some(b)) = (number("a"), number("b")) else {
                    return self.refused("a put-back without places");
                };
                self.play.hands_on += cost;
                let status = self.exchange(&item, a, b);
                self.taken(status, "put-back")
            }
            "test" => {
                self.play.hands_on += cost;
                self.test(&id, number("cylinder"), number("partner"), next)
            }
            "remedy" => {
                self.play.hands_on += cost;
                let parts = next["cost"]["parts"].as_f64().unwrap_or(0.0);
                self.remedy(&id, &text("place"), next, parts)
            }
            "stop" => self.end(next),
            other => {
                self.refused(&format!("a step of kind {other:?}: {}", next["error"]["message"]))
            }
        }
    }

    /// Enters what was done; an end if that was refused.
    fn enter(&mut self, args: &[String], what: &str) -> Option<End> {
        let status = self.run(args).1;
        self.taken(status, what)
    }

    /// An end if what was entered with this status was refused.
    fn taken(&mut self, status: i32, what: &str) -> Option<End> {
        if status == 0 { None } else { self.refused(what) }
    }

    #[expect(clippy::unnecessary_wraps, reason = "it ends a step as every other step ends")]
    fn refused(&mut self, what: &str) -> Option<End> {
        what.clone_into(&mut self.play.refusal);
        Some(End::Refused)
    }

    fn exchange(&mut self, item: &str, a: u8, b: u8) -> i32 {
        self.world.exchange(item, a, b);
        self.done.clear();
        self.play.steps.push(format!("exchange {item} {a} {b}"));
        self.run(&Self::strings(&["exchange", "job", item, &a.to_string(), &b.to_string()])).1
    }

    fn test(
        &mut self,
        id: &str,
        cylinder: Option<u8>,
        partner: Option<u8>,
        next: &Value,
    ) -> Option<End> {
        let no_tool = || self.world.case.no_tool.iter().any(|t| t == id);
        if self.manner == Manner::Human && no_tool() || self.world.case.is_silent_about(id) {
            let mut args = Self::strings(&["found", "job", id, "cannot"]);
            if let Some(c) = cylinder {
                args.extend(["--cylinder".to_owned(), c.to_string()]);
            }
            return self.enter(&args, &format!("{id} cannot"));
        }
        let place = next["at"].as_str().unwrap_or_default().to_owned();
        if !self.done.insert((id.to_owned(), cylinder, place)) {
            self.play.repeats += 1;
        }
        let at = next["at"].as_str().map_or_else(|| self.at.clone(), str::to_owned);
        let verb = next["type"][0][0].as_str().unwrap_or_default().to_owned();
        let word = |k: usize| next["type"][0][k].as_str().unwrap_or_default().to_owned();
        match verb.as_str() {
            "exchange" => {
                let (item, a, b) = (word(2), word(3).parse().ok()?, word(4).parse().ok()?);
                let status = self.exchange(&item, a, b);
                if self.manner == Manner::Human && self.world.case.name.len().is_multiple_of(2) {
                    self.to_put_back = Some((item, a, b));
                }
                self.taken(status, &format!("exchange by {id}"))
            }
            "remake" => {
                let (item, n) = (word(2), word(3).parse().ok()?);
                let args = words(&next["type"][0]);
                let new = args.iter().any(|word| word == "--new");
                self.world.remake(&item, n, new);
                self.done.clear();
                self.play.steps.push(format!("remake {item} {n}"));
                self.enter(&args, &format!("remake by {id}"))
            }
            _ => self.found(id, cylinder, partner, &at, next),
        }
    }

    fn found(
        &mut self,
        id: &str,
        cylinder: Option<u8>,
        partner: Option<u8>,
        at: &str,
        next: &Value,
    ) -> Option<End> {
        let Some((outcomes, usual)) = self.answers.tests.get(id) else {
            return self.refused(&format!("a test `{id}` that no list has"));
        };
        let (outcome, other) = self.world.answer(id, cylinder, at, outcomes, &outcomes[*usual]);
        self.world.tested(id, cylinder);
        self.play.steps.push(format!("{id}@{} {outcome}", cylinder.unwrap_or(0)));
        if self.trace {
            self.tell(&format!("   {id}@{cylinder:?}: {outcome} {other:?}"));
        }
        let mut args = Self::strings(&["found", "job", id, &outcome]);
        if let Some(c) = cylinder {
            args.extend(["--cylinder".to_owned(), c.to_string()]);
        }
        let names = next["outcomes"].as_array().is_some_and(|list| {
            list.iter().any(|o| o["id"] == outcome.as_str() && o["partner"] == true)
        });
        if let Some(p) = partner.or(other.filter(|_| names)) {
            args.extend(["--partner".to_owned(), p.to_string()]);
        }
        // Where the engine runs meanwhile, as the line to type says.
        let typed = words(&next["type"][0]).into_iter();
        args.extend(typed.skip_while(|word| word != "--at").take(2));
        let status = self.run(&args).1;
        if self.manner == Manner::Human && !self.repeated {
            self.repeated = true;
            self.run(&args);
        }
        self.taken(status, &args.join(" "))
    }

    fn remedy(&mut self, id: &str, place: &str, next: &Value, parts: f64) -> Option<End> {
        let places: Vec<u8> = next["cylinders"].as_array().map_or_else(Vec::new, |l| {
            l.iter().filter_map(|n| u8::try_from(n.as_u64()?).ok()).collect()
        });
        let name = if place.is_empty() || place == "engine" {
            id.to_owned()
        } else {
            format!("{id}@{place}")
        };
        let ended = self.world.remedy(&self.answers.same_work(id), &places);
        self.done.clear();
        self.play.steps.push(format!("remedy {name}"));
        if ended {
            self.play.cures.push(name.clone());
        } else if parts > 0.0 && self.answers.of_the_engine(id) {
            self.play.sound_parts += 1;
        }
        let typed = words(&next["type"][0]);
        let args = if typed.is_empty() { Self::strings(&["remedy", "job", &name]) } else { typed };
        self.enter(&args, &args.join(" "))
    }

    fn end(&mut self, next: &Value) -> Option<End> {
        let standing = next["standing"].as_str().unwrap_or_default().to_owned();
        let end = match standing.as_str() {
            "stop-the-engine" => return Some(End::Stopped),
            "not-found" | "unproven" => End::NotFound,
            "normal" => End::Normal,
            "proven" => End::Proven,
            _ => {
                // Before there was a standing: by what `verify` says.
                let (verify, _) = self.run(&Self::strings(&["verify", "job"]));
                if verify["verified"] == true { End::Proven } else { End::Normal }
            }
        };
        let (verify, _) = self.run(&Self::strings(&["verify", "job"]));
        if end == End::Proven {
            let fault = &verify["remedied"];
            let place = fault["place"].as_str().unwrap_or_default();
            self.play.proven = fault["id"].as_str().map(|id| format!("{id}@{place}"));
        }
        let typed: Vec<Vec<String>> =
            next["type"].as_array().into_iter().flatten().map(words).collect();
        let commands = if typed.is_empty() {
            match end {
                End::Normal => {
                    vec![Self::strings(&["record", "job"]), Self::strings(&["close", "job"])]
                }
                End::NotFound => {
                    vec![Self::strings(&["close", "job", "--unproven", "not found"])]
                }
                _ => vec![Self::strings(&["close", "job"])],
            }
        } else {
            typed
        };
        for command in commands {
            let (json, status) = self.run(&command);
            if status != 0 {
                return self.refused(&command.join(" "));
            }
            self.whereabouts_said |= json["left_exchanged"].is_array();
        }
        Some(end)
    }
}
