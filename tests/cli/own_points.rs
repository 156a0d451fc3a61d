//! A running point that is added in RON alone, by a folder of one's own.

use serde_json::Value;

use crate::bench::{Bench, Run, words};

/// Invented: a yard that tows, and one that lets an engine idle hot.
const POINTS: &str = r#"(
    points: [
        (
            id: "towing", name: "towing uphill", asked: "towing a trailer uphill",
            words: ["trailer", "towing"], thermal: "full", order: 50, settled: true,
            load: "full", confirm: true, like: "full", factor: 1.2,
            basis: memory,
        ),
        (id: "idle-hot", name: "hot idle", thermal: "idle", order: 25, settled: true, like: "idle"),
    ],
)"#;

/// A bench with the folder, and a job that is complained of there.
fn bench() -> Bench {
    let bench = Bench::new();
    std::fs::create_dir(bench.path("own")).expect("a folder");
    bench.write("own/points.ron", POINTS);
    asked(
        &bench,
        "open van --cylinders 4 --complaint 'pings with the trailer' --complaint-at towing",
        0,
    );
    bench
}

fn asked(bench: &Bench, line: &str, status: i32) -> Run {
    let line = format!("{line} --knowledge own");
    let run = bench.run_args(&words(&line).iter().map(String::as_str).collect::<Vec<_>>());
    assert_eq!(run.status, status, "{line}: {}{}", run.out, run.err);
    run
}

fn held_back(next: &Value) -> Vec<String> {
    let all = next["guards"].as_array().cloned().unwrap_or_default();
    let steps =
        all.iter().flat_map(|guard| guard["held_back"].as_array().cloned().unwrap_or_default());
    steps.map(|step| step.to_string()).collect()
}

#[test]
fn readings_are_entered_at_it_and_pages_name_it() {
    let bench = bench();
    let entered = asked(&bench, "temps van --at towing 842 838 940 845", 0);
    assert!(entered.out.contains("towing uphill"), "{}", entered.out);
    for page in ["suspects van", "journal van", "card van --format text"] {
        assert!(asked(&bench, page, 0).out.contains("towing uphill"), "{page}");
    }
    assert!(asked(&bench, "temps --help", 0).out.contains("towing"));
    assert!(!asked(&bench, "balance --help", 0).out.contains("warming,"));
    let shown = asked(&bench, "knowledge show towing", 0).out;
    assert!(shown.contains("like: full, what a fault does × 1.2"), "{shown}");
    assert!(asked(&bench, "knowledge check", 0).out.contains("0 findings"));
}

#[test]
fn it_is_held_back_where_full_load_is() {
    let bench = bench();
    asked(&bench, "temps van --at idle 402 398 455 401", 0);
    let next = asked(&bench, "next van --json --detail", 0).document(0);
    let held = held_back(&next);
    for at in ["full", "towing"] {
        assert!(held.iter().any(|step| step.contains(&format!("\"{at}\""))), "{at}: {held:?}");
    }
    assert!(!held.iter().any(|step| step.contains("idle-hot")), "{held:?}");
    // Hot there stops the engine by the bounds of the point it is like.
    let hot = asked(&bench, "temps van --at towing 842 838 1040 845", 0);
    assert!(hot.out.contains("STOP"), "{}", hot.out);
    let next = asked(&bench, "next van --json --detail", 0).document(0);
    assert_eq!(next["stop"]["readings"][0]["at"], "towing", "{}", next["stop"]);
    assert!(held_back(&next).iter().any(|step| step.contains("\"full\"")));
    asked(&bench, "confirm-load van", 0);
    assert!(!asked(&bench, "next van", 0).out.is_empty());
}

#[test]
fn a_cure_is_proven_where_it_was_complained_of() {
    let bench = bench();
    for line in [
        "temps van --at idle 402 398 455 401",
        "temps van --at cruise 622 618 667 621",
        "temps van --at towing 842 838 873 845",
        "remedy van fit-deep@3",
        "temps van --at idle 402 398 405 401",
        "temps van --at cruise 622 618 624 621",
    ] {
        asked(&bench, line, 0);
    }
    let owed = bench.run("verify van --json --knowledge own").document(1);
    let missing = owed["missing"].to_string();
    assert!(missing.contains("settled, at towing"), "{owed}");
    asked(&bench, "temps van --at towing 842 838 843 845", 0);
    let proven = bench.run("verify van --json --knowledge own").document(0);
    assert_eq!(proven["proof"], "verified", "{proven}");
}

