//! Engines, journals and answers.

use std::collections::BTreeMap;
use std::sync::LazyLock;

use facts::job::entry::{EngineState, Entry, FORMAT, Head, Journal, What};
use facts::job::read::read;
use facts::job::typed;
use facts::knowledge::embedded::embedded;
use facts::knowledge::{Knowledge, load};
use jiff::Timestamp;
use judge::diagnosis::{self, Assessment, Fault};
use measure::engine::{Cylinder, Engine, ProbeSite, Regime};
use measure::units::Scale;
use proptest::prelude::ProptestConfig;

/// Cases to try a law on: the usual number, or as many as `ODDPOT_CASES` asks for.
#[expect(clippy::disallowed_methods, reason = "a test may be told how long to go on")]
pub(crate) fn cases(usual: u32) -> ProptestConfig {
    let asked = std::env::var("ODDPOT_CASES").ok().and_then(|n| n.parse().ok());
    ProptestConfig::with_cases(asked.unwrap_or(usual).max(usual))
}

/// The same for laws of whole plans, a hundredth of what is asked for.
pub(crate) fn plans(usual: u32) -> ProptestConfig {
    let asked = cases(100 * usual).cases;
    ProptestConfig::with_cases(asked.div_ceil(100))
}

/// The built-in knowledge base.
pub(crate) fn knowledge() -> &'static Knowledge {
    static BASE: LazyLock<Knowledge> =
        LazyLock::new(|| load(embedded(), &[]).0.expect("a knowledge base"));
    &BASE
}

/// An engine in line whose cylinders differ in nothing but their numbers.
pub(crate) fn inline(cylinders: u8) -> Engine {
    Engine::plain(cylinders)
}

/// A job on an engine.
pub(crate) fn journal(engine: &Engine, entries: impl IntoIterator<Item = What>) -> Journal {
    let entry = |what| Entry::new(Timestamp::UNIX_EPOCH, String::new(), what);
    Journal {
        format: FORMAT,
        head: Head {
            opened: Timestamp::UNIX_EPOCH,
            typed: String::new(),
            vehicle: "an invented car".to_owned(),
            complaint: String::new(),
            engine_name: String::new(),
            engine: engine.clone(),
            recent: Vec::new(),
            state: EngineState::Warm,
            details: facts::job::complaint::Details::default(),
        },
        entries: entries.into_iter().map(entry).collect(),
    }
}

/// Readings as typed, parted by spaces.
pub(crate) fn typed(at: Regime, values: &str, scale: Scale) -> What {
    let values: Vec<&str> = values.split(' ').collect();
    let cylinders = u8::try_from(values.len()).expect("few");
    let readings = typed::readings(&values, scale, cylinders).expect("readings");
    What::Temps { at: at.into(), site: ProbeSite::Exhaust, readings, from: None }
}

/// Readings in °C.
pub(crate) fn temps(at: Regime, values: &[f64]) -> What {
    let values: Vec<String> = values.iter().map(f64::to_string).collect();
    typed(at, &values.join(" "), Scale::Celsius)
}

/// The answer to a job.
pub(crate) fn assess(knowledge: &Knowledge, journal: &Journal) -> Assessment {
    diagnosis::assess(knowledge, &read(knowledge, journal))
}

/// Findings of tests that are judged by their tables and disturb nothing, on one cylinder; one
/// for each number given, which chooses its outcome.
pub(crate) fn findings(engine: &Engine, cylinder: Cylinder, numbers: &[usize]) -> Vec<What> {
    let words = ["cold-compare", "pattern", "point-compare", "head-exh-pair"];
    let quiet = knowledge().tests.iter().filter(|test| {
        test.applies.holds(engine)
            && test.reseats.is_empty()
            && !test.given.is_empty()
            && !words.contains(&test.id.as_str())
    });
    quiet
        .step_by(5)
        .zip(numbers)
        .map(|(test, number)| What::Found {
            test: test.id.clone(),
            outcome: test.outcomes[number % test.outcomes.len()].id.clone(),
            cylinder: Some(cylinder),
            partner: None,
        })
        .collect()
}

/// Probabilities by fault, cylinders renumbered.
pub(crate) fn suspects(
    assessment: &Assessment,
    renumbered: impl Fn(Fault) -> Fault,
) -> BTreeMap<Fault, [f64; 2]> {
    assessment
        .suspects
        .iter()
        .map(|suspect| (renumbered(suspect.fault), [suspect.probability, suspect.present]))
        .collect()
}

/// That two answers give every fault the same probability.
#[track_caller]
pub(crate) fn agree(a: &BTreeMap<Fault, [f64; 2]>, b: &BTreeMap<Fault, [f64; 2]>, within: f64) {
    for fault in a.keys().chain(b.keys()) {
        let of = |map: &BTreeMap<Fault, [f64; 2]>| map.get(fault).copied().unwrap_or_default();
        for (x, y) in of(a).into_iter().zip(of(b)) {
            assert!((x - y).abs() <= within, "{fault:?}: {x} against {y}");
        }
    }
}
