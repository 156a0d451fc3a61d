//! The likelihood of everything entered, given which faults were there and when.
//!
//! Brings the parts together: readings through one joint Gaussian, display states, findings
//! by their tables, verdicts in words. It says how likely the entries are under one
//! explanation; weighing explanations is `assess`'s work.

use std::borrow::Cow;
use std::collections::BTreeMap;

use crate::engine::{Cylinder, Engine, Place, ProbeSite, RunningPoint};
use crate::job::arrangement::Arrangement;
use crate::job::entry::Reading;
use crate::job::timeline::{Disturbance, Finding, Timeline, Touch, Verdict};
use crate::knowledge::{Item, Knowledge, Law, Scope, Seat, StateChances, Test};

use super::data::{Data, correlation, repeatability};
use super::effect::{self, Context, Moments};
use super::gaussian::{Base, Shift, Tail};
use super::linalg::Matrix;
use super::path::{Chances, MOST, Path, Presence, paths};
use super::prior::{self, Prior};
use super::result::{CauseRef, Fault};
use super::tables;

/// Displays or channels that stand for each other.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Renaming {
    /// The leads of two cylinders are crossed at the probes.
    Joint(Cylinder, Cylinder),
    /// Two channels bear each other's names.
    Name(Cylinder, Cylinder),
}

/// A single cause prepared for the likelihood.
#[derive(Debug, Clone)]
pub(crate) struct Candidate {
    pub(crate) fault: Fault,
    pub(crate) prior: f64,
    pub(crate) seat: Seat,
    /// First numbers of the seats it is on.
    pub(crate) numbers: Vec<Cylinder>,
    pub(crate) renaming: Option<Renaming>,
    pub(crate) paths: Vec<Path>,
}

/// A fault with one of its sides and one of its paths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Part {
    /// Index into [`Model::candidates`].
    pub(crate) candidate: usize,
    /// Index into its moments.
    pub(crate) side: usize,
    pub(crate) presence: Presence,
}

/// Everything about a job that the hypotheses share.
#[derive(Debug)]
pub(crate) struct Model<'a> {
    pub(crate) knowledge: &'a Knowledge,
    pub(crate) timeline: &'a Timeline,
    pub(crate) data: Data,
    pub(crate) prior: Prior,
    pub(crate) candidates: Vec<Candidate>,
    /// Sides by cause index; the cause in no list comes last.
    moments: Vec<Vec<Moments>>,
    bases: Vec<Base>,
    /// Index of the base where some displays are misnamed for some of the time; the first base is that of
    /// no misnaming.
    renamed: BTreeMap<(Renaming, Presence), usize>,
    /// Displays by candidate and timeline set, with no misnaming.
    shown: Vec<Vec<Vec<Cylinder>>>,
    /// Extra variance of a misread number, by row.
    misread: Vec<f64>,
    /// Findings that count, by index into the timeline's.
    pub(crate) findings: Vec<usize>,
    /// Displays hidden from the readings, for what-if likelihoods.
    hidden: Option<Cylinder>,
    /// Log chance of the states shown when no display is at fault.
    usual_states: f64,
}

impl<'a> Model<'a> {
    /// Prepares a job.
    pub(crate) fn new(knowledge: &'a Knowledge, timeline: &'a Timeline) -> Self {
        let data = Data::gather(timeline);
        let context = Context {
            knowledge,
            engine: &timeline.engine,
            kinds: &data.kinds,
            levels: &data.levels,
        };
        let mut moments: Vec<Vec<Moments>> =
            (0..knowledge.causes.len()).map(|cause| effect::moments(context, cause)).collect();
        moments.push(vec![effect::unlisted(context)]);
        let prior = prior::prior(knowledge, &timeline.engine, &timeline.recent);
        let findings = counted_findings(knowledge, timeline);
        let seen = seen_slots(timeline, &data, &findings);
        let candidates = prior
            .singles
            .iter()
            .map(|single| candidate(knowledge, timeline, single.fault, single.prior, seen))
            .collect();
        let factor = knowledge.constants.misread_factor - 1.0;
        let misread = data
            .rows
            .iter()
            .map(|row| factor * repeatability(knowledge, data.kinds[row.kind]).powi(2))
            .collect();
        let mut model = Self {
            knowledge,
            timeline,
            data,
            prior,
            candidates,
            moments,
            bases: Vec::new(),
            renamed: BTreeMap::new(),
            shown: Vec::new(),
            misread,
            findings,
            hidden: None,
            usual_states: 0.0,
        };
        model.prepare_displays();
        model.prepare_states();
        model.prepare_bases(true);
        model
    }

