//! Balance in a session: the page, then trims, signs and readings under the rules of the command.

use super::asker::{Asked, Line, Stop, or_back};
use super::entering::is_safe;
use super::work::{Once, Work};
use facts::job::entry::What;
use facts::job::trim::{Lever, MixtureSign};
use facts::knowledge::RunningPoint;
use judge::balance::plan::Next;
use judge::balance::{self, Balance, Now, Refusal, allowed, foresee};
use measure::engine::{Cylinder, Ignition};
use pages::report::{self, shell_word, terms, words};

/// What can be done at the page of a balance.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Doing {
    Set(Cylinder, f64),
    Read,
    Sign(Option<Cylinder>),
    OtherTrim,
    PutBack,
    OtherPoint,
    OtherLever,
    ByLoad,
    Back,
}

impl Work<'_, '_> {
    /// Shows how the balance stands and enters what is done, until it is left.
    pub(super) fn balancing(&mut self) -> Asked<()> {
        let mut asked = balance::Asked { lever: Lever::Fuel, at: None, by_load: false };
        if !self.timeline.engine.trims && self.timeline.engine.ignition != Ignition::None {
            asked.lever = Lever::Spark;
        }
        let mut show = true;
        loop {
            let found = self.stands(asked);
            if std::mem::replace(&mut show, true) {
                self.show_balance(&found)?;
            }
            let doings = self.doings(&found, asked);
            match self.desk.pick("Balance:", &doings, 0)? {
                Doing::Back => return Ok(()),
                Doing::Set(cylinder, to) => {
                    or_back(self.set_trim(&found, cylinder, to))?;
                }
                Doing::Read => {
                    or_back(self.take_readings(Some(found.at), None))?;
                }
                Doing::Sign(cylinder) => {
                    or_back(self.sign(cylinder))?;
                }
                Doing::OtherTrim => {
                    show = or_back(self.other_trim(&found))?.unwrap_or(false);
                }
                Doing::PutBack => self.put_trims_back()?,
                Doing::OtherPoint => {
                    if let Some(at) = or_back(self.balance_point(found.at))? {
                        asked.at = Some(at);
                    }
                }
                Doing::OtherLever => {
                    asked.lever = match asked.lever {
                        Lever::Fuel => Lever::Spark,
                        Lever::Spark => Lever::Fuel,
                    };
                }
                Doing::ByLoad => asked.by_load = !asked.by_load,
            }
        }
    }

    fn stands(&mut self, asked: balance::Asked) -> Balance {
        let picture = self.picture();
        let (assessment, verification) = (&picture.assessment, &picture.verification);
        let knowledge = self.desk.knowledge;
        balance::balance(knowledge, &self.timeline, (assessment, verification), asked)
    }

    fn show_balance(&mut self, found: &Balance) -> Asked<()> {
        let knowledge = self.desk.knowledge;
        let foreseen = match found.now {
            Now::Next(Next::Step { cylinder, to, .. }) => {
                foresee(knowledge, &self.timeline, found, cylinder, to)
            }
            _ => None,
        };
        let scale = self.desk.settings.scale;
        let again = !self.once.insert(Once::Balance);
        let about = report::BalancePage { foreseen, job: None, again };
        let page = report::balance(knowledge, &self.timeline, found, about, scale);
        self.desk.page(&page)
    }

    /// The next step first, then what else there is.
    fn doings(&self, found: &Balance, asked: balance::Asked) -> Vec<(String, Doing)> {
        let lever = found.lever;
        let engine = &self.timeline.engine;
        let mut list: Vec<(String, Doing)> = Vec::new();
        let read = format!("Enter readings at {}", terms::point(found.at));
        let set = |cylinder, to| format!("Set: cylinder {cylinder} to {}", terms::trim(lever, to));
        match found.now {
            Now::Read | Now::Next(Next::ReadAgain) => list.push((read.clone(), Doing::Read)),
            Now::PutBack { cylinder, to } | Now::Next(Next::Step { cylinder, to, .. }) => {
                list.push((set(cylinder, to), Doing::Set(cylinder, to)));
            }
            Now::Next(Next::AskSign { cylinder }) => list.push((
                format!("Enter an independent sign of cylinder {cylinder}'s mixture"),
                Doing::Sign(Some(cylinder)),
            )),
            Now::Barred | Now::Next(Next::Done { .. }) => {
                list.push(("Go on with the job".to_owned(), Doing::Back));
            }
        }
        if list.iter().all(|(_, doing)| *doing != Doing::Read) {
            list.push((read, Doing::Read));
        }
        if found.barriers.is_empty() {
            list.push(("Enter an independent sign of a mixture".to_owned(), Doing::Sign(None)));
        }
        if found.barriers.is_empty() || !self.timeline.trimming.now.is_empty() {
            list.push(("Enter another trim that was set".to_owned(), Doing::OtherTrim));
        }
        if !self.timeline.trimming.now.is_empty() {
            list.push(("Every trim was put back to where it stood".to_owned(), Doing::PutBack));
        }
        list.push(("Look at another running point".to_owned(), Doing::OtherPoint));
        if engine.trims && engine.ignition != Ignition::None {
            let other = match lever {
                Lever::Fuel => "Trim the spark, in degrees",
                Lever::Spark => "Trim the fuel, in per cent",
            };
            list.push((other.to_owned(), Doing::OtherLever));
        }
        if !found.at.is_full_load() && found.barriers.is_empty() {
            let by_load = if asked.by_load {
                "One trim serves all loads after all"
            } else {
                "Trims act by load here: leaner at light load is not leaner at full load"
            };
            list.push((by_load.to_owned(), Doing::ByLoad));
        }
        if list.iter().all(|(_, doing)| *doing != Doing::Back) {
            list.push(("Go on with the job".to_owned(), Doing::Back));
        }
        list
    }

