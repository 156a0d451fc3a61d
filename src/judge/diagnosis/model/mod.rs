//! The likelihood of everything entered, given which faults were there and when.
//!
//! Brings the parts together: readings through one joint Gaussian, display states, findings
//! by their tables, verdicts in words. It says how likely the entries are under one
//! explanation; weighing explanations is `assess`'s work.

mod besides;
mod candidate;
mod counted;
mod courses;
mod covariance;
mod depth;
mod display;
mod expected;
mod findings;
mod glance;
mod keys;
#[cfg(test)]
mod laws;
mod level;
mod looked_at;
pub(crate) mod settling;
mod state_chain;
mod states;
mod together;
mod verdicts;

use std::collections::BTreeMap;
use std::rc::Rc;

use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use measure::engine::Cylinder;

use super::complained;
use super::data::Data;
use super::effect::{self, Context, Moments};
use super::gaussian::{Cells, Moved, Touched, Weight};
use super::linalg::log_sum_exp;
use super::looks::{MOST_LOOKS, Shows};
use super::path::{MOST, Presence};
use super::physics::Installed;
use super::prior::{self, Prior};
use super::result::CauseRef;
use candidate::candidate;
use counted::{counted_looks, looked_beside, read_before, said};
use display::active;
use expected::Expected;
use findings::showing;

pub(crate) use candidate::{Candidate, chances};
pub(crate) use counted::DEPTH_IN_WORDS;
pub use counted::said_by_numbers;
pub(crate) use depth::{DepthsSeen, depths_seen, narrowed};
pub(crate) use display::Renaming;
pub(crate) use findings::{Looks, Sight, There};
pub(crate) use glance::Glance;
pub(crate) use verdicts::{arranged, verdict_row};

/// A fault with one of its sides and one of its paths.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Part {
    /// Index into [`Model::candidates`].
    pub(crate) candidate: usize,
    /// Index into its moments.
    pub(crate) side: usize,
    /// Stretches between disturbances in which it is with the engine.
    pub(crate) presence: Presence,
    /// Reading sets at which it shows, where it is there at all.
    pub(crate) shows: Shows,
    /// Journal entry before which it had not begun.
    pub(crate) since: usize,
}

impl Part {
    /// A fault that shows whenever it is there.
    pub(crate) fn always(candidate: usize, side: usize, presence: Presence) -> Self {
        Self { candidate, side, presence, shows: Shows::MAX, since: 0 }
    }

    /// Whether it is with the engine in a stretch, at a journal entry.
    pub(crate) fn there(&self, slot: usize, entry: usize) -> bool {
        self.presence >> slot & 1 == 1 && self.since <= entry
    }

    /// Whether it shows in a reading set, by its index, taken in a stretch.
    pub(crate) fn shows_in(&self, slot: usize, set: usize) -> bool {
        self.presence >> slot & 1 == 1 && self.shows >> set.min(MOST_LOOKS - 1) & 1 == 1
    }
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
    /// How exhaust probes sit at each kind of reading, where that is known.
    pub(crate) installed: Vec<Option<Installed>>,
    /// Measured depths by candidate.
    pub(crate) depths: DepthsSeen,
    bases: Vec<Cells>,
    /// Index of the base where some displays are misnamed for some of the time; the first base is that of
    /// no misnaming.
    renamed: BTreeMap<(Renaming, Presence), usize>,
    /// Displays by candidate and timeline set, with no misnaming.
    shown: Vec<Vec<Vec<Cylinder>>>,
    /// For each candidate the first that always shows on the same displays.
    alike: Vec<usize>,
    /// The same where displays are misnamed in some way.
    alike_misnamed: Vec<usize>,
    /// Slots in which numbers were read.
    read: Presence,
    /// By slot the reading sets that were taken in it.
    taken: Rc<[Shows]>,
    /// The scales at which is glanced; in a model without a display those of the whole one.
    main: Vec<Weight>,
    /// The cells that are glanced at, and the log of what the likelihood with the faults of
    /// [`Model::glance_as`] gains from all others.
    glance: (Vec<usize>, f64),
    /// Reading sets there are.
    looked: Shows,
    /// Findings that count, as looks at one place each.
    pub(crate) looks: Vec<Looks>,
    /// By finding the last reading set before it.
    read_before: Rc<[Option<usize>]>,
    /// The reading sets after which somebody looked at how the engine runs just then.
    looked_beside: Shows,
    /// Stretches that findings, verdicts and measured depths hang on.
    said_in: Presence,
    /// Journal entries that they hang on, in order.
    said_at: Rc<[usize]>,
    /// What each test is expected to show of each cause.
    expected: Rc<Expected>,
    /// How often a cause shows at each steady point, against the one where it shows most.
    showing: Vec<[f64; 3]>,
    /// Displays hidden from the readings, for what-if likelihoods.
    hidden: Option<Cylinder>,
    /// Log chance of the states shown when no display is at fault.
    usual_states: f64,
    /// What the states shown know of each candidate.
    told_by_states: Rc<[states::Told]>,
    /// What they come to with one of them alone.
    chains: state_chain::Chains,
}

