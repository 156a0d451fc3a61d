use super::*;
use crate::fixture;
use crate::job::entry::Reading;
use crate::knowledge::Item;
use measure::engine::{DepthHold, ProbeSite, Regime};

fn timeline(list: &[What]) -> Timeline {
    read_on(|_| {}, list)
}

fn read_on(change: impl Fn(&mut Journal), list: &[What]) -> Timeline {
    let mut journal = fixture::journal();
    change(&mut journal);
    journal.entries = list.iter().cloned().map(fixture::entry).collect();
    read(&fixture::knowledge(), &journal)
}

fn cost(list: &[What]) -> Cost {
    let mut journal = fixture::journal();
    journal.entries = list.iter().cloned().map(fixture::entry).collect();
    minutes_spent(&fixture::knowledge(), &journal)
}

fn exchange(item: Item, a: Cylinder, b: Cylinder) -> What {
    What::Exchange { item, a, b }
}

fn remake(item: Item, cylinder: Cylinder, new: bool) -> What {
    What::Remake { item, cylinder, new }
}

fn found(test: &str, outcome: &str, cylinder: Option<u8>, partner: Option<u8>) -> What {
    What::Found { test: test.to_owned(), outcome: outcome.to_owned(), cylinder, partner }
}

fn remedy(cause: &str, cylinder: Cylinder) -> What {
    What::Remedy { cause: cause.to_owned(), place: Place::Cylinder(cylinder) }
}

fn idle() -> What {
    fixture::temps("idle", fixture::degrees(&[650.0, 590.0, 655.0, 648.0]))
}

fn touched(timeline: &Timeline, index: usize) -> Vec<(Seat, Cylinder, Touch)> {
    timeline.disturbances[index].touched.clone()
}

#[test]
fn an_exchange_touches_both_places_by_their_first_numbers() {
    use Touch::Reseated;
    let now = timeline(&[
        exchange(Item::LeadAtBox, 1, 2),
        exchange(Item::LeadAtBox, 2, 3),
        exchange(Item::Probe, 1, 4),
        exchange(Item::Probe, 4, 3),
    ]);
    // Display 2 now has lead 1, so the second exchange undoes leads 1 and 3.
    assert_eq!(touched(&now, 1), [(Seat::Lead, 1, Reseated(0.5)), (Seat::Lead, 3, Reseated(0.5))]);
    // The bosses keep their numbers while the probes move; lead ends at the probes have not.
    assert_eq!(
        touched(&now, 3),
        [
            (Seat::Fit, 4, Reseated(1.0)),
            (Seat::Lead, 4, Reseated(0.5)),
            (Seat::Fit, 3, Reseated(1.0)),
            (Seat::Lead, 3, Reseated(0.5)),
        ]
    );
    assert_eq!(now.arrangement.item_at(Item::Probe, 3), 1);
    assert_eq!(now.arrangement.item_at(Item::LeadAtBox, 3), 1);
}

#[test]
fn a_fit_fixed_to_its_probe_is_found_where_the_probe_went() {
    let now = read_on(
        |journal| journal.head.engine.depth = DepthHold::Travels,
        &[exchange(Item::Probe, 1, 2), remake(Item::Probe, 1, false)],
    );
    assert_eq!(touched(&now, 1)[0], (Seat::Fit, 2, Touch::Reseated(1.0)));
}

#[test]
fn coils_of_a_wasted_spark_engine_move_by_pairs() {
    let now = timeline(&[exchange(Item::Coil, 1, 2)]);
    let seats: Vec<_> = touched(&now, 0).iter().map(|t| t.1).collect();
    assert_eq!(seats, [1, 4, 2, 3]);
    assert_eq!(now.arrangement.item_at(Item::Coil, 3), 4);
}

