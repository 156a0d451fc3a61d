//! What a virtual engine answers to whatever is done to it.
//!
//! Readings with parts where they are now, outcomes of tests drawn from the tables for what is
//! truly there, cures by re-seating and by remedies. Every answer has a key of its own, so that
//! the same question gets the same answer whoever asks. It keeps a plain journal, so that time
//! and set-ups are reckoned as in any job. It must not know who asks, nor why.

use std::collections::BTreeMap;

use jiff::Timestamp;

use crate::diagnosis::model::chances;
use crate::diagnosis::{CauseRef, Fault};
use crate::engine::{Cylinder, Place, RunningPoint};
use crate::job::arrangement::Arrangement;
use crate::job::entry::{Entry, FORMAT, Head, Journal, Reading, What};
use crate::job::read::{minutes_spent, read, thermal_at};
use crate::job::timeline::{Disturbance, Timeline};
use crate::knowledge::{Item, Knowledge, Scope, Seat, StateChances, Test, TestKind};
use crate::plan::Step;
use crate::units::{Celsius, Cost};

use super::chance::Chance;
use super::engine::{TrueFault, VirtualEngine};
use super::play::Ended;
use super::wrong::Truth;

/// How a fault went away.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gone {
    /// Its remedy, or other work that renewed what it sits on.
    Aimed,
    /// A re-seat in passing, or by itself.
    InPassing,
    /// It passed with time.
    Settled,
}

/// What a step brought to light.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    /// A reading set, the last of the timeline.
    Readings,
    /// The outcome of a test, by index.
    Outcome(usize),
    /// Work was done; readings must show what it did.
    Done,
    /// A long search found everything that is the matter, and it was put right.
    Found,
    /// The job is at its end.
    End,
}

/// A virtual engine being worked on.
#[derive(Debug, Clone)]
pub struct World<'a> {
    /// What the mechanic goes by.
    pub known: &'a Knowledge,
    truth: &'a Truth,
    /// The engine.
    pub job: &'a VirtualEngine,
    /// Everything done.
    pub journal: Journal,
    /// The same, read.
    pub timeline: Timeline,
    /// How each fault went away, if it has.
    pub gone: Vec<Option<Gone>>,
    /// Cost that no entry stands for, as a search.
    beside: Cost,
    /// Cost of what was read before the job came in.
    before: Cost,
    /// Engine parts bought where nothing was the matter.
    pub healthy_parts: u32,
    /// How often each thing was done.
    times: BTreeMap<String, u32>,
}

/// Natural spreads beyond which a display is odd to a mechanic with a table of spreads.
const ODD: f64 = 3.0;
/// Natural spreads beyond which somebody without a table notices.
const PLAIN: f64 = 4.0;
/// Natural spreads below which a fault that is left is nobody's business.
const NOTICEABLE: f64 = 2.0;

impl<'a> World<'a> {
    /// An engine as it comes in: noticed and read once at that point.
    #[must_use]
    pub fn open(known: &'a Knowledge, truth: &'a Truth, job: &'a VirtualEngine) -> Self {
        let journal = Journal {
            format: FORMAT,
            head: Head {
                opened: Timestamp::UNIX_EPOCH,
                typed: format!("open job --engine {}", job.preset),
                vehicle: "a virtual engine".to_owned(),
                complaint: "one display is not like the others".to_owned(),
                engine_name: job.preset.clone(),
                engine: job.engine.clone(),
                recent: job.recent.clone(),
                state: job.state,
                details: crate::job::complaint::Details::default(),
            },
            entries: Vec::new(),
        };
        let timeline = read(known, &journal);
        let mut world = Self {
            known,
            truth,
            job,
            journal,
            timeline,
            gone: vec![None; job.faults.len()],
            beside: Cost::default(),
            before: Cost::default(),
            healthy_parts: 0,
            times: BTreeMap::new(),
        };
        world.take(job.noticed_at);
        if thermal_at(job.noticed_at) != crate::job::read::thermal_of(job.state) {
            world.enter(What::State(job.state));
        }
        world.before = minutes_spent(known, &world.journal);
        world
    }

