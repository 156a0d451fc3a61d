//! Nothing lost, nothing let in, nothing panics. `run` beside this file does all of it.
//!
//! Here: the program is killed at random moments, and what it had acknowledged must be there. How
//! often is set by `ODDPOT_KILLS`. The moments are random, the promise is not: an entry whose number
//! was printed is in the file, one whose number was not is wholly there or wholly absent, and the
//! file can always be read.

mod formats;
mod hostile;
mod page;
mod same;
mod seeds;

#[expect(unreachable_pub, reason = "the fuzzers are another package")]
#[path = "../fuzz/shared.rs"]
mod shared;

use std::io::Read;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::Duration;

use facts::job::store;
use rand::{RngExt, SeedableRng};
use rand_pcg::Pcg64Mcg;

const USUAL: u64 = 60;

#[expect(clippy::disallowed_methods, reason = "a test may be told how long to go on")]
fn kills() -> u64 {
    std::env::var("ODDPOT_KILLS").ok().and_then(|n| n.parse().ok()).unwrap_or(USUAL)
}

fn program(folder: &Path) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_oddpot"));
    command.env_clear().current_dir(folder).stdin(Stdio::null()).stderr(Stdio::null());
    command
}

fn entries(folder: &Path) -> usize {
    let path = folder.join("jobs/van.ron");
    store::open(&path).expect("a killed writer leaves a job that can be read").entries.len()
}

/// Runs and kills after a moment; what was said up to then, and whether it came through.
fn killed_after(folder: &Path, args: &[&str], moment: Duration) -> (String, bool) {
    let mut child = program(folder).args(args).stdout(Stdio::piped()).spawn().expect("it runs");
    std::thread::sleep(moment);
    // An error means that it has ended already.
    let _ = child.kill();
    let status = child.wait().expect("it ends");
    let mut said = String::new();
    child.stdout.take().expect("piped").read_to_string(&mut said).expect("text");
    (said, status.success())
}

#[expect(clippy::print_stderr, reason = "says what was tried, for the record")]
#[test]
fn a_job_whose_opening_is_killed_is_there_whole_or_not_at_all() {
    let folder = tempfile::tempdir().expect("a folder");
    let mut random = Pcg64Mcg::seed_from_u64(11);
    let (mut killed, mut there) = (0_u64, 0_u64);
    let mut longest = Duration::from_millis(20);
    while killed < kills() / 4 {
        let open = ["--jobs", "jobs", "open", "van", "--cylinders", "4", "--state", "warm"];
        let moment = longest.mul_f64(random.random_range(0.0..1.0));
        let (said, through) = killed_after(folder.path(), &open, moment);
        killed += u64::from(!through);
        longest = longest.mul_f64(if through { 0.9 } else { 1.05 });
        let path = folder.path().join("jobs/van.ron");
        let found = store::open(&path);
        assert!(said.is_empty() || found.is_ok(), "`{said}` was said, and the job is not there");
        match found {
            Ok(_) => {
                there += 1;
                std::fs::remove_file(&path).expect("removed");
            }
            Err(error) => assert!(matches!(error, store::StoreError::Missing(_)), "{error}"),
        }
    }
    eprintln!("{killed} openings killed, {there} jobs whole, 0 torn");
}

#[expect(clippy::print_stderr, reason = "says what was tried, for the record")]
#[test]
fn no_acknowledged_entry_is_lost_to_a_kill() {
    let folder = tempfile::tempdir().expect("a folder");
    std::fs::create_dir(folder.path().join("jobs")).expect("a store");
    let open = ["--jobs", "jobs", "open", "van", "--cylinders", "4", "--state", "warm"];
    assert!(program(folder.path()).args(open).output().expect("it runs").status.success());
    let mut random = Pcg64Mcg::seed_from_u64(7);
    let (mut before, mut killed, mut finished, mut unacknowledged) = (0, 0_u64, 0_u64, 0_u64);
    // The longest wait follows how long a run takes here, so that kills fall all over it.
    let mut longest = Duration::from_millis(20);
    while killed < kills() {
        let enter = ["--jobs", "jobs", "temps", "van", "--at", "idle", "400", "410", "390", "405"];
        let moment = longest.mul_f64(random.random_range(0.0..1.0));
        let (said, through) = killed_after(folder.path(), &enter, moment);
        if through {
            finished += 1;
            longest = longest.mul_f64(0.9);
        } else {
            killed += 1;
            longest = longest.mul_f64(1.05);
        }
        let now = entries(folder.path());
        assert!(now == before || now == before + 1, "{before} entries, then {now}");
        let acknowledged = said.ends_with('\n') && said.starts_with("entry ");
        assert!(!acknowledged || now == before + 1, "`{said}` was said, and the entry is lost");
        unacknowledged += u64::from(!acknowledged && now > before);
        before = now;
        if before > 40 {
            // A long journal takes long to write; begin again with a short one.
            std::fs::remove_file(folder.path().join("jobs/van.ron")).expect("removed");
            assert!(program(folder.path()).args(open).output().expect("it runs").status.success());
            before = 0;
        }
    }
    let left = std::fs::read_dir(folder.path().join("jobs")).expect("the store").count();
    assert!(left <= 2 + 3, "half-written files pile up: {left}");
    eprintln!(
        "{killed} kills, {finished} runs that came through, {unacknowledged} kept without having been said; \
         0 lost, 0 torn"
    );
}
