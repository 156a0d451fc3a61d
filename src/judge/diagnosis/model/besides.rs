//! Explanations that leave what is complained of to nature.
//!
//! Who complains of a display, and is right that it stands off, came because of it. A fault elsewhere is then one that
//! nobody came for: a sound engine with something besides, which is as rare as a second fault is. Without this whatever
//! else is found in such a job would make the complaint natural. It must not look at readings: that they show it is
//! found in [`complained`](crate::diagnosis::complained).

use super::Model;
use crate::diagnosis::prior::pairs_up;
use measure::engine::Cylinder;

impl Model<'_> {
    /// Log of the factor on the prior of some candidates together.
    pub(crate) fn log_besides(&self, candidates: &[usize]) -> f64 {
        let Some((display, factor)) = self.prior.besides else { return 0.0 };
        let mut faults = candidates.iter().filter(|&&c| self.is_a_fault(c)).peekable();
        let elsewhere =
            faults.peek().is_some() && !candidates.iter().any(|&c| self.is_on(c, display));
        if elsewhere { factor.ln() } else { 0.0 }
    }

    /// Whether a candidate is a fault that may be one of two: not what passes, nor names in each other's place.
    pub(crate) fn is_a_fault(&self, candidate: usize) -> bool {
        let candidate = &self.candidates[candidate];
        candidate.renaming.is_none() && pairs_up(self.knowledge, candidate.fault)
    }

    /// Whether a candidate is a fault at a display's cylinder, of all displays, or one by which the display is another's.
    fn is_on(&self, candidate: usize, display: Cylinder) -> bool {
        let known = &self.candidates[candidate];
        let there = known.numbers.contains(&display);
        there && (self.is_a_fault(candidate) || known.renaming.is_some())
    }
}
