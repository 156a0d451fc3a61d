//! The engine from above: readings at their cylinders, what is where now, what brings it home.

use std::collections::BTreeSet;

use facts::job::timeline::{Timeline, Touch};
use facts::knowledge::{Item, Knowledge, Seat};
use judge::diagnosis::Assessment;
use measure::engine::{Cylinder, Layout};
use measure::units::Scale;

use super::doc::{Block, Doc};
use super::figure::{Above, AboveBank, AboveSeat, Chart, Figure};
use super::{pictures, terms, words};

/// Items that are at a cylinder, with the seat that each is.
const AT_A_CYLINDER: [(Item, Seat); 6] = [
    (Item::Probe, Seat::Probe),
    (Item::LeadAtProbe, Seat::Lead),
    (Item::Injector, Seat::Injector),
    (Item::Plug, Seat::Plug),
    (Item::HtLead, Seat::HtLead),
    (Item::Coil, Seat::Coil),
];

/// Where everything is, as a page of its own.
#[must_use]
pub fn whereabouts(timeline: &Timeline, assessment: &Assessment, scale: Scale) -> Doc {
    let mut doc = Doc::new("Where everything is");
    doc.blocks.push(Block::Figures(vec![figure(timeline, assessment, scale)]));
    doc
}

/// The section of a page: the engine, and what brings home what was moved.
pub(super) fn add(
    doc: &mut Doc,
    knowledge: &Knowledge,
    timeline: &Timeline,
    assessment: &Assessment,
    scale: Scale,
) {
    doc.heading("Where everything is");
    doc.blocks.push(Block::Figures(vec![figure(timeline, assessment, scale)]));
    let steps = timeline.put_back(knowledge);
    if !steps.is_empty() {
        doc.para("To bring everything home:");
        doc.numbered(steps.into_iter().map(terms::put_back).collect());
    }
}

/// The picture.
pub(super) fn figure(timeline: &Timeline, assessment: &Assessment, scale: Scale) -> Figure {
    let engine = &timeline.engine;
    let sets = || timeline.sets.iter().enumerate().rev();
    let shown = sets()
        .find(|(_, set)| set.is_settled() && set.site == engine.probes)
        .or_else(|| sets().next());
    let odd: Vec<Cylinder> = shown.map_or_else(Vec::new, |(index, set)| {
        let displays = pictures::standing_out(assessment, index).into_iter();
        displays.map(|display| set.arrangement.cylinder_shown(display)).collect()
    });
    let seat = |&cylinder: &Cylinder| AboveSeat {
        cylinder: cylinder.to_string(),
        fires: fires(timeline, cylinder),
        reading: shown.map_or_else(String::new, |(_, set)| {
            let display = set.arrangement.display_of(cylinder);
            words::reading(set.readings[usize::from(display) - 1], scale)
        }),
        odd: odd.contains(&cylinder),
        notes: notes(timeline, cylinder),
    };
    let named = engine.banks.len() > 1;
    let banks: Vec<AboveBank> = (1..)
        .zip(&engine.banks)
        .map(|(number, bank): (u8, _)| AboveBank {
            name: if named { format!("bank {number}") } else { String::new() },
            seats: bank.iter().map(seat).collect(),
        })
        .collect();
    let read = shown.map_or_else(String::new, |(_, set)| {
        let at = terms::point_and_site(set.at, set.site, engine.probes);
        format!("{at}, {}, entry {}", scale.sign(), set.entry)
    });
    let mut below = Vec::new();
    if shown.is_some_and(|(_, set)| set.after < timeline.disturbances.len()) {
        below.push("Read before the last work was done.".to_owned());
    }
    below.extend(at_the_box(timeline));
    if timeline.arrangement.is_original() {
        below.push("Everything is where it was when the job was opened.".to_owned());
    }
    let order: Vec<String> = engine.firing_order.iter().map(u8::to_string).collect();
    let stand = match engine.layout {
        Layout::Inline => "in one row",
        Layout::V => "in a V",
        Layout::Flat => "flat",
    };
    let each: Vec<String> = banks.iter().flat_map(|bank| &bank.seats).map(told).collect();
    let desc = format!(
        "{} cylinders {stand}, firing order {}. {}. {}",
        engine.cylinders,
        order.join("-"),
        each.join("; "),
        below.join(" ")
    );
    Figure {
        title: "The engine from above".to_owned(),
        desc: desc.trim_end().to_owned(),
        chart: Chart::Above(Above { read, banks, below }),
    }
}

