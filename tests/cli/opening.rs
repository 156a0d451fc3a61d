//! `open` and the engine.

use crate::bench::Bench;

#[test]
fn only_the_number_of_cylinders_is_needed() {
    let bench = Bench::new();
    bench.run("open van --cylinders 4").gives(
        0,
        "opened jobs/van.ron: 4 cylinders, inline, port, exhaust probes\n",
        "note: assumed --layout inline --fuel port --ignition coil-per-plug --intake plenum \
         --induction natural --cooling liquid --probes exhaust --probe-type K --depth stays\n\
         note: the engine is taken as warm; `oddpot state van cold-soaked` if it stood untouched \
         for eight hours\n",
    );
    bench.run("open van2 --cylinders 6 --fuel diesel --state cold").gives(
        0,
        "opened jobs/van2.ron: 6 cylinders, inline, diesel, exhaust probes\n",
        "note: assumed --layout inline --ignition none --intake plenum --induction natural \
             --cooling liquid --probes exhaust --probe-type K --depth stays\n",
    );
}

#[test]
fn a_preset_is_taken_with_changes() {
    let bench = Bench::new();
    let run = bench.run(
        "open van --engine inline-four-port --probes head --probe-type J --trims --state warm \
         --json",
    );
    let document = run.document(0);
    assert_eq!(document["ok"], true);
    assert_eq!(document["engine"]["cylinders"], 4);
    assert_eq!(document["engine"]["probes"], "head");
    assert_eq!(document["engine"]["probe_type"], "J");
    assert_eq!(document["engine"]["trims"], true);
}

#[test]
fn an_engine_file_is_taken() {
    let bench = Bench::new();
    let engine = "(cylinders: 3, layout: \"inline\", banks: [[1, 2, 3]], firing_order: [1, 3, 2], \
                  fuel: \"direct\", ignition: \"coil-per-plug\", intake: \"plenum\", \
                  induction: \"boosted\", cooling: \"liquid\", probes: \"exhaust\", \
                  probe_type: \"N\", depth: \"travels\", trims: true, \
                  mixture: (idle: 1.0, cruise: 1.0, full: 1.1))";
    bench.write("three.ron", engine);
    bench.run("open van --engine three.ron --state cold").gives(
        0,
        "opened jobs/van.ron: 3 cylinders, inline, direct, exhaust probes\n",
        "",
    );
    bench.write("bad.ron", &engine.replace("fuel:", "fule:"));
    bench.run("open van2 --engine bad.ron").fails(
        3,
        "error: bad.ron: line 1, column 79: unknown field `fule`, did you mean `fuel`?\n",
    );
    bench.write("odd.ron", &engine.replace("[1, 3, 2]", "[1, 3, 3]"));
    bench
        .run("open van2 --engine odd.ron")
        .fails(2, "error: the firing order must name each of the 3 cylinders once\n");
    let run = bench.run("open van2 --engine none.ron");
    assert!(run.err.starts_with("error: could not read none.ron: "), "{}", run.err);
    assert_eq!(run.status, 3);
    assert!(!bench.job("van2").exists());
}

#[test]
fn what_does_not_fit_is_refused_and_nothing_is_written() {
    let bench = Bench::new();
    let cases = [
        ("--cylinders 17", "error: 17 cylinders: this program compares 2 to 16\n"),
        (
            "--cylinders 4 --fuel diesel --ignition distributor",
            "error: fuel `diesel` with ignition `distributor` does not exist: a diesel has \
             ignition `none`, every other engine a spark\n",
        ),
        (
            "--cylinders 5 --layout v",
            "error: 5 cylinders do not split into two equal banks: give the banks in an engine \
             file\n",
        ),
        (
            "--cylinders 4 --mixture 1,1",
            "error: 2 mixtures given: expected three, as --mixture 1.0,1.0,1.15\n",
        ),
        (
            "--cylinders 4 --firing-order 1,2,3",
            "error: the firing order must name each of the 4 cylinders once\n",
        ),
    ];
    for (flags, message) in cases {
        bench.run(&format!("open van {flags}")).fails(2, message);
    }
    assert!(!bench.job("van").exists());
}

