//! Takes in a journal entry by entry: what each did to the engine, the seats and the clock.
//!
//! It must not drop an entry silently: what does not fit becomes a note of the timeline.

mod found;
mod state;

use super::touch::{Handling, seat_number, touched, touched_by_remedy};
use super::{already_done, thermal_of};
use crate::job::arrangement::Arrangement;
use crate::job::check;
use crate::job::complaint::Complaint;
use crate::job::entry::{Entry, Journal, Reading, What};
use crate::job::fit::{FitLine, Noted, Sheet};
use crate::job::timeline::{self, Closing, Disturbance, ReadingSet, Standing, Timeline, test_for};
use crate::job::trim::{TrimmedSet, Trimming};
use crate::knowledge::{Item, Knowledge, RunningPoint, Seat};
use measure::engine::{Cylinder, Place, PointId, ProbeSite};
use measure::units::{Celsius, Cost};

/// A journal being read, entry by entry.
pub(super) struct Walk<'a> {
    knowledge: &'a Knowledge,
    pub(super) timeline: Timeline,
    /// Who was where before each disturbance, kept so that later words can be tied to it.
    before: Vec<Arrangement>,
    pub(super) costs: Vec<(usize, Cost)>,
}

impl<'a> Walk<'a> {
    /// Reads all standing entries.
    pub(super) fn over(knowledge: &'a Knowledge, journal: &Journal) -> Self {
        let engine = journal.head.engine.clone();
        let head = &journal.head;
        let mut complaint = Complaint::of(&head.complaint, &head.details, &knowledge.points);
        // Words may name a display that the engine does not have.
        complaint.heard.numbers.retain(|named| engine.all().any(|known| known == *named));
        let mut recent = head.recent.clone();
        // Work since which it does so was done.
        recent.extend(complaint.since.clone().filter(|since| !head.recent.contains(since)));
        let arrangement = Arrangement::original(engine.cylinders);
        let no_point = head.details.at.filter(|at| knowledge.points.get(*at).is_none());
        let mut walk = Self {
            knowledge,
            timeline: Timeline {
                points: knowledge.points.clone(),
                engine,
                complaint,
                scale: journal.scale(),
                recent,
                sets: Vec::new(),
                disturbances: Vec::new(),
                findings: Vec::new(),
                looked: Vec::new(),
                arrangement,
                thermal: thermal_of(head.state),
                open_access: Vec::new(),
                load_confirmed: false,
                recorded: None,
                standing: Standing::Open,
                barred: knowledge.lacking.clone(),
                unknown: no_point.map(|at| (0, at.to_string())).into_iter().collect(),
                sheet: Sheet::default(),
                fitting_assumed: false,
                history: None,
                trimming: Trimming::default(),
                builder_limit: head.details.builder_limit,
                limits_set: None,
            },
            before: Vec::new(),
            costs: Vec::new(),
        };
        for (number, entry) in journal.standing() {
            let cost = walk.step(number, entry);
            if !matches!(entry.what, What::Remedy { .. }) {
                walk.timeline.looked.push((number, cost));
            }
            walk.costs.push((number, cost));
        }
        walk.mark_superseded();
        let timeline = &mut walk.timeline;
        let said = timeline.engine.fitting;
        // How they were fitted stands until it is measured anew.
        let before = || Sheet::of(&timeline.history.as_ref()?.fit).fitting(said);
        let measured = !timeline.sheet.measured().is_empty();
        let sits = if measured { None } else { before() };
        if let Some((fitting, assumed)) = sits.or_else(|| timeline.sheet.fitting(said)) {
            timeline.engine.fitting = Some(fitting);
            timeline.fitting_assumed = assumed;
        }
        walk
    }

    /// Takes in one entry and says what it cost.
    fn step(&mut self, number: usize, entry: &Entry) -> Cost {
        // The store refuses such entries; a journal made elsewhere must not bring us down.
        if let Err(error) = check::entry(&self.timeline.engine, number, &entry.what) {
            self.timeline.unknown.push((number, error.to_string()));
            return Cost::default();
        }
        match &entry.what {
            What::Temps { at, site, readings, from: _ } => {
                let Some(at) = self.point(number, *at) else { return Cost::default() };
                self.temps(number, (at, *site, readings.as_slice()), entry.air)
            }
            What::Found { test, outcome, cylinder, partner } => {
                let at = match entry.at.map(|at| self.point(number, at)) {
                    Some(None) => return Cost::default(),
                    Some(known) => known,
                    None => None,
                };
                self.found(number, test, outcome, (*cylinder, *partner), at)
            }
            What::Logged { test, outcome, cylinder } => {
                self.logged(number, test, outcome, *cylinder);
                Cost::default()
            }
            What::Exchange { item, a, b } => {
                self.handle(number, *item, Handling::Exchanged, *a, Some(*b))
            }
            What::Remake { item, cylinder, new } => {
                let handling = if *new { Handling::Replaced } else { Handling::Remade };
                self.handle(number, *item, handling, *cylinder, None)
            }
            What::State(state) => {
                self.timeline.thermal = thermal_of(*state);
                Cost::default()
            }
            What::LoadConfirmed => {
                self.timeline.load_confirmed = true;
                Cost::default()
            }
            What::Remedy { cause, place } => self.remedy(number, cause, *place),
            What::Recorded => {
                self.timeline.recorded = Some(self.timeline.disturbances.len());
                self.knowledge.constants.record
            }
            What::Close { proven, .. } => {
                let closing = Closing::of(*proven, self.timeline.is_recorded());
                self.timeline.standing = Standing::Closed(closing);
                self.timeline.open_access.clear();
                Cost::default()
            }
            What::Reopen => {
                self.timeline.standing = Standing::Open;
                Cost::default()
            }
            What::Fitted { lines } => {
                self.fitted(number, lines);
                Cost::default()
            }
            What::Fitting(fitting) => {
                self.timeline.engine.fitting = Some(*fitting);
                Cost::default()
            }
            What::History(history) => {
                self.timeline.history = Some(history.clone());
                Cost::default()
            }
            What::Trim { lever, cylinder, to, foreseen } => {
                self.timeline.trimming.set(number, (*lever, *cylinder), *to, *foreseen);
                Cost::default()
            }
            What::Sign { cylinder, sign, by } => {
                let said = (number, *sign, by.clone());
                self.timeline.trimming.signs.insert(*cylinder, said);
                Cost::default()
            }
            What::LimitsSet { once_in, delay } => {
                self.timeline.limits_set = Some((*once_in, *delay));
                Cost::default()
            }
            What::BuilderLimit(limit) => {
                self.timeline.builder_limit = Some(*limit);
                Cost::default()
            }
            What::Undo { .. } => Cost::default(),
        }
    }

