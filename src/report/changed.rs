//! What the last entries changed, in one sentence.
//!
//! It only compares two answers of the diagnosis: where the odd reading was and is, and which parts
//! were suspected and hardly are any more. It must not judge an exchange by a rule of its own.

use crate::diagnosis::Assessment;
use crate::engine::Cylinder;
use crate::job::timeline::Timeline;
use crate::knowledge::{Item, Knowledge, Seat};

use super::{heat, terms, words};

/// What was shown before.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Before {
    /// The display that stood out.
    pub odd: Option<Cylinder>,
    /// How far each kind of part was suspected.
    pub seats: Vec<(Seat, f64)>,
}

impl Before {
    /// What is shown now, to be held against what comes.
    #[must_use]
    pub fn of(assessment: &Assessment) -> Self {
        Self { odd: assessment.odd_display, seats: assessment.seats.clone() }
    }
}

/// What the first readings after an exchange came to; nothing where there are none.
#[must_use]
pub fn after_exchange(
    knowledge: &Knowledge,
    timeline: &Timeline,
    before: &Before,
    assessment: &Assessment,
) -> Option<String> {
    let work = timeline.disturbances.last()?.work?;
    let (item, partner) = (knowledge.tests[work.test].item?, work.b?);
    let done = timeline.disturbances.len();
    let mut since = timeline.sets.iter().filter(|set| set.after == done && set.is_settled());
    let (set, None) = (since.next()?, since.next()) else { return None };
    let was = before.odd?;
    let kind = kind(item);
    let now = heat::odd_display(knowledge, timeline, set.entry);
    let went = match now {
        Some(now) if now == was => format!("the odd reading stayed at display {was}"),
        Some(now) if [work.a, partner].contains(&now) => {
            format!("the odd reading went with the {kind}, from display {was} to display {now}")
        }
        Some(now) => format!("the odd reading is at display {now} now, it was at display {was}"),
        None => format!("no display stands out any more since the {kind}s were exchanged"),
    };
    let cleared = cleared(before, assessment);
    let cleared = if cleared.is_empty() {
        String::new()
    } else {
        format!("; cleared (very unlikely now): {}", words::list(&cleared))
    };
    Some(words::sentence(&format!("{went}{cleared}")))
}

/// Parts that were suspected and are very unlikely now, by the words of the one scale.
fn cleared(before: &Before, assessment: &Assessment) -> Vec<String> {
    let unlikely = |p: f64| words::likelihood(p) == words::likelihood(0.0);
    let now = |seat: Seat| {
        let found = assessment.seats.iter().find(|(s, _)| *s == seat);
        found.map_or(0.0, |(_, p)| *p)
    };
    let seats = before.seats.iter().filter(|(seat, _)| *seat != Seat::Nothing);
    let fallen = seats.filter(|(seat, was)| !unlikely(*was) && unlikely(now(*seat)));
    fallen.map(|(seat, _)| terms::seat(*seat).to_owned()).collect()
}

fn kind(item: Item) -> &'static str {
    match item {
        Item::Probe => "probe",
        Item::LeadAtBox | Item::LeadAtProbe => "lead",
        Item::Injector => "injector",
        Item::Plug => "spark plug",
        Item::Coil => "coil",
        Item::HtLead => "HT lead",
    }
}
