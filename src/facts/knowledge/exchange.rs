//! What exchanging, re-seating or replacing an item shows, from the seats it touches.
//!
//! Such tests have no tables: a cause's seat and its re-seat chance say what happens. The
//! chances are engineering judgement, common practice, no source.

use super::model::{Cause, Item, Knowledge, Law, Outcome, PlaceKind, Seat, Test, TestKind};

/// Outcomes of an exchange, by id, in the order of the rows here.
pub const EXCHANGE_OUTCOMES: [&str; 4] = ["moved", "stays", "gone", "other"];
/// Outcomes of a re-seat or substitution.
pub const RESEAT_OUTCOMES: [&str; 3] = ["gone", "stays", "other"];

/// Minutes after which a reading that had not settled has.
const SETTLED_MINUTES: f64 = 5.0;

/// Whom the tested cylinder's item changes places with, for causes that sit on two cylinders.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Partner {
    /// The other cylinder of the very pair: an exchange undoes a mix-up.
    Mate,
    /// Any other cylinder: an exchange spreads a mix-up.
    Stranger,
}

/// Circumstances of an exchange that its chances hang on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Exchange {
    /// Whom the item changes places with.
    pub partner: Partner,
    /// Depth is held by a collar on the sheath, so that the fit goes along with the probe.
    pub depth_travels: bool,
}

impl Default for Exchange {
    /// With a stranger, depth held by the boss.
    fn default() -> Self {
        Self { partner: Partner::Stranger, depth_travels: false }
    }
}

impl TestKind {
    /// Whether the test's chances follow from seats instead of a table.
    #[must_use]
    pub fn follows_seats(self) -> bool {
        matches!(self, Self::Exchange | Self::Reseat | Self::Substitute)
    }

    /// The outcome ids such a test must have.
    #[must_use]
    pub fn seat_outcomes(self) -> Option<&'static [&'static str]> {
        match self {
            Self::Exchange => Some(&EXCHANGE_OUTCOMES),
            Self::Reseat | Self::Substitute => Some(&RESEAT_OUTCOMES),
            Self::Observe | Self::Measure | Self::Disturb => None,
        }
    }
}

/// Chances of (moved, stays, gone, other); of re-seats `moved` is 0.
#[derive(Debug, Clone, Copy)]
struct Chances {
    moved: f64,
    stays: f64,
    gone: f64,
    other: f64,
}

impl Chances {
    const fn new(moved: f64, stays: f64, gone: f64, other: f64) -> Self {
        Self { moved, stays, gone, other }
    }

    /// In the order of the test's outcomes, floored and summing to one.
    fn row(self, outcomes: &[Outcome], floor: f64) -> Vec<f64> {
        let mut row: Vec<f64> = outcomes
            .iter()
            .map(|outcome| match outcome.id.as_str() {
                "moved" => self.moved,
                "stays" => self.stays,
                "gone" => self.gone,
                _ => self.other,
            })
            .collect();
        floor_and_normalise(&mut row, floor);
        row
    }
}

/// Lifts every chance to the floor and scales the row to sum to one.
///
/// A row of zeros becomes an even one; an empty row stays empty.
pub(super) fn floor_and_normalise(row: &mut [f64], floor: f64) {
    for chance in row.iter_mut() {
        *chance = chance.max(floor).max(f64::MIN_POSITIVE);
    }
    let sum: f64 = row.iter().sum();
    // A sum that is one but for rounding leaves the numbers as the author wrote them.
    if (sum - 1.0).abs() > 1e-12 {
        for chance in row {
            *chance /= sum;
        }
    }
}

/// Chances of each outcome for a cause at the tested cylinder, in the order of the test's
/// outcomes, floored and summing to one.
///
/// For tests with a table this is the cause's row there, the default row if it has none.
#[must_use]
pub fn exchange_row(knowledge: &Knowledge, test: usize, cause: usize, how: Exchange) -> Vec<f64> {
    let (test, about) = (&knowledge.tests[test], &knowledge.causes[cause]);
    if !test.kind.follows_seats() {
        return test.given.get(&cause).unwrap_or(&test.default).clone();
    }
    at_cylinder(test, about, how).row(&test.outcomes, knowledge.constants.floor)
}