    /// The same job with one display's numbers taken as unknown, for causes that misname nothing.
    pub(crate) fn without_display(&self, display: Cylinder) -> Self {
        let mut data = self.data.clone();
        for set in &mut data.sets {
            set.row_of[usize::from(display) - 1] = None;
        }
        let mut model = Self {
            knowledge: self.knowledge,
            timeline: self.timeline,
            data,
            prior: Prior {
                healthy: self.prior.healthy,
                singles: Vec::new(),
                pairs: self.prior.pairs,
            },
            candidates: self.candidates.clone(),
            moments: self.moments.clone(),
            bases: Vec::new(),
            renamed: BTreeMap::new(),
            shown: self.shown.clone(),
            misread: self.misread.clone(),
            findings: self.findings.clone(),
            hidden: Some(display),
            usual_states: 0.0,
        };
        model.prepare_states();
        model.prepare_bases(false);
        model
    }

    /// Sides of a candidate.
    pub(crate) fn sides(&self, candidate: usize) -> &[Moments] {
        match self.candidates[candidate].fault.cause {
            CauseRef::Listed(index) => &self.moments[index],
            CauseRef::Unlisted => &self.moments[self.moments.len() - 1],
        }
    }

    /// Log likelihood of the readings, numbers and states.
    pub(crate) fn log_readings(&self, parts: &[Part], guarded: bool) -> f64 {
        let mut log = self.log_states(parts);
        if self.data.rows.is_empty() {
            return log;
        }
        let renamings = self.renamings(parts);
        let shift = self.shift(parts, &renamings);
        let base = self.base_for(&renamings);
        let constants = &self.knowledge.constants;
        log += if guarded {
            base.log_density_guarded(&shift, constants.misread_chance, &self.misread)
        } else {
            base.log_density(&shift)
        };
        log
    }

    /// Log chance that no number was misread.
    pub(crate) fn nothing_misread(&self) -> f64 {
        let n = f64::from(u32::try_from(self.data.rows.len()).unwrap_or(u32::MAX));
        n * (-self.knowledge.constants.misread_chance).ln_1p()
    }

    /// Misfit of the numbers, with its degrees of freedom.
    pub(crate) fn misfit(&self, parts: &[Part]) -> (f64, usize) {
        if self.data.rows.is_empty() {
            return (0.0, 0);
        }
        let renamings = self.renamings(parts);
        let base = self.base_for(&renamings);
        (base.misfit(&self.shift(parts, &renamings)), base.freedom())
    }

    /// Log likelihood of findings and verdicts.
    pub(crate) fn log_words(&self, parts: &[Part]) -> f64 {
        let found: f64 = self
            .findings
            .iter()
            .map(|&index| {
                let finding = &self.timeline.findings[index];
                self.finding_row(parts, finding)[finding.outcome].ln()
            })
            .sum();
        found + self.log_verdicts(parts)
    }

    /// Chances of a finding's outcomes.
    pub(crate) fn finding_row(&self, parts: &[Part], finding: &Finding) -> Vec<f64> {
        let test = &self.knowledge.tests[finding.test];
        let slot = finding.after.min(MOST);
        let present =
            parts.iter().filter(|part| part.presence >> slot & 1 == 1).map(|p| p.candidate);
        self.outcome_row(present, test, finding.cylinder, &finding.arrangement)
    }

