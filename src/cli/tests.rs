//! The command line as a whole: it is sound, and understands what pages give to type.

use clap::Parser as _;

use facts::job::read::read;
use facts::knowledge::embedded::embedded;
use facts::knowledge::{Item, Scope, TestKind, load};
use judge::diagnosis::prior::places;
use judge::diagnosis::{CauseRef, Fault};
use judge::plan::{JobEnd, Step};
use measure::engine::{Place, ProbeSite, Regime};
use pages::report;

#[test]
fn the_command_line_is_sound() {
    super::command().debug_assert();
}

#[test]
fn what_is_to_be_typed_is_understood_as_it_stands() {
    let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
    let timeline = read(&knowledge, &fixture::journal());
    let mut steps = vec![
        Step::Verify { at: fixture::at(Regime::Cruise) },
        Step::PutBack { item: Item::Probe, a: 1, b: 2 },
    ];
    steps.extend(JobEnd::ALL.iter().map(|end| Step::End(*end)));
    for at in knowledge.points.iter() {
        let of = |site| Step::Readings { at, site };
        steps.extend([ProbeSite::Exhaust, ProbeSite::Head].map(of));
    }
    for (index, test) in knowledge.tests.iter().enumerate() {
        steps.push(Step::Test {
            test: index,
            cylinder: (test.scope == Scope::Cylinder).then_some(2),
            partner: (test.kind == TestKind::Exchange).then_some(3),
            at: timeline.points_of(test).last().copied(),
        });
    }
    for (index, cause) in knowledge.causes.iter().enumerate() {
        let fault = |place| Fault { cause: CauseRef::Listed(index), place };
        let places = places(cause, &timeline.engine);
        steps.extend(places.into_iter().take(1).map(|place| Step::Remedy(fault(place))));
    }
    steps.push(Step::Remedy(Fault { cause: CauseRef::Unlisted, place: Place::Cylinder(2) }));
    let mut lists = 0;
    for step in steps {
        let all = report::arguments(&knowledge, &timeline, "my van", step);
        if let Step::Test { test, .. } = step {
            let test = &knowledge.tests[test];
            let outcomes = if test.kind.follows_seats() { 1 } else { test.outcomes.len() };
            assert_eq!(all.len(), outcomes, "{}", test.id);
        }
        for list in all {
            lists += 1;
            // Words that stand for what is seen: the partner is a number.
            let words = list.iter().map(|word| if word == "M" { "3" } else { word });
            let line = ["oddpot"].into_iter().chain(words);
            assert!(super::Args::try_parse_from(line).is_ok(), "{list:?}");
        }
    }
    assert!(lists > 300, "{lists}");
}
