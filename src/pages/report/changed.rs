//! What the last entries changed, in one sentence.
//!
//! It only compares two answers of the diagnosis: where the odd reading was and is, and which parts
//! were suspected and hardly are any more. It must not judge an exchange by a rule of its own.

use facts::job::timeline::Timeline;
use facts::knowledge::{Item, Knowledge, Seat};
use judge::diagnosis::Assessment;
use measure::engine::Cylinder;

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
    let kind = terms::kind(item);
    let now = heat::odd_display(knowledge, timeline, set.entry);
    let went = match now {
        Some(now) if now == was => format!("the odd reading stayed at display {was}"),
        // At the probes' end the lead changes places, and the odd cylinder with it its display.
        Some(now) if [work.a, partner].contains(&now) && item == Item::LeadAtProbe => format!(
            "the odd reading stayed with the cylinder's probe, and shows on display {now} now"
        ),
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

#[cfg(test)]
mod tests {
    use super::*;
    use facts::job::entry::What;
    use facts::job::read::read;
    use facts::knowledge::embedded::embedded;
    use facts::knowledge::load;
    use judge::diagnosis::assess;

    /// What is said after cylinder 2 read cold and something of it and cylinder 3 was exchanged.
    fn said(item: Item, after: &[f64]) -> Option<String> {
        let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
        let mut journal = fixture::journal();
        let temps =
            |values: &[f64]| fixture::entry(fixture::temps("idle", fixture::degrees(values)));
        journal.push(temps(&[512.0, 415.0, 498.0, 509.0]));
        let before = Before::of(&assess(&knowledge, &read(&knowledge, &journal)));
        journal.push(fixture::entry(What::Exchange { item, a: 2, b: 3 }));
        journal.push(temps(after));
        let timeline = read(&knowledge, &journal);
        after_exchange(&knowledge, &timeline, &before, &assess(&knowledge, &timeline))
    }

    #[test]
    fn an_exchange_says_what_the_odd_reading_did() {
        let (moved, stayed) = ([512.0, 499.0, 414.0, 509.0], [512.0, 416.0, 499.0, 509.0]);
        for (item, after, text) in [
            (
                Item::Injector,
                moved,
                "The odd reading went with the injector, from display 2 to display 3",
            ),
            (
                Item::Injector,
                stayed,
                "The odd reading stayed at display 2; cleared (very unlikely now): ",
            ),
            (
                Item::LeadAtBox,
                moved,
                "The odd reading went with the lead, from display 2 to display 3",
            ),
            (Item::LeadAtProbe, moved, "The odd reading stayed with the cylinder's probe"),
            (Item::Plug, [512.0, 500.0, 498.0, 509.0], "No display stands out any more"),
        ] {
            let said = said(item, &after).expect("said");
            assert!(said.starts_with(text), "{said}");
            if item == Item::Injector {
                let parts = said.split_once("now): ").map_or("", |(_, parts)| parts);
                assert_eq!(parts.contains("injector"), text.contains("cleared"), "{said}");
            }
        }
    }
}
