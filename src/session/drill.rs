//! The drill: a person plays the mechanic on a virtual engine.
//!
//! Shows a complaint and readings, lets the person choose what to do from lists, and tells at the
//! end what was the matter and what others would have spent on the same engine. It must not judge
//! by itself: the engine answers, and the workshop plays the others.

use ::workshop::{
    Act, Ended, Field, Gone, Policy, Shown, Verdict, VirtualEngine, World, came_back, places, play,
    said_by_numbers, sentence,
};
use facts::knowledge::RunningPoint;
use facts::knowledge::{Knowledge, Scope, TestKind};
use measure::engine::Cylinder;
use measure::units::Scale;
use pages::report::{Doc, Style, drilled, in_words, terms, text, words};

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
    pub steps: Vec<(Act, Shown)>,
    /// The same in words, a line each.
    pub told: Vec<String>,
    /// Minutes of labour, what came back included.
    pub total: f64,
    /// Whether something that was the matter was put right by the work meant for it, and nothing that
    /// somebody would notice is left.
    pub proven: bool,
    /// What the program and one who knows would have spent.
    pub others: Vec<(Policy, f64)>,
}

/// Others whose cost is told at the end.
const OTHERS: [Policy; 4] = [Policy::PartsFirst, Policy::Human, Policy::Plan, Policy::Oracle];

