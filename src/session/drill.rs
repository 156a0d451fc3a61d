//! The drill: a person plays the mechanic on a virtual engine.
//!
//! Shows a complaint and readings, lets the person choose what to do from lists, and tells at the
//! end what was the matter and what others would have spent on the same engine. It must not judge
//! by itself: the engine answers, and the workshop plays the others.

use crate::diagnosis::{CauseRef, Fault, prior::places};
use crate::engine::{Cylinder, Place, RunningPoint};
use crate::knowledge::{Knowledge, Scope, TestKind};
use crate::plan::{JobEnd, Step};
use crate::report::{Doc, Style, drilled, terms, text, words};
use crate::units::Scale;
use crate::workshop::{Ended, Policy, Shown, Truth, VirtualEngine, World, play};

use super::asker::{Asked, Asker, Stop, or_back};

/// How a drill looks.
#[derive(Debug, Clone, Copy)]
pub struct DrillSettings {
    /// Scale of numbers shown.
    pub scale: Scale,
    /// Cells in a line.
    pub width: usize,
    /// Whether pages carry styles.
    pub style: Style,
}

/// How a drill ended.
#[derive(Debug, Clone, PartialEq)]
pub struct Drilled {
    /// The person's own steps with what they showed.
    pub steps: Vec<(Step, Shown)>,
    /// Minutes of labour, what came back included.
    pub total: f64,
    /// Whether what was the matter was found and put right.
    pub proven: bool,
    /// What the program's plan and one who knows would have spent.
    pub others: Vec<(Policy, f64)>,
}

/// Others whose cost is told at the end.
const OTHERS: [Policy; 3] = [Policy::PartsFirst, Policy::Plan, Policy::Oracle];

/// Lets a person work on a virtual engine.
///
/// # Errors
/// When there is nobody to answer, or a script's answer is no choice.
pub fn drill(
    known: &Knowledge,
    world_of: &Truth,
    job: &VirtualEngine,
    asker: &mut dyn Asker,
    settings: DrillSettings,
) -> Asked<Drilled> {
    let world = World::open(known, world_of, job);
    let mut drill = Drill { known, world, asker, settings, steps: Vec::new() };
    drill.introduce()?;
    let ended = loop {
        match drill.choose() {
            Ok(Some(step)) => {
                let shown = drill.world.step(step);
                drill.steps.push((step, shown.clone()));
                drill.tell(step, &shown)?;
                if matches!(shown, Shown::End | Shown::Found) {
                    break shown;
                }
            }
            Ok(None) | Err(Stop::Back) => {}
            Err(stop) => return Err(stop),
        }
    };
    drill.finish(world_of, job, &ended)
}

struct Drill<'a> {
    known: &'a Knowledge,
    world: World<'a>,
    asker: &'a mut dyn Asker,
    settings: DrillSettings,
    steps: Vec<(Step, Shown)>,
}

