//! What kind of thing a display shows: a number, a jumping one, or none.

use facts::job::entry::Reading;
use facts::knowledge::RunningPoint;
use facts::knowledge::{Knowledge, Seat, StateChances};

use super::dice::Dice;
use crate::diagnosis::result::CauseRef;

/// What a display shows but for degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Shown {
    Number,
    Open,
    /// The box's own temperature.
    Floating,
    Stuck,
    Falling,
    /// By this half range, °C.
    Jumping(f64),
}

impl Shown {
    /// As a reading, for a number that would be read.
    pub(super) fn reading(self, number: f64, dice: &mut Dice) -> Option<Reading> {
        use measure::units::Celsius;
        let degrees = |value: f64| Celsius::new(value).ok();
        Some(match self {
            Self::Number => Reading::Degrees(degrees(number)?),
            Self::Floating => Reading::Degrees(degrees(dice.between(0.0, 55.0))?),
            Self::Open => Reading::Open,
            Self::Stuck => Reading::Stuck,
            Self::Falling => Reading::Falling,
            Self::Jumping(half) => {
                Reading::Erratic { lo: degrees(number - half)?, hi: degrees(number + half)? }
            }
        })
    }
}

/// Share of broken loops that show the box's own temperature.
const FLOATS: f64 = 0.4;

/// Half ranges that a bad contact jumps by, evenly in the logarithm, °C.
const BROAD: (f64, f64) = (3.0, 700.0);

/// Half range that an engine makes a probe jump by, one sd, °C.
const FOLLOWED: f64 = 25.0;

/// What something in no list does to a display.
const UNLISTED: StateChances =
    StateChances { open: 0.02, stuck: 0.02, falling: 0.01, erratic: 0.1 };

/// What a fault makes a display do at a running point, and whether it then jumps by anything.
pub(super) fn of_fault(
    knowledge: &Knowledge,
    cause: CauseRef,
    at: RunningPoint,
) -> Option<(StateChances, bool)> {
    let CauseRef::Listed(index) = cause else { return Some((UNLISTED, true)) };
    let cause = &knowledge.causes[index];
    let broad = matches!(cause.seat, Seat::Probe | Seat::Lead | Seat::Channel);
    cause.states_at(at).map(|chances| (chances, broad))
}

/// What a fault makes a display show, where it showed `before` at the last look at that point at which the
/// fault showed.
pub(super) fn by_fault(
    (chances, broad): (StateChances, bool),
    before: Option<Shown>,
    again: f64,
    dice: &mut Dice,
) -> Shown {
    let same = before.filter(|_| dice.chance(again));
    let shown = same.unwrap_or_else(|| {
        let StateChances { open, stuck, falling, erratic } = chances;
        let number = 1.0 - open - stuck - falling - erratic;
        match dice.weighted(&[number, open, stuck, falling, erratic]) {
            0 => Shown::Number,
            1 if dice.chance(FLOATS) => Shown::Floating,
            1 => Shown::Open,
            2 => Shown::Stuck,
            3 => Shown::Falling,
            _ => Shown::Jumping(0.0),
        }
    });
    match shown {
        Shown::Jumping(_) if broad => {
            let (least, most) = BROAD;
            Shown::Jumping(dice.between(least.ln(), most.ln()).exp())
        }
        Shown::Jumping(_) => Shown::Jumping(FOLLOWED * dice.normal().abs()),
        shown => shown,
    }
}

/// What a sound display shows, of which readings repeat within `by`.
pub(super) fn sound(knowledge: &Knowledge, by: f64, dice: &mut Dice) -> Shown {
    let StateChances { open, stuck, falling, erratic } = knowledge.constants.usual_states;
    let number = 1.0 - open - stuck - falling - erratic;
    match dice.weighted(&[number, open, stuck, falling, erratic]) {
        0 => Shown::Number,
        1 => Shown::Open,
        2 => Shown::Stuck,
        3 => Shown::Falling,
        _ => Shown::Jumping(by * dice.normal().abs()),
    }
}
