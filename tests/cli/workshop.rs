//! `oddpot workshop`, `oddpot drill`, `oddpot knowledge testability`: virtual engines from outside.

use crate::bench::Bench;

const FEW: &str = "workshop --count 12 --seed 3 --engine inline-four-port --wrong twice \
                   --detail --policy parts-first --policy human --policy cheapest --policy oracle";

#[test]
fn the_same_seed_gives_the_same_table_on_any_number_of_threads() {
    let bench = Bench::new();
    let one = bench.run(&format!("{FEW} --threads 1"));
    one.succeeds();
    assert!(one.out.contains("12 virtual jobs, seed 3"), "{}", one.out);
    assert!(one.out.lines().all(|line| line.chars().count() <= 80), "{}", one.out);
    bench.run(&format!("{FEW} --threads 4")).gives(0, &one.out, "");
    let other = bench.run(&format!("{FEW} --from 13"));
    assert_ne!(other.out, one.out);
}

#[test]
fn the_document_has_every_way_of_working() {
    let document = Bench::new().run(&format!("{FEW} --wrong thrice --json")).document(0);
    let lines = document["lines"].as_array().expect("a list");
    let names: Vec<&str> = lines.iter().filter_map(|l| l["policy"].as_str()).collect();
    assert_eq!(names, ["parts-first", "human", "cheapest", "oracle"]);
    assert!(lines[0]["cost"]["mean"].as_f64() > lines[3]["cost"]["mean"].as_f64());
    // The first world stands at the top, the others below it.
    assert_eq!(document["wrong"], "twice");
    assert_eq!(document["others"][0]["wrong"], "thrice");
    assert_eq!(document["jobs"], 12);
}

#[test]
fn several_seeds_are_told_apart() {
    let line = "workshop --count 2 --seed 4 --seed 3 --policy plan --wrong nothing \
                --engine inline-three-port";
    let document = Bench::new().run(&format!("{line} --json")).document(0);
    assert_eq!(document["jobs"], 4);
    let seeds: Vec<&str> = document["by_seed"]
        .as_array()
        .expect("a list")
        .iter()
        .filter_map(|part| part["name"].as_str())
        .collect();
    assert_eq!(seeds, ["seed 3", "seed 4"]);
    let bars = document["bars"].as_array().expect("bars");
    assert!(bars.iter().any(|bar| bar["what"] == "jobs without an end"), "{bars:?}");
}

#[test]
fn an_unknown_engine_is_refused() {
    Bench::new().run("workshop --engine inline-four-prot").fails(
        2,
        "error: no engine `inline-four-prot` is known\nhint: did you mean `inline-four-port`?\n",
    );
}

#[test]
fn a_drill_is_played_from_a_file() {
    let bench = Bench::new();
    bench.write("answers", "Take readings\nWarm idle\nGive up\n");
    let run = bench.run("drill --seed 6 --engine inline-four-port --answers answers");
    run.succeeds();
    for wanted in ["What do you do?", "Displays at warm idle", "The truth", "knows the cause"] {
        assert!(run.out.contains(wanted), "{wanted}: {}", run.out);
    }
    // What the plan would have done is told in words.
    let (_, plan) = run.out.split_once("What this program would have done").expect("the plan");
    for id in ["read at", "remedy ", "-probe", "look-", "(cut"] {
        assert!(!plan.contains(id), "{id}: {plan}");
    }
    // Who is being worked out is said before it is begun.
    for sign in ["Working out what others would have spent", "3 of 4: this program ..."] {
        assert!(run.out.contains(sign), "{sign}: {}", run.out);
    }
    let again = bench.run("drill --seed 6 --engine inline-four-port --answers answers --json");
    let document = again.document(0);
    assert!(document["total"].as_f64() > Some(195.0), "a search is dear");
    assert_eq!(document["told"][0], "Take readings at warm idle");
}

#[test]
fn a_drill_needs_somebody_who_answers() {
    let bench = Bench::new();
    let run = bench.run("drill");
    assert_eq!(run.status, 2);
    assert!(run.err.contains("--answers FILE"), "{}", run.err);
    bench.write("answers", "Take readings\nnowhere\n");
    let run = bench.run("drill --engine inline-four-port --answers answers");
    assert_eq!(run.status, 2);
    assert!(run.err.contains("`nowhere` is none of"), "{}", run.err);
}

#[test]
fn testability_is_told_for_an_engine() {
    let bench = Bench::new();
    let run = bench.run("knowledge testability --engine inline-four-diesel");
    run.succeeds();
    assert!(run.out.contains("four in line, diesel"), "{}", run.out);
    let document = bench.run("knowledge testability --json").document(0);
    assert!(document["causes"].as_u64() > Some(40), "{document}");
}

#[test]
fn jobs_are_kept_in_a_folder_that_is_made_for_them() {
    let bench = Bench::new();
    let line = "workshop --count 1 --seed 3 --policy plan --wrong nothing --engine inline-three-port --worst 1";
    bench.run(&format!("{line} --keep new/deep")).succeeds();
    assert!(bench.path("new/deep/nothing-3-1.job").is_file());
    // What cannot be made is said before the jobs are played.
    bench.write("file", "");
    let refused = bench.run(&format!("{line} --keep file/deep"));
    assert!(refused.err.starts_with("error: could not make the folder"), "{}", refused.err);
}