    /// Chances of a table test's outcomes when these candidates are present.
    pub(crate) fn outcome_row(
        &self,
        present: impl Iterator<Item = usize>,
        test: &Test,
        cylinder: Option<Cylinder>,
        arrangement: &Arrangement,
    ) -> Vec<f64> {
        let mut rows: Vec<Vec<f64>> = Vec::new();
        for index in present {
            let candidate = &self.candidates[index];
            if !self.concerns(candidate, test, cylinder, arrangement) {
                continue;
            }
            match candidate.fault.cause {
                CauseRef::Listed(cause) => rows.extend(test.given.get(&cause).cloned()),
                CauseRef::Unlisted => rows.push(unlisted_row(&test.default)),
            }
        }
        let rows: Vec<&[f64]> = rows.iter().map(Vec::as_slice).collect();
        tables::together(&test.default, &rows)
    }

    /// Whether a test on a cylinder looks at what a candidate is attached to.
    pub(crate) fn concerns(
        &self,
        candidate: &Candidate,
        test: &Test,
        cylinder: Option<Cylinder>,
        arrangement: &Arrangement,
    ) -> bool {
        let (Scope::Cylinder, Some(cylinder)) = (test.scope, cylinder) else {
            return true;
        };
        if let Place::Bank(_) = candidate.fault.place {
            return candidate.fault.place.cylinders(&self.timeline.engine).contains(&cylinder);
        }
        let travels = self.timeline.engine.depth_travels();
        // What is at the box is looked at from its display; all else where it is.
        let at_the_box = matches!(candidate.seat, Seat::Lead | Seat::Channel | Seat::Settings);
        candidate.numbers.iter().any(|&number| {
            arrangement.cylinder_of(candidate.seat, number, travels) == cylinder
                || at_the_box
                    && arrangement.display_showing(candidate.seat, number, travels) == cylinder
        })
    }

    /// Displays on which a candidate shows with parts arranged so.
    pub(crate) fn displays(
        &self,
        candidate: &Candidate,
        arrangement: &Arrangement,
        renamings: &[Renaming],
    ) -> Vec<Cylinder> {
        if candidate.renaming.is_some() {
            return Vec::new();
        }
        let travels = self.timeline.engine.depth_travels();
        let mut displays: Vec<Cylinder> = candidate
            .numbers
            .iter()
            .map(|&number| match candidate.seat {
                Seat::Settings => number,
                Seat::Channel => rename(renamings, number, true),
                Seat::Lead => {
                    let display = arrangement.position_of(Item::LeadAtBox, number);
                    rename(renamings, display, true)
                }
                seat => {
                    let cylinder = arrangement.cylinder_of(seat, number, travels);
                    let lead =
                        rename(renamings, arrangement.item_at(Item::LeadAtProbe, cylinder), false);
                    rename(renamings, arrangement.position_of(Item::LeadAtBox, lead), true)
                }
            })
            .collect();
        displays.sort_unstable();
        displays.dedup();
        displays
    }

    /// Renamings among the parts, each with its presence.
    fn renamings(&self, parts: &[Part]) -> Vec<(Renaming, Presence)> {
        parts
            .iter()
            .filter_map(|part| Some((self.candidates[part.candidate].renaming?, part.presence)))
            .collect()
    }

    fn shift(&self, parts: &[Part], renamings: &[(Renaming, Presence)]) -> Shift {
        let mut sum: Option<Shift> = None;
        for part in parts {
            let candidate = &self.candidates[part.candidate];
            if candidate.renaming.is_some() {
                continue;
            }
            let moments = &self.sides(part.candidate)[part.side];
            let mut shift = Shift { columns: self.data.kinds.len(), ..Shift::default() };
            for set in &self.data.sets {
                if part.presence >> set.slot & 1 == 0 {
                    continue;
                }
                let active = active(renamings, set.slot);
                for &display in self.displays_in(part.candidate, set.index, &active).iter() {
                    if let Some(row) = set.row_of[usize::from(display) - 1] {
                        shift.rows.push((row, moments.mean[set.kind]));
                        shift.factors.push(moments.factor.row(set.kind).to_vec());
                    }
                }
            }
            sum = Some(match sum {
                None => shift,
                Some(other) => other.plus(&shift),
            });
        }
        sum.unwrap_or_default()
    }