#[test]
fn parts_go_home_by_the_names_by_which_they_were_exchanged() {
    let (knowledge, list) = (fixture::knowledge(), [exchange(Item::Coil, 1, 2)]);
    let there = timeline(&list);
    // The lower of each coil's cylinders to the lower: 1 and 4 for 2 and 3.
    assert_eq!(there.put_back(&knowledge)[0].positions, (1, 2));
    let there = timeline(&[exchange(Item::Coil, 4, 2), exchange(Item::Probe, 3, 1)]);
    let steps: Vec<_> = there.put_back(&knowledge).iter().map(|s| (s.item, s.positions)).collect();
    assert!(steps.contains(&(Item::Coil, (4, 2))), "{steps:?}");
    assert!(steps.contains(&(Item::Probe, (3, 1))), "{steps:?}");
    let mut now = there.arrangement.clone();
    for step in there.put_back(&knowledge) {
        now.exchange(&there.engine, step.item, step.positions.0, step.positions.1);
    }
    assert!(now.is_original());
}

#[test]
fn what_came_before_the_last_remedy_is_counted() {
    let swap = || exchange(Item::Coil, 1, 2);
    assert_eq!(timeline(&[swap()]).remedied_by(), 0);
    assert_eq!(timeline(&[swap(), swap(), remedy("fit-shallow", 2), swap()]).remedied_by(), 3);
}

#[test]
fn remaking_touches_what_the_item_stands_for() {
    use Touch::{Replaced, Reseated};
    let cases = [
        (remake(Item::LeadAtBox, 2, false), vec![(Seat::Lead, 2, Reseated(0.5))]),
        (
            remake(Item::LeadAtBox, 2, true),
            vec![
                (Seat::Channel, 2, Replaced),
                (Seat::Settings, 2, Replaced),
                (Seat::Lead, 2, Reseated(0.5)),
            ],
        ),
        (remake(Item::LeadAtProbe, 2, true), vec![(Seat::Lead, 2, Replaced)]),
        (
            remake(Item::Probe, 2, false),
            vec![(Seat::Fit, 2, Reseated(1.0)), (Seat::Lead, 2, Reseated(0.5))],
        ),
        (
            remake(Item::Probe, 2, true),
            vec![
                (Seat::Probe, 2, Replaced),
                (Seat::Fit, 2, Reseated(1.0)),
                (Seat::Lead, 2, Reseated(0.5)),
            ],
        ),
        (
            remake(Item::Plug, 2, false),
            vec![(Seat::Plug, 2, Reseated(1.0)), (Seat::Coil, 2, Reseated(0.5))],
        ),
        (
            remake(Item::Plug, 2, true),
            vec![(Seat::Plug, 2, Replaced), (Seat::Coil, 2, Reseated(0.5))],
        ),
    ];
    for (what, expected) in cases {
        let now = timeline(std::slice::from_ref(&what));
        assert_eq!(touched(&now, 0), expected, "{what:?}");
        assert!(now.arrangement.is_original());
    }
}

#[test]
fn a_remake_after_an_exchange_names_the_seat_that_is_there_now() {
    let now = timeline(&[exchange(Item::LeadAtBox, 2, 3), remake(Item::LeadAtBox, 2, true)]);
    assert_eq!(
        touched(&now, 1),
        [
            (Seat::Channel, 2, Touch::Replaced),
            (Seat::Settings, 2, Touch::Replaced),
            (Seat::Lead, 3, Touch::Reseated(0.5)),
        ]
    );
}

#[test]
fn words_go_to_the_exchange_they_speak_of() {
    let now = timeline(&[
        exchange(Item::Probe, 2, 3),
        exchange(Item::LeadAtBox, 1, 4),
        found("swap-probe", "moved", Some(3), None),
    ]);
    assert_eq!(now.disturbances.len(), 2);
    let verdict = now.disturbances[0].verdict.as_ref().expect("given");
    assert_eq!((verdict.cylinder, verdict.partner), (3, Some(2)));
    assert_eq!((verdict.entry, verdict.outcome), (3, 0));
    assert!(verdict.before.is_original() && !verdict.superseded);
}

