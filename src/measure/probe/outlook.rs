//! What one fitting is worth at each running point: slope, differences, response, with their doubt.
//!
//! Puts the parts of this module together for a reader. It must not know any reader.

use super::response::{in_runner, time_to};
use super::shift::{Doubt, Shift, for_depth, for_diameter, for_wall_touch};
use super::{Build, Case, CaseError, Contact, Fitting, display_with};
use crate::engine::Regime;

/// Running points at which gas flows steadily.
pub const POINTS: [Regime; 3] = [Regime::Idle, Regime::Cruise, Regime::Full];

/// A way in which one probe may sit otherwise than its mates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Change {
    /// This much deeper, mm; shallower below zero.
    Deeper(f64),
    /// Another diameter, mm.
    Diameter(f64),
    /// The tip rests on the far wall.
    TouchesLightly,
    /// The tip is pressed against the far wall.
    TouchesFirmly,
}

/// Conductance of a tip that rests on the wall, and of one pressed on, W/K (assumed).
const CONTACTS: (f64, f64) = (0.02, 0.1);

/// A fitting at one running point.
#[derive(Debug, Clone, PartialEq)]
pub struct Outlook {
    /// The running point.
    pub point: Regime,
    /// What goes on in the runner: typical, or matched to a display that was given.
    pub case: Case,
    /// Whether it was matched.
    pub matched: bool,
    /// What the probe shows, °C.
    pub shows: f64,
    /// What a millimetre deeper adds, °C.
    pub per_mm: Shift,
    /// What each change is worth, °C, in the order asked for.
    pub changes: Vec<Shift>,
    /// Time constant of the probe, s.
    pub time_constant: f64,
    /// Time until 99 % of a step is made, s: the probe alone, pipe and head take longer.
    pub settled: f64,
}

/// The outlook of a fitting at every running point; `readings` are displays of healthy mates in the
/// order of [`POINTS`], °C, where they are known.
///
/// # Errors
/// When no scaling of the typical case gives a reading.
pub fn outlook(
    mates: Fitting,
    readings: [Option<f64>; 3],
    changes: &[Change],
) -> Result<Vec<Outlook>, CaseError> {
    let (build, doubt) = (Build::default(), Doubt::default());
    let mut list = Vec::new();
    for (point, reading) in POINTS.into_iter().zip(readings) {
        let Some(typical) = Case::typical(point) else { continue };
        let case = match reading {
            Some(reading) => typical.matched(mates, &build, reading)?,
            None => typical,
        };
        // A slope is no measured difference: the ruler does not come into it.
        let slope = Doubt { difference: 0.0, ..doubt };
        let change = |change: &Change| match *change {
            Change::Deeper(mm) => for_depth(mates, mm, &case, &build, &doubt),
            Change::Diameter(mm) => for_diameter(mates, mm, &case, &build, &doubt),
            Change::TouchesLightly => for_wall_touch(mates, CONTACTS.0, &case, &build, &doubt),
            Change::TouchesFirmly => for_wall_touch(mates, CONTACTS.1, &case, &build, &doubt),
        };
        let time_constant = in_runner(mates, &case, &build);
        list.push(Outlook {
            point,
            case,
            matched: reading.is_some(),
            shows: display_with(mates, &case, &build, Contact::Free),
            per_mm: for_depth(mates, 1.0, &case, &build, &slope),
            changes: changes.iter().map(change).collect(),
            time_constant,
            settled: time_to(0.99, time_constant),
        });
    }
    Ok(list)
}

#[cfg(test)]
mod tests {
    use super::*;

    const MATES: Fitting = Fitting { diameter: 3.0, bore: 41.0, depth: 15.0 };

    #[track_caller]
    fn near(found: f64, expected: f64, within: f64) {
        assert!((found - expected).abs() <= within, "{found}, expected {expected}");
    }

    /// Domain facts 2.2 and 2.4, 3 mm probe in a 41 mm bore at 15 mm: computed elsewhere.
    #[test]
    fn figures_are_those_of_the_table() {
        let changes = [
            Change::Deeper(10.0),
            Change::Diameter(1.5),
            Change::Diameter(6.0),
            Change::TouchesLightly,
        ];
        let list = outlook(MATES, [None; 3], &changes).expect("typical cases");
        // Shown, °C per mm, 10 mm deeper, 1.5 mm and 6 mm thick, time constant.
        let table = [
            (256.0, 8.2, 58.0, 58.0, -52.0, 26.0),
            (515.0, 7.4, 40.0, 44.0, -60.0, 11.0),
            (787.0, 5.3, 23.0, 30.0, -54.0, 5.0),
        ];
        for (found, (shows, slope, deeper, thin, thick, tau)) in list.iter().zip(table) {
            near(found.shows, shows, 1.0);
            near(found.per_mm.mean, slope, 0.7);
            near(found.changes[0].mean, deeper, 4.0);
            near(found.changes[1].mean, thin, 4.0);
            near(found.changes[2].mean, thick, 4.0);
            near(found.time_constant, tau, 1.0);
            near(found.settled, 4.605 * found.time_constant, 0.01);
            // Against mates at 15 mm, not in mid-stream.
            assert!(found.changes[3].mean < 0.0 || found.point == Regime::Idle);
            assert!(found.changes.iter().all(|shift| shift.sd > 0.0) && !found.matched);
        }
    }

    #[test]
    fn a_display_of_the_mates_sets_the_level() {
        let list = outlook(MATES, [None, Some(600.0), None], &[]).expect("within reach");
        assert!(list[1].matched && !list[0].matched);
        near(list[1].shows, 600.0, 0.5);
        let error = outlook(MATES, [Some(1200.0), None, None], &[]).expect_err("out of reach");
        assert!(error.to_string().contains("1200"));
    }
}
