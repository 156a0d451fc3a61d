//! The probe-fit sheet: depths of all probes in a line, and what differences are worth.

use super::asker::{Asked, Line, Stop};
use super::work::Work;
use facts::job::entry::What;
use facts::job::fit::FitLine;
use facts::job::typed::millimetres;
use measure::engine::{Cylinder, Fitting};
use pages::report::{self, words};

/// What can be said or seen of the probes.
#[derive(Debug, Clone, Copy)]
enum Topic {
    Depths,
    Stems,
    Fitting,
    Show,
}

impl Work<'_, '_> {
    /// Takes measures of the probes, or shows the sheet.
    pub(super) fn fitting(&mut self) -> Asked<()> {
        let choices = [
            ("Show the sheet, and what differences are worth".to_owned(), Topic::Show),
            ("Depths past the inner wall, every probe".to_owned(), Topic::Depths),
            ("Stems that show outside, every probe".to_owned(), Topic::Stems),
            ("Sheath, bore and depth they are meant to have".to_owned(), Topic::Fitting),
        ];
        match self.desk.pick("Probe-fit sheet:", &choices, 0)? {
            Topic::Show => self.show_fitting(),
            Topic::Depths => self.row("--depths", "Depths past the inner wall", |line, mm| {
                line.depth = Some(mm);
            }),
            Topic::Stems => self.row("--stems", "Stems outside", |line, mm| {
                line.stem = Some(mm);
            }),
            Topic::Fitting => {
                let question = "Sheath, runner and depth past the inner wall, mm:";
                let mm = self.millimetres(question, "as 3 42 20", 3, false)?;
                let fitting = Fitting { diameter: mm[0], bore: mm[1], depth: mm[2] };
                let typed = format!(
                    "fit --probe-diameter {} --bore {} --probe-depth {}",
                    mm[0], mm[1], mm[2]
                );
                self.enter(typed, What::Fitting(fitting))?;
                Ok(())
            }
        }
    }

    fn show_fitting(&mut self) -> Asked<()> {
        let (knowledge, scale) = (self.desk.knowledge, self.desk.settings.scale);
        let page = report::fit(knowledge, &self.timeline, scale);
        self.desk.page(&page)
    }

    /// One measure of every probe, then what the differences are worth.
    fn row(&mut self, flag: &str, name: &str, put: fn(&mut FitLine, f64)) -> Asked<()> {
        let cylinders = self.timeline.engine.cylinders;
        let question = format!("{name}, cylinders 1 to {cylinders}, mm:");
        let count = usize::from(cylinders);
        let values = self.millimetres(&question, "numbers with spaces", count, true)?;
        let lines: Vec<(Cylinder, FitLine)> = (1..)
            .zip(&values)
            .map(|(cylinder, &mm)| {
                let mut line = FitLine::default();
                put(&mut line, mm);
                (cylinder, line)
            })
            .collect();
        let figures: Vec<String> = values.iter().map(f64::to_string).collect();
        if self.enter(format!("fit {flag} {}", figures.join(" ")), What::Fitted { lines })? {
            self.show_fitting()?;
        }
        Ok(())
    }

    /// A line of so many lengths, asked again until it fits; one of each cylinder, or of other things.
    fn millimetres(
        &mut self,
        question: &str,
        help: &str,
        count: usize,
        each: bool,
    ) -> Asked<Vec<f64>> {
        let values = if each { u8::try_from(count).unwrap_or(0) } else { 0 };
        let line = Line { question, help, values, ..Line::default() };
        let lengths = self.desk.line(line, |typed| {
            let given = typed.split([' ', '\t', ';', '/', '|']).filter(|word| !word.is_empty());
            let read: Result<Vec<f64>, String> = given
                .map(|word| {
                    millimetres(word.trim_end_matches(',')).map_err(|e| format!("`{word}`: {e}"))
                })
                .collect();
            let read = read.map_err(|error| format!("{error}. Correct the line"))?;
            if read.is_empty() || read.len() == count {
                return Ok(read);
            }
            let given = words::count(read.len(), "figure", "figures");
            Err(format!("{given} given, {count} expected. Correct the line"))
        })?;
        if lengths.is_empty() { Err(Stop::Back) } else { Ok(lengths) }
    }
}
