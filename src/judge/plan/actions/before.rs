//! What must be looked at before a remedy destroys the evidence.
//!
//! It must not decide whether a remedy is worth it, nor whether it may be begun.

use crate::diagnosis::model::DEPTH_IN_WORDS;
use crate::diagnosis::{Assessment, CauseRef, Fault, same_work};
use crate::plan::ends::{CAUSE, seen, tells};
use crate::plan::guard::FOUND_AGAIN;
use facts::job::timeline::{Finding, Timeline};
use facts::knowledge::{Knowledge, Remedy, Seat, Test};
use measure::engine::Cylinder;

/// The cheapest look that must still be had before a fault's remedy destroys the evidence: any that its cause
/// names, and, where that said nothing of the fault, those that the remedy's own work brings to hand anyway. Who
/// pulls a probe to set it looks at it before. Where the remedy would not prove the cause by what is known, also a
/// look that would, of the same ones: who sets a probe whose mark is doubtful measures it first; afterwards nobody
/// can.
///
/// Plan, guard, pages and session all ask here: what one of them asks for, none of them passes over.
#[must_use]
pub fn first_look(
    knowledge: &Knowledge,
    timeline: &Timeline,
    assessment: &Assessment,
    fault: Fault,
) -> Option<usize> {
    let CauseRef::Listed(index) = fault.cause else { return None };
    let place = There::of(knowledge, timeline, fault)?;
    let named = place.named();
    if place.is_undone() || place.is_measured(&named) {
        return None;
    }
    if !named.iter().any(|&test| place.findings(test).next().is_some()) {
        return place.cheapest(named);
    }
    let left: Vec<usize> = named.iter().copied().filter(|&test| place.is_left(test)).collect();
    let was_seen = seen(knowledge, timeline, fault);
    let spoke = |&test: &usize| place.findings(test).any(|finding| place.speaks(finding));
    if !(was_seen || left.is_empty() || named.iter().any(spoke)) {
        return place.cheapest(left);
    }
    if was_seen || same_work(knowledge, assessment, fault) >= CAUSE {
        return None;
    }
    let proves = |test: &usize| {
        let test = &knowledge.tests[*test];
        let row = test.given.get(&index).into_iter().flatten();
        row.zip(&test.default).any(|(with, without)| tells(*with, *without))
    };
    place.cheapest(left.into_iter().filter(proves))
}

/// The place of a fault, and the work that would put it right.
struct There<'a> {
    knowledge: &'a Knowledge,
    timeline: &'a Timeline,
    remedy: &'a Remedy,
    cylinders: Vec<Cylinder>,
}

impl<'a> There<'a> {
    /// None where the cause has no remedy.
    fn of(knowledge: &'a Knowledge, timeline: &'a Timeline, fault: Fault) -> Option<Self> {
        let CauseRef::Listed(index) = fault.cause else { return None };
        let remedy = knowledge.causes[index].remedy.as_ref()?;
        let cylinders = fault.place.cylinders(&timeline.engine);
        Some(Self { knowledge, timeline, remedy, cylinders })
    }

    fn cheapest(&self, looks: impl IntoIterator<Item = usize>) -> Option<usize> {
        let (tests, rates) = (&self.knowledge.tests, self.knowledge.constants.rates);
        let total = |&test: &usize| tests[test].cost.total(rates);
        looks.into_iter().min_by(|a, b| total(a).total_cmp(&total(b)))
    }

    /// The looks that the cause names, as far as the engine has what they look at.
    fn named(&self) -> Vec<usize> {
        let holds = |test: &usize| self.knowledge.tests[*test].applies.holds(&self.timeline.engine);
        self.remedy.first.iter().copied().filter(holds).collect()
    }

    /// What a test found here.
    fn findings(&self, test: usize) -> impl Iterator<Item = &Finding> {
        let here =
            |cylinder: Cylinder| self.cylinders.is_empty() || self.cylinders.contains(&cylinder);
        let findings = self.timeline.findings.iter();
        findings.filter(move |f| f.test == test && f.cylinder.is_none_or(here))
    }

    /// Whether a finding speaks for what the work puts right: whichever cause it is, the work is the same.
    fn speaks(&self, finding: &Finding) -> bool {
        let test = &self.knowledge.tests[finding.test];
        let same_work = |cause: usize| {
            let remedy = self.knowledge.causes[cause].remedy.as_ref();
            remedy.is_some_and(|remedy| remedy.id == self.remedy.id)
        };
        let rows = test.given.iter().filter(|(cause, _)| same_work(**cause));
        let most = rows.map(|(_, row)| row[finding.outcome]).fold(0.0, f64::max);
        most > FOUND_AGAIN * test.default[finding.outcome]
    }

    /// Whether the work undoes a seat wholly.
    fn undoes(&self, seat: Seat) -> bool {
        self.remedy.reseats.iter().any(|&(own, share)| own == seat && share >= 1.0)
    }

    /// What was wholly undone already can tell nothing more.
    fn is_undone(&self) -> bool {
        let mut touched = self.timeline.disturbances.iter().flat_map(|d| &d.touched);
        touched.any(|&(seat, number, _)| self.undoes(seat) && self.cylinders.contains(&number))
    }

    /// Whether the sheet has the depth that a look would say in words.
    fn is_measured(&self, looks: &[usize]) -> bool {
        let in_words =
            |test: &usize| DEPTH_IN_WORDS.contains(&self.knowledge.tests[*test].id.as_str());
        let differences = self.timeline.sheet.differences();
        looks.iter().any(in_words)
            && differences.iter().any(|difference| self.cylinders.contains(&difference.number))
    }

    /// Whether a look was not had, can be had here, and the work undoes what it undoes anyway.
    fn is_left(&self, test: usize) -> bool {
        let look: &Test = &self.knowledge.tests[test];
        let mut undone = look.reseats.iter().filter(|(_, share)| *share >= 1.0).peekable();
        self.findings(test).next().is_none()
            && !self.timeline.barred.contains(&test)
            && undone.peek().is_some()
            && undone.all(|&(seat, _)| self.undoes(seat))
    }
}
