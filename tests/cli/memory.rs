//! `oddpot memory`, `oddpot search`, `oddpot knowledge new` from outside.

use serde_json::Value;

use crate::bench::Bench;

/// A job of a probe too deep on cylinder 3, closed and proven. All invented.
fn deep(bench: &Bench, name: &str) {
    let vehicle = format!("Yard {name}");
    bench
        .run_args(&["open", name, "--engine", "inline-four-port", "--vehicle", &vehicle])
        .succeeds();
    for line in [
        "temps NAME --at idle 200 200 320 200",
        "found NAME look-fit deeper --cylinder 3 --minutes 8",
        "remedy NAME fit-deep@3",
        "temps NAME --at idle 201 199 203 200",
        "temps NAME --at cruise 452 449 455 450",
        "close NAME",
    ] {
        bench.run(&line.replace("NAME", name)).succeeds();
    }
}

fn bench() -> Bench {
    let bench = Bench::new();
    for name in ["one", "two", "three"] {
        deep(&bench, name);
    }
    bench.run("open four --engine inline-four-port --vehicle new --state warm").succeeds();
    bench.run("temps four --at idle 200 200 320 200").succeeds();
    bench
}

fn share(document: &Value, id: &str) -> f64 {
    let causes = document["causes"].as_array().expect("a list");
    let found = causes.iter().find(|cause| cause["id"] == id).expect("suspected");
    found["probability"].as_f64().expect("a number")
}

#[test]
fn a_memory_is_made_shown_used_and_put_off() {
    let bench = bench();
    let plain = bench.run("suspects four --json").document(0);
    assert_eq!(plain["memory"], Value::Null);
    let missing = bench.run("memory show");
    assert_eq!((missing.status, missing.out.as_str()), (3, ""));
    assert!(missing.err.contains("there is no memory at jobs/workshop.memory"), "{}", missing.err);
    bench.run("memory learn").gives(
        0,
        "3 of 4 jobs in the store are closed and proven: 3 new\n\
         remembered: 3 in jobs/workshop.memory\n",
        "",
    );
    bench.run("memory learn").gives(
        0,
        "3 of 4 jobs in the store are closed and proven: 0 new\n\
         remembered: 3 in jobs/workshop.memory\n",
        "",
    );
    let moved = bench.run("suspects four --json").document(0);
    assert_eq!(moved["memory"]["own"], 3);
    assert!(share(&moved, "fit-deep") > share(&plain, "fit-deep"));
    let page = bench.run("suspects four");
    assert!(page.out.contains("The workshop's memory counts in: 3 jobs beside"), "{}", page.out);
    let off = bench.run("suspects four --json --memory off").document(0);
    assert_eq!(off, plain);
    // A job is no witness in its own case.
    assert_eq!(bench.run("suspects one --json").document(0)["memory"]["own"], 2);
    let shown = bench.run("memory show --json").document(0);
    assert_eq!((&shown["own"], &shown["left_out"]), (&3.into(), &0.into()));
    assert_eq!(shown["times"][0]["id"], "look-fit");
    assert_eq!(shown["times"][0]["told"], 8.0);
    let page = bench.run("memory show");
    page.succeeds();
    assert!(page.out.lines().all(|line| line.chars().count() <= 80), "{}", page.out);
    let jobs = bench.run("jobs");
    assert!(!jobs.out.contains("unreadable"), "{}", jobs.out);
}

#[test]
fn closing_teaches_and_opening_again_takes_back() {
    let bench = bench();
    bench.run("memory learn").succeeds();
    let reopened = bench.run("reopen one");
    reopened.succeeds();
    assert!(reopened.err.contains("the workshop's memory no longer counts this job"));
    let own = || bench.run("memory show --json").document(0)["own"].clone();
    assert_eq!(own(), 2);
    let closed = bench.run("close one");
    assert!(closed.err.contains("the workshop's memory has learned this job"), "{}", closed.err);
    assert_eq!(own(), 3);
    let unproven = bench.run("close four --unproven");
    unproven.succeeds();
    assert!(!unproven.err.contains("memory"), "{}", unproven.err);
    assert_eq!(own(), 3);
    // What is wrong with the memory does not touch the job.
    bench.write("jobs/workshop.memory", "(broken");
    let reopened = bench.run("reopen four --memory off");
    reopened.gives(0, "entry 3: the job is open again\n", "");
    let next = bench.run("next four");
    assert_eq!(next.status, 3);
    assert!(next.err.contains("`--memory off` goes on without it"), "{}", next.err);
}

