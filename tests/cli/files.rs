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
             hint: the file was left as it is; `oddpot mend JOB` saves what is whole\n"
        );
        assert!(run.err.ends_with(&place), "{}", run.err);
    }
    assert_eq!(Bench::read(&bench.job("van")), broken);
}

#[test]
fn a_job_of_a_newer_program_is_refused() {
    let bench = Bench::with_van();
    let text = Bench::read(&bench.job("van"));
    bench.write("jobs/van.ron", &text.replace("format: 1", "format: 10, novel: Thing(3)"));
    let run = bench.run("journal van");
    run.fails(
        3,
        "error: jobs/van.ron: it has format 10, this program knows formats up to 9: use the newer \
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

#[test]
fn a_torn_job_is_mended_beside_it() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 400 410 390 500").succeeds();
    bench.run("exchange van probe 4 1").succeeds();
    let text = Bench::read(&bench.job("van"));
    let cut = text.rfind("what:").expect("an entry");
    bench.write("jobs/van.ron", &text[..cut]);
    assert_eq!(bench.run("journal van").status, 3);
    bench.run("mend van").gives(
        0,
        "saved 1 entry to jobs/van-mended.ron\nthe damage begins in line 35: the file ends too early\n\
         line 36: lost is `exchange probe 4 1`\n",
        "note: jobs/van.ron was left as it is\n",
    );
    assert_eq!(Bench::read(&bench.job("van")), &text[..cut]);
    let mended = bench.run("journal van-mended --json").document(0);
    assert_eq!(mended["entries"][0]["typed"], "temps --at idle 400 410 390 500");
    let again = bench.run("mend van");
    assert_eq!((again.status, &*again.out), (2, ""));
    assert!(again.err.contains("there is a job at jobs/van-mended.ron already"), "{}", again.err);
    bench.run("mend van-mended").fails(2, "error: the job is whole: there is nothing to mend\n");
}

#[test]
fn nothing_can_be_saved_without_a_head() {
    let bench = Bench::new();
    bench.write("jobs/van.ron", "(format: 1, head: (opened: \"2026");
    let run = bench.run("mend van");
    assert_eq!((run.status, &*run.out), (3, ""));
    assert!(run.err.contains("the damage is in the head of the file"), "{}", run.err);
    assert!(!bench.path("jobs/van-mended.ron").exists());
}

#[cfg(unix)]
#[test]
fn a_link_out_of_the_store_is_not_followed() {
    let bench = Bench::with_van();
    std::fs::rename(bench.job("van"), bench.path("elsewhere.ron")).expect("moved");
    std::os::unix::fs::symlink("../elsewhere.ron", bench.job("van")).expect("link");
    for command in ["journal van", "state van cold", "mend van"] {
        let run = bench.run(command);
        assert_eq!((run.status, &*run.out), (2, ""), "{command}");
        assert!(run.err.contains("is a link out of the job store"), "{command}: {}", run.err);
    }
    // Who gives the path means it.
    bench.run("journal elsewhere.ron").succeeds();
}

#[test]
fn a_file_that_no_job_is_as_large_as_is_not_read() {
    let bench = Bench::new();
    let file = File::create(bench.job("van")).expect("made");
    file.set_len(17 << 20).expect("room");
    let run = bench.run("journal van");
    assert_eq!((run.status, &*run.out), (3, ""));
    assert!(run.err.contains("is over 16 MiB, which no job is"), "{}", run.err);
}

#[test]
fn what_a_killed_process_left_behind_is_cleared_away() {
    let bench = Bench::with_van();
    bench.write("jobs/.van.ron.abc.tmp", "half");
    bench.write("jobs/.bus.ron.abc.tmp", "another job's");
    bench.write("jobs/.van.ron.x.ron.abc.tmp", "that of a job `van.ron.x`");
    bench.run("state van cold").succeeds();
    assert!(bench.path("jobs/.van.ron.x.ron.abc.tmp").exists());
    assert!(!bench.path("jobs/.van.ron.abc.tmp").exists());
    assert!(bench.path("jobs/.bus.ron.abc.tmp").exists());
}

#[cfg(unix)]
#[test]
fn pipes_where_files_should_be_are_not_waited_for() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 652 590 655 648").succeeds();
    for name in ["workshop.memory", "workshop.cannot", "bus.ron"] {
        let path = bench.path("jobs").join(name);
        let _ = std::fs::remove_file(&path);
        let made = std::process::Command::new("mkfifo").arg(&path).status();
        assert!(made.is_ok_and(|made| made.success()));
        // What they answer is their affair: they end.
        for line in ["next van", "jobs", "suspects bus", "temps van --at idle 651 590 655 648"] {
            let run = bench.run(line);
            assert!((0..=3).contains(&run.status), "{name} {line}: {}", run.err);
        }
        std::fs::remove_file(&path).expect("removed");
    }
}

#[cfg(unix)]
#[test]
fn an_entry_that_stands_is_told_whatever_becomes_of_the_answer() {
    let bench = Bench::with_van();
    let full = || std::fs::OpenOptions::new().write(true).open("/dev/full");
    if full().is_err() {
        return;
    }
    for (number, line) in [
        (1, "temps van --at idle 652 590 655 648"),
        (2, "exchange van probe 2 3"),
        (3, "correct van 1 652 591 655 648"),
        (4, "undo van"),
        (5, "confirm-load van"),
    ] {
        let mut command = bench.command();
        command.args(line.split(' ')).args(["--jobs", "jobs"]);
        let run = command.stdout(full().expect("full")).output().expect("it runs");
        let err = String::from_utf8(run.stderr).expect("text");
        assert_eq!(run.status.code(), Some(3), "{line}: {err}");
        assert!(err.contains(&format!("entry {number} stands")), "{line}: {err}");
    }
}
