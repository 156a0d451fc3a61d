//! How a job ends for which nothing that is left is worth its price.
//!
//! As normal or proven where its ends allow that; else what was read once, or not since the work, is read before
//! it is left, as gone or as not found. It must not choose a look or a remedy.

use crate::plan::advice::{JobEnd, Standing, Step};
use crate::plan::ends::{ODD, Points, SURE, Spot};
use measure::engine::ProbeSite;
use measure::percent::percent;

use super::Desk;
use super::moment::Moment;

impl Desk<'_, '_> {
    /// An end that the plan comes to, as far as the job allows it: what is still owed is read first,
    /// and what is neither normal nor proven is said to be neither.
    pub(super) fn ending(&self, seems_gone: bool) -> Moment {
        let points = Points::new(self.diagnosis.model.timeline, &self.diagnosis.assessment.oddness);
        let site: ProbeSite = self.diagnosis.model.timeline.engine.probes;
        if let Some(end) = self.at_an_end() {
            return end;
        }
        let calm = points.worst_newest().is_some_and(|(size, _)| size < ODD);
        if let Some(spot) = points.never_read().into_iter().find(|s| self.may(s.at)) {
            return Moment::new(
                Step::Readings { at: spot.at, site },
                "Nothing that is left to try is worth its time; before the job ends this point is read.",
            );
        }
        if let Some((size, spot, seen)) = self.seen_once()
            && self.may(spot.at)
        {
            let off = if size.is_finite() {
                format!("is off by {size:.1} × the usual scatter")
            } else {
                "jumps or shows no number".to_owned()
            };
            let why = format!(
                "A display {off}, and was seen so {seen}: read it again before the job is left."
            );
            let mut again = Moment::new(Step::Readings { at: spot.at, site: spot.site }, why);
            again.standing = Standing::ReadAgain;
            return again;
        }
        let oddness = &self.diagnosis.assessment.oddness;
        let owed = if calm { self.ends.owed } else { points.odd_before_touched(oddness) };
        let owed = owed.filter(|spot| self.may(spot.at));
        if let (true, Some(spot)) = (seems_gone, owed) {
            return Moment::new(
                Step::Readings { at: spot.at, site: spot.site },
                "What was wrong seems to be gone: make sure where it showed.",
            );
        }
        if seems_gone && calm {
            return Moment::new(
                Step::End(JobEnd::Unproven),
                "It is gone, and what it was cannot be shown any more: close without proof, and say what to watch.",
            );
        }
        if self.put_right() {
            return Moment::new(
                Step::End(JobEnd::Unproven),
                "What was complained of is put right. Another display still stands off too far to call the job proven: \
                 close without proof, and say which display to watch.",
            );
        }
        Moment::new(
            Step::End(JobEnd::NotFound),
            format!(
                "Nothing that is left to try is worth its time, and {} is left for a fault: leave it, say so, and \
                 have it watched.",
                percent(1.0 - self.ends.sound)
            ),
        )
    }

    /// How far a display stands off, where, and how often that was seen, if only once or before something was put
    /// right: nothing is left because of such a number.
    pub(super) fn seen_once(&self) -> Option<(f64, Spot, &'static str)> {
        let points = Points::new(self.diagnosis.model.timeline, &self.diagnosis.assessment.oddness);
        let (size, spot) = points.worst_newest().filter(|(size, _)| *size >= ODD)?;
        match points.far_since_remedy(spot) {
            0 => Some((size, spot, "before anything was put right")),
            1 => Some((size, spot, "once")),
            _ => None,
        }
    }

    /// Whether what was put right was the cause, what was complained of is gone with it, and hardly a fault is
    /// left: whatever else stands off, the job has found what it was opened for.
    fn put_right(&self) -> bool {
        let ends = &self.ends;
        ends.verification.probability >= SURE && ends.sound >= SURE && !ends.complaint_stands
    }
}