/// A cylinder in words, for who cannot see it.
fn told(seat: &AboveSeat) -> String {
    let mut parts = vec![format!("cylinder {}", seat.cylinder)];
    if !seat.reading.is_empty() {
        parts.push(seat.reading.clone());
    }
    if seat.odd {
        parts.push("stands out".to_owned());
    }
    parts.extend(seat.notes.iter().cloned());
    parts.join(", ")
}

/// When a cylinder fires.
fn fires(timeline: &Timeline, cylinder: Cylinder) -> String {
    let place = timeline.engine.firing_order.iter().position(|&c| c == cylinder);
    place.map_or_else(String::new, |place| format!("fires {}", ordinal(place + 1)))
}

fn ordinal(n: usize) -> String {
    let ending = match (n % 10, n % 100) {
        (_, 11..=13) => "th",
        (1, _) => "st",
        (2, _) => "nd",
        (3, _) => "rd",
        _ => "th",
    };
    format!("{n}{ending}")
}

/// What is at a cylinder that did not come in there, and on which other display it reads.
fn notes(timeline: &Timeline, cylinder: Cylinder) -> Vec<String> {
    let new: BTreeSet<(Seat, Cylinder)> = timeline
        .disturbances
        .iter()
        .flat_map(|d| &d.touched)
        .filter(|(.., touch)| matches!(touch, Touch::Replaced))
        .map(|&(seat, number, _)| (seat, number))
        .collect();
    let mut notes: Vec<String> = AT_A_CYLINDER
        .into_iter()
        .filter_map(|(item, seat)| {
            let number = timeline.arrangement.item_at(item, cylinder);
            let kind = terms::kind(item);
            match (number == cylinder, new.contains(&(seat, number))) {
                (true, false) => None,
                (true, true) => Some(format!("new {kind}")),
                (false, false) => Some(format!("has {kind} {number}")),
                (false, true) => Some(format!("has {kind} {number}, a new one")),
            }
        })
        .collect();
    let display = timeline.arrangement.display_of(cylinder);
    if display != cylinder {
        notes.push(format!("reads on display {display}"));
    }
    notes
}

/// Leads that are in another display's place at the box.
fn at_the_box(timeline: &Timeline) -> Option<String> {
    let moved: Vec<String> = timeline
        .engine
        .all()
        .filter_map(|display| {
            let lead = timeline.arrangement.item_at(Item::LeadAtBox, display);
            (lead != display).then(|| format!("lead {lead} in display {display}"))
        })
        .collect();
    (!moved.is_empty()).then(|| format!("At the box: {}.", words::list(&moved)))
}

#[cfg(test)]
mod tests {
    use insta::assert_snapshot;

    use super::super::sample;
    use super::*;
    use facts::job::arrangement::Arrangement;
    use facts::job::timeline::{Disturbance, ReadingSet};
    use measure::engine::{Engine, Fuel, Ignition, ProbeSite, Regime};

    /// An engine with readings, of which some stand out, and exchanges after them.
    fn job(
        engine: Engine,
        values: &[f64],
        odd: &[u8],
        moved: &[(Item, u8, u8)],
    ) -> (Timeline, Assessment) {
        let (mut timeline, mut assessment) = (sample::timeline(), sample::assessment());
        let straight = Arrangement::original(engine.cylinders);
        timeline.sets = vec![ReadingSet {
            entry: 1,
            at: fixture::at(Regime::Idle),
            site: ProbeSite::Exhaust,
            readings: sample::degrees(values),
            arrangement: straight.clone(),
            after: 0,
            air: None,
        }];
        timeline.disturbances.clear();
        timeline.arrangement = straight;
        for (entry, &(item, a, b)) in (2..).zip(moved) {
            timeline.arrangement.exchange(&engine, item, a, b);
            timeline.disturbances.push(Disturbance::new(entry, Vec::new()));
        }
        timeline.engine = engine;
        let far = |display| judge::diagnosis::Oddness {
            set: 0,
            display,
            difference: Some(80.0),
            sigmas: Some(4.0),
        };
        assessment.oddness = odd.iter().copied().map(far).collect();
        (timeline, assessment)
    }

    fn vee(cylinders: u8) -> Engine {
        Engine {
            layout: Layout::V,
            banks: Engine::usual_banks(cylinders, Layout::V).expect("even"),
            ..sample::engine(cylinders)
        }
    }

    fn shown(job: &(Timeline, Assessment), width: usize) -> String {
        figure(&job.0, &job.1, Scale::Celsius).terminal(width).join("\n")
    }