    /// Enters a trim if the rules allow it, and asks for readings; false when nothing was entered.
    fn set_trim(&mut self, found: &Balance, cylinder: Cylinder, to: f64) -> Asked<bool> {
        let lever = found.lever;
        if let Err(refusal) = allowed(&self.timeline, found, cylinder, to) {
            let why = match refusal {
                Refusal::Barred => {
                    let reasons: Vec<String> = found.barriers.iter().map(report::barrier).collect();
                    format!("nothing is trimmed now: {}", reasons.join("; "))
                }
                Refusal::OneAtATime => "one step at a time".to_owned(),
                Refusal::Plan(why) => format!(
                    "cylinder {cylinder} is not set to {}: {}",
                    terms::trim(lever, to),
                    report::refused(why, lever)
                ),
            };
            self.desk.refuse(&format!("{why}; nothing was entered"))?;
            return Ok(false);
        }
        let knowledge = self.desk.knowledge;
        let foreseen = foresee(knowledge, &self.timeline, found, cylinder, to);
        if let Some(foreseen) = foreseen {
            let scale = self.desk.settings.scale;
            self.desk.say(&words::sentence(&report::foreseeing(found.at, foreseen, scale)))?;
        }
        if !self.desk.yes("Was that set in the controller?", true)? {
            return Ok(false);
        }
        let spark = if lever == Lever::Spark { " --spark" } else { "" };
        let typed = format!("balance{spark} --at {} --trim {cylinder}={to}", found.at);
        if !self.enter(typed, What::Trim { lever, cylinder, to, foreseen })? {
            return Ok(false);
        }
        self.desk.say("Let it settle, then read all displays.")?;
        or_back(self.take_readings(Some(found.at), None))?;
        Ok(true)
    }

    /// A trim of the mechanic's own choice; false when nothing was entered.
    fn other_trim(&mut self, found: &Balance) -> Asked<bool> {
        let engine = self.timeline.engine.clone();
        let cylinder = self.desk.cylinder("Which cylinder?", &engine, None, &[], None)?;
        let question = match found.lever {
            Lever::Fuel => "Per cent richer than it stood at first?",
            Lever::Spark => "Degrees later than it stood at first?",
        };
        let help = "as 1.5; below zero is leaner, or earlier";
        let to = self.desk.line(Line { question, help, ..Line::default() }, |answer| {
            let text = answer.trim().replace(',', ".").replace('\u{2212}', "-");
            if text.is_empty() {
                return Ok(None);
            }
            let to = text.parse::<f64>().ok().filter(|to| to.is_finite());
            to.map(Some).ok_or_else(|| format!("`{}` is no trim: type a number", answer.trim()))
        })?;
        self.set_trim(found, cylinder, to.ok_or(Stop::Back)?)
    }

    /// An independent sign of a mixture.
    fn sign(&mut self, cylinder: Option<Cylinder>) -> Asked<()> {
        let engine = self.timeline.engine.clone();
        let cylinder = match cylinder {
            Some(cylinder) => cylinder,
            None => self.desk.cylinder("Which cylinder?", &engine, None, &[], None)?,
        };
        let choices = [MixtureSign::Lean, MixtureSign::Rich, MixtureSign::Even]
            .map(|sign| (words::upper_first(terms::mixture_sign(sign)), sign));
        let sign = self.desk.pick("What does the sign say?", &choices, 0)?;
        let mut typed = String::new();
        loop {
            let by = self.desk.asker.line(Line {
                question: "By what was it seen?",
                help: "not its display: as plug colour, exhaust sample of that runner",
                default: "",
                typed: &typed,
                ..Line::default()
            })?;
            if by.trim().is_empty() {
                return Err(Stop::Back);
            }
            let by = by.trim().to_owned();
            let line = format!("balance --sign {cylinder}={sign} --by {}", shell_word(&by));
            if self.enter(line, What::Sign { cylinder, sign, by: by.clone() })? {
                return Ok(());
            }
            typed = by;
        }
    }

    /// Every trim is where it stood again.
    fn put_trims_back(&mut self) -> Asked<()> {
        let off: Vec<(Lever, Cylinder)> = self.timeline.trimming.now.keys().copied().collect();
        for (lever, cylinder) in off {
            let what = What::Trim { lever, cylinder, to: 0.0, foreseen: None };
            if !self.enter("balance --back".to_owned(), what)? {
                break;
            }
        }
        Ok(())
    }

    fn balance_point(&mut self, now: RunningPoint) -> Asked<RunningPoint> {
        let points: Vec<RunningPoint> = self.timeline.points.settled().collect();
        let start = points.iter().position(|at| *at == now).unwrap_or(0);
        let choices: Vec<(String, RunningPoint)> =
            points.iter().map(|at| (terms::point(*at).to_owned(), *at)).collect();
        let at = self.desk.pick("At which?", &choices, start)?;
        if at.confirm && !self.timeline.load_confirmed {
            let question = is_safe(at);
            if !self.desk.yes(&question, false)?
                || !self.enter("confirm-load".to_owned(), What::LoadConfirmed)?
            {
                return Err(Stop::Back);
            }
        }
        Ok(at)
    }
}
