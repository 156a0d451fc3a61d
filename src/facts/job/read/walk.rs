//! Takes in a journal entry by entry: what each did to the engine, the seats and the clock.
//!
//! It must not drop an entry silently: what does not fit becomes a note of the timeline.

use super::touch::{Handling, Touched, seat_number, touched, touched_by_remedy};
use super::{already_done, thermal_of};
use crate::job::arrangement::Arrangement;
use crate::job::check;
use crate::job::complaint::Complaint;
use crate::job::entry::{Entry, Journal, Reading, What};
use crate::job::fit::{FitLine, Noted, Sheet};
use crate::job::timeline::{
    self, Closing, Disturbance, Finding, ReadingSet, Standing, Timeline, Touch, Verdict, test_for,
};
use crate::job::trim::{TrimmedSet, Trimming};
use crate::knowledge::{CANNOT, Item, Knowledge, RunningPoint, Scope, Seat, Test, Thermal};
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
        self.timeline.disturbances.push(Disturbance {
            entry: number,
            touched,
            remedied: None,
            verdict: None,
            work: test.map(|test| timeline::Work { test, a, b }),
        });
        self.before.push(before);
    }

    fn number(&self, item: Option<Item>, seat: Seat, position: Cylinder) -> Cylinder {
        let now = &self.timeline.arrangement;
        seat_number(now, self.timeline.engine.depth, item, seat, position)
    }

    /// A finding that came with a log: nothing was done for it, and nothing disturbed.
    fn logged(&mut self, number: usize, test_id: &str, outcome_id: &str, cylinder: Cylinder) {
        let known = self.knowledge.test(test_id).and_then(|test| {
            let outcomes = &self.knowledge.tests[test].outcomes;
            Some((test, outcomes.iter().position(|outcome| outcome.id == outcome_id)?))
        });
        let Some((test, outcome)) = known else {
            self.timeline.unknown.push((number, format!("{test_id} {outcome_id}")));
            return;
        };
        self.timeline.findings.push(Finding {
            entry: number,
            test,
            outcome,
            cylinder: Some(cylinder),
            partner: None,
            at: None,
            arrangement: self.timeline.arrangement.clone(),
            after: self.timeline.disturbances.len(),
        });
    }

    fn found(
        &mut self,
        number: usize,
        test_id: &str,
        outcome_id: &str,
        (cylinder, partner): (Option<Cylinder>, Option<Cylinder>),
        at: Option<RunningPoint>,
    ) -> Cost {
        let knowledge = self.knowledge;
        let Some(test) = knowledge.test(test_id) else {
            self.timeline.unknown.push((number, test_id.to_owned()));
            return Cost::default();
        };
        let known = &knowledge.tests[test];
        let cannot = outcome_id == CANNOT;
        if cannot && !self.timeline.barred.contains(&test) {
            self.timeline.barred.push(test);
        }
        if cannot && known.outcomes.iter().all(|o| o.id != CANNOT) {
            return Cost::default();
        }
        let Some(outcome) = known.outcomes.iter().position(|o| o.id == outcome_id) else {
            let id = format!("{test_id} {outcome_id}");
            self.timeline.unknown.push((number, id));
            return Cost::default();
        };
        if known.kind.follows_seats() {
            return self.verdict(number, test, outcome, cylinder, partner);
        }
        let cost = self.perform(known, at.filter(|_| known.at_point));
        self.timeline.findings.push(Finding {
            entry: number,
            test,
            outcome,
            cylinder,
            partner,
            at,
            arrangement: self.timeline.arrangement.clone(),
            after: self.timeline.disturbances.len(),
        });
        // The finding is what was seen on the way in, so the disturbance comes after it.
        self.disturbed_by_looking(number, known, cylinder);
        cost
    }

    /// Seats that a test other than an exchange undoes and remakes.
    fn disturbed_by_looking(&mut self, number: usize, test: &Test, cylinder: Option<Cylinder>) {
        if test.reseats.is_empty() {
            return;
        }
        let positions: Vec<Cylinder> = match (cylinder, test.scope) {
            (Some(cylinder), _) => vec![cylinder],
            (None, Scope::Engine) => self.timeline.engine.all().collect(),
            (None, Scope::Cylinder) => return,
        };
        let mut touched = Touched::default();
        for &position in &positions {
            for &(seat, share) in &test.reseats {
                let seat_number = self.number(test.item, seat, position);
                touched.add(seat, seat_number, Touch::Reseated(share));
            }
        }
        self.timeline.disturbances.push(Disturbance {
            entry: number,
            touched: touched.0,
            remedied: None,
            verdict: None,
            work: None,
        });
        self.before.push(self.timeline.arrangement.clone());
    }

    /// A verdict in words: on the work it speaks of, or, when none was entered, as that work.
    fn verdict(
        &mut self,
        number: usize,
        test: usize,
        outcome: usize,
        cylinder: Option<Cylinder>,
        partner: Option<Cylinder>,
    ) -> Cost {
        let known = &self.knowledge.tests[test];
        let disturbances = &mut self.timeline.disturbances;
        let count = disturbances.len();
        let meant = disturbances.iter().enumerate().rev().find_map(|(at, d)| {
            let work = d.work.filter(|work| {
                let places = [Some(work.a), work.b];
                work.test == test
                    && cylinder.is_none_or(|c| places.contains(&Some(c)))
                    && partner.is_none_or(|p| places.contains(&Some(p)))
            })?;
            Some((at, work))
        });
        // Words already given are corrected only while nothing else has happened since.
        let meant = meant.filter(|&(at, _)| disturbances[at].verdict.is_none() || at + 1 == count);
        if let Some((at, work)) = meant {
            let odd = cylinder.unwrap_or(work.a);
            let other = [Some(work.a), work.b].into_iter().flatten().find(|&c| c != odd);
            disturbances[at].verdict = Some(Verdict {
                entry: number,
                test,
                outcome,
                cylinder: odd,
                partner: other,
                before: self.before[at].clone(),
                superseded: false,
            });
            return Cost::default();
        }
        let (Some(cylinder), Some(item)) = (cylinder, known.item) else {
            let id = format!("{} without a cylinder", known.id);
            self.timeline.unknown.push((number, id));
            return Cost::default();
        };
        let cost = self.perform(known, None);
        let before = self.timeline.arrangement.clone();
        let handling = Handling::of(known);
        // Only an exchange with a named partner changes who is where; one without is taken as
        // put back when it had been read.
        let with = partner.filter(|_| !known.moves.is_empty());
        self.disturb(number, Some(test), item, handling, cylinder, with);
        if let Some(disturbance) = self.timeline.disturbances.last_mut() {
            disturbance.verdict = Some(Verdict {
                entry: number,
                test,
                outcome,
                cylinder,
                partner,
                before,
                superseded: false,
            });
        }
        cost
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
        self.timeline.disturbances.push(Disturbance {
            entry: number,
            touched,
            remedied: Some((index, place)),
            verdict: None,
            work: None,
        });
        self.before.push(self.timeline.arrangement.clone());
        cost
    }

    /// Does a test as far as the engine's state is concerned, at a running point where that matters, and says
    /// what it cost.
    fn perform(&mut self, test: &Test, at: Option<RunningPoint>) -> Cost {
        let there = at.map(|at| [at.thermal]);
        let setup = self
            .prepare(there.as_ref().map_or(&test.states, <[Thermal; 1]>::as_slice), &test.access);
        if let Some(state) = test.leaves {
            // The test's own time covers how it leaves the engine.
            let _ = self.arrive(state);
        }
        setup + test.cost
    }

    /// Brings the engine to one of the states, opens what must be open.
    fn prepare(&mut self, states: &[Thermal], access: &[usize]) -> Cost {
        let now = self.timeline.thermal;
        let rates = self.knowledge.constants.rates;
        let way = |to: Thermal| self.knowledge.changes.between(now, to).total(rates);
        let to = if states.contains(&now) {
            now
        } else {
            let cheapest = states.iter().copied().min_by(|a, b| way(*a).total_cmp(&way(*b)));
            cheapest.unwrap_or(now)
        };
        let mut cost = self.arrive(to);
        for &index in access {
            if !self.timeline.open_access.contains(&index) {
                cost = cost + self.knowledge.access[index].cost;
                self.timeline.open_access.push(index);
            }
        }
        self.timeline.open_access.sort_unstable();
        cost
    }

    /// Changes the engine's state; what blocks running is closed before it runs.
    fn arrive(&mut self, to: Thermal) -> Cost {
        let cost = self.knowledge.changes.between(self.timeline.thermal, to);
        if matches!(to, Thermal::Idle | Thermal::Cruise | Thermal::Full) {
            let access = &self.knowledge.access;
            self.timeline.open_access.retain(|&index| !access[index].blocks_running);
        }
        self.timeline.thermal = to;
        cost
    }

    /// Words are not used where numbers were taken on both sides: before the work, and after it
    /// before anything else was touched.
    fn mark_superseded(&mut self) {
        let sets = &self.timeline.sets;
        for (index, disturbance) in self.timeline.disturbances.iter_mut().enumerate() {
            let Some(verdict) = &mut disturbance.verdict else {
                continue;
            };
            verdict.superseded = sets.iter().any(|before| {
                before.after <= index
                    && sets.iter().any(|after| {
                        after.after == index + 1 && after.site == before.site && {
                            // A cold set answers nothing about an oddness seen running.
                            let cold = |set: &ReadingSet| set.at.is_cold();
                            cold(before) == cold(after) && numbers(before) && numbers(after)
                        }
                    })
            });
        }
    }
}

/// Whether a set has numbers to compare.
fn numbers(set: &ReadingSet) -> bool {
    set.readings.iter().any(|r| r.middle().is_some())
}