#[test]
fn words_without_an_exchange_imply_it() {
    let with = timeline(&[found("swap-probe", "moved", Some(2), Some(3))]);
    assert_eq!(with.arrangement.item_at(Item::Probe, 2), 3);
    assert_eq!(with.disturbances[0].touched.len(), 4);
    assert!(with.disturbances[0].verdict.is_some());

    let without = timeline(&[found("swap-probe", "moved", Some(2), None)]);
    assert!(without.arrangement.is_original());
    assert_eq!(without.disturbances[0].touched.len(), 2);

    let elsewhere =
        timeline(&[exchange(Item::Probe, 1, 4), found("swap-probe", "moved", Some(2), Some(3))]);
    assert_eq!(elsewhere.disturbances.len(), 2);

    let spare = timeline(&[found("spare-channel", "gone", Some(2), None)]);
    assert_eq!(touched(&spare, 0)[0], (Seat::Channel, 2, Touch::Replaced));
    let again = timeline(&[found("reseat-probe", "gone", Some(2), None)]);
    assert_eq!(touched(&again, 0)[0], (Seat::Fit, 2, Touch::Reseated(1.0)));
}

#[test]
fn later_words_correct_earlier_ones_and_do_not_exchange_again() {
    let now = timeline(&[
        found("swap-probe", "moved", Some(2), Some(3)),
        found("swap-probe", "gone", Some(2), Some(3)),
    ]);
    assert_eq!(now.disturbances.len(), 1);
    assert_eq!(now.disturbances[0].verdict.as_ref().map(|v| v.outcome), Some(2));
    assert!(!now.arrangement.is_original());
}

#[test]
fn words_give_way_to_numbers_on_both_sides_of_the_work() {
    let words = || found("swap-probe", "moved", Some(2), None);
    let swap = || exchange(Item::Probe, 2, 3);
    let cold = || fixture::temps("cold", fixture::degrees(&[20.0; 4]));
    let open = || fixture::temps("idle", vec![Reading::Open; 4]);
    let head = || What::Temps {
        at: Regime::Idle.into(),
        site: ProbeSite::Head,
        readings: fixture::degrees(&[90.0; 4]),
        from: None,
    };
    let cases = [
        (vec![idle(), swap(), idle(), words()], true),
        (vec![idle(), swap(), words(), idle()], true),
        (vec![idle(), swap(), words()], false),
        (vec![swap(), idle(), words()], false),
        (vec![cold(), swap(), idle(), words()], false),
        (vec![cold(), swap(), cold(), words()], true),
        (vec![idle(), swap(), open(), words()], false),
        (vec![head(), swap(), idle(), words()], false),
        (vec![idle(), swap(), exchange(Item::LeadAtBox, 1, 4), idle(), words()], false),
    ];
    for (list, expected) in cases {
        let now = timeline(&list);
        let verdict = now.disturbances[0].verdict.as_ref().expect("given");
        assert_eq!(verdict.superseded, expected, "{list:?}");
    }
}

#[test]
fn a_look_that_takes_parts_out_is_a_finding_and_then_a_disturbance() {
    let now = timeline(&[found("compression", "even", Some(2), None), idle()]);
    assert_eq!(now.findings[0].after, 0);
    assert_eq!(now.sets[0].after, 1);
    assert_eq!(touched(&now, 0), [(Seat::Plug, 2, Touch::Reseated(1.0))]);
    let look = timeline(&[found("look-fit", "shallower", Some(2), None)]);
    assert!(look.disturbances.is_empty());
    assert_eq!(look.findings[0].outcome, 1);
}

#[test]
fn a_remedy_touches_the_cylinder_where_the_fault_is_now() {
    let now = timeline(&[exchange(Item::Probe, 2, 3), remedy("probe-drift", 2)]);
    assert_eq!(now.disturbances[1].remedied, Some((3, Place::Cylinder(2))));
    assert_eq!(touched(&now, 1)[0], (Seat::Fit, 3, Touch::Reseated(1.0)));
}