#[test]
fn what_is_normal_was_read_where_it_is_complained_of() {
    let bench = bench();
    for line in ["temps van --at idle 402 398 399 401", "temps van --at cruise 622 618 619 621"] {
        asked(&bench, line, 0);
    }
    let next = asked(&bench, "next van --json", 0).document(0);
    assert_eq!((&next["kind"], &next["at"]), (&"readings".into(), &"towing".into()), "{next}");
}

#[test]
fn a_word_that_is_no_point_is_refused_with_those_that_are() {
    let bench = bench();
    for line in [
        "temps van --at tow 842 838 940 845",
        "open car --cylinders 4 --complaint-at tow",
        "balance van --at tow",
        "found van look-leak sound --at tow",
    ] {
        let run = asked(&bench, line, 2);
        assert!(run.err.contains("towing") || run.err.contains("look-leak"), "{line}: {}", run.err);
    }
    // Nor without the folder.
    let run = bench.run("temps van --at towing 842 838 940 845");
    assert_eq!(run.status, 2);
    assert!(run.err.contains("it is one of cold, warming, idle, cruise, full"), "{}", run.err);
    assert!(asked(&bench, "balance van --at warming", 2).err.contains("idle-hot"));
}

#[test]
fn a_job_that_names_a_point_this_knowledge_has_not_stays_readable() {
    let bench = bench();
    asked(&bench, "temps van --at towing 842 838 940 845", 0);
    asked(&bench, "temps van --at idle 402 398 455 401", 0);
    let journal = bench.run("journal van");
    assert_eq!(journal.status, 0);
    assert!((journal.out + &journal.err).contains("towing"));
    let suspects = bench.run("suspects van --detail");
    assert_eq!(suspects.status, 0, "{}", suspects.err);
    assert!(
        suspects.out.contains("Entry 1: the knowledge base no longer has `towing`"),
        "{}",
        suspects.out
    );
    assert!(suspects.out.contains("running point `towing` of the complaint"), "{}", suspects.out);
}

/// Every command over jobs that were read at points of one's own, hot and cured, with the folder and without.
#[test]
fn no_command_falls_over_it() {
    let bench = bench();
    let rows = (0..300).map(|second| format!("{second},652,590,655,648\n"));
    bench.write("run.csv", &("time,T1,T2,T3,T4\n".to_owned() + &rows.collect::<String>()));
    for line in [
        "temps van --at idle 402 398 455 401",
        "temps van --at idle-hot 412 408 465 411",
        "temps van --at towing 842 838 940 845",
        "found van cyl-cut less --cylinder 3 --at idle-hot",
        "temps van --from run.csv --at towing",
        "remedy van fit-deep@3",
        "temps van --at towing 842 838 843 845",
    ] {
        let line = format!("{line} --knowledge own");
        let run = bench.run_args(&words(&line).iter().map(String::as_str).collect::<Vec<_>>());
        assert!((0..=3).contains(&run.status), "{line}: {} {}", run.status, run.err);
    }
    let bare = [
        "suspects van",
        "next van",
        "verify van",
        "journal van",
        "why van",
        "why van fit-deep@3",
        "limits van",
        "limits van --set",
        "balance van",
        "balance van --at towing",
        "fit van",
        "commission van",
        "search low",
        "jobs",
        "vehicle ''",
        "card van --format text",
        "card van --format html",
        "card van --format svg",
        "dump van",
        "probe apart 850",
        "watch run.csv --job van --at towing --until-end",
        "knowledge list",
        "knowledge check",
        "record van",
        "close van --unproven gone",
        "memory learn",
        "memory show",
        "reopen van",
        "undo van",
        "correct van 1 temps --at towing 842 838 840 845",
    ];
    for line in bare {
        for form in ["", " --knowledge own --json"] {
            let line = format!("{line}{form}");
            let run = bench.run_args(&words(&line).iter().map(String::as_str).collect::<Vec<_>>());
            assert!((0..=4).contains(&run.status), "{line}: {} {}", run.status, run.err);
            assert!(!run.err.contains("panicked"), "{line}: {}", run.err);
        }
    }
}
