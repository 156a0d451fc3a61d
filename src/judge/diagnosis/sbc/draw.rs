//! A whole job, drawn from the model: what is wrong, and what is read and found of it.
//!
//! What is read when, and where somebody looks, is chosen without knowing what is wrong.

use facts::job::complaint::Details;
use facts::job::entry::{Journal, Reading, What};
use facts::job::read::read;
use facts::job::timeline::Timeline;
use facts::knowledge::{Charge, Knowledge, Seat};
use measure::engine::{Cylinder, Engine, Place, Regime};
use measure::readings::outlier::median;

use super::course::{self, Course};
use super::dice::Dice;
use super::field::Nature;
use super::hypothesis::Hypotheses;
use super::level;
use super::look::{Average, Found, Looker, mere_looks};
use super::shift::{self, Shift};
use super::state::{self, Shown};
use crate::diagnosis::data::{Kind, repeatability};
use crate::diagnosis::effect::{self, Context};
use crate::diagnosis::prior::prior;
use crate::diagnosis::result::{CauseRef, Fault};

/// A drawn job.
pub(super) struct Job {
    pub(super) journal: Journal,
    /// What is wrong.
    pub(super) truth: Vec<Fault>,
    pub(super) course: Courses,
    pub(super) design: Design,
}

/// How its faults behaved.
pub(super) struct Courses {
    /// Some fault began between two sets.
    pub(super) begun: bool,
    /// Some fault that was there all the time rested at a set.
    pub(super) rested: bool,
}

/// How it was looked into.
pub(super) struct Design {
    /// A point was read again.
    pub(super) again: bool,
    /// Somebody looked.
    pub(super) looked: bool,
}

/// A kind of engine with all that jobs on it share.
pub(super) struct Scene<'a> {
    knowledge: &'a Knowledge,
    head: Journal,
    timeline: Timeline,
    hypotheses: Hypotheses,
    tests: Vec<usize>,
    average: Average,
}

/// A fault with what was drawn for it.
struct Acting {
    fault: Fault,
    course: Course,
    shift: Shift,
}

impl<'a> Scene<'a> {
    pub(super) fn of(knowledge: &'a Knowledge, preset: &str) -> Self {
        let mut head = fixture::journal();
        let preset = knowledge.presets.iter().find(|p| p.id == preset).expect("a kind of engine");
        head.head.engine = preset.engine.clone();
        head.head.recent.clear();
        head.head.complaint = String::new();
        // No display and no doing is named, so that the readings leave the priors alone.
        head.head.details = Details { at: Some(Regime::Idle.into()), ..Details::default() };
        let timeline = read(knowledge, &head);
        let sheets = (&timeline.sheet, timeline.history.as_ref());
        let Timeline { engine, recent, complaint, .. } = &timeline;
        let prior = prior(knowledge, engine, recent, sheets, complaint);
        let average = Average::of(knowledge, engine, &prior);
        let hypotheses = Hypotheses::of(knowledge, &timeline);
        let tests = mere_looks(knowledge, engine);
        Self { knowledge, head, timeline, hypotheses, tests, average }
    }

    pub(super) fn draw(&self, dice: &mut Dice) -> Job {
        let truth = self.hypotheses.draw(dice);
        // A number beyond what may be entered cannot be a job: all but what is wrong is drawn anew. Of one
        // fault in fifty that makes a display mean nothing.
        loop {
            if let Some(job) = self.attempt(&truth, dice) {
                return job;
            }
        }
    }

    fn engine(&self) -> &Engine {
        &self.timeline.engine
    }

    fn attempt(&self, truth: &[Fault], dice: &mut Dice) -> Option<Job> {
        let (kinds, sets) = self.points(dice);
        let acting = self.faults(truth, &kinds, &sets, dice);
        let whole_box = |acting: &&Acting| acting.fault.place == Place::Nowhere;
        let wrong_box = acting.iter().find(whole_box);
        let wrong: Vec<bool> =
            (0..sets.len()).map(|s| wrong_box.is_some_and(|a| a.course.shows[s])).collect();
        let levels = level::draw((self.knowledge, self.engine()), &kinds, &sets, &wrong, dice);
        // Shifts in proportion go by the level of the displays, which is known only now.
        let acting = self.sized(acting, &kinds, &sets, &levels, dice);
        let readings = self.readings(&acting, (&kinds, &sets), &levels, dice)?;
        let (looks, looked) = self.looks(&acting, &readings, dice);

        let mut journal = self.head.clone();
        for (set, readings) in readings.into_iter().enumerate() {
            let Kind { site, at } = kinds[sets[set]];
            let temps = What::Temps { at: at.id, site, readings, from: None };
            journal.entries.push(fixture::entry(temps));
            let here = looks.iter().filter(|(after, _)| *after == set);
            journal.entries.extend(here.map(|(_, what)| fixture::entry(what.clone())));
        }
        let began = |a: &Acting| a.course.after.is_some();
        let rests = |a: &Acting| !began(a) && a.course.shows.contains(&false);
        Some(Job {
            journal,
            truth: truth.to_vec(),
            course: Courses { begun: acting.iter().any(began), rested: acting.iter().any(rests) },
            design: Design { again: sets.len() > kinds.len(), looked },
        })
    }