#[test]
fn the_engine_state_follows_what_is_done() {
    let cruise = fixture::temps("cruise", fixture::degrees(&[700.0; 4]));
    let cold = fixture::temps("cold", fixture::degrees(&[20.0; 4]));
    let cases = [
        (vec![], Thermal::Hot),
        (vec![idle()], Thermal::Idle),
        (vec![idle(), cruise], Thermal::Cruise),
        (vec![cold], Thermal::ColdSoaked),
        (vec![idle(), exchange(Item::LeadAtBox, 1, 2)], Thermal::Idle),
        (vec![idle(), exchange(Item::Probe, 1, 2)], Thermal::Cool),
        (vec![idle(), found("compression", "even", Some(1), None)], Thermal::Hot),
        (vec![idle(), What::State(EngineState::Cold)], Thermal::Cold),
        (vec![remedy("fit-shallow", 1)], Thermal::Cool),
    ];
    for (list, expected) in cases {
        assert_eq!(timeline(&list).thermal, expected, "{list:?}");
    }
}

#[test]
fn what_was_opened_stays_open_until_it_must_be_closed() {
    let compression = found("compression", "even", Some(2), None);
    let injector = exchange(Item::Injector, 1, 2);
    let both = timeline(&[compression.clone(), injector.clone()]);
    assert_eq!(both.open_access, [0, 1]);
    let run = timeline(&[compression.clone(), injector.clone(), idle()]);
    assert_eq!(run.open_access, [1]);
    let closed = timeline(&[compression, injector, What::Close { proven: true, reason: None }]);
    assert!(closed.open_access.is_empty());
    assert_eq!(closed.standing, Standing::Closed(Closing::Proven));
}

#[test]
fn time_is_counted_with_set_ups_paid_once() {
    // Hot to idle and two sets: 10 waiting, twice 2 hands-on and 3 waiting.
    let sets = cost(&[idle(), idle()]);
    assert_eq!((sets.hands_on, sets.wait), (4.0, 16.0));
    // The plugs come out once for two looks: 20 + 4 + 4 hands-on.
    let look = || found("compression", "even", Some(2), None);
    assert_eq!(cost(&[look(), look()]).hands_on.to_bits(), 28f64.to_bits());
    // Words on an exchange that was entered cost nothing more.
    let swap = exchange(Item::LeadAtBox, 1, 2);
    let words = found("swap-at-box", "stays", Some(1), None);
    assert_eq!(cost(&[swap.clone(), words]), cost(&[swap]));
}

#[test]
fn what_was_taken_back_leaves_no_trace() {
    let list = [idle(), exchange(Item::Probe, 1, 2), What::Undo { entry: 2 }];
    let mut now = timeline(&list);
    assert_eq!(now, timeline(&list[..1]));
    now = timeline(&[
        idle(),
        exchange(Item::Probe, 1, 2),
        What::Undo { entry: 2 },
        What::Undo { entry: 3 },
    ]);
    assert!(!now.arrangement.is_original());
}

#[test]
fn what_the_knowledge_base_no_longer_has_is_listed() {
    let now = timeline(&[
        found("old-test", "even", Some(2), None),
        found("look-fit", "novel", Some(2), None),
        remedy("old-cause", 2),
        found("swap-probe", "moved", None, None),
        exchange(Item::Probe, 1, 9),
    ]);
    assert_eq!(
        now.unknown,
        [
            (1, "old-test".to_owned()),
            (2, "look-fit novel".to_owned()),
            (3, "old-cause".to_owned()),
            (4, "swap-probe without a cylinder".to_owned()),
            (5, "cylinder 9 does not exist: this engine has 1 to 4".to_owned()),
        ]
    );
    assert!(now.disturbances.is_empty() && now.arrangement.is_original());
}

#[test]
fn flags_are_kept() {
    let now = timeline(&[
        exchange(Item::Probe, 1, 2),
        What::LoadConfirmed,
        What::Recorded,
        What::Close { proven: false, reason: None },
        What::Reopen,
    ]);
    assert!(now.load_confirmed);
    assert_eq!(now.recorded, Some(1));
    assert_eq!(now.standing, Standing::Open);
    assert_eq!(now.recent, ["probes-new"]);
}

#[test]
fn a_complaint_may_name_a_display_that_is_not_there() {
    let said = |text: &'static str| {
        read_on(move |journal| text.clone_into(&mut journal.head.complaint), &[idle()])
            .complaint
            .heard
            .numbers
    };
    assert_eq!(said("display 3 reads low"), [3]);
    assert!(said("display 5 reads low").is_empty(), "the engine has four");
}