/// Chances of each outcome for a cause that is elsewhere, by kind of test; `None` for tests
/// with a table. The loader stores it as the test's default row.
pub(super) fn elsewhere_row(kind: TestKind, outcomes: &[Outcome], floor: f64) -> Option<Vec<f64>> {
    let chances = match kind {
        TestKind::Exchange => Chances::new(0.01, 0.96, 0.02, 0.01),
        TestKind::Reseat | TestKind::Substitute => Chances::new(0.0, 0.96, 0.03, 0.01),
        TestKind::Observe | TestKind::Measure | TestKind::Disturb => return None,
    };
    Some(chances.row(outcomes, floor))
}

fn at_cylinder(test: &Test, cause: &Cause, how: Exchange) -> Chances {
    if let Some(chances) = mix_up(test, cause, how.partner) {
        return chances;
    }
    let mut chances = by_seat(test, cause, how.depth_travels);
    if cause.is_intermittent() {
        // It may just not show at the moment of the second reading.
        chances.gone += 0.2 * chances.stays;
        chances.stays *= 0.8;
    }
    if follows(cause, Law::Time) && test.cost.hands_on + test.cost.wait > SETTLED_MINUTES {
        let rest = 0.4 / (1.0 - chances.gone);
        chances = Chances {
            moved: chances.moved * rest,
            stays: chances.stays * rest,
            gone: 0.6,
            other: chances.other * rest,
        };
    }
    chances
}

fn follows(cause: &Cause, law: Law) -> bool {
    cause.effects.iter().any(|effect| effect.law == law)
}

/// Two numbers that stand for each other's cylinder: the exchange cures both readings, or
/// makes it three that are mixed up.
fn mix_up(test: &Test, cause: &Cause, partner: Partner) -> Option<Chances> {
    let mixed = cause.place == PlaceKind::Pair && cause.misnames();
    let of_chain = matches!(test.item, Some(Item::Probe | Item::LeadAtBox | Item::LeadAtProbe));
    (mixed && of_chain && test.kind == TestKind::Exchange).then_some(match partner {
        Partner::Mate => Chances::new(0.03, 0.05, 0.9, 0.02),
        Partner::Stranger => Chances::new(0.03, 0.05, 0.02, 0.9),
    })
}

fn by_seat(test: &Test, cause: &Cause, depth_travels: bool) -> Chances {
    let seat = cause.seat;
    // What no re-seat can change about a fit is in the boss and stays with it.
    let goes_along =
        depth_travels && seat == Seat::Fit && test.item == Some(Item::Probe) && cause.reseat > 0.0;
    let moved = test.kind == TestKind::Exchange && (test.moves.contains(&seat) || goes_along);
    // A collar keeps the depth it has, so nothing about it is remade.
    let share = test
        .reseats
        .iter()
        .filter(|(reseat, _)| *reseat == seat && !goes_along)
        .map(|(_, share)| *share)
        .reduce(f64::max);
    let r = share.map_or(0.0, |share| cause.reseat * share);
    if test.replaces.contains(&seat) {
        return Chances::new(0.0, 0.03, 0.96, 0.01);
    }
    match (test.kind, moved, share) {
        (TestKind::Exchange, true, None) => Chances::new(0.95, 0.02, 0.02, 0.01),
        (TestKind::Exchange, true, Some(_)) => {
            Chances::new(0.96 * (1.0 - r), 0.03 * (1.0 - r), r, 0.01 * (1.0 - r))
        }
        (TestKind::Exchange, false, Some(_)) => {
            Chances::new(0.03 * (1.0 - r), 0.96 * (1.0 - r), r, 0.01 * (1.0 - r))
        }
        (TestKind::Exchange, false, None) => Chances::new(0.01, 0.96, 0.02, 0.01),
        // Nothing can move in a re-seat: what the table gives to "moved" stays.
        (_, _, Some(_)) => Chances::new(0.0, 0.99 * (1.0 - r), r, 0.01 * (1.0 - r)),
        (_, _, None) => Chances::new(0.0, 0.96, 0.03, 0.01),
    }
}

