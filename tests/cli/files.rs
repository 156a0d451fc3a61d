//! What happens to files: locks, broken jobs, lists.

use std::fs::File;
use std::process::Stdio;

use crate::bench::Bench;

#[test]
fn a_job_held_elsewhere_is_left_alone() {
    let bench = Bench::with_van();
    let before = Bench::read(&bench.job("van"));
    let side =
        File::options().write(true).open(bench.path("jobs/van.ron.lock")).expect("the lock's file");
    side.try_lock().expect("free");
    let run = bench.run("state van cold");
    assert_eq!((run.status, &*run.out), (3, ""));
    assert!(run.err.starts_with("error: another session holds this job: "), "{}", run.err);
    assert_eq!(Bench::read(&bench.job("van")), before);
    bench.run("journal van").succeeds();
    drop(side);
    bench.run("state van cold").succeeds();
}

#[test]
fn writers_at_the_same_time_lose_nothing() {
    let bench = Bench::with_van();
    let args = ["state", "van", "cold", "--jobs", "jobs"];
    let runs: Vec<_> =
        (0..8).map(|_| bench.command().args(args).spawn().expect("it runs")).collect();
    let mut done = 0;
    for run in runs {
        let output = run.wait_with_output().expect("it ends");
        match output.status.code() {
            Some(0) => done += 1,
            Some(3) => {
                let err = String::from_utf8(output.stderr).expect("text");
                assert!(err.contains("another session holds this job"), "{err}");
            }
            other => panic!("{other:?}"),
        }
    }
    let journal = bench.run("journal van --json").document(0);
    assert!(done > 0);
    assert_eq!(journal["entries"].as_array().expect("a list").len(), done);
}

#[test]
fn a_missing_job_is_named_with_the_nearest() {
    let bench = Bench::with_van();
    bench.run("temps vann --at idle 1 2 3 4").fails(
        3,
        "error: there is no job at jobs/vann.ron\n\
         hint: did you mean `van`?\n\
         hint: `oddpot jobs` lists the jobs, `oddpot open JOB ...` starts one\n",
    );
    assert!(!bench.path("jobs/vann.ron.lock").exists());
}

#[test]
fn a_broken_job_is_refused_with_its_place_and_not_touched() {
    let bench = Bench::with_van();
    let text = Bench::read(&bench.job("van"));
    let line = 1 + text[..text.find("vehicle").expect("there")].matches('\n').count();
    let broken = text.replace("vehicle:", "vehicel:");
    bench.write("jobs/van.ron", &broken);
    for command in ["journal van", "state van cold", "suspects van", "undo van"] {
        let run = bench.run(command);
        assert_eq!((run.status, &*run.out), (3, ""), "{command}");
        let place = format!(
            "van.ron: line {line}, column 5: unknown field `vehicel`, did you mean `vehicle`?\n\
             hint: line {line} is: vehicel: \"\",\n\
             hint: the file was left as it is\n"
        );
        assert!(run.err.ends_with(&place), "{}", run.err);
    }
    assert_eq!(Bench::read(&bench.job("van")), broken);
}

#[test]
fn a_job_of_a_newer_program_is_refused() {
    let bench = Bench::with_van();
    let text = Bench::read(&bench.job("van"));
    bench.write("jobs/van.ron", &text.replace("format: 1", "format: 7, novel: Thing(3)"));
    let run = bench.run("journal van");
    run.fails(
        3,
        "error: jobs/van.ron: it has format 7, this program knows formats up to 2: use the newer \
         oddpot that wrote it\nhint: the file was left as it is\n",
    );
}

#[test]
fn a_job_that_makes_no_sense_is_refused() {
    let bench = Bench::with_van();
    bench.run("exchange van probe 1 2").succeeds();
    let text = Bench::read(&bench.job("van"));
    bench.write("jobs/van.ron", &text.replace("b: 2", "b: 5"));
    bench.run("suspects van").fails(
        3,
        "error: jobs/van.ron: entry 1: cylinder 5 does not exist: this engine has 1 to 4\n\
         hint: the file was left as it is\n",
    );
}

#[test]
fn jobs_lists_what_is_there() {
    let bench = Bench::with_van();
    bench.run("close van --unproven").succeeds();
    bench.run("open bus --cylinders 6 --state cold").succeeds();
    bench.write("jobs/broken.ron", "(");
    let document = bench.run("jobs --json").document(0);
    let jobs = document["jobs"].as_array().expect("a list");
    let names: Vec<_> = jobs.iter().map(|job| job["name"].as_str()).collect();
    assert_eq!(names, [Some("broken"), Some("bus"), Some("van")]);
    assert!(jobs[0]["problem"].is_string());
    assert_eq!((&jobs[1]["closed"], &jobs[2]["closed"]), (&false.into(), &true.into()));
    let nowhere = bench.bare(&["jobs", "--jobs", "nowhere", "--json"]).document(0);
    assert_eq!(nowhere["jobs"].as_array().map(Vec::len), Some(0));
}

#[test]
fn a_card_goes_to_a_file_whole() {
    let bench = Bench::with_van();
    bench.run("card van --format md -o card.md").gives(0, "wrote card.md\n", "");
    let shown = bench.run("card van --format md");
    shown.succeeds();
    assert_eq!(Bench::read(&bench.path("card.md")), shown.out);
    let run = bench.run("card van -o none/card.txt");
    assert_eq!((run.status, &*run.out), (3, ""));
}

#[test]
fn a_reader_that_went_away_is_no_error() {
    let bench = Bench::with_van();
    let mut run = bench
        .command()
        .args(["knowledge", "list", "--json"])
        .stdout(Stdio::piped())
        .spawn()
        .expect("it runs");
    drop(run.stdout.take());
    let output = run.wait_with_output().expect("it ends");
    assert_eq!(String::from_utf8_lossy(&output.stderr), "");
    assert_eq!(output.status.code(), Some(0));
}
