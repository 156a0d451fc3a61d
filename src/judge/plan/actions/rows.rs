//! How probable each outcome of a test is under each hypothesis.
//!
//! What a table test shows is foreseen by the rule by which it will be judged, looks before it
//! counted in; exchanges, re-seats and substitutions
//! follow from the seats. It must not price anything.

use std::collections::BTreeMap;

use crate::diagnosis::assess::{Diagnosis, Weighed};
use crate::diagnosis::data::Kind;
use crate::diagnosis::model::{Looks, There, arranged, chances, verdict_row};
use crate::diagnosis::path::MOST;
use crate::plan::cases::Case;
use crate::plan::forecast::{Forecaster, MISREAD};
use facts::job::entry::Reading;
use facts::job::read::would_touch;
use facts::job::timeline::Disturbance;
use facts::knowledge::{Charge, Item, Test};
use measure::engine::Cylinder;

/// Which faults of each explanation are there now, worked out once for all tests.
pub(super) struct Now<'a, 'b> {
    pub(super) diagnosis: &'b Diagnosis<'a>,
    /// Faults that may be there together, each list once.
    lists: Vec<Vec<There>>,
    /// By explanation: which list is there, with the share of its ways.
    present: Vec<Vec<(usize, f64)>>,
}

impl<'a, 'b> Now<'a, 'b> {
    /// Of a diagnosis.
    pub(super) fn of(diagnosis: &'b Diagnosis<'a>) -> Self {
        let slot = diagnosis.model.timeline.disturbances.len().min(MOST);
        let mut numbers: BTreeMap<Vec<There>, usize> = BTreeMap::new();
        let mut of = |weighed: &Weighed| {
            let mut list: Vec<(usize, f64)> = Vec::new();
            let all: f64 = weighed.parts.iter().map(|(_, share)| share).sum();
            for (parts, share) in &weighed.parts {
                let there = parts.iter().filter(|part| part.presence >> slot & 1 == 1);
                let there: Vec<There> =
                    there.map(|part| diagnosis.model.to_look_at(part)).collect();
                let next = numbers.len();
                let number = *numbers.entry(there).or_insert(next);
                match list.iter_mut().find(|known| known.0 == number) {
                    Some(known) => known.1 += share / all,
                    None => list.push((number, share / all)),
                }
            }
            list
        };
        let present = diagnosis.kept.iter().map(&mut of).collect();
        let mut lists = vec![Vec::new(); numbers.len()];
        for (list, number) in numbers {
            lists[number] = list;
        }
        Self { diagnosis, lists, present }
    }

    /// Chances of what a table test done now would be said to show, under each case: what the
    /// diagnosis will make of that entry, given the looks before.
    fn of_table(&self, cases: &[Case], looks: &Looks) -> Vec<Vec<f64>> {
        let model = &self.diagnosis.model;
        let mut speaks = Speaks::new(looks, model.candidates.len());
        // By what each look finds: many explanations do not differ in it.
        let mut known: BTreeMap<Vec<Vec<There>>, Vec<f64>> = BTreeMap::new();
        let mut of_list: Vec<Option<Vec<f64>>> = vec![None; self.lists.len()];
        let mut of_explanation = |index: usize, into: &mut Vec<f64>, probability: f64| {
            if looks.findings.is_empty() {
                for &(list, share) in &self.present[index] {
                    let row = of_list[list].get_or_insert_with(|| {
                        let mut concerned = self.lists[list].clone();
                        let now = &model.timeline.arrangement;
                        concerned.retain(|&there| {
                            speaks.of(0, there, || model.speaks_to(there, looks, now))
                        });
                        model.first_look(&concerned, looks)
                    });
                    add(into, row, probability * share);
                }
            } else {
                let parts = &self.diagnosis.kept[index].parts;
                let all: f64 = parts.iter().map(|(_, share)| share).sum();
                for (parts, share) in parts {
                    let of_look = |look: usize| {
                        model.concerned(parts, looks, look, |there, then| {
                            speaks.of(look, there, || model.speaks_to(there, looks, then))
                        })
                    };
                    let concerned = (0..=looks.findings.len()).map(of_look).collect();
                    let row = known
                        .entry(concerned)
                        .or_insert_with_key(|concerned| model.outlook(concerned, looks));
                    add(into, row, probability * share / all);
                }
            }
        };
        let outcomes = model.knowledge.tests[looks.test].outcomes.len();
        let of_case = |case: &Case| {
            let mut row = vec![0.0; outcomes];
            for &(index, probability) in &case.members {
                of_explanation(index, &mut row, probability);
            }
            let sum: f64 = row.iter().sum();
            row.into_iter().map(|chance| chance / sum).collect()
        };
        cases.iter().map(of_case).collect()
    }

