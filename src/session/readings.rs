//! Readings: at which point, then one line for all displays.

use super::asker::{Asked, Line, Stop, or_back};
use super::shelf::Logged;
use super::work::Work;
use facts::job::entry::{Entry, Reading, What};
use facts::job::read::read;
use facts::job::typed::{self, hot_for_cold_soak};
use facts::knowledge::RunningPoint;
use measure::engine::ProbeSite;
use measure::units::Scale;
use pages::report::{self, terms, usual_point, words};

/// A running point, or the wish for the other probes.
#[derive(Debug, Clone, Copy)]
enum Point {
    At(RunningPoint),
    OtherProbes,
    Log,
}

impl Work<'_, '_> {
    /// Asks for one reading per display and enters them.
    pub(super) fn take_readings(
        &mut self,
        at: Option<RunningPoint>,
        site: Option<ProbeSite>,
    ) -> Asked<()> {
        let mut site = site.unwrap_or(self.timeline.engine.probes);
        loop {
            let point = match at {
                Some(at) => at,
                None => match self.running_point(&mut site)? {
                    Some(at) => at,
                    None => match or_back(self.take_from_log(site))? {
                        Some(()) => return Ok(()),
                        None => continue,
                    },
                },
            };
            if !self.may_run_at(point)? {
                if at.is_some() {
                    return Err(Stop::Back);
                }
                continue;
            }
            match or_back(self.reading_line(point, site, ""))? {
                Some((typed, readings)) => {
                    let what = What::Temps { at: point.id, site, readings, from: None };
                    self.enter(typed, what)?;
                    return Ok(());
                }
                None if at.is_some() => return Err(Stop::Back),
                None => {}
            }
        }
    }

    /// Where readings were taken; nothing for "in a log".
    fn running_point(&mut self, site: &mut ProbeSite) -> Asked<Option<RunningPoint>> {
        loop {
            let usual = usual_point(&self.timeline);
            let points = &self.timeline.points;
            // Those that most can be judged by first.
            let others = points.iter().rev().filter(|at| !at.settled);
            let mut choices: Vec<(String, Point)> = points
                .settled()
                .chain(others)
                .map(|at| (at.asked.clone(), Point::At(at)))
                .collect();
            let at = choices
                .iter()
                .position(|(_, point)| matches!(point, Point::At(at) if *at == usual))
                .unwrap_or(0);
            let other = match site {
                ProbeSite::Exhaust => "these are head probes, fitted as well",
                ProbeSite::Head => "these are exhaust probes, fitted as well",
            };
            choices.push((other.to_owned(), Point::OtherProbes));
            if !self.desk.on_page() {
                choices
                    .push(("they were logged: take them from a CSV file".to_owned(), Point::Log));
            }
            let question = match site {
                ProbeSite::Exhaust => "Exhaust readings: how does the engine run?",
                ProbeSite::Head => "Head readings: how does the engine run?",
            };
            match self.desk.pick(question, &choices, at)? {
                Point::At(at) => return Ok(Some(at)),
                Point::Log => return Ok(None),
                Point::OtherProbes => {
                    *site = match site {
                        ProbeSite::Exhaust => ProbeSite::Head,
                        ProbeSite::Head => ProbeSite::Exhaust,
                    };
                }
            }
        }
    }

    /// Readings out of a data log: asked for until one can be used.
    fn take_from_log(&mut self, site: ProbeSite) -> Asked<()> {
        let mut file = String::new();
        loop {
            file = self.desk.asker.line(Line {
                question: "Which file?",
                help: "a CSV file with a column for the time and one for each display",
                default: "",
                typed: &file,
                ..Line::default()
            })?;
            if file.trim().is_empty() {
                return Err(Stop::Back);
            }
            let about = Logged {
                knowledge: self.desk.knowledge,
                journal: self.job.journal(),
                timeline: &self.timeline,
                now: (self.desk.settings.now)(),
                head: site == ProbeSite::Head && self.timeline.engine.probes != ProbeSite::Head,
            };
            match self.shelf.log(file.trim(), about) {
                Ok(found) => {
                    for note in found.notes {
                        self.desk.say(&words::sentence(&note))?;
                    }
                    for (typed, what) in found.entries {
                        if !self.enter(typed, what)? {
                            break;
                        }
                    }
                    return Ok(());
                }
                Err(problem) => self.desk.refuse(&format!("{problem}. Correct the line"))?,
            }
        }
    }