    /// Log chance of what kind of thing each display showed.
    pub(crate) fn log_states(&self, parts: &[Part]) -> f64 {
        let renamings = self.renamings(parts);
        let mut log = self.usual_states;
        let mut changed: Vec<(Cylinder, StateChances)> = Vec::new();
        for (index, set) in self.timeline.sets.iter().enumerate() {
            let slot = set.after.min(MOST);
            for part in parts.iter().filter(|part| part.presence >> slot & 1 == 1) {
                let candidate = &self.candidates[part.candidate];
                let Some(own) = self.own_states(candidate, index) else {
                    continue;
                };
                let active = active(&renamings, slot);
                for &display in self.displays_in(part.candidate, index, &active).iter() {
                    match changed.iter_mut().find(|(d, _)| *d == display) {
                        Some((_, chances)) => *chances = either(*chances, own),
                        None => changed.push((display, either(self.usual(), own))),
                    }
                }
            }
            for (display, chances) in changed.drain(..).filter(|(d, _)| self.hidden != Some(*d)) {
                let reading = set.readings[usize::from(display) - 1];
                log += (chance_of(reading, chances) / chance_of(reading, self.usual())).ln();
            }
        }
        log
    }

    fn usual(&self) -> StateChances {
        self.knowledge.constants.usual_states
    }

    /// Log chance of the states shown when no display is at fault.
    fn prepare_states(&mut self) {
        let shown = self.timeline.sets.iter().flat_map(|set| (1..).zip(&set.readings));
        self.usual_states = shown
            .filter(|(display, _)| self.hidden != Some(*display))
            .map(|(_, reading)| chance_of(*reading, self.usual()).ln())
            .sum();
    }

    /// A candidate's own chances of display states in a set, if they differ from the usual.
    fn own_states(&self, candidate: &Candidate, set: usize) -> Option<StateChances> {
        let set = &self.timeline.sets[set];
        if candidate.fault.cause.is_measuring(self.knowledge)
            && set.site != self.timeline.engine.probes
        {
            return None;
        }
        let CauseRef::Listed(index) = candidate.fault.cause else {
            return None;
        };
        let cause = &self.knowledge.causes[index];
        match set.at {
            RunningPoint::ColdSoak => cause.states_cold,
            _ => cause.states_running,
        }
    }

    fn log_verdicts(&self, parts: &[Part]) -> f64 {
        self.timeline
            .disturbances
            .iter()
            .enumerate()
            .filter_map(|(index, disturbance)| Some((index, disturbance.verdict.as_ref()?)))
            .filter(|(_, verdict)| !verdict.superseded)
            .map(|(index, verdict)| self.verdict_row(parts, index, verdict)[verdict.outcome].ln())
            .sum()
    }

    /// Chances of the verdicts on the disturbance with this index.
    pub(crate) fn verdict_row(
        &self,
        parts: &[Part],
        disturbance: usize,
        verdict: &Verdict,
    ) -> Vec<f64> {
        let slot = disturbance.min(MOST - 1);
        let test = &self.knowledge.tests[verdict.test];
        let engine = &self.timeline.engine;
        let after = arranged(&verdict.before, engine, test, verdict.cylinder, verdict.partner);
        let shows = |arrangement: &Arrangement, slot: usize| -> Vec<Cylinder> {
            let renamings = active(&self.renamings(parts), slot);
            parts
                .iter()
                .filter(|part| part.presence >> slot & 1 == 1)
                .flat_map(|part| {
                    self.displays(&self.candidates[part.candidate], arrangement, &renamings)
                })
                .collect()
        };
        let here = match test.item {
            Some(Item::LeadAtBox) => verdict.cylinder,
            _ => verdict.before.display_of(verdict.cylinder),
        };
        let before = shows(&verdict.before, slot);
        let now = shows(&after, slot + 1);
        let seen = if before.contains(&here) {
            Some((now.contains(&here), now.iter().any(|d| *d != here && !before.contains(d))))
        } else {
            None
        };
        verdict_row(seen, test)
    }