    #[test]
    fn a_row_of_four_with_probes_exchanged() {
        let job =
            job(sample::engine(4), &[402.0, 398.0, 455.0, 401.0], &[3], &[(Item::Probe, 2, 3)]);
        assert_snapshot!(shown(&job, 60), @r#"
        warm idle, °C, entry 1; ((n)) ODD stands out
         (1)   402      fires 1st
         (2)   398      fires 4th  has probe 3
        ((3))  455 ODD  fires 2nd  has probe 2
         (4)   401      fires 3rd
        Read before the last work was done.
        "#);
        assert_snapshot!(figure(&job.0, &job.1, Scale::Celsius).desc, @"4 cylinders in one row, firing order 1-3-4-2. cylinder 1, 402; cylinder 2, 398, has probe 3; cylinder 3, 455, stands out, has probe 2; cylinder 4, 401. Read before the last work was done.");
    }

    #[test]
    fn a_vee_of_six_with_leads_crossed_at_both_ends_and_injectors_moved() {
        let moved = [
            (Item::LeadAtBox, 1, 4),
            (Item::LeadAtProbe, 2, 3),
            (Item::Injector, 2, 3),
            (Item::Plug, 2, 5),
        ];
        let values = [512.0, 505.0, 498.0, 441.0, 507.0, 515.0];
        let job = job(vee(6), &values, &[4], &moved);
        assert_snapshot!(shown(&job, 80), @r#"
        warm idle, °C, entry 1; ((n)) ODD stands out
                                       bank 1     bank 2
                          fires 1st  512  (1)  |  (2)  505  fires 5th
                           reads on display 4  |    has lead 3, has injector 3, has
                                               |    spark plug 5, reads on display 3
                          fires 3rd  498  (3)  |  ((4))  441  ODD  fires 6th
            has lead 2, has injector 2, reads  |    reads on display 1
                                 on display 2  |
                          fires 2nd  507  (5)  |  (6)  515  fires 4th
                             has spark plug 2  |
        Read before the last work was done.
        At the box: lead 4 in display 1 and lead 1 in display 4.
        "#);
        assert_snapshot!(shown(&job, 60), @r#"
        warm idle, °C, entry 1; ((n)) ODD stands out
                             bank 1     bank 2
                fires 1st  512  (1)  |  (2)  505  fires 5th
                 reads on display 4  |    has lead 3, has injector
                                     |    3, has spark plug 5,
                                     |    reads on display 3
                fires 3rd  498  (3)  |  ((4))  441  ODD  fires 6th
           has lead 2, has injector  |    reads on display 1
              2, reads on display 2  |
                fires 2nd  507  (5)  |  (6)  515  fires 4th
                   has spark plug 2  |
        Read before the last work was done.
        At the box: lead 4 in display 1 and lead 1 in display 4.
        "#);
        assert_snapshot!(shown(&job, 44), @r#"
        warm idle, °C, entry 1; ((n)) ODD stands out
        bank 1
        (1)  512  fires 1st  reads on display 4
        (3)  498  fires 3rd  has lead 2, has
                             injector 2, reads on
                             display 2
        (5)  507  fires 2nd  has spark plug 2
        bank 2
         (2)   505      fires 5th  has lead 3, has
                                   injector 3, has
                                   spark plug 5,
                                   reads on display
                                   3
        ((4))  441 ODD  fires 6th  reads on display
                                   1
         (6)   515      fires 4th
        Read before the last work was done.
        At the box: lead 4 in display 1 and lead 1
        in display 4.
        "#);
    }

    #[test]
    fn every_engine_fits_a_usual_terminal() {
        for cylinders in 2..=16_u8 {
            let values = vec![500.0; usize::from(cylinders)];
            let moved = [(Item::Probe, 1, 2), (Item::LeadAtBox, 1, 2), (Item::Coil, 1, 2)];
            let mut engines = vec![sample::engine(cylinders)];
            if cylinders % 2 == 0 {
                engines.push(vee(cylinders));
                engines.push(Engine {
                    layout: Layout::Flat,
                    fuel: Fuel::Carburettor,
                    ignition: Ignition::WastedSpark,
                    ..vee(cylinders)
                });
            }
            for engine in engines {
                let job = job(engine, &values, &[1, 2], &moved);
                for (width, high) in [(80, 22), (60, 22)] {
                    let lines = figure(&job.0, &job.1, Scale::Celsius).terminal(width);
                    assert!(lines.len() <= high, "{cylinders} at {width}: {}", lines.len());
                    let rings = lines.concat().matches('(').count();
                    // Two stand out and have two rings; so has the legend, with one.
                    assert_eq!(rings, usize::from(cylinders) + 2 + 2, "{lines:#?}");
                }
            }
        }
    }

    #[test]
    fn places_are_counted_as_people_do() {
        let told = [1, 2, 3, 4, 11, 12, 13, 21].map(ordinal).join(" ");
        assert_eq!(told, "1st 2nd 3rd 4th 11th 12th 13th 21st");
    }
}