    /// What work on seats done now would be said to show, under each case: each explanation counted
    /// to it with each of its faults there or not, as it stands.
    fn of_handling(
        &self,
        cases: &[Case],
        outcomes: usize,
        adding: &mut Adding<'_>,
    ) -> Vec<Vec<f64>> {
        let mut of_case = |(index, case): (usize, &Case)| {
            let mut shares: BTreeMap<Vec<usize>, f64> = BTreeMap::new();
            for &(index, probability) in &case.members {
                for &(list, share) in &self.present[index] {
                    let there = self.lists[list].iter().map(|there| there.candidate).collect();
                    *shares.entry(there).or_default() += probability * share;
                }
            }
            let most = shares.values().copied().fold(0.0, f64::max);
            let mut row = vec![0.0; outcomes];
            for (there, share) in shares {
                if share > most * TRIFLE {
                    adding(index, &there, &mut row, share);
                }
            }
            let sum: f64 = row.iter().sum();
            row.into_iter().map(|chance| chance / sum).collect()
        };
        cases.iter().enumerate().map(&mut of_case).collect()
    }
}

/// Whether a test speaks to a fault at each of some looks, asked once.
struct Speaks(Vec<Vec<Option<bool>>>);

impl Speaks {
    fn new(looks: &Looks, candidates: usize) -> Self {
        Self(vec![vec![None; Charge::ALL.len() * candidates]; looks.findings.len() + 1])
    }

    fn of(&mut self, look: usize, there: There, says: impl FnOnce() -> bool) -> bool {
        let at = Charge::ALL.len() * there.candidate + there.charge as usize;
        *self.0[look][at].get_or_insert_with(says)
    }
}

/// Share of the likeliest way of a case below which a way is left out where work on seats is
/// foreseen.
const TRIFLE: f64 = 1e-3;

/// Adds the row of a case, by index, with these candidates there, times a share.
type Adding<'f> = dyn FnMut(usize, &[usize], &mut Vec<f64>, f64) + 'f;

fn add(into: &mut [f64], row: &[f64], share: f64) {
    for (to, from) in into.iter_mut().zip(row) {
        *to += share * from;
    }
}

/// Chances of the outcomes of work on seats under each kept hypothesis: `[outcome][hypothesis]`.
pub(super) fn by_handling(
    now: &Now<'_, '_>,
    cases: &[Case],
    test: usize,
    cylinder: Cylinder,
    partner: Option<Cylinder>,
    numbers: Option<&Numbers>,
) -> Vec<Vec<f64>> {
    let outcomes = now.diagnosis.model.knowledge.tests[test].outcomes.len();
    let by_case = now.of_handling(cases, outcomes, &mut |case, there, into, share| {
        let row = handling_row(now.diagnosis, (case, there), test, cylinder, partner, numbers);
        add(into, &row, share);
    });
    transpose(&by_case, outcomes)
}

/// The same of a look that is one more of some.
pub(super) fn by_table(now: &Now<'_, '_>, cases: &[Case], looks: &Looks) -> Vec<Vec<f64>> {
    let outcomes = now.diagnosis.model.knowledge.tests[looks.test].outcomes.len();
    transpose(&now.of_table(cases, looks), outcomes)
}

/// Turns `[hypothesis][outcome]` into `[outcome][hypothesis]`.
pub(crate) fn transpose(by_hypothesis: &[Vec<f64>], outcomes: usize) -> Vec<Vec<f64>> {
    (0..outcomes).map(|o| by_hypothesis.iter().map(|row| row[o]).collect()).collect()
}