    /// The base that goes with some misnaming.
    fn base_for(&self, renamings: &[(Renaming, Presence)]) -> &Base {
        // Two misnamings at once are not among the hypotheses.
        let index = renamings.first().and_then(|r| self.renamed.get(r)).copied().unwrap_or(0);
        &self.bases[index]
    }

    /// Bases for every pattern of who is shown where that some hypothesis implies.
    fn prepare_bases(&mut self, with_renamings: bool) {
        if self.data.rows.is_empty() {
            return;
        }
        let mut keys = vec![self.chain_key(&[])];
        self.bases.push(self.base(&keys[0]));
        if !with_renamings {
            return;
        }
        let misnamed: Vec<(Renaming, Presence)> = self
            .candidates
            .iter()
            .filter_map(|c| Some((c.renaming?, &c.paths)))
            .flat_map(|(renaming, paths)| paths.iter().map(move |path| (renaming, path.presence)))
            .collect();
        for renaming in misnamed {
            let key = self.chain_key(&[renaming]);
            let index = keys.iter().position(|k| *k == key).unwrap_or_else(|| {
                self.bases.push(self.base(&key));
                keys.push(key);
                keys.len() - 1
            });
            self.renamed.insert(renaming, index);
        }
    }

    fn prepare_displays(&mut self) {
        self.shown = self
            .candidates
            .iter()
            .map(|candidate| {
                let sets = self.timeline.sets.iter();
                sets.map(|set| self.displays(candidate, &set.arrangement, &[])).collect()
            })
            .collect();
    }

    /// Displays of a candidate in a set.
    fn displays_in(
        &self,
        candidate: usize,
        set: usize,
        active: &[Renaming],
    ) -> Cow<'_, [Cylinder]> {
        if active.is_empty() {
            Cow::Borrowed(&self.shown[candidate][set])
        } else {
            let arrangement = &self.timeline.sets[set].arrangement;
            Cow::Owned(self.displays(&self.candidates[candidate], arrangement, active))
        }
    }

    /// Which cylinder and bank each row shows, numbered in order of first appearance: two
    /// patterns with the same key have the same covariance.
    fn chain_key(&self, renamings: &[(Renaming, Presence)]) -> Vec<u8> {
        let (mut cylinders, mut banks) = (Vec::new(), Vec::new());
        let mut key = Vec::with_capacity(2 * self.data.rows.len());
        for row in &self.data.rows {
            let set = &self.data.sets[row.set];
            let arrangement = &self.timeline.sets[set.index].arrangement;
            let cylinder = shown(arrangement, row.display, &active(renamings, set.slot));
            key.push(number_of(&mut cylinders, cylinder));
            // What banks have in common is small, and misnaming across banks is left out of it.
            let named = arrangement.cylinder_shown(row.display);
            let bank = u8::try_from(self.timeline.engine.bank_of(named)).unwrap_or(0);
            key.push(number_of(&mut banks, bank));
        }
        key
    }

    fn base(&self, key: &[u8]) -> Base {
        let y: Vec<f64> = self.data.rows.iter().map(|row| row.value).collect();
        let set: Vec<usize> = self.data.rows.iter().map(|row| row.set).collect();
        let tail = Tail::Student(self.knowledge.constants.t_freedom);
        Base::new(&y, &set, &self.covariance(key), tail)
    }

    /// The covariance that hypotheses with a key share.
    fn covariance(&self, key: &[u8]) -> Matrix {
        let constants = &self.knowledge.constants;
        let kinds = &self.data.kinds;
        let natural: Vec<f64> = kinds
            .iter()
            .map(|k| self.knowledge.natural_sd(&self.timeline.engine, k.site, k.at))
            .collect();
        let banks = self.timeline.engine.banks.len() > 1;
        let kinds_together = Matrix::from_fn(kinds.len(), kinds.len(), |a, b| {
            natural[a] * natural[b] * correlation(constants, kinds[a], kinds[b])
        });
        let bank_share = constants.bank_share * constants.bank_share;
        let rows = self.data.rows.len();
        let mut covariance = Matrix::from_fn(rows, rows, |i, j| {
            if j > i {
                return 0.0;
            }
            let (a, b) = (self.data.rows[i].kind, self.data.rows[j].kind);
            let scale = kinds_together[(a, b)];
            let mut v = 0.0;
            if key[2 * i] == key[2 * j] {
                v += scale;
            }
            if banks && key[2 * i + 1] == key[2 * j + 1] {
                v += scale * bank_share;
            }
            if i == j {
                v += repeatability(self.knowledge, kinds[a]).powi(2) + self.data.rows[i].extra;
                // A hidden row is given so large a variance that it says nothing.
                if self.hidden == Some(self.data.rows[i].display) {
                    v += 1e9;
                }
            }
            v
        });
        covariance.mirror();
        covariance
    }

    /// The covariance of the readings under some parts, their own effect left out.
    pub(crate) fn covariance_of(&self, parts: &[Part]) -> Matrix {
        self.covariance(&self.chain_key(&self.renamings(parts)))
    }

    /// Extra variance of a misread number, by row.
    pub(crate) fn misread(&self) -> &[f64] {
        &self.misread
    }

    /// What the readings have in common under some parts; `None` where no number was read.
    pub(crate) fn base_of(&self, parts: &[Part]) -> Option<&Base> {
        (!self.data.rows.is_empty()).then(|| self.base_for(&self.renamings(parts)))
    }

    /// The shift of a hypothesis, for forecasts.
    pub(crate) fn shift_of(&self, parts: &[Part]) -> Shift {
        self.shift(parts, &self.renamings(parts))
    }
}

