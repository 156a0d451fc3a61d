//! How each candidate may have shown over the reading sets of the job.
//!
//! Which courses are worth following is seen from how any fault on the same displays would fare with
//! them; a course that no size of fault makes likely is left out. It must not weigh causes.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::{Candidate, Model, Part};
use crate::diagnosis::gaussian::{Moved, Strip};
use crate::diagnosis::linalg::Matrix;
use crate::diagnosis::looks::{Chances, Course, Kind, MOST_LOOKS, Shows, courses};
use crate::diagnosis::path::{Path, Presence};
use crate::diagnosis::result::CauseRef;
use facts::knowledge::{Cause, Lasting};
use measure::engine::Place;

/// Log of the share of the likeliest course below which a course is left out.
const NEGLIGIBLE: f64 = -7.0;

/// Probability of a way in which work acted on a fault up to which no course is followed for its sake.
const SELDOM: f64 = 0.01;

/// A fault of any size: its sd, °C, and the correlation between kinds of reading.
const ANY: (f64, f64) = (80.0, 0.5);

/// Natural standard deviations up to which a level that never changed may be one where the fault rests, and
/// from which it may be one where it shows.
const RESTS: f64 = 3.0;
const SHOWS: f64 = 1.0;

/// Levels at which displays stood at one kind of reading.
struct Levels {
    /// Looks at it.
    all: Shows,
    /// Those at the lower of two levels; none where there was but one.
    jump: Shows,
    /// Middles of what they showed, in natural standard deviations from the others: below the jump and above it; the same
    /// where there was none.
    middles: [f64; 2],
}

impl Levels {
    /// Looks at which a fault may have shown that makes the displays low (`way` -1) or high (1).
    fn shown(&self, way: f64) -> Vec<Shows> {
        if self.jump != 0 {
            let (shown, [below, above]) = (self.jump, self.middles);
            let (shown, other) =
                if way < 0.0 { (shown, above) } else { (self.all & !shown, below) };
            // It may show at both levels, more at the one than at the other.
            let both = (way * other > SHOWS).then_some(self.all);
            return [shown].into_iter().chain(both).collect();
        }
        let off = way * self.middles[0];
        if off < SHOWS {
            vec![0]
        } else if off > RESTS {
            vec![self.all]
        } else {
            vec![0, self.all]
        }
    }
}

/// Standard deviations in which two readings of one display at one point are taken to differ.
const APART: f64 = 3.0;

