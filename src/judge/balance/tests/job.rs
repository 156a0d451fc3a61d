//! The balance of a job: what bars it, and how a journal is followed step by step.
//!
//! It must not simulate an engine: readings are entered as they are.

use super::KNOWLEDGE;
use crate::balance::plan::{Next, Outcome};
use crate::balance::{Asked, Balance, Barrier, Now, balance, foresee};
use crate::diagnosis::assess;
use crate::diagnosis::assess::diagnose;
use crate::plan::verify;
use facts::job::entry::{Entry, Journal, What};
use facts::job::read::read;
use facts::job::trim::{Lever, MixtureSign};
use facts::knowledge::Knowledge;
use fixture::{degrees, temps};
use measure::engine::{Fuel, Ignition};

/// A job on the knowledge base's own port-injected four with trims.
fn job(whats: Vec<What>) -> Journal {
    let mut journal = fixture::journal();
    journal.head.engine.trims = true;
    journal.head.recent.clear();
    for what in whats {
        journal.push(Entry::new(jiff::Timestamp::UNIX_EPOCH, "typed".to_owned(), what));
    }
    journal
}

fn stands(knowledge: &Knowledge, journal: &Journal) -> Balance {
    let timeline = read(knowledge, journal);
    let assessment = assess(knowledge, &timeline);
    let verification = verify(&diagnose(knowledge, &timeline));
    let asked = Asked { lever: Lever::Fuel, at: None, by_load: false };
    balance(knowledge, &timeline, (&assessment, &verification), asked)
}

/// A depth fault of any size at any cylinder, at any point: as long as it is there, nothing is trimmed,
/// even where the mechanic writes it down as normal and claims a lean mixture.
#[test]
fn a_depth_fault_never_gets_a_trim() {
    let knowledge = &*KNOWLEDGE;
    for cylinder in [1_u8, 3] {
        for short in [45.0, 70.0] {
            for claims in [false, true] {
                let row = |level: f64| {
                    let mut row = [level + 2.0, level - 3.0, level + 1.0, level];
                    row[usize::from(cylinder) - 1] -= short;
                    degrees(&row)
                };
                let mut whats = vec![temps("idle", row(400.0)), temps("cruise", row(620.0))];
                if claims {
                    whats.push(What::Recorded);
                    let by = "plug".to_owned();
                    whats.push(What::Sign { cylinder, sign: MixtureSign::Lean, by });
                }
                let found = stands(knowledge, &job(whats));
                assert_eq!(found.now, Now::Barred, "cylinder {cylinder}, {short} °C: {found:?}");
            }
        }
    }
}

#[test]
fn a_measured_depth_bars_even_a_small_difference() {
    let knowledge = &*KNOWLEDGE;
    let line = |depth| facts::job::fit::FitLine { depth: Some(depth), ..Default::default() };
    let lines = vec![(1, line(15.0)), (2, line(11.0)), (3, line(15.0)), (4, line(15.0))];
    let found = stands(
        knowledge,
        &job(vec![
            temps("cruise", degrees(&[620.0, 606.0, 622.0, 619.0])),
            What::Fitted { lines },
            What::Recorded,
        ]),
    );
    assert!(
        found.barriers.iter().any(|b| matches!(b, Barrier::Depth(2, _))),
        "{:?}",
        found.barriers
    );
    assert_eq!(found.now, Now::Barred);
}

#[test]
fn a_diesel_is_recorded_and_not_levelled() {
    let knowledge = &*KNOWLEDGE;
    let mut journal =
        job(vec![temps("cruise", degrees(&[420.0, 440.0, 422.0, 419.0])), What::Recorded]);
    journal.head.engine.fuel = Fuel::Diesel;
    journal.head.engine.ignition = Ignition::None;
    let found = stands(knowledge, &journal);
    assert_eq!(found.barriers, [Barrier::Diesel]);
    assert_eq!(found.now, Now::Barred);
}

#[test]
fn a_journal_is_followed_step_by_step() {
    // Readings alone clear a chain only so far; here that is enough.
    let mut knowledge = KNOWLEDGE.clone();
    knowledge.constants.chain_share = 0.4;
    knowledge.constants.balance_share = 0.4;
    let knowledge = &knowledge;
    let cruise = |two: f64| temps("cruise", degrees(&[620.0, two, 619.0, 621.0]));
    let mut whats = vec![
        temps("idle", degrees(&[400.0, 396.0, 401.0, 399.0])),
        cruise(604.0),
        cruise(604.0),
        What::Recorded,
    ];
    let now = |whats: &Vec<What>| stands(knowledge, &job(whats.clone()));
    let found = now(&whats);
    assert_eq!(found.barriers, [], "{found:?}");
    assert_eq!(found.now, Now::Next(Next::AskSign { cylinder: 2 }));
    whats.push(What::Sign { cylinder: 2, sign: MixtureSign::Lean, by: "plug".to_owned() });
    let found = now(&whats);
    assert_eq!(found.now, Now::Next(Next::Step { cylinder: 2, to: 2.0, measures: true }));
    let timeline = read(knowledge, &job(whats.clone()));
    let foreseen = foresee(knowledge, &timeline, &found, 2, 2.0).expect("by the law");
    assert!((foreseen.change - 6.4).abs() < 1.0, "{foreseen:?}");
    whats.push(What::Trim { lever: Lever::Fuel, cylinder: 2, to: 2.0, foreseen: Some(foreseen) });
    assert_eq!(now(&whats).now, Now::Read);
    whats.push(cruise(613.0));
    let found = now(&whats);
    assert_eq!(found.taken[0].outcome, Some(Outcome::AsForeseen));
    assert!((found.taken[0].came.expect("read") - 9.0).abs() < 1e-9);
    assert_eq!(found.now, Now::Next(Next::Done { left: Vec::new() }), "{found:?}");
    // The trimmed readings are no evidence of a fault.
    let timeline = read(knowledge, &job(whats.clone()));
    assert_eq!((timeline.sets.len(), timeline.trimming.sets.len()), (3, 1));
    // A step that makes it far colder is put back.
    whats.pop();
    whats.push(cruise(560.0));
    assert_eq!(now(&whats).now, Now::PutBack { cylinder: 2, to: 0.0 });
}