fn candidate(
    knowledge: &Knowledge,
    timeline: &Timeline,
    fault: Fault,
    prior: f64,
    seen: Presence,
) -> Candidate {
    let engine = &timeline.engine;
    let numbers = fault.place.cylinders(engine);
    let seat = match fault.cause {
        CauseRef::Listed(index) => knowledge.causes[index].seat,
        // Something unknown stays with the cylinder.
        CauseRef::Unlisted => Seat::Cylinder,
    };
    let misnamed = |index: usize| {
        knowledge.causes[index].effects.iter().any(|effect| effect.law == Law::Misnamed)
    };
    let renaming = match (fault.cause, fault.place) {
        (CauseRef::Listed(index), Place::Pair(a, b)) if misnamed(index) => Some(match seat {
            Seat::Settings | Seat::Channel => Renaming::Name(a, b),
            _ => Renaming::Joint(a, b),
        }),
        _ => None,
    };
    let chances: Vec<Chances> = timeline
        .disturbances
        .iter()
        .map(|d| {
            let mut chances = chances(knowledge, timeline, fault, seat, &numbers, d);
            if renaming.is_some() {
                // Nothing is crossed again, or put right, by itself. Besides, each way in which
                // it might have been has a covariance of its own to be factorised.
                chances.back = 0.0;
                if chances.cure <= knowledge.constants.self_cure {
                    chances.cure = 0.0;
                }
            }
            chances
        })
        .collect();
    Candidate { fault, prior, seat, numbers, renaming, paths: paths(&chances, seen) }
}

/// Share of the re-seat chance that is left for depth where a fixed collar carries it along.
const COLLAR_SHARE: f64 = 0.125;

/// Chance that a replaced seat takes the fault away with it (inventory section 3, practice).
const REPLACED: f64 = 0.96;