impl<'a> Model<'a> {
    /// Prepares a job.
    pub(crate) fn new(knowledge: &'a Knowledge, timeline: &'a Timeline) -> Self {
        let data = Data::gather(timeline);
        let installed = effect::installed(timeline, &data.kinds, &data.levels);
        let context = Context {
            knowledge,
            engine: &timeline.engine,
            kinds: &data.kinds,
            levels: &data.levels,
            installed: &installed,
        };
        let mut moments: Vec<Vec<Moments>> = (0..knowledge.causes.len())
            .map(|cause| effect::moments(context, cause, None))
            .collect();
        moments.push(effect::unlisted(context));
        let ways = settling::came_from(&data);
        for (cause, moments) in knowledge.causes.iter().zip(&mut moments) {
            if cause.passes() {
                *moments = settling::one_way(moments, &ways);
            }
        }
        let Timeline { engine, recent, sheet, history, complaint, .. } = timeline;
        let sheets = (sheet, history.as_ref());
        let mut prior = prior::prior(knowledge, engine, recent, sheets, complaint);
        complained::once_read(&mut prior, knowledge, timeline);
        let looks = counted_looks(knowledge, timeline);
        let seen = seen_slots(timeline, &data, &looks);
        let mut known = Vec::new();
        let candidates = prior
            .singles
            .iter()
            .map(|single| candidate(knowledge, timeline, single, seen, &mut known))
            .collect::<Vec<_>>();
        let expected = Rc::new(Expected::of(knowledge, &candidates));
        let depths = depths_seen(context, timeline, &candidates);
        let looked = (0..data.sets.len().min(MOST_LOOKS)).fold(0, |all, look| all | 1 << look);
        let read = data.sets.iter().fold(0, |slots, set| slots | 1 << set.slot);
        let mut taken = vec![0; MOST + 1];
        for (look, set) in data.sets.iter().enumerate() {
            taken[set.slot] |= 1 << look.min(MOST_LOOKS - 1);
        }
        let read_before = read_before(timeline, &data);
        let looked_beside = looked_beside(knowledge, timeline, &looks, &read_before);
        let (said_in, said_at) = said(timeline, &data, &looks, &read_before);
        let mut model = Self {
            knowledge,
            timeline,
            data,
            prior,
            candidates,
            moments,
            installed,
            depths,
            bases: Vec::new(),
            renamed: BTreeMap::new(),
            shown: Vec::new(),
            alike: Vec::new(),
            alike_misnamed: Vec::new(),
            read,
            taken: taken.into(),
            main: Vec::new(),
            glance: (Vec::new(), 0.0),
            looked,
            looks,
            read_before,
            looked_beside,
            said_in,
            said_at,
            expected,
            showing: showing(knowledge, timeline),
            hidden: None,
            usual_states: 0.0,
            told_by_states: Rc::from([]),
            chains: state_chain::Chains::of(0),
        };
        model.chains = state_chain::Chains::of(model.candidates.len());
        model.told_by_states = model.what_states_tell();
        model.prepare_displays();
        model.prepare_states();
        model.prepare_bases(true);
        model.prepare_courses();
        model.glance_as(&[]);
        model
    }

    /// Glances from now on also at the scales that are the likeliest with these faults there.
    ///
    /// Where a fault was cured, only a gross unrest explains the readings without it; what else may be
    /// wrong beside it would be held against a scale at which nothing stands off.
    pub(crate) fn glance_as(&mut self, parts: &[Part]) {
        if self.bases.is_empty() {
            return;
        }
        let renamings = self.renamings(parts);
        let base = self.base_for(&renamings);
        let effects = self.effects(base, parts, &renamings);
        let usual = base.usual(&effects);
        let mut cells = vec![usual];
        // What explained best before stays: a cylinder that is unusual by nature, or a misread number.
        for cell in [Some(base.best(&effects)), self.glance.0.last().copied()].into_iter().flatten()
        {
            if !cells.contains(&cell) {
                cells.push(cell);
            }
        }
        let rest = base.log_density(&effects, |_| true) - at_some(base, &cells, &effects);
        self.main = cells.iter().map(|&cell| base.weights()[cell].clone()).collect();
        self.glance = (cells, rest);
    }

