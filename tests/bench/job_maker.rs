//! Writes a store of invented jobs, the same bytes for the same seed.
//!
//! `cargo bench --bench job_maker -- FOLDER [JOBS] [SEED]`. Engines, recent work, vehicles, causes
//! and numbers are drawn by chance; nobody built these engines and nobody owns these vehicles. Seven
//! jobs of ten are closed and proven. For measuring how fast a large store is scanned:
//!
//! ```sh
//! cargo bench --bench job_maker -- /tmp/many/jobs 10000
//! time target/release/oddpot --jobs /tmp/many/jobs memory learn
//! time target/release/oddpot --jobs /tmp/many/jobs search --cause fit-deep
//! ```
#![expect(clippy::print_stderr, reason = "a bench reports on the terminal")]

use std::fs;
use std::path::Path;

use facts::job::entry::{EngineState, Entry, Head, Journal, Reading, What};
use facts::job::file;
use facts::knowledge::embedded::embedded;
use facts::knowledge::{Knowledge, PlaceKind, load};
use jiff::{SignedDuration, Timestamp};
use judge::diagnosis::prior::places;
use measure::engine::{Kind, ProbeSite, Regime};
use measure::units::Celsius;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

const COLOURS: [&str; 6] = ["Grey", "Blue", "Red", "White", "Green", "Black"];
const KINDS: [&str; 6] = ["estate", "tractor", "launch", "van", "coach", "generator"];
/// Of ten jobs that are closed and proven.
const PROVEN: u32 = 7;

fn main() -> std::io::Result<()> {
    let words: Vec<String> = std::env::args().skip(1).filter(|a| !a.starts_with("--")).collect();
    let Some(folder) = words.first() else {
        eprintln!("usage: cargo bench --bench job_maker -- FOLDER [JOBS] [SEED]");
        return Ok(());
    };
    let number =
        |at: usize, usual: u64| words.get(at).and_then(|w| w.parse().ok()).unwrap_or(usual);
    let (jobs, seed) = (number(1, 10_000), number(2, 1));
    let Some(knowledge) = load(embedded(), &[]).0 else {
        return Err(std::io::Error::other("the knowledge base is not sound"));
    };
    fs::create_dir_all(folder)?;
    let mut random = Pcg64Mcg::seed_from_u64(seed);
    for n in 0..jobs {
        let journal = invent(&knowledge, &mut random, n);
        let text = file::write(&journal).map_err(std::io::Error::other)?;
        fs::write(Path::new(folder).join(format!("job-{n:05}.ron")), text)?;
    }
    eprintln!("{jobs} invented jobs in {folder}");
    Ok(())
}

fn invent(knowledge: &Knowledge, random: &mut Pcg64Mcg, n: u64) -> Journal {
    let preset = &knowledge.presets[random.random_range(0..knowledge.presets.len())];
    let engine = Kind::of(&preset.engine).engine();
    let recent: Vec<String> = if random.random_range(0..3) == 0 {
        vec![knowledge.recent[random.random_range(0..knowledge.recent.len())].id.clone()]
    } else {
        Vec::new()
    };
    let faults: Vec<_> = knowledge
        .causes
        .iter()
        .filter(|c| c.remedy.is_some() && c.place != PlaceKind::Nowhere && c.applies.holds(&engine))
        .filter(|c| !places(c, &engine).is_empty())
        .collect();
    let cause = faults[random.random_range(0..faults.len())];
    let all = places(cause, &engine);
    let place = all[random.random_range(0..all.len())];
    let vehicle = format!(
        "{} {} {}",
        COLOURS[random.random_range(0..COLOURS.len())],
        KINDS[random.random_range(0..KINDS.len())],
        random.random_range(1..400)
    );
    let opened = Timestamp::UNIX_EPOCH + SignedDuration::from_hours(430_000 + 5 * n.cast_signed());
    let mut journal = Journal::new(Head {
        opened,
        typed: format!("open (invented) --cylinders {}", engine.cylinders),
        vehicle,
        complaint: "one display reads unlike its mates".to_owned(),
        engine_name: preset.name.clone(),
        engine,
        recent,
        state: EngineState::Warm,
        details: facts::job::complaint::Details::default(),
    });
    let odd = usize::from(place.cylinders(&journal.head.engine)[0]) - 1;
    let departure = random.random_range(-140.0..140.0);
    let cylinders = usize::from(journal.head.engine.cylinders);
    let mut list = Vec::new();
    for (at, level) in [(Regime::Idle, 400.0), (Regime::Cruise, 620.0)] {
        let readings = (0..cylinders).map(|display| {
            let off = if display == odd { departure } else { 0.0 };
            let shown: f64 = level + off + random.random_range(-12.0..12.0);
            Celsius::new(shown.round()).map_or(Reading::Open, Reading::Degrees)
        });
        let readings = readings.collect();
        list.push(What::Temps { at: at.into(), site: ProbeSite::Exhaust, readings, from: None });
    }
    if random.random_range(0..10) < PROVEN {
        list.push(What::Remedy { cause: cause.id.clone(), place });
        let readings = vec![Celsius::new(401.0).map_or(Reading::Open, Reading::Degrees); cylinders];
        let site = ProbeSite::Exhaust;
        list.push(What::Temps { at: Regime::Idle.into(), site, readings, from: None });
        list.push(What::Close { proven: true, reason: None });
    }
    for (minute, what) in (1..).zip(list) {
        let time = opened + SignedDuration::from_mins(20 * minute);
        let typed = "invented".to_owned();
        journal.entries.push(Entry::new(time, typed, what));
    }
    journal
}