#[cfg(test)]
mod tests {
    use super::super::fixture::knowledge;
    use super::*;

    const MATE: Exchange = Exchange { partner: Partner::Mate, depth_travels: false };
    const COLLAR: Exchange = Exchange { partner: Partner::Stranger, depth_travels: true };

    fn check(test: &str, cause: &str, how: Exchange, expected: &[f64]) {
        let knowledge = knowledge();
        let row = exchange_row(
            &knowledge,
            knowledge.test(test).expect("a test"),
            knowledge.cause(cause).expect("a cause"),
            how,
        );
        let close = row.len() == expected.len()
            && row.iter().zip(expected).all(|(a, b)| (a - b).abs() < 0.003);
        assert!(close, "{test} {cause} {how:?}: {row:?}, expected {expected:?}");
    }

    #[test]
    fn rows_follow_the_seat_table() {
        let usual = Exchange::default();
        // (test, cause, how, [moved, stays, gone, other] or [gone, stays, other])
        let cases: &[(&str, &str, Exchange, &[f64])] = &[
            ("swap-probe", "probe-drift", usual, &[0.95, 0.02, 0.02, 0.01]),
            // r = 0.8, only re-seated
            ("swap-probe", "fit-deep", usual, &[0.006, 0.192, 0.8, 0.002]),
            ("swap-probe", "fit-deep", COLLAR, &[0.95, 0.02, 0.02, 0.01]),
            // intermittent, r = 0.7 × 0.5: a fifth of "stays" goes to "gone"
            ("swap-probe", "conn-poor", usual, &[0.0195, 0.4992, 0.4748, 0.0065]),
            // moved and disturbed, intermittent
            ("swap-at-box", "conn-poor", usual, &[0.624, 0.0156, 0.3539, 0.0065]),
            ("swap-at-box", "chan-error", usual, &[0.01, 0.96, 0.02, 0.01]),
            ("swap-at-box", "lead-crossed", usual, &[0.03, 0.05, 0.02, 0.9]),
            ("swap-at-box", "lead-crossed", MATE, &[0.03, 0.05, 0.9, 0.02]),
            ("reseat-probe", "fit-deep", usual, &[0.8, 0.198, 0.002]),
            ("reseat-probe", "chan-error", usual, &[0.03, 0.96, 0.01]),
            ("new-probe", "probe-drift", usual, &[0.96, 0.03, 0.01]),
            ("swap-probe", "not-settled", usual, &[0.004, 0.392, 0.6, 0.004]),
            // under five minutes nothing settles
            ("swap-at-box", "not-settled", usual, &[0.01, 0.96, 0.02, 0.01]),
        ];
        for (test, cause, how, expected) in cases {
            check(test, cause, *how, expected);
        }
    }

    #[test]
    fn every_row_sums_to_one_and_keeps_the_floor() {
        let knowledge = knowledge();
        for test in 0..knowledge.tests.len() {
            for cause in 0..knowledge.causes.len() {
                for how in [Exchange::default(), MATE, COLLAR] {
                    let row = exchange_row(&knowledge, test, cause, how);
                    let sum: f64 = row.iter().sum();
                    assert!((sum - 1.0).abs() < 1e-12);
                    assert!(row.iter().all(|&p| p > 0.8 * knowledge.constants.floor));
                }
            }
        }
    }

    #[test]
    fn a_row_of_zeros_becomes_even() {
        let mut row = [0.0; 4];
        floor_and_normalise(&mut row, 0.0);
        assert!(row.iter().all(|p| (p - 0.25).abs() < 1e-12));
    }
}