    /// The same job with one display's numbers taken as unknown, and wherever parts were moved also those
    /// on which any of the candidates that show on it shows then; for causes that misname nothing.
    pub(crate) fn without_display(&self, display: Cylinder, here: &[usize]) -> Self {
        let mut data = self.data.clone();
        for set in &mut data.sets {
            set.row_of[usize::from(display) - 1] = None;
            let arrangement = &self.timeline.sets[set.index].arrangement;
            if arrangement.is_original() {
                continue;
            }
            for &c in here {
                for shown in self.displays(&self.candidates[c], arrangement, &[]) {
                    set.row_of[usize::from(shown) - 1] = None;
                }
            }
        }
        let mut model = Self {
            knowledge: self.knowledge,
            timeline: self.timeline,
            data,
            prior: Prior {
                healthy: self.prior.healthy,
                singles: Vec::new(),
                pairs: self.prior.pairs,
                misnamed: self.prior.misnamed,
                besides: self.prior.besides,
            },
            candidates: self.candidates.clone(),
            moments: self.moments.clone(),
            installed: self.installed.clone(),
            depths: self.depths.clone(),
            bases: Vec::new(),
            renamed: BTreeMap::new(),
            shown: self.shown.clone(),
            alike: self.alike.clone(),
            alike_misnamed: self.alike_misnamed.clone(),
            read: self.read,
            taken: Rc::clone(&self.taken),
            main: self.main.clone(),
            glance: (Vec::new(), 0.0),
            looked: self.looked,
            looks: self.looks.clone(),
            read_before: Rc::clone(&self.read_before),
            looked_beside: self.looked_beside,
            said_in: self.said_in,
            said_at: Rc::clone(&self.said_at),
            expected: Rc::clone(&self.expected),
            showing: self.showing.clone(),
            hidden: Some(display),
            usual_states: 0.0,
            told_by_states: Rc::clone(&self.told_by_states),
            chains: state_chain::Chains::of(self.candidates.len()),
        };
        model.prepare_states();
        model.prepare_bases(false);
        model.glance_as(&[]);
        model
    }

    /// Whether a candidate is no fault and passes by itself.
    pub(crate) fn passes(&self, candidate: usize) -> bool {
        self.candidates[candidate].passes
    }

    /// Sides of a candidate.
    pub(crate) fn sides(&self, candidate: usize) -> &[Moments] {
        match self.candidates[candidate].fault.cause {
            CauseRef::Listed(index) => &self.moments[index],
            CauseRef::Unlisted => &self.moments[self.moments.len() - 1],
        }
    }

    /// Log likelihood of the readings, numbers and states; without `guarded` only at
    /// the scales that are glanced at, with an allowance for the rest.
    pub(crate) fn log_readings(&self, parts: &[Part], guarded: bool) -> f64 {
        let log = self.log_states(parts);
        if self.data.rows.is_empty() {
            return log;
        }
        // As it is glanced at beside all others of its place.
        if let ([part], false) = (parts, guarded)
            && self.by_looks(part.candidate)
            && let choice = self.shown(part.presence, part.shows).0
            && let Some(sheet) = self.sheet(part.candidate, &self.glance(), &[choice])
        {
            return log + self.logs_of_choices(&sheet, &self.glance(), part)[0];
        }
        let renamings = self.renamings(parts);
        let base = self.base_for(&renamings);
        let effects = self.effects(base, parts, &renamings);
        log + if guarded {
            base.log_density(&effects, |_| true)
        } else {
            at_some(base, &self.glance.0, &effects) + self.glance.1
        }
    }

    /// Misfit of the numbers, with its degrees of freedom.
    pub(crate) fn misfit(&self, parts: &[Part]) -> (f64, usize) {
        if self.data.rows.is_empty() {
            return (0.0, 0);
        }
        let renamings = self.renamings(parts);
        let base = self.base_for(&renamings);
        let effects = self.effects(base, parts, &renamings);
        (base.misfit(base.best(&effects), &effects), base.field.freedom())
    }

    /// Log likelihood of findings and verdicts.
    pub(crate) fn log_words(&self, parts: &[Part]) -> f64 {
        self.log_findings(parts) + self.log_verdicts(parts) + self.log_depths(parts)
    }

    /// What a part does to readings.
    pub(crate) fn moments_of(&self, part: &Part) -> &Moments {
        narrowed(&self.depths, part).unwrap_or(&self.sides(part.candidate)[part.side])
    }

