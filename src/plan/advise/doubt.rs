//! Looks by one who does not believe that what stands off is natural.
//!
//! What a great fault leaves beside it is mostly natural, and no price makes a look worth its minutes
//! then. Nobody may call it normal all the same, so that before the job is left it is judged once more
//! as if no cylinder differed much by nature and a second fault were as likely as none; what that plan
//! looks at is looked at. Only the look is taken over: what is shown, proven and ended goes by the one
//! judgement.

use crate::diagnosis::assess::diagnose;
use crate::plan::actions::choices;
use crate::plan::advice::{Choice, Step};
use crate::plan::guard::held;
use crate::plan::value::Prices;

use super::Desk;
use super::leaving::CHEAP;

/// How far an engine's own natural spread may lie from the usual one in doubt, sd of the logarithm.
const NARROW: f64 = 0.1;
/// Chance of a second fault in doubt.
const SECOND: f64 = 0.5;

impl Desk<'_, '_> {
    /// The cheapest way to begin, in doubt, that is a cheap look.
    pub(super) fn look_in_doubt(&self) -> Option<Step> {
        let mut knowledge = self.knowledge().clone();
        let constants = &mut knowledge.constants;
        constants.wide_chance = 0.0;
        constants.spread_scale = constants.spread_scale.min(NARROW);
        constants.two_faults = constants.two_faults.max(SECOND);
        let diagnosis = diagnose(&knowledge, self.diagnosis.model.timeline);
        let choices = choices(&diagnosis);
        let held = held(&diagnosis, &choices);
        let prices = Prices::new(&choices.problem);
        let desk = Desk::new(&diagnosis, &choices, &held, &prices, self.thinking);
        let ranked = desk.ranked();
        let cheap = |choice: &&Choice| {
            let known = choices.options.iter().find(|option| option.step == choice.step);
            choice.cost.hands_on <= CHEAP && known.is_some_and(|option| !option.again)
        };
        ranked.iter().find(cheap).map(|choice| choice.step)
    }
}