    /// Kinds of reading in the order in which they are met, and the kind of each set.
    fn points(&self, dice: &mut Dice) -> (Vec<Kind>, Vec<usize>) {
        let site = self.engine().probes;
        let points = self.knowledge.points.steady();
        let mut kinds: Vec<Kind> = Vec::new();
        let sets = (0..2 + dice.one_of(3))
            .map(|_| {
                let kind = Kind { site, at: points[dice.weighted(&[4.0, 4.0, 2.0])] };
                kinds.iter().position(|k| *k == kind).unwrap_or_else(|| {
                    kinds.push(kind);
                    kinds.len() - 1
                })
            })
            .collect();
        (kinds, sets)
    }

    /// The faults with their courses, not yet with their sizes.
    fn faults(
        &self,
        truth: &[Fault],
        kinds: &[Kind],
        sets: &[usize],
        dice: &mut Dice,
    ) -> Vec<Acting> {
        let none = || Shift { by: vec![0.0; kinds.len()], charge: Charge::Usual };
        let each = truth.iter().map(|&fault| {
            let course = course::draw(self.knowledge, self.engine(), fault.cause, sets.len(), dice);
            Acting { fault, course, shift: none() }
        });
        each.collect()
    }

    fn sized(
        &self,
        acting: Vec<Acting>,
        kinds: &[Kind],
        sets: &[usize],
        levels: &[f64],
        dice: &mut Dice,
    ) -> Vec<Acting> {
        let of_kind = |kind: usize| {
            let those = sets.iter().zip(levels).filter(|(k, _)| **k == kind);
            median(&those.map(|(_, level)| *level).collect::<Vec<_>>()).unwrap_or(0.0)
        };
        let levels: Vec<f64> = (0..kinds.len()).map(of_kind).collect();
        let installed = effect::installed(&self.timeline, kinds, &levels);
        let context = Context {
            knowledge: self.knowledge,
            engine: self.engine(),
            kinds,
            levels: &levels,
            installed: &installed,
        };
        let sized = |acting: Acting| {
            let shift = shift::draw(context, acting.fault.cause, dice);
            Acting { shift, ..acting }
        };
        acting.into_iter().map(sized).collect()
    }

    /// Two displays that stand for each other, and whether from the probes on.
    fn crossed(&self, acting: &[Acting]) -> Option<(Cylinder, Cylinder, bool)> {
        acting.iter().find_map(|a| match (a.fault.cause, a.fault.place) {
            (CauseRef::Listed(index), Place::Pair(x, y))
                if a.fault.cause.misnames(self.knowledge) =>
            {
                let seat = self.knowledge.causes[index].seat;
                Some((x, y, !matches!(seat, Seat::Settings | Seat::Channel)))
            }
            _ => None,
        })
    }

    /// Displays on which a fault shows.
    fn displays(&self, fault: Fault, crossed: Option<(Cylinder, Cylinder, bool)>) -> Vec<Cylinder> {
        if fault.cause.misnames(self.knowledge) {
            return Vec::new();
        }
        let places: Vec<Cylinder> = match fault.place {
            Place::Nowhere => self.engine().all().collect(),
            place => place.cylinders(self.engine()),
        };
        let seat = match fault.cause {
            CauseRef::Listed(index) => self.knowledge.causes[index].seat,
            CauseRef::Unlisted => Seat::Cylinder,
        };
        let swapped = |c: Cylinder| match crossed {
            // What is fixed in the box is called as the box calls it, and a lead goes to its display.
            Some((.., at_probes)) if at_probes && matches!(seat, Seat::Lead | Seat::Channel) => c,
            Some(_) if seat == Seat::Settings => c,
            Some((a, b, _)) if c == a => b,
            Some((a, b, _)) if c == b => a,
            _ => c,
        };
        places.into_iter().map(swapped).collect()
    }

