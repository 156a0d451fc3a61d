//! Effects that follow from physics rather than from a table.
//!
//! A side of a cause may name a law here; where the job's own probes allow it the effect is
//! computed, and the tabulated shifts stand in where not. Only what an author writes down:
//! the computing is for `judge::diagnosis`.

use serde::Deserialize;

use measure::engine::ProbeType;

/// How the side of a cause comes about in the measuring chain.
#[derive(Debug, Clone, Copy, PartialEq, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Physics {
    /// A probe of this type on a channel set for the job's type. Where that is the job's own
    /// type, type K stands in.
    WrongProbe(ProbeType),
    /// A channel set to this type, K standing in likewise.
    WrongSetting(ProbeType),
    /// Copper between the joint at the probe and the terminals.
    Copper,
    /// The extension changed over at both ends.
    ReversedTwice,
    /// The wires touch in the lead, at this temperature, °C.
    ShortInLead(f64, f64),
    /// The channel is wrong about its terminals: sd at idle, cruise and full load, °C.
    ColdJunction(f64, f64, f64),
    /// A stray voltage in the loop: sd, mV.
    Stray(f64),
    /// The tip is deeper than its mates by so many mm (less deep where negative): mean, sd, and
    /// the least and the most that go by this side.
    Depth {
        /// Mean, mm.
        mean: f64,
        /// Standard deviation, mm.
        sd: f64,
        /// Least, mm.
        from: f64,
        /// Most, mm.
        to: f64,
    },
    /// The sheath is so many times as thick as its mates'.
    Diameter(f64),
    /// The tip touches the far wall with a conductance in W/K.
    WallTouch(f64, f64),
}

impl Physics {
    /// Whether it must be known how the probes sit in their runners.
    #[must_use]
    pub fn needs_fitting(self) -> bool {
        matches!(self, Self::Depth { .. } | Self::Diameter(_) | Self::WallTouch(..))
    }

    /// What is wrong with its numbers, if anything.
    #[must_use]
    pub fn fault(self) -> Option<&'static str> {
        let (numbers, wrong): (Vec<f64>, Option<&str>) = match self {
            Self::WrongProbe(_) | Self::WrongSetting(_) | Self::Copper | Self::ReversedTwice => {
                (Vec::new(), None)
            }
            Self::ShortInLead(mean, sd) => {
                (vec![mean, sd], (sd < 0.0).then_some("an sd below zero"))
            }
            Self::WallTouch(from, to) => {
                (vec![from, to], (from <= 0.0 || to < from).then_some("no range of conductances"))
            }
            Self::ColdJunction(a, b, c) => {
                (vec![a, b, c], (a.min(b).min(c) < 0.0).then_some("an sd below zero"))
            }
            Self::Stray(sd) => (vec![sd], (sd < 0.0).then_some("an sd below zero")),
            Self::Diameter(factor) => {
                let usable = (0.2..=5.0).contains(&factor);
                (vec![factor], (!usable).then_some("a factor outside 0.2 to 5"))
            }
            Self::Depth { mean, sd, from, to } => {
                let usable = from < to && sd > 0.0 && (from..=to).contains(&mean);
                (vec![mean, sd, from, to], (!usable).then_some("no range with the mean in it"))
            }
        };
        if numbers.iter().any(|n| !n.is_finite()) {
            return Some("a number that is none");
        }
        wrong
    }
}

#[cfg(test)]
mod tests {
    use super::Physics::{self, *};

    #[test]
    fn numbers_that_cannot_be_are_named() {
        let sound = [
            ColdJunction(5.0, 8.0, 10.0),
            Depth { mean: 6.5, sd: 3.0, from: 2.0, to: 11.0 },
            Diameter(0.5),
            WallTouch(0.02, 0.1),
        ];
        assert!(sound.iter().all(|p| p.fault().is_none()));
        let unsound = [
            ColdJunction(5.0, -8.0, 10.0),
            Depth { mean: 16.5, sd: 3.0, from: 2.0, to: 11.0 },
            Diameter(50.0),
            WallTouch(0.1, 0.02),
            Stray(f64::NAN),
        ];
        assert!(unsound.iter().all(|p| p.fault().is_some()));
    }

    #[test]
    fn it_is_read_as_it_is_written() {
        let read = |text: &str| ron::from_str::<Physics>(text).expect("read");
        assert_eq!(read("wrong_probe(\"N\")"), WrongProbe(measure::engine::ProbeType::N));
        let depth = read("depth(mean: -9, sd: 6, from: -25, to: -2)");
        assert_eq!(depth, Depth { mean: -9.0, sd: 6.0, from: -25.0, to: -2.0 });
    }
}