#[test]
fn what_an_earlier_version_pooled_of_others_is_left_out_and_said() {
    let bench = bench();
    bench.run("memory learn").succeeds();
    let own = Bench::read(&bench.path("jobs/workshop.memory"));
    let engine = "4 inline port wasted-spark plenum natural liquid exhaust";
    let pooled = format!(
        "pooled: [(workshop: \"theirs\", revision: 3, counts: [(engine: \"{engine}\", recent: [], \
         proven: {{\"fit-deep\": 50, \"rings\": 9}})], took: {{\"look-fit\": (3, 22.5)}})],\n)\n"
    );
    let old = own.trim_end().strip_suffix(')').expect("its end").to_owned() + &pooled;
    let old = old.replace("format: 2,", "format: 1,\n  workshop: \"ours\",\n  revision: 3,");
    bench.write("jobs/workshop.memory", &old);
    let shown = bench.run("memory show");
    let said = "Left out: 59 jobs of other workshops, counted by an earlier version\n";
    assert!(shown.out.contains(said), "{}", shown.out);
    let shown = bench.run("memory show --json").document(0);
    assert_eq!((&shown["jobs"], &shown["own"]), (&3.into(), &3.into()));
    assert_eq!(shown["left_out"], 59);
    assert_eq!(Bench::read(&bench.path("jobs/workshop.memory")), old);
    // Once something is learned it is written in the form of today, and still said.
    bench.run("reopen one").succeeds();
    let shown = bench.run("memory show --json").document(0);
    assert_eq!((&shown["own"], &shown["left_out"]), (&2.into(), &59.into()));
    let now = Bench::read(&bench.path("jobs/workshop.memory"));
    assert!(now.contains("format: 2,") && !now.contains("theirs"), "{now}");
}

#[test]
fn jobs_are_found_by_words_cause_symptom_and_likeness() {
    let bench = bench();
    let names = |line: &str| -> Vec<String> {
        let document = bench.run(&format!("{line} --json")).document(0);
        let jobs = document["jobs"].as_array().expect("a list");
        jobs.iter().map(|job| job["name"].as_str().expect("a name").to_owned()).collect()
    };
    assert_eq!(names("search yard two"), ["two"]);
    assert_eq!(names("search --vehicle NEW"), ["four"]);
    assert_eq!(names("search --cause fit"), ["one", "three", "two"]);
    assert_eq!(names("search --symptom high").len(), 4);
    assert!(names("search --symptom open").is_empty());
    assert_eq!(names("search --like four"), ["one", "three", "two"]);
    assert_eq!(names("search --like four --limit 1"), ["one"]);
    let unknown = bench.run("search --cause fit-depe");
    assert_eq!(unknown.status, 2);
    assert!(unknown.err.contains("did you mean `fit-deep`?"), "{}", unknown.err);
    bench.run("search nothing-like-it").gives(0, "Jobs found\n==========\nNone of 4 jobs.\n", "");
}

#[test]
fn knowledge_is_written_from_a_pipe_checked_and_never_overwritten() {
    use std::io::Write;
    use std::process::Stdio;
    let bench = Bench::new();
    let answers = "Feel for a draught at the clamp\ndraught\nlook, listen\non one\nidle:\n\ngloves\n\
                   2 0\nnone\nHold a wet finger beside the clamp.\n\nhot-exhaust\nA draught is \
                   felt.\n\nNothing is felt.\n\n\n3 97\nfit-leak\n80 20\n\nmemory\n";
    let run = || {
        let mut child = bench
            .command()
            .args(["knowledge", "new", "test", "--knowledge", "mine"])
            .stdin(Stdio::piped())
            .spawn()
            .expect("it runs");
        let mut pipe = child.stdin.take().expect("a pipe");
        pipe.write_all(answers.as_bytes()).expect("written");
        drop(pipe);
        child.wait_with_output().expect("it ends")
    };
    let first = run();
    let out = String::from_utf8(first.stdout).expect("text");
    assert_eq!(first.status.code(), Some(0), "{out}");
    assert!(out.contains("wrote mine/tests/draught.ron\n"), "{out}");
    assert!(out.contains("It is sound."), "{out}");
    bench.run("knowledge check --knowledge mine").succeeds();
    let before = Bench::read(&bench.path("mine/tests/draught.ron"));
    // The id is taken now, so that the same answers no longer fit, and nothing is written.
    let again = run();
    assert_eq!(again.status.code(), Some(2));
    assert_eq!(Bench::read(&bench.path("mine/tests/draught.ron")), before);
    let nowhere = bench.run("knowledge new cause");
    assert_eq!(nowhere.status, 2);
    assert!(nowhere.err.contains("--knowledge mine"), "{}", nowhere.err);
}
