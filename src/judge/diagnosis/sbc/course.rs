//! At which looks a fault shows: always, from some look on, or now and then.

use facts::knowledge::{Cause, Knowledge, Lasting};
use measure::engine::Engine;

use super::dice::Dice;
use crate::diagnosis::result::CauseRef;

/// How a fault showed in a job in which nothing was touched.
#[derive(Debug, Clone)]
pub(super) struct Course {
    /// By reading set, whether it shows.
    pub(super) shows: Vec<bool>,
    /// The reading set after which it began; `None` where it was there before.
    pub(super) after: Option<usize>,
}

/// Whether a loop of it is loose: it comes and goes by nature, or breaks and drops out first.
fn loose(cause: &Cause) -> bool {
    cause.lasting == Lasting::ComesAndGoes || cause.states_running.is_some_and(|s| s.open > 0.5)
}

/// How far a cause is a loose one; of what no list has the share of the list.
fn looseness(knowledge: &Knowledge, engine: &Engine, cause: CauseRef) -> f64 {
    match cause {
        CauseRef::Listed(index) => f64::from(u8::from(loose(&knowledge.causes[index]))),
        CauseRef::Unlisted => {
            let of = |wanted: fn(&Cause) -> bool| -> f64 {
                let causes = knowledge.causes.iter().filter(|c| c.applies.holds(engine));
                causes.filter(|c| wanted(c)).map(|c| c.weight).sum()
            };
            of(loose) / of(|_| true)
        }
    }
}

pub(super) fn draw(
    knowledge: &Knowledge,
    engine: &Engine,
    cause: CauseRef,
    looks: usize,
    dice: &mut Dice,
) -> Course {
    let always = Course { shows: vec![true; looks], after: None };
    let fixed = match cause {
        CauseRef::Listed(index) => knowledge.causes[index].lasting == Lasting::Fixed,
        CauseRef::Unlisted => false,
    };
    if cause.passes(knowledge) || cause.misnames(knowledge) {
        return always;
    }
    let constants = &knowledge.constants;
    let share = looseness(knowledge, engine, cause);
    let mixed = |[firm, loose]: [f64; 2]| firm + share * (loose - firm);
    // Nothing is touched, so that what is fixed was seldom moved by somebody who did not enter it.
    let (begun, comes) = if fixed {
        (constants.self_cure_fixed, 0.0)
    } else {
        (mixed(constants.begun), mixed(constants.comes_and_goes))
    };
    let kind = dice.even();
    if kind < begun && looks > 1 {
        let gap = dice.one_of(looks - 1);
        Course { shows: (0..looks).map(|look| look > gap).collect(), after: Some(gap) }
    } else if kind < begun || kind >= begun + comes {
        always
    } else {
        let mut shows = vec![dice.chance(constants.on_share)];
        while shows.len() < looks {
            let before = shows[shows.len() - 1];
            let again = dice.chance(constants.look_again);
            shows.push(if again { before } else { dice.chance(constants.on_share) });
        }
        Course { shows, after: None }
    }
}