    /// Lines of the probe-fit sheet: what was measured goes with the seat it was measured on.
    fn fitted(&mut self, entry: usize, lines: &[(Cylinder, FitLine)]) {
        let after = self.timeline.disturbances.len();
        for (cylinder, line) in lines {
            let number = self.number(None, Seat::Fit, *cylinder);
            let (cylinder, line) = (*cylinder, line.clone());
            self.timeline.sheet.noted.push(Noted { entry, cylinder, number, after, line });
        }
    }

    /// A running point by its id; one that this knowledge base has not is noted.
    fn point(&mut self, number: usize, id: PointId) -> Option<RunningPoint> {
        let known = self.knowledge.points.get(id);
        if known.is_none() {
            self.timeline.unknown.push((number, id.to_string()));
        }
        known
    }

    fn temps(
        &mut self,
        number: usize,
        (at, site, readings): (RunningPoint, ProbeSite, &[Reading]),
        air: Option<Celsius>,
    ) -> Cost {
        let way = self.arrive(at.thermal);
        let after = self.timeline.disturbances.len();
        let trimming = &mut self.timeline.trimming;
        if !trimming.now.is_empty() {
            // The engine was changed on purpose: what it shows then is no evidence of a fault.
            let (readings, trims) = (readings.to_vec(), trimming.now.clone());
            trimming.sets.push(TrimmedSet { entry: number, at, site, readings, trims, after });
            return way + self.knowledge.constants.readings;
        }
        self.timeline.sets.push(ReadingSet {
            entry: number,
            at,
            site,
            readings: readings.to_vec(),
            arrangement: self.timeline.arrangement.clone(),
            after,
            air,
        });
        way + self.knowledge.constants.readings
    }

    /// An exchange, a re-seat or a replacement entered as such.
    fn handle(
        &mut self,
        number: usize,
        item: Item,
        handling: Handling,
        a: Cylinder,
        b: Option<Cylinder>,
    ) -> Cost {
        let id = test_for(item, handling == Handling::Exchanged, handling == Handling::Replaced);
        let test = self.knowledge.test(id);
        if test.is_none() {
            self.timeline.unknown.push((number, id.to_owned()));
        }
        let known = test.map(|index| &self.knowledge.tests[index]);
        let cost = known.map_or_else(Cost::default, |test| self.perform(test, None));
        self.disturb(number, test, item, handling, a, b);
        cost
    }

    /// Notes what an exchange, re-seat or replacement touched, and moves the items.
    fn disturb(
        &mut self,
        number: usize,
        test: Option<usize>,
        item: Item,
        handling: Handling,
        a: Cylinder,
        b: Option<Cylinder>,
    ) {
        let before = self.timeline.arrangement.clone();
        let known = test.map(|index| &self.knowledge.tests[index]);
        let touched = touched(&self.timeline.engine, &before, known, item, handling, [Some(a), b]);
        if let Some(b) = b {
            let engine = &self.timeline.engine;
            self.timeline.arrangement.exchange(engine, item, a, b);
        }
        let work = test.map(|test| timeline::Work { test, a, b });
        self.note_disturbance(before, Disturbance { work, ..Disturbance::new(number, touched) });
    }

    /// Keeps a disturbance, and who was where before it.
    fn note_disturbance(&mut self, before: Arrangement, disturbance: Disturbance) {
        self.timeline.disturbances.push(disturbance);
        self.before.push(before);
    }

    fn number(&self, item: Option<Item>, seat: Seat, position: Cylinder) -> Cylinder {
        let now = &self.timeline.arrangement;
        seat_number(now, self.timeline.engine.depth, item, seat, position)
    }

    fn remedy(&mut self, number: usize, id: &str, place: Place) -> Cost {
        let knowledge = self.knowledge;
        let Some(index) = knowledge.cause(id) else {
            self.timeline.unknown.push((number, id.to_owned()));
            return Cost::default();
        };
        let cause = &knowledge.causes[index];
        let mut cost = Cost::default();
        let touched = touched_by_remedy(&self.timeline, cause, place);
        if let Some(remedy) = &cause.remedy
            // What the last exchange or re-seat set right was paid for there.
            && !already_done(knowledge, &self.timeline, index, place)
        {
            cost = self.prepare(&remedy.states, &remedy.access) + remedy.cost;
        }
        let remedied = Some((index, place));
        let before = self.timeline.arrangement.clone();
        self.note_disturbance(
            before,
            Disturbance { remedied, ..Disturbance::new(number, touched) },
        );
        cost
    }
}