impl Model<'_> {
    /// Works out the courses of every candidate. Most have those of another at their place.
    pub(super) fn prepare_courses(&mut self) {
        let looks = self.data.sets.len();
        let mut list: Vec<Option<Rc<[Course]>>> = vec![None; self.candidates.len()];
        let mut known: Vec<Followed> = Vec::new();
        let mut met: Vec<Rc<[Course]>> = Vec::new();
        let mut place: Option<(usize, AnyFault<'_, '_>)> = None;
        for number in self.those_alike_together() {
            let alike = self.alike[number];
            if place.as_ref().is_none_or(|(other, _)| *other != alike) {
                known.clear();
                place = Some((alike, AnyFault::of(self, number)));
            }
            let Some((_, place)) = &mut place else { continue };
            let candidate = &self.candidates[number];
            let worked_on = self.worked_on(candidate);
            let chances = self.course_chances(candidate, worked_on.contains(&true));
            let gaps = self.gaps(candidate, &worked_on);
            let paths = &candidate.paths;
            let same = |other: &&Followed| {
                Rc::ptr_eq(&other.paths, paths) && other.chances == chances && other.gaps == gaps
            };
            let before = known.iter().find(same).map(|other| Rc::clone(&other.courses));
            list[number] = Some(before.unwrap_or_else(|| {
                let all = courses(looks, &gaps, chances, place.patterns());
                let kept = self.worth_following(number, all, place);
                let before = met.iter().find(|other| ***other == *kept).map(Rc::clone);
                let kept = before.unwrap_or_else(|| {
                    met.push(Rc::from(kept));
                    Rc::clone(&met[met.len() - 1])
                });
                let paths = Rc::clone(paths);
                known.push(Followed { paths, chances, gaps, courses: Rc::clone(&kept) });
                kept
            }));
        }
        for (candidate, courses) in self.candidates.iter_mut().zip(list) {
            candidate.courses = courses.unwrap_or_else(|| Rc::from([]));
        }
    }

    /// Journal entry before which a fault of a course had not begun, and the stretch of its first set.
    pub(crate) fn began(&self, course: &Course) -> (usize, usize) {
        if course.kind != Kind::Begun {
            return (0, 0);
        }
        let first = course.shows.trailing_zeros() as usize;
        let entry = |look: usize| self.timeline.sets[self.data.sets[look].index].entry;
        (entry(first - 1) + 1, self.data.sets[first].slot)
    }

    /// Whether a part stands out at some point that was read: by half a natural spread, or by a display
    /// that shows no number.
    pub(crate) fn shows_somewhere(&self, part: &Part) -> bool {
        let candidate = &self.candidates[part.candidate];
        let moments = self.moments_of(part);
        let engine = &self.timeline.engine;
        let silent = match candidate.fault.cause {
            CauseRef::Listed(index) => self.knowledge.causes[index]
                .states_running
                .is_some_and(|s| s.open + s.stuck + s.falling > 0.1),
            CauseRef::Unlisted => false,
        };
        silent
            || candidate.renaming.is_some()
            || self.data.kinds.is_empty()
            || self.data.kinds.iter().enumerate().any(|(kind, k)| {
                let square: f64 = moments.factor.row(kind).iter().map(|f| f * f).sum();
                let size = (square + moments.mean[kind].powi(2)).sqrt();
                size > 0.5 * self.knowledge.natural_sd(engine, k.site, k.at)
            })
    }

    /// Chances of the courses of a candidate; `worked_on` where something was done at its seat between two looks.
    fn course_chances(&self, candidate: &Candidate, worked_on: bool) -> Chances {
        let constants = &self.knowledge.constants;
        let none = Chances {
            begun: 0.0,
            comes_and_goes: 0.0,
            on: constants.on_share,
            again: constants.look_again,
        };
        if candidate.passes || candidate.renaming.is_some() {
            return none;
        }
        // A loop that breaks drops out first.
        let breaks = |c: &Cause| c.states_running.is_some_and(|s| s.open > 0.5);
        let loose = |c: &Cause| c.is_intermittent() || breaks(c);
        let share = match candidate.fault.cause {
            CauseRef::Listed(index) => f64::from(u8::from(loose(&self.knowledge.causes[index]))),
            // What no list has comes and goes as often as what is listed.
            CauseRef::Unlisted => {
                let sum = |of: &dyn Fn(&Cause) -> bool| -> f64 {
                    let applies = |c: &&Cause| c.applies.holds(&self.timeline.engine) && of(c);
                    self.knowledge.causes.iter().filter(applies).map(|c| c.weight).sum()
                };
                sum(&loose) / sum(&|_| true).max(f64::MIN_POSITIVE)
            }
        };
        let [begun, loose_begun] = constants.begun;
        let said = self.timeline.complaint.comes_and_goes();
        let factor = if said { constants.said_to_come } else { 1.0 };
        let [comes, loose_comes] = constants.comes_and_goes.map(|chance| {
            let said_so = factor * chance / (factor * chance + (1.0 - chance));
            // What began during the job is not among what is said of the time before.
            said_so.min(1.0 - begun.max(loose_begun))
        });
        if self.is_fixed(candidate) {
            // Somebody worked on it: as is entered, or unentered.
            let begun = if worked_on { begun } else { constants.self_cure_fixed };
            return Chances { begun, ..none };
        }
        let mixed = |firm: f64, loose: f64| firm + share * (loose - firm);
        Chances {
            begun: mixed(begun, loose_begun),
            comes_and_goes: mixed(comes, loose_comes),
            ..none
        }
    }

    /// Whether a fault stays as it is unless somebody works on it.
    fn is_fixed(&self, candidate: &Candidate) -> bool {
        match candidate.fault.cause {
            CauseRef::Listed(index) => self.knowledge.causes[index].lasting == Lasting::Fixed,
            CauseRef::Unlisted => false,
        }
    }

    /// Between which looks something was done at the seat of a candidate.
    fn worked_on(&self, candidate: &Candidate) -> Vec<bool> {
        let sets = self.data.sets.iter();
        let slots: Vec<usize> = sets.map(|set| self.timeline.sets[set.index].after).collect();
        let touched = |from: usize, to: usize| {
            self.timeline.disturbances[from..to].iter().any(|d| {
                d.touched.iter().any(|(seat, number, _)| {
                    *seat == candidate.seat && candidate.numbers.contains(number)
                })
            })
        };
        slots.windows(2).map(|pair| touched(pair[0], pair[1].max(pair[0]))).collect()
    }

    /// How likely, relative to each other, the gaps between reading sets are to be where a fault began. None is
    /// impossible: of a shape or a setting somebody may have done something that is not entered.
    fn gaps(&self, candidate: &Candidate, worked_on: &[bool]) -> Vec<f64> {
        let constants = &self.knowledge.constants;
        let untouched = if self.is_fixed(candidate) && worked_on.contains(&true) {
            TOUCHED * constants.self_cure_fixed / constants.begun[0]
        } else {
            1.0
        };
        worked_on.iter().map(|&touched| if touched { TOUCHED } else { untouched }).collect()
    }

    /// Patterns in which the displays of a candidate went from one level to another more than once: those in
    /// which the fault made them low, and those in which it made them high.
    fn patterns(&self, number: usize) -> Vec<Shows> {
        let candidate = &self.candidates[number];
        if matches!(candidate.fault.place, Place::Nowhere) || candidate.renaming.is_some() {
            return Vec::new();
        }
        let levels: Vec<Levels> =
            (0..self.data.kinds.len()).map(|kind| self.levels(number, kind)).collect();
        if levels.iter().all(|levels| levels.jump == 0) {
            return Vec::new();
        }
        let mut list = Vec::new();
        for way in [-1.0, 1.0] {
            let mut patterns: Vec<Shows> = vec![0];
            for levels in &levels {
                let options = levels.shown(way);
                patterns = patterns
                    .iter()
                    .flat_map(|pattern| options.iter().map(move |option| pattern | option))
                    .collect();
            }
            list.extend(patterns);
        }
        list
    }

    /// What a candidate's displays showed at one kind of reading, against the others.
    fn levels(&self, number: usize, kind: usize) -> Levels {
        let mut seen: Vec<(usize, f64)> = Vec::new();
        for (look, set) in self.data.sets.iter().enumerate().take(MOST_LOOKS) {
            if set.kind != kind {
                continue;
            }
            let displays = &self.shown[number][set.index];
            let others: Vec<f64> =
                set.row_of.iter().flatten().map(|&r| self.data.rows[r].value).collect();
            let Some(level) = measure::readings::outlier::median(&others) else { continue };
            let rows = displays.iter().filter_map(|d| set.row_of[usize::from(*d) - 1]);
            let values: Vec<f64> = rows.map(|r| self.data.rows[r].value - level).collect();
            let Some(value) = measure::readings::outlier::median(&values) else { continue };
            seen.push((look, value));
        }
        seen.sort_by(|a, b| a.1.total_cmp(&b.1));
        let bits = |looks: &[(usize, f64)]| looks.iter().fold(0, |all, (look, _)| all | 1 << look);
        let known = self.data.kinds[kind];
        let natural = self.knowledge.natural_sd(&self.timeline.engine, known.site, known.at);
        let middle = |looks: &[(usize, f64)]| {
            let values: Vec<f64> = looks.iter().map(|(_, value)| *value).collect();
            measure::readings::outlier::median(&values).unwrap_or(0.0) / natural
        };
        let levels = Levels { all: bits(&seen), jump: 0, middles: [middle(&seen); 2] };
        let wide = seen
            .windows(2)
            .enumerate()
            .max_by(|a, b| (a.1[1].1 - a.1[0].1).total_cmp(&(b.1[1].1 - b.1[0].1)));
        let rho = crate::diagnosis::data::repeatability(self.knowledge, known);
        match wide {
            Some((at, pair)) if pair[1].1 - pair[0].1 > APART * rho => {
                let (below, above) = seen.split_at(at + 1);
                Levels { jump: bits(below), middles: [middle(below), middle(above)], ..levels }
            }
            _ => levels,
        }
    }

    /// The courses that some size of fault makes likely, and that in which it shows throughout.
    fn worth_following(
        &self,
        number: usize,
        all: Vec<Course>,
        place: &mut AnyFault<'_, '_>,
    ) -> Vec<Course> {
        if all.len() == 1 || self.data.rows.is_empty() {
            return all.into_iter().take(1).collect();
        }
        let there = self.looks_while_there(number);
        let there = &there;
        let shows = |shows: Shows| there.iter().map(move |(mask, _)| shows & mask);
        place.look(all.iter().flat_map(|course| shows(course.shows)).collect());
        // Of what was cured it does not matter how it would have shown since: what fits as far as it was there
        // is followed, or a fault put right would look like one that rests.
        let logs: Vec<f64> = all
            .iter()
            .map(|course| {
                let ways = shows(course.shows)
                    .zip(there)
                    .map(|(shows, (_, log))| place.fared[&shows] + log);
                ways.fold(f64::NEG_INFINITY, f64::max) + course.probability.ln()
            })
            .collect();
        let best = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let kept: Vec<Course> = all
            .into_iter()
            .zip(logs)
            .enumerate()
            .filter(|(nth, (_, log))| *nth == 0 || log - best > NEGLIGIBLE)
            .map(|(_, (course, _))| course)
            .collect();
        kept
    }

    /// The looks at which a candidate is there, in each way that work may have acted on it, with the log of how
    /// probable that is.
    fn looks_while_there(&self, number: usize) -> Vec<(Shows, f64)> {
        let mut ways: BTreeMap<Shows, f64> = BTreeMap::new();
        for path in self.candidates[number].paths.iter() {
            let sets = self.data.sets.iter().take(MOST_LOOKS).enumerate();
            let there = sets.filter(|(_, set)| path.presence >> set.slot & 1 == 1);
            let mask = there.fold(0, |mask: Shows, (look, _)| mask | 1 << look);
            *ways.entry(mask).or_default() += path.probability;
        }
        let least = ways.values().copied().fold(0.0, f64::max).min(SELDOM);
        ways.into_iter().filter(|(_, p)| *p >= least).map(|(mask, p)| (mask, p.ln())).collect()
    }
}