/// Chances that a disturbance cures a fault, and that a cured one is back.
pub(crate) fn chances(
    knowledge: &Knowledge,
    timeline: &Timeline,
    fault: Fault,
    seat: Seat,
    numbers: &[Cylinder],
    disturbance: &Disturbance,
) -> Chances {
    let constants = &knowledge.constants;
    let (reseat, intermittent, remedy) = match fault.cause {
        CauseRef::Listed(index) => {
            let cause = &knowledge.causes[index];
            (cause.reseat, cause.intermittent, cause.remedy.as_ref().map(|r| r.id.as_str()))
        }
        CauseRef::Unlisted => (0.05, false, None),
    };
    let (own, back) = if intermittent {
        (constants.self_cure_intermittent, constants.back_again_intermittent)
    } else {
        (constants.self_cure, constants.back_again)
    };
    let mut cure = own;
    for &(touched, number, touch) in &disturbance.touched {
        if touched != seat || !numbers.contains(&number) {
            continue;
        }
        let chance = match touch {
            Touch::Replaced => REPLACED,
            Touch::Reseated(share) => {
                let travels = timeline.engine.depth_travels();
                let collar = if seat == Seat::Fit && travels { COLLAR_SHARE } else { 1.0 };
                share * collar * reseat
            }
        };
        cure = cure.max(chance);
    }
    if let Some((cause, place)) = disturbance.remedied {
        let same_work = knowledge.causes[cause].remedy.as_ref().map(|r| r.id.as_str());
        let this =
            fault.cause == CauseRef::Listed(cause) || (remedy.is_some() && remedy == same_work);
        if this && place == fault.place {
            cure = cure.max(constants.remedy_works);
        }
    }
    Chances { cure: cure.min(0.99), back }
}

/// Slots in which something was read, found or said.
fn seen_slots(timeline: &Timeline, data: &Data, findings: &[usize]) -> Presence {
    let mut seen: Presence = 0;
    for set in &data.sets {
        seen |= 1 << set.slot;
    }
    for &index in findings {
        seen |= 1 << timeline.findings[index].after.min(MOST);
    }
    for (index, disturbance) in timeline.disturbances.iter().enumerate().take(MOST) {
        if disturbance.verdict.as_ref().is_some_and(|v| !v.superseded) {
            seen |= 0b11 << index;
        }
    }
    seen
}

/// Findings that add something: the last of a repeated one, and none that the numbers say
/// already.
pub(crate) fn counted_findings(knowledge: &Knowledge, timeline: &Timeline) -> Vec<usize> {
    let findings = &timeline.findings;
    (0..findings.len())
        .filter(|&i| {
            let this = &findings[i];
            let repeated = findings[i + 1..].iter().any(|later| {
                later.test == this.test
                    && later.cylinder == this.cylinder
                    && later.after == this.after
            });
            !repeated && !said_by_numbers(&knowledge.tests[this.test].id, timeline)
        })
        .collect()
}

/// Tests that are a way of looking at temperatures: with numbers they have nothing to add.
pub(crate) const READINGS_IN_WORDS: [&str; 4] =
    ["cold-compare", "pattern", "point-compare", "head-exh-pair"];

/// Whether the temperatures that a test looks at have been entered.
#[must_use]
pub fn said_by_numbers(test: &str, timeline: &Timeline) -> bool {
    let main = timeline.engine.probes;
    let has = |site: ProbeSite, at: RunningPoint| {
        timeline.sets.iter().any(|set| {
            set.site == site && set.at == at && set.readings.iter().any(|r| r.middle().is_some())
        })
    };
    let running = [RunningPoint::Idle, RunningPoint::Cruise, RunningPoint::Full];
    match test {
        "cold-compare" => has(main, RunningPoint::ColdSoak),
        "pattern" => running.iter().any(|&at| has(main, at)),
        "point-compare" => running.iter().filter(|&&at| has(main, at)).count() >= 2,
        "head-exh-pair" => {
            running.iter().any(|&at| has(ProbeSite::Exhaust, at) && has(ProbeSite::Head, at))
        }
        _ => false,
    }
}

/// A cause in no list may show anything: half as the default, half evenly spread.
pub(crate) fn unlisted_row(default: &[f64]) -> Vec<f64> {
    let even = 1.0 / f64::from(u32::try_from(default.len()).unwrap_or(1));
    default.iter().map(|d| f64::midpoint(*d, even)).collect()
}