    /// Whether somebody would have brought this engine in: a display that shows no steady number or
    /// stands off its mates by four natural spreads.
    #[must_use]
    pub fn noticed(&self) -> bool {
        self.oddest().is_some_and(|(_, size)| size >= PLAIN)
    }

    /// Whether the last readings look normal to a mechanic with a table of spreads.
    #[must_use]
    pub fn looks_normal(&self) -> bool {
        self.oddest().is_none_or(|(_, size)| size < ODD)
    }

    /// The oddest display of the last readings, in natural spreads.
    #[must_use]
    pub fn oddest(&self) -> Option<(Cylinder, f64)> {
        let set = self.timeline.sets.last()?;
        let sd = self.known.natural_sd(&self.job.engine, set.site, set.at);
        (1..)
            .zip(&set.readings)
            .map(|(display, reading)| {
                let off = crate::diagnosis::from_others(&set.readings, display);
                let silent = matches!(reading, Reading::Open | Reading::Stuck | Reading::Falling);
                let size = if silent { f64::INFINITY } else { off.map_or(0.0, f64::abs) / sd };
                (display, size)
            })
            .max_by(|a, b| a.1.total_cmp(&b.1).then(b.0.cmp(&a.0)))
    }

    /// What was spent since the engine came in.
    #[must_use]
    pub fn spent(&self) -> Cost {
        let all = minutes_spent(self.known, &self.journal) + self.beside;
        Cost {
            hands_on: all.hands_on - self.before.hands_on,
            wait: all.wait - self.before.wait,
            parts: all.parts - self.before.parts,
        }
    }

    /// Does a step.
    pub fn step(&mut self, step: Step) -> Shown {
        match step {
            Step::Readings { at, .. } | Step::Verify { at } => self.take(at),
            Step::Test { test, cylinder, partner } => self.test(test, cylinder, partner),
            Step::Remedy(Fault { cause: CauseRef::Listed(index), place }) => {
                self.remedy(index, place)
            }
            Step::Remedy(Fault { cause: CauseRef::Unlisted, .. }) => self.search(),
            Step::PutBack { item, a, b } => {
                self.enter(What::Exchange { item, a, b });
                Shown::Done
            }
            Step::End(_) => self.stop(),
        }
    }

    /// Writes it down as normal where nothing was put right, closes the job else.
    fn stop(&mut self) -> Shown {
        if !self.timeline.disturbances.iter().any(|d| d.remedied.is_some()) {
            self.enter(What::Recorded);
        }
        self.enter(What::Close { proven: false, reason: None });
        Shown::End
    }

    /// Goes over everything until it is found, and puts it right.
    pub fn search(&mut self) -> Shown {
        self.beside = self.beside + self.known.constants.unlisted_cure;
        for k in 0..self.job.faults.len() {
            if self.gone[k].is_some() {
                continue;
            }
            if let CauseRef::Listed(index) = self.job.faults[k].fault.cause {
                let remedy = self.known.causes[index].remedy.as_ref();
                self.beside = self.beside + remedy.map(|r| r.cost).unwrap_or_default();
            }
            self.gone[k] = Some(Gone::Aimed);
        }
        Shown::Found
    }

    /// Judges how a job ended: whether what was the matter was found and put right, and whether
    /// something noticeable was left. What is left comes back and is charged with a search.
    pub fn judged(&mut self, ended: Ended) -> (bool, bool) {
        let left = ended == Ended::Never || self.noticeable_left();
        let proven = !left && self.found(ended);
        if left {
            let _ = self.search();
        }
        (proven, left)
    }

    fn noticeable_left(&self) -> bool {
        let k = self.job.noticed_at as usize;
        let sd =
            self.known.natural_sd(&self.job.engine, self.job.engine.probes, self.job.noticed_at);
        self.there().any(|(_, fault)| {
            fault.effect.shift[k].abs() >= NOTICEABLE * sd
                || fault.effect.misnamed
                || fault.effect.states[1].is_some_and(|s| s.open + s.stuck + s.falling > 0.5)
        })
    }

    /// Whether what was the matter was put right knowingly.
    fn found(&self, ended: Ended) -> bool {
        let real = self.job.faults.iter().zip(&self.gone).filter(|(f, _)| !f.effect.passes);
        let mut real = real.peekable();
        match real.peek() {
            None => matches!(ended, Ended::Normal | Ended::Searched),
            Some(_) => ended == Ended::Searched || real.any(|(_, gone)| *gone == Some(Gone::Aimed)),
        }
    }

