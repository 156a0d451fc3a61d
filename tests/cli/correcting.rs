//! `correct`, `cannot`, and the scale a job goes by.

use crate::bench::Bench;

fn standing(bench: &Bench) -> Vec<String> {
    let document = bench.run("journal van --json").document(0);
    let entries = document["entries"].as_array().expect("a list").clone();
    let stands = entries.iter().filter(|entry| entry["stands"] == true);
    stands.map(|entry| entry["typed"].as_str().expect("text").to_owned()).collect()
}

fn suspects(bench: &Bench) -> String {
    let document = bench.run("suspects van --json").document(0);
    document["suspects"].to_string()
}

#[test]
fn a_corrected_job_is_the_job_typed_rightly() {
    let right = Bench::with_van();
    for line in ["temps van --at idle 652 590 655 648", "exchange van probe 2 3"] {
        right.run(line).succeeds();
    }
    right.run("temps van --at idle 652 655 590 648").succeeds();
    let bench = Bench::with_van();
    for line in ["temps van --at cruise 652 950 655 648", "exchange van probe 2 4"] {
        bench.run(line).succeeds();
    }
    bench.run("temps van --at idle 652 655 590 648").succeeds();
    let run = bench.run("correct van 1 temps --at idle 652 590 655 648");
    run.succeeds();
    assert!(
        run.out.starts_with("entry 4 in the place of entry 1: exhaust readings at idle: 652 590"),
        "{}",
        run.out
    );
    bench.run("correct van 2 2 3").succeeds();
    assert_eq!(suspects(&bench), suspects(&right));
    let journal = bench.run("journal van");
    assert!(journal.out.contains("corrected by 4") && journal.out.contains("instead of entry 1"));
    // Undo takes the corrections back one by one, and what they corrected stands again.
    bench.run("undo van").succeeds();
    bench.run("undo van").succeeds();
    assert_eq!(
        standing(&bench),
        [
            "temps --at cruise 652 950 655 648",
            "exchange probe 2 4",
            "temps --at idle 652 655 590 648"
        ]
    );
    // A correction can be corrected.
    bench.run("correct van 1 652 655 590 648").succeeds();
    let again = bench.run("correct van 8 651 655 590 648 --json").document(0);
    assert_eq!((&again["entry"], &again["instead"]), (&9.into(), &1.into()));
}

#[test]
fn only_what_differs_need_be_typed() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 652 590 655 648").succeeds();
    bench.run("found van look-fit alike --cylinder 2").succeeds();
    bench.run("correct van 2 deeper").succeeds();
    bench.run("correct van 2 deeper --cylinder 3").succeeds();
    bench.run("state van cold").succeeds();
    bench.run("correct van 5 warm").succeeds();
    let run = bench.run("correct van 1 --at cruise");
    run.succeeds();
    assert!(run.out.contains("Readings at steady cruise: 652, 590, 655, 648 °C"), "{}", run.out);
    let last = standing(&bench);
    assert!(last.contains(&"found look-fit deeper --cylinder 3".to_owned()), "{last:?}");
    assert!(last.contains(&"state warm".to_owned()), "{last:?}");
}

#[test]
fn what_cannot_be_corrected_is_refused_and_conflicts_are_said() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 652 590 655 648").succeeds();
    bench.run("exchange van probe 2 3").succeeds();
    bench.run("found van swap-probe moved").succeeds();
    let run = bench.run("correct van 2 remake probe 2");
    run.succeeds();
    assert!(run.err.contains("note: entry 3 no longer fits and is not used"), "{}", run.err);
    for (line, said) in [
        ("correct van 9 1 2 3 4", "there is no entry 9: the job has 4 entries"),
        ("correct van 0 1 2 3 4", "there is no entry 0"),
        ("correct van 1 1 2 3", "3 readings given"),
        ("correct van 1 undo", "an entry is corrected by what enters one thing"),
        ("correct van 1 temps --from x.csv", "an entry is corrected by what enters one thing"),
    ] {
        let run = bench.run(line);
        assert_eq!((run.status, &*run.out), (2, ""), "{line}: {}", run.err);
        assert!(run.err.contains(said), "{line}: {}", run.err);
    }
    bench.run("undo van").succeeds();
    let run = bench.run("correct van 5 1 2 3 4");
    assert!(run.err.contains("entry 5 is an undo"), "{}", run.err);
    let run = bench.run("correct van 4 1 2 3 4");
    assert!(run.err.contains("entry 4 was taken back"), "{}", run.err);
}