/// An exchange, re-seat or substitution: what would be said of it, from the seats.
fn handling_row(
    diagnosis: &Diagnosis<'_>,
    (case, there): (usize, &[usize]),
    index: usize,
    cylinder: Cylinder,
    partner: Option<Cylinder>,
    numbers: Option<&Numbers>,
) -> Vec<f64> {
    let model = &diagnosis.model;
    let (knowledge, timeline) = (model.knowledge, model.timeline);
    let test = &knowledge.tests[index];
    let before = &timeline.arrangement;
    let after = arranged(before, &timeline.engine, test, cylinder, partner);
    let touched = would_touch(knowledge, timeline, index, cylinder, partner);
    let disturbance = Disturbance::new(0, touched);
    let here = match test.item {
        Some(Item::LeadAtBox) => cylinder,
        _ => before.display_of(cylinder),
    };
    // What no fault explains is natural to the cylinder, and an exchange of leads takes it along
    // just as it would a fault there.
    let cylinder_shown = before.cylinder_shown(here);
    let natural = diagnosis.assessment.odd_display == Some(here);
    let natural_now = after.display_of(cylinder_shown);
    // Each fault stays or is cured, independently.
    let mut cases: Vec<(f64, bool, bool, bool)> = vec![(1.0, false, false, false)];
    for &c in there {
        let candidate = &model.candidates[c];
        let cure = chances(
            knowledge,
            timeline,
            candidate.fault,
            candidate.seat,
            &candidate.numbers,
            &disturbance,
        )
        .cure;
        let shown = model.displays(candidate, before, &[]);
        let then = model.displays(candidate, &after, &[]);
        cases = cases
            .into_iter()
            .flat_map(|(p, had, stays, elsewhere)| {
                let had = had || shown.contains(&here);
                let now = (
                    p * (1.0 - cure),
                    had,
                    stays || then.contains(&here),
                    elsewhere || then.iter().any(|d| *d != here && !shown.contains(d)),
                );
                [(p * cure, had, stays, elsewhere), now]
            })
            .collect();
    }
    let numbers = numbers.filter(|numbers| numbers.display == here);
    let mistaken = numbers.map(|numbers| numbers.mistaken[case]);
    let mut row = vec![0.0; test.outcomes.len()];
    for (p, had, stays, elsewhere) in cases {
        let seen = match (had, natural) {
            (true, _) => Some((stays, elsewhere)),
            (false, true) => Some((natural_now == here, natural_now != here)),
            (false, false) => None,
        };
        let own = match mistaken {
            Some(mistaken) => by_numbers(seen, mistaken, test),
            None => verdict_row(seen, test),
        };
        for (to, from) in row.iter_mut().zip(own) {
            *to += p * from;
        }
    }
    row
}

/// Chances of the verdicts when numbers are read and each display may be mistaken.
fn by_numbers(seen: Option<(bool, bool)>, mistaken: f64, test: &Test) -> Vec<f64> {
    let words = verdict_row(seen, test);
    let mut row = vec![0.0; words.len()];
    let flips = [(false, false), (true, false), (false, true), (true, true)];
    // A re-seat has no other display to move to.
    let elsewhere = test.outcomes.iter().any(|outcome| outcome.id == "moved");
    for (here, there) in flips.into_iter().filter(|flip| elsewhere || !flip.1) {
        let chance = |flip: bool| if flip { mistaken } else { 1.0 - mistaken };
        let then = seen.map(|(stays, elsewhere)| (stays != here, elsewhere != there));
        // The verdict that this looks like; words have a doubt of their own that numbers have not.
        let like = verdict_row(then, test);
        let clearest = (0..like.len()).max_by(|a, b| like[*a].total_cmp(&like[*b]).then(b.cmp(a)));
        if let Some(clearest) = clearest {
            row[clearest] += chance(here) * if elsewhere { chance(there) } else { 1.0 };
        }
    }
    let count = f64::from(u32::try_from(row.len()).unwrap_or(1));
    row.into_iter().map(|chance| (1.0 - MISREAD) * chance + MISREAD / count).collect()
}

/// What numbers read after work would be taken for, at the point read last.
pub(super) struct Numbers {
    display: Cylinder,
    /// By case: the chance that they are taken for odd where they are not, or the other way round.
    mistaken: Vec<f64>,
}

impl Numbers {
    /// Where the display of a cylinder shows numbers and was read running since the last disturbance.
    pub(super) fn of(diagnosis: &Diagnosis<'_>, focus: Cylinder, cases: &[Case]) -> Option<Self> {
        let timeline = diagnosis.model.timeline;
        let display = timeline.arrangement.display_of(focus);
        let slot = timeline.disturbances.len();
        let last = timeline.sets.iter().rev().find(|set| set.after == slot && set.is_settled())?;
        if !matches!(last.readings[usize::from(display) - 1], Reading::Degrees(_)) {
            return None;
        }
        let kind = Kind { site: last.site, at: last.at };
        let forecaster = Forecaster::new(diagnosis, kind, display);
        Some(Self {
            display,
            mistaken: cases.iter().map(|case| forecaster.mistaken(case)).collect(),
        })
    }
}

/// Whether all hypotheses give every outcome the same chance.
pub(super) fn tells_nothing(rows: &[Vec<f64>]) -> bool {
    rows.iter().all(|row| {
        let (low, high) = row.iter().fold((1.0_f64, 0.0_f64), |(l, h), p| (l.min(*p), h.max(*p)));
        high - low < 1e-6
    })
}
