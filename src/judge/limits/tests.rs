use std::sync::OnceLock;

use jiff::Timestamp;

use super::*;
use facts::job::entry::{EngineState, Entry, Head};
use facts::knowledge::embedded::embedded;
use facts::knowledge::load;
use fixture::{degrees, temps};

fn knowledge() -> &'static Knowledge {
    static LOADED: OnceLock<Knowledge> = OnceLock::new();
    LOADED.get_or_init(|| load(embedded(), &[]).0.expect("the built-in knowledge base is whole"))
}

fn job(preset: usize, entries: Vec<What>) -> Journal {
    let presets = &knowledge().presets;
    let preset = &presets[preset % presets.len()];
    let mut journal = Journal::new(Head {
        opened: Timestamp::UNIX_EPOCH,
        typed: String::new(),
        vehicle: "an invented van".to_owned(),
        complaint: String::new(),
        engine_name: preset.id.clone(),
        engine: preset.engine.clone(),
        recent: Vec::new(),
        state: EngineState::Warm,
        details: facts::job::complaint::Details::default(),
    });
    for what in entries {
        journal.push(Entry::new(Timestamp::UNIX_EPOCH, String::new(), what));
    }
    journal
}

#[test]
fn limits_stand_as_they_were_set() {
    let first = temps("idle", degrees(&[416.0, 400.0, 396.0, 388.0]));
    let set = What::LimitsSet { once_in: 500.0, delay: None };
    let four = knowledge().presets.iter().position(|p| p.engine.cylinders == 4).expect("a four");
    let mut journal = job(four, vec![first, What::Recorded]);
    assert_eq!(as_set(knowledge(), &journal), None);
    journal.push(Entry::new(Timestamp::UNIX_EPOCH, String::new(), set));
    let then = as_set(knowledge(), &journal).expect("they were set");
    let later = temps("idle", degrees(&[380.0, 400.0, 396.0, 428.0]));
    journal.push(Entry::new(Timestamp::UNIX_EPOCH, String::new(), later));
    assert_eq!(as_set(knowledge(), &journal), Some(then.clone()));
    // The whole page has the same limits, and what they see beside them.
    let timeline = read(knowledge(), &journal);
    let asked = Asked { once_in: 500.0, delay: None };
    let now = limits(knowledge(), &timeline, &vehicle::after(knowledge(), &timeline), asked);
    assert!(!now.faults.is_empty() && then.faults.is_empty());
    assert_eq!((now.rows.len(), then.rows.len()), (4, 4));
    assert_ne!(now.rows, then.rows);
}