    /// Adds an entry, then lets what it disturbed change.
    fn enter(&mut self, what: What) {
        let typed = String::new();
        let at = self.timeline.point_of(self.known, &what);
        let entry = Entry { at, ..Entry::new(Timestamp::UNIX_EPOCH, typed, what) };
        self.journal.entries.push(entry);
        let before = self.timeline.disturbances.len();
        self.timeline = read(self.known, &self.journal);
        let new: Vec<Disturbance> = self.timeline.disturbances[before..].to_vec();
        for disturbance in &new {
            self.disturbed(disturbance);
        }
    }

    /// A chance that hangs on what is done and how often it has been done, not on when.
    fn keyed(&mut self, what: &str) -> Chance {
        let times = self.times.entry(what.to_owned()).or_default();
        *times += 1;
        self.job.chance.of(what).nth(*times)
    }

    fn disturbed(&mut self, disturbance: &Disturbance) {
        let work = match (disturbance.work, disturbance.remedied) {
            (Some(work), _) => format!("work {} {} {:?}", work.test, work.a, work.b),
            (None, Some((cause, place))) => format!("remedy {cause} {}", place.code()),
            (None, None) => format!("look {:?}", disturbance.touched.first()),
        };
        let chance = self.keyed(&work);
        for k in 0..self.job.faults.len() {
            let fault = &self.job.faults[k];
            let aimed = self.aimed(fault, disturbance);
            if aimed && self.gone[k] == Some(Gone::InPassing) {
                self.gone[k] = Some(Gone::Aimed);
            }
            let mut here = chances(
                &self.truth.knowledge,
                &self.timeline,
                fault.fault,
                fault.seat,
                &fault.numbers,
                disturbance,
            );
            if fault.effect.misnamed && here.cure <= self.known.constants.self_cure {
                // Nothing uncrosses itself.
                here.cure = 0.0;
            }
            if aimed {
                here.cure = here.cure.max(self.known.constants.remedy_works);
            }
            let u = chance.nth(k).uniform();
            match self.gone[k] {
                None if u < here.cure => {
                    self.gone[k] = Some(if aimed { Gone::Aimed } else { Gone::InPassing });
                }
                Some(Gone::InPassing) if !fault.effect.misnamed && u < here.back => {
                    self.gone[k] = None;
                }
                _ => {}
            }
        }
    }

    /// Whether a remedy was meant for a fault, or renewed what it sits on.
    fn aimed(&self, fault: &TrueFault, disturbance: &Disturbance) -> bool {
        let Some((cause, place)) = disturbance.remedied else { return false };
        let CauseRef::Listed(own) = fault.fault.cause else { return false };
        let remedy = |index: usize| self.known.causes[index].remedy.as_ref();
        let same = own == cause
            || remedy(own).is_some_and(|r| remedy(cause).is_some_and(|d| d.id == r.id));
        if same && place == fault.fault.place {
            return true;
        }
        // A new one cures whatever the old one had, of those that come as one piece.
        let seat = self.known.causes[cause].seat;
        let one_piece =
            matches!(seat, Seat::Probe | Seat::Injector | Seat::Plug | Seat::HtLead | Seat::Coil);
        let numbers = place.cylinders(&self.job.engine);
        one_piece
            && seat == fault.seat
            && remedy(cause).is_some_and(|r| r.cost.parts > 0.0)
            && fault.numbers.iter().any(|n| numbers.contains(n))
    }

    fn remedy(&mut self, cause: usize, place: Place) -> Shown {
        let known = &self.known.causes[cause];
        let buys = known.remedy.as_ref().is_some_and(|r| r.cost.parts > 0.0);
        let numbers = place.cylinders(&self.job.engine);
        let seat = known.seat;
        let faulty = self
            .job
            .faults
            .iter()
            .any(|f| f.seat == seat && f.numbers.iter().any(|n| numbers.contains(n)));
        if buys && !self.known.is_measuring(cause) && !faulty {
            self.healthy_parts += 1;
        }
        let id = known.id.clone();
        self.enter(What::Remedy { cause: id, place });
        Shown::Done
    }