    /// What the parts do to the readings that `base` is made of, those that misname displays left out.
    fn effects<'s>(
        &'s self,
        base: &Cells,
        parts: &[Part],
        renamings: &[(Renaming, Presence)],
    ) -> Vec<Moved<'s>> {
        let mut effects = Vec::with_capacity(parts.len());
        for part in parts {
            let candidate = &self.candidates[part.candidate];
            if candidate.renaming.is_some() {
                continue;
            }
            let on = self.touched_by(base, part, renamings);
            let moments = self.moments_of(part);
            effects.push(Moved { on, mean: &moments.mean, factor: &moments.factor });
        }
        effects
    }

    /// Readings that a part shows on, of those that `base` is made of.
    fn touched_by(
        &self,
        base: &Cells,
        part: &Part,
        renamings: &[(Renaming, Presence)],
    ) -> Rc<Touched> {
        let (shown, presence) = self.shown(part.presence, part.shows);
        let which = || self.touched(part, renamings);
        match *renamings {
            [] => {
                let key = (self.alike[part.candidate], presence & self.read, shown);
                base.field.touched(key, which)
            }
            [(renaming, misnamed)] if presence == 0 => {
                let alike = self.alike_misnamed[part.candidate];
                let key = alike + self.candidates.len() * renaming.number();
                base.field.touched((key, misnamed & self.read, shown), which)
            }
            _ => Rc::new(base.field.touched_anew(which())),
        }
    }

    /// Forgets what was worked out of faults beside misnamed displays, a covariance for each way in which these
    /// were misnamed.
    pub(crate) fn forget_misnamed(&self) {
        for base in self.bases.iter().skip(1) {
            base.forget();
        }
    }

    /// The first candidate that always shows on the same displays.
    pub(crate) fn alike(&self, candidate: usize) -> usize {
        self.alike[candidate]
    }

    /// Readings that a part shows on; `None` where displays are misnamed, or no number was read.
    pub(crate) fn readings_of(&self, part: &Part) -> Option<Rc<Touched>> {
        let misnamed = self.candidates[part.candidate].renaming.is_some();
        (!misnamed && !self.data.rows.is_empty())
            .then(|| self.touched_by(&self.bases[0], part, &[]))
    }

    /// Candidates in an order in which those come together that always show on the same displays, so that
    /// what these readings come to need not be kept for long.
    pub(crate) fn those_alike_together(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.candidates.len()).collect();
        order.sort_by_key(|&c| self.alike[c]);
        order
    }

    /// Rows that a part shows on, each with its kind.
    fn touched(&self, part: &Part, renamings: &[(Renaming, Presence)]) -> Vec<(usize, usize)> {
        let passes = self.candidates[part.candidate].passes;
        let mut touched = Vec::new();
        for (look, set) in self.data.sets.iter().enumerate() {
            if !part.shows_in(set.slot, look) || passes && set.again {
                continue;
            }
            let active = active(renamings, set.slot);
            for &display in self.displays_in(part.candidate, set.index, &active).iter() {
                touched.extend(set.row_of[usize::from(display) - 1].map(|row| (row, set.kind)));
            }
        }
        touched
    }

    /// What a hypothesis does to the readings, for forecasts; `base` is [`Model::base_of`] it.
    pub(crate) fn effects_of(&self, base: &Cells, parts: &[Part]) -> Vec<Moved<'_>> {
        self.effects(base, parts, &self.renamings(parts))
    }
}

/// Slots in which something was read, found or said.
fn seen_slots(timeline: &Timeline, data: &Data, looks: &[Looks]) -> Presence {
    let mut seen: Presence = 0;
    for set in &data.sets {
        seen |= 1 << set.slot;
    }
    for &index in looks.iter().flat_map(|looks| &looks.findings) {
        seen |= 1 << timeline.findings[index].after.min(MOST);
    }
    for measured in timeline.sheet.measured() {
        seen |= 1 << measured.after.min(MOST);
    }
    for (index, disturbance) in timeline.disturbances.iter().enumerate().take(MOST) {
        if disturbance.verdict.as_ref().is_some_and(|v| !v.superseded) {
            seen |= 0b11 << index;
        }
    }
    seen
}

/// Log of what some cells weigh together: the usual one, in which a fault explains what stands off, and
/// the one that weighs most, with nothing wrong and with the likeliest fault. With the usual one alone the
/// allowance for the rest would be that of a misread number, and be given to faults that need none.
fn at_some(base: &Cells, cells: &[usize], effects: &[Moved<'_>]) -> f64 {
    let logs: Vec<f64> = cells.iter().map(|&cell| base.log_at(cell, effects)).collect();
    log_sum_exp(&logs)
}