impl Drill<'_> {
    fn show(&mut self, doc: &Doc) -> Asked<()> {
        let page = text::render(doc, self.settings.width, self.settings.style);
        self.asker.say(&format!("{page}\n"))
    }

    fn say(&mut self, text: &str) -> Asked<()> {
        let lines = crate::report::wrap(text, self.settings.width).join("\n");
        self.asker.say(&format!("{lines}\n"))
    }

    fn introduce(&mut self) -> Asked<()> {
        let job = self.world.job;
        let engine = terms::engine(&job.engine);
        let recent: Vec<String> = self
            .known
            .recent
            .iter()
            .filter(|r| job.recent.contains(&r.id))
            .map(|r| r.question.clone())
            .collect();
        self.say(&format!(
            "{}. One display is not like the others; it was noticed at {}. The engine is {} now.",
            words::upper_first(&engine),
            terms::point(job.noticed_at),
            terms::told_state(job.state)
        ))?;
        for question in recent {
            self.say(&words::sentence(&question))?;
        }
        self.readings()
    }

    /// The last readings.
    fn readings(&mut self) -> Asked<()> {
        let Some(set) = self.world.timeline.sets.last() else { return Ok(()) };
        let values: Vec<String> = (1..)
            .zip(&set.readings)
            .map(|(d, r): (Cylinder, _)| {
                format!("{d}: {}", words::reading(*r, self.settings.scale))
            })
            .collect();
        let at = terms::point(set.at);
        self.say(&format!(
            "Displays at {at}, {}: {}.",
            self.settings.scale.sign(),
            values.join(", ")
        ))
    }

    fn remedied(&self) -> bool {
        self.world.timeline.disturbances.iter().any(|d| d.remedied.is_some())
    }

    fn spent(&self) -> f64 {
        self.world.spent().total(self.known.constants.rates)
    }

    /// What is done next; `None` when the person thought better of it.
    fn choose(&mut self) -> Asked<Option<Step>> {
        let question = format!("What do you do? ({:.0} min so far)", self.spent());
        let acts = [
            "Take readings",
            "Do a test or an exchange",
            "Put something right",
            "Give up and strip it down",
            "Write it down as normal, or close the job",
        ];
        let acts: Vec<String> = acts.map(str::to_owned).to_vec();
        match self.asker.choose(&question, &acts, 0)? {
            0 => or_back(self.point()),
            1 => or_back(self.test()),
            2 => or_back(self.remedy()),
            3 => Ok(Some(Step::Remedy(Fault {
                cause: CauseRef::Unlisted,
                place: Place::Cylinder(1),
            }))),
            _ => Ok(Some(Step::End(JobEnd::Normal))),
        }
    }

    fn point(&mut self) -> Asked<Step> {
        let points: Vec<RunningPoint> =
            RunningPoint::ALL.iter().copied().filter(|p| *p != RunningPoint::Warming).collect();
        let names: Vec<String> =
            points.iter().map(|p| words::upper_first(terms::point(*p))).collect();
        let at = self.asker.choose("At which point?", &names, 1)?;
        Ok(Step::Readings { at: points[at], site: self.world.job.engine.probes })
    }

    fn cylinder(&mut self, question: &str) -> Asked<Cylinder> {
        let all: Vec<Cylinder> = self.world.job.engine.all().collect();
        let names: Vec<String> = all.iter().map(ToString::to_string).collect();
        Ok(all[self.asker.choose(question, &names, 0)?])
    }

    fn test(&mut self) -> Asked<Step> {
        let engine = &self.world.job.engine;
        let rates = self.known.constants.rates;
        let mut tests: Vec<(String, usize)> = self
            .known
            .tests
            .iter()
            .enumerate()
            .filter(|(_, t)| t.applies.holds(engine))
            .filter(|(_, t)| !crate::diagnosis::said_by_numbers(&t.id, &self.world.timeline))
            .map(|(index, t)| {
                (format!("{} ({:.0} min, {})", t.name, t.cost.total(rates), t.id), index)
            })
            .collect();
        tests.sort();
        let names: Vec<String> = tests.iter().map(|(name, _)| name.clone()).collect();
        let test = tests[self.asker.choose("Which? Type a word of it to search.", &names, 0)?].1;
        let (scope, kind) = (self.known.tests[test].scope, self.known.tests[test].kind);
        let cylinder = match scope {
            Scope::Engine => None,
            Scope::Cylinder => Some(self.cylinder("On which cylinder?")?),
        };
        let partner = match kind {
            TestKind::Exchange => Some(self.cylinder("With which?")?),
            _ => None,
        };
        if partner.is_some() && partner == cylinder {
            self.say("An exchange needs two cylinders.")?;
            return Err(Stop::Back);
        }
        Ok(Step::Test { test, cylinder, partner })
    }

    fn remedy(&mut self) -> Asked<Step> {
        let engine = self.world.job.engine.clone();
        let rates = self.known.constants.rates;
        let mut causes: Vec<(String, usize)> = self
            .known
            .causes
            .iter()
            .enumerate()
            .filter(|(_, c)| c.applies.holds(&engine))
            .filter_map(|(index, c)| {
                let remedy = c.remedy.as_ref()?;
                let name = words::upper_first(&c.name);
                Some((format!("{name} ({:.0} min, {})", remedy.cost.total(rates), c.id), index))
            })
            .collect();
        causes.sort();
        let names: Vec<String> = causes.iter().map(|(name, _)| name.clone()).collect();
        let question = "Which cause do you put right? Type a word of it to search.";
        let index = causes[self.asker.choose(question, &names, 0)?].1;
        let places = places(&self.known.causes[index], &engine);
        let names: Vec<String> = places.iter().map(ToString::to_string).collect();
        let at = self.asker.choose("Where?", &names, 0)?;
        Ok(Step::Remedy(Fault { cause: CauseRef::Listed(index), place: places[at] }))
    }

    fn tell(&mut self, step: Step, shown: &Shown) -> Asked<()> {
        match (step, shown) {
            (_, Shown::Readings) => self.readings(),
            (Step::Test { test, .. }, Shown::Outcome(outcome)) => {
                let said = self.known.tests[test].outcomes[*outcome].text.clone();
                self.say(&said)
            }
            (_, Shown::Done) => self.say("Done. Readings will show what it did."),
            _ => Ok(()),
        }
    }

    fn finish(&mut self, world_of: &Truth, job: &VirtualEngine, ended: &Shown) -> Asked<Drilled> {
        let (proven, came_back) = self.world.judged(match ended {
            Shown::Found => Ended::Searched,
            _ if self.remedied() => Ended::Closed,
            _ => Ended::Normal,
        });
        let said = match (proven, came_back) {
            (_, true) => "It came back, and was found by a long search at last.",
            (true, _) => "That was it.",
            (false, _) if self.remedied() => {
                "It is gone, but what you put right was not what was the matter."
            }
            (false, _) => "Nothing was put right; what was the matter no longer shows.",
        };
        let total = self.spent();
        self.say("Working out what others would have spent on this engine ...")?;
        let others: Vec<(Policy, f64)> = OTHERS
            .iter()
            .map(|&policy| (policy, play(self.known, world_of, job, policy).total))
            .collect();
        let plan = play(self.known, world_of, job, Policy::Plan);
        let doc = drilled(
            self.known,
            &self.world.timeline,
            job,
            &format!("{total:.0} min. {said}"),
            &others,
            &plan,
        );
        self.show(&doc)?;
        Ok(Drilled { steps: std::mem::take(&mut self.steps), total, proven, others })
    }
}
