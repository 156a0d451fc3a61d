//! The same input gives the same bytes: run after run, whatever the surroundings, on any number of
//! threads.

use std::path::Path;
use std::process::{Command, Stdio};

/// What a run puts out, in surroundings of its own.
fn run(folder: &Path, args: &[&str], surroundings: &[(&str, &str)]) -> Vec<u8> {
    let output = Command::new(env!("CARGO_BIN_EXE_oddpot"))
        .env_clear()
        .envs(surroundings.iter().copied())
        .current_dir(folder)
        .args(args)
        .stdin(Stdio::null())
        .stderr(Stdio::null())
        .output()
        .expect("it runs");
    assert!(output.status.success(), "{args:?}");
    output.stdout
}

#[test]
fn pages_are_the_same_bytes_everywhere() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = folder.path().join("job.ron");
    std::fs::write(&job, include_str!("../fixtures/reference-job.ron")).expect("written");
    std::fs::write(folder.path().join("six.csv"), include_bytes!("../fixtures/log-six.csv"))
        .expect("written");
    for args in [
        &["card", "job.ron", "--format", "html"][..],
        &["card", "job.ron", "--format", "pdf"],
        &["log", "six.csv", "--json"],
        &["knowledge", "list", "--json"],
    ] {
        let first = run(folder.path(), args, &[("TZ", "UTC")]);
        let elsewhere =
            [("HOME", "/nowhere"), ("TZ", "UTC"), ("LANG", "tr_TR.UTF-8"), ("COLUMNS", "33")];
        let again = run(folder.path(), args, &elsewhere);
        assert!(first == again, "{args:?}");
    }
}

/// Pages show the time of the workshop and say so; the file and what programs are given stay universal.
#[test]
fn the_zone_moves_the_times_of_pages_and_nothing_else() {
    let folder = tempfile::tempdir().expect("a folder");
    let job = folder.path().join("job.ron");
    std::fs::write(&job, include_str!("../fixtures/reference-job.ron")).expect("written");
    // A zone by its rule, which needs no files of zones.
    let here = |args: &[&str], zone: &str| {
        String::from_utf8(run(folder.path(), args, &[("TZ", zone)])).expect("text")
    };
    let before = std::fs::read(&job).expect("there");
    for args in [&["journal", "job.ron", "--detail"][..], &["card", "job.ron"]] {
        let (universal, local) = (here(args, "UTC"), here(args, "NPT-5:45"));
        assert!(universal.contains("time, UTC ") && !universal.contains("UTC+"), "{universal}");
        assert!(local.contains("time, UTC+05:45"), "{local}");
    }
    for args in [&["journal", "job.ron", "--json"][..], &["suspects", "job.ron"]] {
        assert_eq!(here(args, "UTC"), here(args, "NPT-5:45"), "{args:?}");
    }
    // What no zone is called is no reason to fail.
    assert_eq!(here(&["journal", "job.ron"], "Nowhere/None"), here(&["journal", "job.ron"], "UTC"));
    assert!(before == std::fs::read(&job).expect("there"));
}

#[test]
fn the_workshop_does_not_hang_on_the_number_of_threads() {
    let folder = tempfile::tempdir().expect("a folder");
    let jobs = |threads: &str| {
        let args =
            ["workshop", "--count", "3", "--policy", "parts-first", "--threads", threads, "--json"];
        run(folder.path(), &args, &[])
    };
    let one = jobs("1");
    for threads in ["2", "7"] {
        assert!(jobs(threads) == one, "{threads} threads");
    }
}