#[test]
fn what_cannot_be_done_is_advised_no_more_in_this_job_or_in_any() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 652 590 655 648").succeeds();
    let advised = |job: &str| -> Vec<String> {
        let next = bench.run(&format!("next {job} --json")).document(0);
        let others = next["alternatives"].as_array().expect("a list").clone();
        let all = [vec![next], others].concat();
        let tests = all.iter().filter(|step| step["kind"] == "test");
        tests.filter_map(|step| step["id"].as_str().map(str::to_owned)).collect()
    };
    let first = advised("van")[0].clone();
    bench.run(&format!("cannot van {first}")).succeeds();
    assert!(!advised("van").contains(&first));
    bench.run("open bus --cylinders 4 --ignition wasted-spark --state warm").succeeds();
    bench.run("temps bus --at idle 652 590 655 648").succeeds();
    assert!(advised("bus").contains(&first));
    let run = bench.run(&format!("cannot bus {first} --always"));
    run.succeeds();
    assert!(run.out.contains("jobs/workshop.cannot"), "{}", run.out);
    assert!(!advised("bus").contains(&first));
    let listed = bench.run("cannot bus").out;
    assert!(listed.starts_with(&format!("{first}: ")) && listed.contains("in this workshop"));
    // A person can take it out again, and nonsense does no harm.
    bench.write("jobs/workshop.cannot", "# nothing\nno-such-test\n");
    assert!(advised("bus").contains(&first));
    assert_eq!(bench.run("cannot bus nonsense").status, 2);
}

#[test]
fn a_job_first_read_in_fahrenheit_goes_on_so_until_something_else_is_said() {
    let bench = Bench::with_van();
    bench.run("temps van --at IDLE --units F 954 940 928 948").succeeds();
    let run = bench.run("temps van --at cruise 1314 1300 1290 1306");
    run.succeeds();
    assert!(run.out.contains("1314, 1300, 1290, 1306 °F"), "{}", run.out);
    assert!(bench.run("suspects van").out.contains("°F"));
    bench.run("temps van --at cruise --units c 712 704 699 708").succeeds();
    let run = bench.run("temps van --at idle 512 504 498 509");
    assert!(run.out.contains("512, 504, 498, 509 °C"), "{}", run.out);
}

#[test]
fn mixed_scales_are_refused_with_the_value_named_and_a_set_typed_twice_is_noticed() {
    let bench = Bench::new();
    bench.run("open van --cylinders 6 --state warm").succeeds();
    let run = bench.run("temps van --at idle 954F 940F 928f 948°F 826 959F");
    assert_eq!((run.status, &*run.out), (2, ""));
    assert!(run.err.contains("`826`"), "{}", run.err);
    bench.run("temps van --at idle 512 505 498 510 507 511").succeeds();
    let run = bench.run("temps van --at idle 512 505 498 510 507 511");
    assert!(run.err.contains("every reading is exactly that of entry 1"), "{}", run.err);
}

#[test]
fn no_library_speaks_to_the_mechanic() {
    let bench = Bench::with_van();
    for line in [
        "exchange van probe 1 x",
        "open v --cylinders x",
        "limits van --once-in x",
        "drill --seed 99999999999999999999999",
        "temps van --from x --window x",
        "correct van x 1",
        "correct van 1 exchange probe 1 x",
    ] {
        let run = bench.run(line);
        assert_eq!(run.status, 2, "{line}");
        for theirs in ["invalid digit", "float literal", "target type"] {
            assert!(!run.err.contains(theirs), "{line}: {}", run.err);
        }
    }
}

#[test]
fn a_damaged_overlay_blocks_no_page_that_does_not_hang_on_it() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 652 590 655 648").succeeds();
    std::fs::create_dir(bench.path("own")).expect("a folder");
    bench.write("own/causes.ron", "(broken");
    for line in ["journal van", "card van", "jobs", "undo van"] {
        let run = bench.run(&format!("{line} --knowledge own"));
        assert_eq!(run.status, 0, "{line}: {}", run.err);
        assert!(line == "jobs" || run.err.contains("the knowledge in own cannot be used"));
    }
    assert_eq!(bench.run("next van --knowledge own").status, 2);
}
