//! Global options, help, and the one document of `--json`.

use crate::bench::Bench;

#[test]
fn without_a_terminal_it_says_what_to_type() {
    let bench = Bench::new();
    let run = bench.run("");
    assert_eq!((run.status, &*run.err), (0, ""));
    assert!(run.out.contains("oddpot open JOB --cylinders 4\n"), "{}", run.out);
    assert_eq!(bench.run("--json").document(0)["ok"], true);
}

#[test]
fn help_is_an_answer_and_bad_use_is_not() {
    let bench = Bench::new();
    for line in ["--help", "--version", "temps --help"] {
        let run = bench.run(line);
        assert_eq!((run.status, &*run.err), (0, ""), "{line}");
        assert!(!run.out.is_empty());
    }
    for line in ["tepms van", "temps", "temps van --at 9am 1", "open van", "jobs --units k"] {
        let run = bench.run(line);
        assert_eq!((run.status, &*run.out), (2, ""), "{line}");
        assert!(run.err.starts_with("error: "), "{line}: {}", run.err);
    }
}

/// Found when the probe's questions had no examples in their help: a doc comment on the variant hid
/// the longer one of its arguments.
#[test]
fn help_has_the_examples() {
    let bench = Bench::new();
    for (line, example) in [
        ("temps --help", "`oddpot temps van --at idle 652 590 655 640..660`"),
        ("probe explain --help", "`oddpot probe explain --cold 18=18 100=83 400=306`"),
        ("probe --help", "No job is needed."),
    ] {
        let out = bench.run(line).out.replace('\n', " ");
        assert!(out.contains(example), "{line}: {out}");
    }
}

#[test]
fn failures_are_documents_too() {
    let bench = Bench::with_van();
    let cases = [
        ("temps van --at idle 1 2 3", 2, "usage"),
        ("temps van --at noon 1 2 3 4", 2, "usage"),
        ("journal bus", 3, "file"),
        ("close van", 1, "no"),
    ];
    for (line, status, kind) in cases {
        let run = bench.run(&format!("{line} --json"));
        assert_eq!(run.status, status, "{line}");
        let document: serde_json::Value = serde_json::from_str(&run.out).expect("one document");
        assert_eq!(document["ok"], false, "{line}");
        assert_eq!(document["error"]["kind"], kind, "{line}");
        assert!(run.err.starts_with("error: "), "{line}");
    }
}

#[test]
fn every_command_answers_in_one_document() {
    let bench = Bench::with_van();
    for (line, status) in [
        ("temps van --at idle 652 590 655 648", 0),
        ("suspects van", 0),
        ("next van", 0),
        ("why van fit-shallow@2", 0),
        ("verify van", 1),
        ("card van --format md", 0),
        ("journal van", 0),
        ("jobs", 0),
        ("undo van", 0),
        ("knowledge check", 0),
        ("knowledge list", 0),
        ("knowledge show fit-shallow", 0),
        ("knowledge show swap-probe", 0),
        ("knowledge draw", 0),
        ("example", 0),
    ] {
        let document = bench.run(&format!("{line} --json")).document(status);
        assert!(document.is_object(), "{line}");
    }
}

#[test]
fn the_documents_have_the_fields_of_the_contract() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 652 590 655 648").succeeds();
    let has = |line: &str, fields: &[&str]| {
        let document = bench.run(&format!("{line} --json")).document(0);
        for field in fields {
            assert!(document.get(field).is_some(), "{line}: {field}");
        }
    };
    has("suspects van", &["healthy", "causes", "groups", "seats", "pairs_dropped_mass"]);
    has(
        "next van",
        &[
            "kind",
            "id",
            "cylinder",
            "partner",
            "cost",
            "expected_total",
            "expected_hands_on_min",
            "lower_bound",
            "gap",
            "outcomes",
            "cautions",
            "why",
            "alternatives",
        ],
    );
    has("knowledge list", &["causes", "tests"]);
}

#[test]
fn the_same_input_gives_the_same_bytes() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 652 590 655 648").succeeds();
    for line in ["next van", "suspects van", "card van", "journal van"] {
        assert_eq!(bench.run(line).out, bench.run(line).out, "{line}");
    }
    let text = Bench::read(&bench.job("van"));
    let again = Bench::with_van();
    again.run("temps van --at idle 652 590 655 648").succeeds();
    assert_eq!(Bench::read(&again.job("van")), text);
}

#[test]
fn no_style_reaches_a_pipe() {
    let bench = Bench::with_van();
    for line in ["next van", "card van", "knowledge check", "--help", "tepms"] {
        let run = bench.run(line);
        let escapes = [&run.out, &run.err].iter().any(|text| text.contains('\u{1b}'));
        assert!(!escapes, "{line}");
    }
}

#[test]
fn an_overlay_that_is_not_there_is_a_file_error() {
    let bench = Bench::with_van();
    let run = bench.run("journal van --knowledge none");
    assert_eq!((run.status, &*run.out), (3, ""));
    assert!(run.err.starts_with("error: could not read none: "), "{}", run.err);
}

#[test]
fn a_session_goes_by_a_file_of_answers() {
    let bench = Bench::new();
    let answers = "Grey saloon\n\nV6\n\nwarm idle\n200 203 198 204 312 199\nPut it away\n";
    bench.write("answers.txt", answers);
    let run = bench.run("--answers answers.txt");
    assert_eq!((run.status, run.err.as_str()), (0, ""), "{}", run.out);
    assert!(run.out.contains("Next: "), "{}", run.out);
    assert!(run.out.ends_with("to go on type `oddpot --jobs jobs`.\n"), "{}", run.out);
    assert!(Bench::read(&bench.job("grey-saloon")).contains("temps --at idle 200 203"));
}

#[test]
fn an_answer_that_does_not_fit_ends_the_session_and_keeps_what_was_entered() {
    let bench = Bench::new();
    bench.write("answers.txt", "Grey saloon\n\nV6\n\nlukewarm idle\n");
    let run = bench.run("--answers answers.txt");
    assert_eq!(run.status, 2, "{}", run.out);
    assert!(run.err.contains("line 5, \"Exhaust readings"), "{}", run.err);
    assert!(run.out.contains("is kept with 0 entries"), "{}", run.out);
    assert!(bench.job("grey-saloon").exists());
    bench.run("--answers none.txt").fails(
        3,
        "error: could not read the answers in none.txt: No such file or directory (os error 2)\n",
    );
    let run = bench.run("--answers answers.txt jobs");
    assert_eq!((run.status, run.out.as_str()), (2, ""), "{}", run.err);
}