/// Courses that were found worth following for some candidate of a place.
struct Followed {
    paths: Rc<[Path]>,
    chances: Chances,
    gaps: Vec<f64>,
    courses: Rc<[Course]>,
}

/// A fault of any size at a place.
struct AnyFault<'m, 'k> {
    model: &'m Model<'k>,
    /// A candidate there.
    number: usize,
    /// Where displays went from one level to another, once that was asked for.
    patterns: Option<Vec<Shows>>,
    strip: Strip,
    /// Log likelihood of the numbers where it shows at some looks.
    fared: BTreeMap<Shows, f64>,
}

impl<'m, 'k> AnyFault<'m, 'k> {
    fn of(model: &'m Model<'k>, number: usize) -> Self {
        let strip = model.strip(number);
        Self { model, number, patterns: None, strip, fared: BTreeMap::new() }
    }

    fn patterns(&mut self) -> &[Shows] {
        self.patterns.get_or_insert_with(|| self.model.patterns(self.number))
    }

    /// Works out how it fares where it shows at these looks.
    fn look(&mut self, mut choices: Vec<Shows>) {
        choices.sort_unstable();
        choices.dedup();
        choices.retain(|shows| !self.fared.contains_key(shows));
        let base = &self.model.bases[0];
        let fare = |factor: &Matrix, mean: &[f64], shows: Shows| {
            let part = Part { shows, ..Part::always(self.number, 0, Presence::MAX) };
            let on = Rc::new(base.field.touched_anew(self.model.touched(&part, &[])));
            base.log_ordinary(&[Moved { on, mean, factor }])
        };
        let kinds = self.model.data.kinds.len();
        let (sd, together) = ANY;
        let mut factor =
            Matrix::from_fn(kinds, kinds, |i, j| sd * sd * if i == j { 1.0 } else { together });
        factor.cholesky();
        let mean = vec![0.0; kinds];
        // Where there are more looks than are told apart, one by one.
        if !self.model.has_sheets(self.number) {
            let fared: Vec<f64> =
                choices.iter().map(|shows| fare(&factor, &mean, *shows)).collect();
            self.fared.extend(choices.into_iter().zip(fared));
            return;
        }
        let sheet = base.sheet(&self.strip, base.ordinary(), &choices);
        self.fared.extend(choices.into_iter().zip(sheet.logs(&(&mean, &factor))));
    }
}

/// How much likelier a fault is to have begun where its seat was touched than between two other looks.
const TOUCHED: f64 = 5.0;