    /// What every display shows in every set; `None` where that cannot be entered.
    fn readings(
        &self,
        acting: &[Acting],
        (kinds, sets): (&[Kind], &[usize]),
        levels: &[f64],
        dice: &mut Dice,
    ) -> Option<Vec<Vec<Reading>>> {
        let (knowledge, engine) = (self.knowledge, self.engine());
        let nature = Nature::draw(knowledge, engine, kinds, dice);
        let again = knowledge.constants.state_again;
        let crossed = self.crossed(acting);
        let mut last: Vec<((usize, usize, Cylinder), Shown)> = Vec::new();
        let mut all = Vec::with_capacity(sets.len());
        for (set, &kind) in sets.iter().enumerate() {
            let first = !sets[..set].contains(&kind);
            let at = kinds[kind];
            let mut row = Vec::new();
            for display in engine.all() {
                let cylinder = match crossed {
                    Some((a, b, _)) if display == a => b,
                    Some((a, b, _)) if display == b => a,
                    _ => display,
                };
                let here = |a: &Acting| {
                    a.course.shows[set]
                        && (first || !a.fault.cause.passes(knowledge))
                        && self.displays(a.fault, crossed).contains(&display)
                };
                let mut number = levels[set]
                    + nature.number(
                        knowledge,
                        (kind, at),
                        (usize::from(cylinder), engine.bank_of(display)),
                        dice,
                    );
                let mut shown = Shown::Number;
                let mut keys = Vec::new();
                for (f, a) in acting.iter().enumerate().filter(|(_, a)| here(a)) {
                    number += a.shift.by[kind];
                    let of = state::of_fault(knowledge, a.fault.cause, at.at);
                    let Some(own) = of else { continue };
                    let key = (f, kind, display);
                    let before = last.iter().find(|(k, _)| *k == key).map(|(_, shown)| *shown);
                    let by = state::by_fault(own, before, again, dice);
                    keys.push(key);
                    if shown == Shown::Number {
                        shown = by;
                    }
                }
                if shown == Shown::Number {
                    shown = state::sound(knowledge, repeatability(knowledge, at), dice);
                }
                for key in keys {
                    last.retain(|(k, _)| *k != key);
                    last.push((key, shown));
                }
                if let Shown::Jumping(half) = shown {
                    // The sums scale what a number jumps by with the natural spread.
                    number += nature.spread * half * dice.normal();
                }
                row.push(shown.reading(number, dice)?);
            }
            all.push(row);
        }
        Some(all)
    }

    /// Looks, each after a reading set, at the display that stands out most there; and whether there are any.
    fn looks(
        &self,
        acting: &[Acting],
        readings: &[Vec<Reading>],
        dice: &mut Dice,
    ) -> (Vec<(usize, What)>, bool) {
        let mut list = Vec::new();
        if dice.chance(0.5) {
            return (list, false);
        }
        let sets = readings.len();
        for _ in 0..=dice.one_of(3) {
            let after = dice.one_of(sets);
            let test = self.tests[dice.one_of(self.tests.len())];
            let cylinder = oddest(&readings[after]);
            let same = |(_, what): &&(usize, What)| matches!(what, What::Found { test: t, .. } if *t == self.knowledge.tests[test].id);
            if list.iter().find(same).is_some() {
                continue;
            }
            let (knowledge, engine) = (self.knowledge, self.engine());
            let mut looker = Looker::new(knowledge, engine, &self.average, test, cylinder);
            list.push((after, looker.look(&self.found(acting, after, test), dice)));
            // The same look once more, at once or after more was read.
            if dice.chance(0.3) {
                let later = after + dice.one_of(sets - after);
                list.push((later, looker.look(&self.found(acting, later, test), dice)));
            }
        }
        (list, true)
    }

    /// Faults as a look after a set finds them.
    fn found(&self, acting: &[Acting], after: usize, test: usize) -> Vec<Found> {
        let past = self.knowledge.tests[test].past;
        let there = acting.iter().filter(|a| past || a.course.after.is_none_or(|set| set <= after));
        there
            .map(|a| {
                let had_begun = a.course.after.is_none_or(|set| set < after);
                let showed = had_begun.then(|| a.course.shows[after]);
                let shows = self.shows_between(showed, a.course.shows.get(after + 1).copied());
                Found { fault: a.fault, charge: a.shift.charge, shows }
            })
            .collect()
    }

    /// Chance that what comes and goes shows between two sets: each draws its state anew or keeps it, so that of
    /// the four ways from one to the other those count in which it shows between.
    fn shows_between(&self, before: Option<bool>, after: Option<bool>) -> f64 {
        if before != Some(false) && after != Some(false) {
            return 1.0;
        }
        let (on, again) = (self.knowledge.constants.on_share, self.knowledge.constants.look_again);
        let stays = |on_share: f64, same: bool| {
            (1.0 - again) * on_share + again * f64::from(u8::from(same))
        };
        let come = before.map_or(on, |before| stays(on, before));
        let gone = before.map_or(1.0 - on, |before| stays(1.0 - on, !before));
        let (from_on, from_off) = match after {
            None => (1.0, 1.0),
            Some(true) => (stays(on, true), stays(on, false)),
            Some(false) => (stays(1.0 - on, false), stays(1.0 - on, true)),
        };
        come * from_on / (come * from_on + gone * from_off)
    }
}

/// The display farthest from the others, one that shows no number before all.
fn oddest(readings: &[Reading]) -> Cylinder {
    let numbers: Vec<f64> = readings.iter().filter_map(|r| r.middle()).collect();
    let level = median(&numbers).unwrap_or(0.0);
    let off = |r: &Reading| r.middle().map_or(f64::INFINITY, |number| (number - level).abs());
    let each = (1..).zip(readings);
    each.max_by(|a, b| off(a.1).total_cmp(&off(b.1))).map_or(1, |(display, _)| display)
}