    fn test(
        &mut self,
        index: usize,
        cylinder: Option<Cylinder>,
        partner: Option<Cylinder>,
    ) -> Shown {
        let test = &self.known.tests[index];
        if let (Some(item), Some(a)) = (test.item, cylinder) {
            let what = match (test.kind, partner) {
                (TestKind::Exchange, Some(b)) => What::Exchange { item, a, b },
                (kind, _) => What::Remake { item, cylinder: a, new: kind == TestKind::Substitute },
            };
            self.enter(what);
            return Shown::Done;
        }
        let outcome = self.outcome(index, cylinder);
        let what = What::Found {
            test: test.id.clone(),
            outcome: test.outcomes[outcome].id.clone(),
            cylinder,
            partner: None,
        };
        self.enter(what);
        Shown::Outcome(outcome)
    }

    /// Faults that are there now.
    fn there(&self) -> impl Iterator<Item = (usize, &TrueFault)> {
        self.job.faults.iter().enumerate().filter(|(k, _)| self.gone[*k].is_none())
    }

    /// What a test with a table shows now.
    fn outcome(&self, index: usize, cylinder: Option<Cylinder>) -> usize {
        let test = &self.truth.knowledge.tests[index];
        let chance = self.job.chance.of("test").of(&test.id).nth(cylinder.unwrap_or(0));
        let silent = test.usual();
        let mut rows: Vec<(usize, Vec<f64>)> = self
            .there()
            .filter(|(_, fault)| self.concerns(test, cylinder, fault))
            .filter_map(|(k, fault)| Some((k, Self::row(test, fault)?)))
            .collect();
        if rows.is_empty() {
            rows.push((0, test.default.clone()));
        }
        // Of two faults the first that speaks up is heard.
        rows.iter()
            .map(|(k, row)| chance.nth(*k).weighted(row.iter().copied()))
            .find(|outcome| *outcome != silent)
            .unwrap_or(silent)
    }

    fn row(test: &Test, fault: &TrueFault) -> Option<Vec<f64>> {
        match (fault.fault.cause, fault.pieces) {
            (CauseRef::Listed(index), _) => test.given.get(&index).cloned(),
            (CauseRef::Unlisted, None) => {
                let even = 1.0 / test.default.iter().map(|_| 1.0).sum::<f64>();
                Some(test.default.iter().map(|d| f64::midpoint(*d, even)).collect())
            }
            // Put together: silent to half of the tests, to each other like some listed cause.
            (CauseRef::Unlisted, Some(pieces)) => {
                let own = pieces.of(&test.id);
                let which = own.of("which").weighted(test.given.values().map(|_| 1.0));
                test.given.values().nth(which).filter(|_| own.happens(0.5)).cloned()
            }
        }
    }

    /// Whether a test on a cylinder looks at where a fault is now.
    fn concerns(&self, test: &Test, cylinder: Option<Cylinder>, fault: &TrueFault) -> bool {
        let (Scope::Cylinder, Some(cylinder)) = (test.scope, cylinder) else { return true };
        if matches!(fault.fault.place, Place::Bank(_)) {
            return fault.numbers.contains(&cylinder);
        }
        let now = &self.timeline.arrangement;
        let travels = self.job.engine.depth_travels();
        fault.numbers.iter().any(|&number| {
            let at = now.cylinder_of(fault.seat, number, travels);
            let box_end = matches!(fault.seat, Seat::Lead | Seat::Channel | Seat::Settings);
            at == cylinder
                || box_end && now.display_showing(fault.seat, number, travels) == cylinder
        })
    }

    /// Takes readings of all displays.
    fn take(&mut self, at: RunningPoint) -> Shown {
        let chance = self.keyed(&format!("read {at}"));
        let again = !self.timeline.sets.is_empty();
        for (gone, fault) in self.gone.iter_mut().zip(&self.job.faults) {
            if fault.effect.passes && again && gone.is_none() {
                *gone = Some(Gone::Settled);
            }
        }
        let readings = self.job.engine.all().map(|d| self.display(d, at, chance.nth(d))).collect();
        self.enter(What::Temps { at, site: self.job.engine.probes, readings, from: None });
        Shown::Readings
    }