/// Chances of the verdicts in words on an exchange, re-seat or substitution.
///
/// `seen` says whether the oddness is afterwards still on its display, and whether it is on
/// another; `None` when there was none to begin with. A right eye nineteen times out of twenty
/// (common practice, no source).
pub(crate) fn verdict_row(seen: Option<(bool, bool)>, test: &Test) -> Vec<f64> {
    let (right, wrong) = (0.94, 0.02);
    let row: Vec<f64> = test
        .outcomes
        .iter()
        .map(|outcome| match (seen, outcome.id.as_str()) {
            (None, "stays") => 0.93,
            (None, "gone") => 0.03,
            (None, _) => 0.02,
            (Some((false, true)), "moved")
            | (Some((true, false)), "stays")
            | (Some((false, false)), "gone")
            | (Some((true, true)), "other") => right,
            (Some(_), _) => wrong,
        })
        .collect();
    // Where there is no other display to move to there are fewer outcomes.
    let sum: f64 = row.iter().sum();
    row.into_iter().map(|chance| chance / sum).collect()
}

/// Who is where after a test's exchange.
pub(crate) fn arranged(
    before: &Arrangement,
    engine: &Engine,
    test: &Test,
    cylinder: Cylinder,
    partner: Option<Cylinder>,
) -> Arrangement {
    let mut after = before.clone();
    if let (Some(item), false, Some(partner)) = (test.item, test.moves.is_empty(), partner) {
        after.exchange(engine, item, cylinder, partner);
    }
    after
}

fn active(renamings: &[(Renaming, Presence)], slot: usize) -> Vec<Renaming> {
    renamings.iter().filter(|(_, presence)| presence >> slot & 1 == 1).map(|(r, _)| *r).collect()
}

fn rename(renamings: &[Renaming], number: Cylinder, names: bool) -> Cylinder {
    renamings.iter().fold(number, |number, renaming| match (*renaming, names) {
        (Renaming::Name(a, b), true) | (Renaming::Joint(a, b), false) if number == a => b,
        (Renaming::Name(a, b), true) | (Renaming::Joint(a, b), false) if number == b => a,
        _ => number,
    })
}

/// The cylinder a display shows.
pub(crate) fn shown(
    arrangement: &Arrangement,
    display: Cylinder,
    renamings: &[Renaming],
) -> Cylinder {
    let channel = rename(renamings, display, true);
    let lead = rename(renamings, arrangement.item_at(Item::LeadAtBox, channel), false);
    arrangement.position_of(Item::LeadAtProbe, lead)
}

fn number_of(seen: &mut Vec<u8>, value: u8) -> u8 {
    let at = seen.iter().position(|v| *v == value).unwrap_or_else(|| {
        seen.push(value);
        seen.len() - 1
    });
    u8::try_from(at).unwrap_or(u8::MAX)
}

/// Chances where two causes act on one display: independent.
fn either(a: StateChances, b: StateChances) -> StateChances {
    let or = |a: f64, b: f64| 1.0 - (1.0 - a) * (1.0 - b);
    let sum = StateChances {
        open: or(a.open, b.open),
        stuck: or(a.stuck, b.stuck),
        falling: or(a.falling, b.falling),
        erratic: or(a.erratic, b.erratic),
    };
    let total = sum.open + sum.stuck + sum.falling + sum.erratic;
    let most = 0.99;
    let scale = if total > most { most / total } else { 1.0 };
    StateChances {
        open: scale * sum.open,
        stuck: scale * sum.stuck,
        falling: scale * sum.falling,
        erratic: scale * sum.erratic,
    }
}

fn chance_of(reading: Reading, chances: StateChances) -> f64 {
    let chance = match reading {
        Reading::Open => chances.open,
        Reading::Stuck => chances.stuck,
        Reading::Falling => chances.falling,
        Reading::Erratic { .. } => chances.erratic,
        Reading::Degrees(_) => {
            1.0 - chances.open - chances.stuck - chances.falling - chances.erratic
        }
    };
    // One misjudged state must not rule a cause out.
    chance.max(5e-4)
}