    /// Why readings are no temperatures of a running engine, if so.
    fn no_temperatures(
        &self,
        at: RunningPoint,
        site: ProbeSite,
        readings: &[Reading],
    ) -> Option<String> {
        let (knowledge, scale) = (self.desk.knowledge, self.desk.settings.scale);
        let mut journal = self.job.journal().clone();
        let what = What::Temps { at: at.id, site, readings: readings.to_vec(), from: None };
        journal.push(Entry::new(journal.head.opened, String::new(), what));
        let timeline = read(knowledge, &journal);
        report::no_temperatures(knowledge, &timeline, journal.entries.len(), scale)
    }

    /// The line, asked again until it fits; gives it as a command would have it.
    pub(super) fn reading_line(
        &mut self,
        at: RunningPoint,
        site: ProbeSite,
        before: &str,
    ) -> Asked<(String, Vec<Reading>)> {
        let scale = self.desk.settings.scale;
        let cylinders = self.timeline.engine.cylinders;
        let where_at = terms::point_and_site(at, site, self.timeline.engine.probes);
        let question = format!("Displays 1 to {cylinders} at {where_at}, {}:", scale.sign());
        let help = match scale {
            Scale::Celsius => {
                "numbers with spaces; also open, stuck, falling, 480..510 if it jumps"
            }
            Scale::Fahrenheit => {
                "numbers with spaces; also open, stuck, falling, 900..950 if it jumps"
            }
        };
        let mut line = before.to_owned();
        loop {
            line = self.desk.asker.line(Line {
                question: &question,
                help,
                default: "",
                typed: &line,
                values: cylinders,
                states: &["open", "stuck", "falling"],
                below_zero: at.is_cold(),
                most: typed::most(scale),
            })?;
            let values = typed::parted(&line);
            if values.is_empty() {
                self.desk.refuse(&format!(
                    "nothing was given: type {}, one for each display, or {} to go back",
                    words::count(usize::from(cylinders), "value", "values"),
                    self.desk.word("press Esc", "tap Back")
                ))?;
                continue;
            }
            let readings = match typed::readings(&values, scale, cylinders) {
                Ok(readings) => readings,
                Err(error) => {
                    self.desk.refuse(&format!("{error}. Correct the line"))?;
                    continue;
                }
            };
            if let Some(mixed) = typed::mixed(&values, scale) {
                self.desk.refuse(&format!("{mixed}. Correct the line"))?;
                continue;
            }
            if let Some(why) = self.no_temperatures(at, site, &readings) {
                self.desk.say(&format!("{}.", words::upper_first(&why)))?;
                if !self.desk.yes("Enter it all the same?", false)? {
                    continue;
                }
            }
            let what = What::Temps { at: at.id, site, readings: readings.clone(), from: None };
            if let Some(earlier) = typed::other_scale(self.job.journal(), &what, scale, 0) {
                let why = typed::on_the_other(scale, earlier);
                self.desk.say(&format!("{}.", words::upper_first(&why)))?;
                if !self.desk.yes("Enter it all the same?", false)? {
                    continue;
                }
            }
            if at.is_cold() && hot_for_cold_soak(&readings) {
                self.desk.say("Most displays are hotter than an engine that stood all night.")?;
                if !self.desk.yes("Is it really cold soaked?", false)? {
                    return Err(Stop::Back);
                }
            }
            let head = site == ProbeSite::Head && self.timeline.engine.probes != ProbeSite::Head;
            let head = if head { " --head" } else { "" };
            let units = if scale == Scale::Fahrenheit { " --units f" } else { "" };
            return Ok((format!("temps --at {at}{head}{units} {}", values.join(" ")), readings));
        }
    }
}