    /// What one display shows.
    fn display(&self, display: Cylinder, at: RunningPoint, chance: Chance) -> Reading {
        let constants = &self.known.constants;
        let now = &self.timeline.arrangement;
        let way = self.way(now, display);
        let travels = self.job.engine.depth_travels();
        let k = at as usize;
        let mut states = constants.usual_states;
        let mut value =
            self.job.nature.level[k] + self.job.nature.offset[usize::from(way.cylinder) - 1][k];
        let mut own = chance.of("state");
        for (index, fault) in self.there() {
            let here = fault.numbers.iter().any(|&number| match fault.seat {
                Seat::Settings => number == display,
                Seat::Channel => number == way.channel,
                Seat::Lead => number == way.lead,
                seat => now.cylinder_of(seat, number, travels) == way.cylinder,
            });
            if !here || fault.effect.misnamed {
                continue;
            }
            value += fault.effect.shift[k];
            if let Some(more) = fault.effect.states[usize::from(at != RunningPoint::ColdSoak)] {
                states = either(states, more);
                // A display that is dead at a point is dead there the next time too.
                own = self.job.chance.of("state").nth(index).nth(k);
            }
        }
        let kinds = [states.open, states.stuck, states.falling, states.erratic];
        let silent: f64 = kinds.iter().sum();
        let kind = own.weighted(kinds.into_iter().chain([1.0 - silent]));
        let noise = match self.job.engine.probes {
            crate::engine::ProbeSite::Exhaust => constants.repeatability[k],
            crate::engine::ProbeSite::Head => constants.repeatability_head[k],
        };
        if chance.of("misread").happens(constants.misread_chance) {
            value += constants.misread_sd * chance.of("misread by").normal();
        }
        value += noise * self.job.nature.restless * chance.of("noise").normal();
        let celsius = |value: f64| Celsius::new(value.round().clamp(-50.0, 1290.0)).ok();
        let steady = celsius(value).map_or(Reading::Open, Reading::Degrees);
        match kind {
            0 => Reading::Open,
            1 => Reading::Stuck,
            2 => Reading::Falling,
            3 => {
                let half = 8.0 + 20.0 * chance.of("jump").normal().abs();
                let middle = value + half * chance.of("middle").normal();
                match (celsius(middle - half), celsius(middle + half)) {
                    (Some(lo), Some(hi)) if lo.value() < hi.value() => Reading::Erratic { lo, hi },
                    _ => steady,
                }
            }
            _ => steady,
        }
    }

    /// From a display back to its cylinder.
    fn way(&self, now: &Arrangement, display: Cylinder) -> Way {
        let crossed = |number: Cylinder, at_the_box: bool| {
            self.there().filter(|(_, f)| f.effect.misnamed).fold(number, |number, (_, fault)| {
                let names = matches!(fault.seat, Seat::Settings | Seat::Channel);
                match fault.fault.place {
                    Place::Pair(a, b) if names == at_the_box && number == a => b,
                    Place::Pair(a, b) if names == at_the_box && number == b => a,
                    _ => number,
                }
            })
        };
        let channel = crossed(display, true);
        let lead = now.item_at(Item::LeadAtBox, channel);
        let cylinder = now.position_of(Item::LeadAtProbe, crossed(lead, false));
        Way { channel, lead, cylinder }
    }
}

/// What a display hangs on.
struct Way {
    channel: Cylinder,
    lead: Cylinder,
    cylinder: Cylinder,
}

/// Chances where two things act on one display, each by itself.
fn either(a: StateChances, b: StateChances) -> StateChances {
    let or = |a: f64, b: f64| 1.0 - (1.0 - a) * (1.0 - b);
    let sum = StateChances {
        open: or(a.open, b.open),
        stuck: or(a.stuck, b.stuck),
        falling: or(a.falling, b.falling),
        erratic: or(a.erratic, b.erratic),
    };
    let all = (sum.open + sum.stuck + sum.falling + sum.erratic).max(1.0);
    StateChances {
        open: sum.open / all,
        stuck: sum.stuck / all,
        falling: sum.falling / all,
        erratic: sum.erratic / all,
    }
}
