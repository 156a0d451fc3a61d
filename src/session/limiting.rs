//! Warning limits in a session: the page, the builder's limit, the table, that they were set.

use super::asker::{Asked, Line, Stop, or_back};
use super::work::Work;
use facts::job::check;
use facts::job::entry::What;
use judge::limits::{self, Limits, ONCE_IN};
use judge::vehicle;
use measure::units::Scale;
use pages::report::{self, shell_word};

/// What can be done at the page of limits.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Doing {
    Set,
    Builder,
    Rate,
    Delay,
    Table,
    Back,
}

impl Work<'_, '_> {
    /// Shows limits and enters what is done with them, until they are left.
    pub(super) fn limiting(&mut self) -> Asked<()> {
        let verification = &self.picture().verification;
        if let Some(why) = limits::hindrance(&self.timeline, verification) {
            return self.desk.refuse(&report::hindrance(why));
        }
        let (once_in, delay) = self.timeline.limits_set.unwrap_or((ONCE_IN, None));
        let mut asked = limits::Asked { once_in, delay };
        let mut show = true;
        loop {
            let (knowledge, scale) = (self.desk.knowledge, self.desk.settings.scale);
            let usual = vehicle::after(knowledge, &self.timeline);
            let found = limits::limits(knowledge, &self.timeline, &usual, asked);
            if found.rows.is_empty() {
                return self.desk.refuse(
                    "there are no settled readings with the engine running: enter some first",
                );
            }
            if show {
                let page = report::limits(knowledge, &self.timeline, &found, scale);
                self.desk.page(&page)?;
            }
            show = true;
            let choices = [
                ("They were set in the controller", Doing::Set),
                ("Enter the engine builder's limit for any single display", Doing::Builder),
                ("Write the table to a CSV file", Doing::Table),
                ("Rarer or more frequent false alarms", Doing::Rate),
                ("Another delay", Doing::Delay),
                ("Go on with the job", Doing::Back),
            ]
            .map(|(label, doing)| (label.to_owned(), doing));
            let mut choices = choices.to_vec();
            if self.desk.on_page() {
                choices.retain(|(_, doing)| !matches!(doing, Doing::Table));
            }
            match self.desk.pick("Limits:", &choices, 0)? {
                Doing::Back => return Ok(()),
                Doing::Set => {
                    let limits::Asked { once_in, delay } = asked;
                    let with = delay.map_or_else(String::new, |delay| format!(" --delay {delay}"));
                    let typed = format!("limits --once-in {once_in}{with} --set");
                    if self.enter(typed, What::LimitsSet { once_in, delay })? {
                        return Ok(());
                    }
                }
                Doing::Builder => {
                    or_back(self.builder_limit())?;
                }
                Doing::Table => {
                    show = false;
                    or_back(self.table(&found))?;
                }
                Doing::Rate => {
                    let question = "Hours of running for one false alarm of one display?";
                    let once = self
                        .within(question, ONCE_IN, |once_in| limits::Asked { once_in, ..asked });
                    asked = or_back(once)?.unwrap_or(asked);
                }
                Doing::Delay => {
                    let question = "Seconds that a deviation must last?";
                    let now = found.rows[0].rule.delay;
                    let after = |delay| limits::Asked { delay: Some(delay), ..asked };
                    asked = or_back(self.within(question, now, after))?.unwrap_or(asked);
                }
            }
        }
    }

    /// A number for what is asked, within what an entry may have.
    fn within(
        &mut self,
        question: &str,
        now: f64,
        asked: impl Fn(f64) -> limits::Asked,
    ) -> Asked<limits::Asked> {
        let engine = &self.timeline.engine;
        let now = now.to_string();
        let line = Line { question, help: "a number", default: &now, ..Line::default() };
        self.desk.line(line, |answer| {
            let number = answer.trim().replace(',', ".").parse::<f64>();
            let asked = asked(number.map_err(|_| format!("`{}` is no number", answer.trim()))?);
            let limits::Asked { once_in, delay } = asked;
            let what = What::LimitsSet { once_in, delay };
            check::entry(engine, 1, &what).map_err(|error| error.to_string())?;
            Ok(asked)
        })
    }

    pub(super) fn builder_limit(&mut self) -> Asked<()> {
        let help = "from the engine builder's papers, as 900C or 1650F; Enter if not known";
        let Some((limit, typed)) = self.desk.temperature("The builder's limit", help)? else {
            return Err(Stop::Back);
        };
        let fahrenheit = self.desk.settings.scale == Scale::Fahrenheit;
        let units = if fahrenheit { " --units f" } else { "" };
        let typed = format!("limits{units} --builder-limit {}", shell_word(&typed));
        self.enter(typed, What::BuilderLimit(limit))?;
        Ok(())
    }

    fn table(&mut self, found: &Limits) -> Asked<()> {
        let usual = format!("{}-limits.csv", self.name);
        let vehicle = &self.job.journal().head.vehicle;
        let scale = self.desk.settings.scale;
        let text = report::limits_csv(&self.name, vehicle, &self.timeline, found, scale);
        let help = "a table with commas, for the controller or a spreadsheet";
        self.file("table", help, &usual, |shelf, file, over| shelf.write_table(file, &text, over))
    }
}