/// Lets a person work on a virtual engine.
///
/// # Errors
/// When there is nobody to answer, or a script's answer is no choice.
pub fn drill(
    field: &Field,
    job: &VirtualEngine,
    asker: &mut dyn Asker,
    settings: DrillSettings,
) -> Asked<Drilled> {
    let world = World::open(field, job);
    let known = world.known;
    let mut drill = Drill { known, world, asker, settings, steps: Vec::new() };
    drill.introduce()?;
    let ended = loop {
        match drill.choose() {
            Ok(Some(step)) => {
                let shown = drill.world.act(step);
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
    drill.finish(field, job, &ended)
}

struct Drill<'a> {
    known: &'a Knowledge,
    world: World<'a>,
    asker: &'a mut dyn Asker,
    settings: DrillSettings,
    steps: Vec<(Act, Shown)>,
}

impl Drill<'_> {
    fn show(&mut self, doc: &Doc) -> Asked<()> {
        let page = text::render(doc, self.settings.width, self.settings.style);
        self.asker.say(&format!("{page}\n"))
    }

    fn say(&mut self, text: &str) -> Asked<()> {
        let lines = pages::report::wrap(text, self.settings.width).join("\n");
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
            "{}. The customer says: {}. The engine is {} now.",
            words::upper_first(&engine),
            sentence(&job.said),
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

    fn spent(&self) -> f64 {
        self.world.spent().total(self.known.constants.rates)
    }

    /// What is done next; `None` when the person thought better of it.
    fn choose(&mut self) -> Asked<Option<Act>> {
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
            3 => Ok(Some(Act::Search)),
            _ => {
                let verdict =
                    if self.world.remedied() { Verdict::Unproven } else { Verdict::Normal };
                Ok(Some(Act::Stop(verdict)))
            }
        }
    }

    fn point(&mut self) -> Asked<Act> {
        let points: Vec<RunningPoint> = self.world.known.points.kept().collect();
        let names: Vec<String> =
            points.iter().map(|p| words::upper_first(terms::point(*p))).collect();
        let at = self.asker.choose("At which point?", &names, 1)?;
        Ok(Act::Read { at: points[at] })
    }

    fn cylinder(&mut self, question: &str) -> Asked<Cylinder> {
        let all: Vec<Cylinder> = self.world.job.engine.all().collect();
        let names: Vec<String> = all.iter().map(ToString::to_string).collect();
        Ok(all[self.asker.choose(question, &names, 0)?])
    }

    fn test(&mut self) -> Asked<Act> {
        let engine = &self.world.job.engine;
        let rates = self.known.constants.rates;
        let mut tests: Vec<(String, usize)> = self
            .known
            .tests
            .iter()
            .enumerate()
            .filter(|(_, t)| t.applies.holds(engine))
            .filter(|(_, t)| !said_by_numbers(&t.id, &self.world.timeline))
            .map(|(index, t)| (format!("{} ({:.0} min)", t.name, t.cost.total(rates)), index))
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
        Ok(Act::Test { test, cylinder, partner, at: None })
    }

    fn remedy(&mut self) -> Asked<Act> {
        let engine = self.world.job.engine.clone();
        let rates = self.known.constants.rates;
        let mut causes: Vec<(String, usize)> = self
            .known
            .causes
            .iter()
            .enumerate()
            .filter(|(_, c)| c.applies.holds(&engine) && !places(c, &engine).is_empty())
            .filter_map(|(index, c)| {
                let remedy = c.remedy.as_ref()?;
                let name = words::upper_first(&c.name);
                Some((format!("{name} ({:.0} min)", remedy.cost.total(rates)), index))
            })
            .collect();
        causes.sort();
        let names: Vec<String> = causes.iter().map(|(name, _)| name.clone()).collect();
        let question = "Which cause do you put right? Type a word of it to search.";
        let cause = causes[self.asker.choose(question, &names, 0)?].1;
        let places = places(&self.known.causes[cause], &engine);
        let names: Vec<String> = places.iter().map(ToString::to_string).collect();
        let at = self.asker.choose("Where?", &names, 0)?;
        Ok(Act::Remedy { cause, place: places[at] })
    }

    fn tell(&mut self, act: Act, shown: &Shown) -> Asked<()> {
        match (act, shown) {
            (_, Shown::Readings) => self.readings(),
            (Act::Test { test, .. }, Shown::Outcome(outcome)) => {
                let said = self.known.tests[test].outcomes[*outcome].text.clone();
                self.say(&said)
            }
            (_, Shown::Done) => self.say("Done. Readings will show what it did."),
            _ => Ok(()),
        }
    }

    fn finish(&mut self, field: &Field, job: &VirtualEngine, ended: &Shown) -> Asked<Drilled> {
        let searched = *ended == Shown::Found;
        let remedied = self.world.remedied();
        // Only work that was done counts, and only for the fault it is meant for.
        let hit = self.world.gone.contains(&Some(Gone::Aimed));
        let verdict = if remedied { Verdict::Unproven } else { Verdict::Normal };
        let left = came_back(
            &mut self.world,
            if searched { Ended::Searched } else { Ended::Said(verdict) },
        );
        let said = match (left, searched, hit) {
            (true, _, true) => {
                "What you put right was the matter, but not all of it: the rest came back."
            }
            (true, ..) => "It came back, and was found by a long search at last.",
            (_, true, _) => "The long search found it.",
            (_, _, true) => "That was it.",
            _ if job.faults.is_empty() && remedied => {
                "Nothing was wrong; you put right what was sound."
            }
            _ if job.faults.is_empty() => "Nothing was wrong, and you left it alone.",
            _ if remedied => "What you put right was not what was the matter.",
            _ => "Nothing was put right, and nothing that anybody would notice is left.",
        };
        let total = self.spent();
        self.say("Working out what others would have spent on this engine:")?;
        let mut plan = None;
        let mut others: Vec<(Policy, f64)> = Vec::new();
        for (number, policy) in (1..).zip(OTHERS) {
            // Said before it is begun: the program's own way takes seconds.
            let count = OTHERS.len();
            self.say(&format!("{number} of {count}: {} ...", policy.what()))?;
            let outcome = play(field, job, policy);
            others.push((policy, outcome.total));
            if policy == Policy::Plan {
                plan = Some(outcome);
            }
        }
        let plan = plan.unwrap_or_else(|| play(field, job, Policy::Plan));
        let told: Vec<String> = self
            .steps
            .iter()
            .map(|(act, shown)| in_words(self.known, &self.world.timeline, *act, shown))
            .collect();
        let doc = drilled(
            self.known,
            &self.world.timeline,
            job,
            &format!("{total:.0} min. {said}"),
            &others,
            &plan,
        );
        self.show(&doc)?;
        let proven = hit && !left;
        Ok(Drilled { steps: std::mem::take(&mut self.steps), told, total, proven, others })
    }
}