#[test]
fn unknown_names_come_with_the_nearest() {
    let bench = Bench::new();
    let run = bench.run("open van --engine inline-four-prot");
    run.fails(
        2,
        "error: unknown engine `inline-four-prot`\n\
         hint: did you mean `inline-four-port`?\n\
         hint: `oddpot knowledge list` has the engines; a file's name ends in `.ron`; or describe \
         it with --cylinders N\n",
    );
    let run = bench.run("open van --cylinders 4 --recent wiring-worked,probe-new");
    assert_eq!((run.status, &*run.out), (2, ""));
    assert!(
        run.err.starts_with(
            "error: unknown kind of recent work `probe-new`\n\
             hint: did you mean `probes-new`?\nhint: it is one of "
        ),
        "{}",
        run.err
    );
}

#[test]
fn a_job_that_is_there_is_not_overwritten() {
    let bench = Bench::with_van();
    let before = Bench::read(&bench.job("van"));
    bench.run("open van --cylinders 6 --state warm").fails(
        2,
        "error: there is a job at jobs/van.ron already: nothing was changed\n\
         hint: choose another name, or go on with the job that is there\n",
    );
    assert_eq!(Bench::read(&bench.job("van")), before);
}

#[test]
fn names_cannot_leave_the_store_and_paths_need_none() {
    let bench = Bench::new();
    let run = bench.run_args(&["open", ".hidden", "--cylinders", "4"]);
    assert_eq!((run.status, &*run.out), (2, ""));
    assert!(run.err.starts_with("error: `.hidden` is not a job name: "));
    // No home, no --jobs: a path is enough.
    let run = bench.bare(&["open", "./van.ron", "--cylinders", "4", "--json"]);
    assert_eq!(run.document(0)["path"], "./van.ron");
    assert!(bench.path("van.ron").exists());
    let run = bench.bare(&["open", "none/van.ron", "--cylinders", "4"]);
    assert_eq!((run.status, &*run.out), (3, ""));
}

#[test]
fn a_store_is_made_when_it_is_first_used() {
    let bench = Bench::new();
    let open = ["open", "van", "--cylinders", "4", "--jobs", "new/store"];
    bench.bare(&open).succeeds();
    assert!(bench.path("new/store/van.ron").exists());
}

#[test]
fn words_of_the_customer_are_kept() {
    let bench = Bench::new();
    let complaint = "it's \"hot\"\nsometimes";
    bench
        .run_args(&[
            "open",
            "van 3",
            "--cylinders",
            "4",
            "--complaint",
            complaint,
            "--vehicle",
            "an \u{e4}",
        ])
        .succeeds();
    let document = bench.run_args(&["journal", "van 3", "--json"]).document(0);
    assert_eq!(document["head"]["complaint"], complaint);
    assert_eq!(document["head"]["vehicle"], "an \u{e4}");
}

#[test]
fn the_complaint_the_builders_limit_and_the_scale_stay_with_the_job() {
    let bench = Bench::new();
    bench
        .run(
            "--units f open van --cylinders 4 --state warm --complaint-at full \
             --complaint-cylinder 3 --complaint-does high --since manifold-off --builder-limit 1600",
        )
        .succeeds();
    let head = bench.run("journal van --json").document(0)["head"].clone();
    assert_eq!(head["details"]["at"], "full");
    assert_eq!(head["details"]["cylinder"], 3);
    assert_eq!(head["details"]["does"], "high");
    assert_eq!(head["details"]["scale"], "f");
    assert_eq!(head["recent"][0], "manifold-off");
    // In the scale of the job, without saying so again.
    let read = bench.run("temps van --at full 1580 1640 1585 1590 --json").document(0);
    assert_eq!(read["stop"]["verdict"], "stop");
    assert_eq!(read["stop"]["readings"][0]["display"], 2);
    let limit = head["details"]["builder_limit"].as_f64().expect("a number");
    assert!((limit - 871.1).abs() < 0.1, "{limit}");
    bench
        .run("open van2 --cylinders 4 --complaint-cylinder 5")
        .fails(2, "error: the complaint: cylinder 5 does not exist: this engine has 1 to 4\n");
}
