//! What was claimed against what was so: by class of truth, and by how sure the leading suspect was.

use std::fmt::Write as _;

use measure::number::real;

/// Claims of one kind.
#[derive(Debug, Clone, Default)]
pub(super) struct Claims(Vec<(f64, bool)>);

impl Claims {
    pub(super) fn push(&mut self, claimed: f64, so: bool) {
        self.0.push((claimed, so));
    }

    pub(super) fn join(&mut self, other: Self) {
        self.0.extend(other.0);
    }

    /// How many were so, how many should be, and by how many standard deviations these differ.
    pub(super) fn compared(&self) -> (usize, f64, f64) {
        let so = self.0.iter().filter(|(_, so)| *so).count();
        let expected: f64 = self.0.iter().map(|(p, _)| p).sum();
        let variance: f64 = self.0.iter().map(|(p, _)| p * (1.0 - p)).sum();
        (so, expected, (real(so) - expected) / variance.max(1e-9).sqrt())
    }

    /// A line: name, so, expected, z.
    pub(super) fn line(&self, name: &str) -> String {
        let (so, expected, z) = self.compared();
        format!("{name:<24} {:>5}  so {so:>5}  claimed {expected:>7.1}  z {z:>5.1}", self.0.len())
    }

    /// A line for each tenth of what was claimed.
    pub(super) fn by_decile(&self) -> String {
        let mut text = String::new();
        for tenth in 0..10_u32 {
            let from = f64::from(tenth) / 10.0;
            let within = |p: f64| p >= from && (p < f64::from(tenth + 1) / 10.0 || tenth == 9);
            let some = Self(self.0.iter().copied().filter(|(p, _)| within(*p)).collect());
            if !some.0.is_empty() {
                let _ = writeln!(text, "{}", some.line(&format!("  claimed from {from:.1}")));
            }
        }
        text
    }
}
