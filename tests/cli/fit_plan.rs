//! `oddpot probe fit-plan`: a plan before drilling.

use crate::bench::Bench;

/// An invented four: one runner narrow, one bent early, the leads a little short.
const FOUR: &str = "probe fit-plan --bore 42 42 38 42 --straight 120 120 120 60 --boss 20 \
                    --probe-length 60 --lead 1500 --to-box 1200 1200 1400 1400";

#[test]
fn a_plan_is_answered_on_one_screen() {
    let run = Bench::new().run(FOUR);
    assert_eq!((run.status, &*run.err), (0, ""));
    insta::assert_snapshot!(run.out, @r"
    Fitting plan for 4 probes
    =========================
    From the flange:         39 mm, ± 6 mm
    Tip past the inner wall: 19 mm, ± 0.6 mm
    Mark on the stem:        39 mm from the tip
    Kept so, fitting alone keeps healthy displays of like runners within 10 °C of
    each other in 95 of 100 engines, at idle, cruise and full load.
    cylinder  bore  from flange  depth  mark             lead
    --------  ----  -----------  -----  ----  ---------------
    1, 2        42           39     19    39             1400
    3           38           39     19    39  1600, 100 short
    4           42           39     19    39  1600, 100 short
    off when healthy  warm idle, °C  steady cruise, °C  full load, °C
    ----------------  -------------  -----------------  -------------
    3                    +7.2 ± 3.5         +7.6 ± 2.8     +7.5 ± 2.2
    Caution: drill with the manifold off and cold, and clear it of swarf: what stays
             in goes through a turbine or a catalyst. Goggles, gloves off near the
             drill, help or a hoist for what is heavy. What the engine builder says
             of drilling, welding and torque comes first.
    More: `oddpot probe fit-plan --bore 42 42 38 42 --straight 120 120 120 60 --boss
    20 --probe-length 60 --lead 1500 --to-box 1200 1200 1400 1400 --detail`.
    ");
}

#[test]
fn documents_are_in_celsius_and_millimetres() {
    let bench = Bench::new();
    let found = bench.run(&format!("{FOUR} --within 18 --units f --json")).document(0);
    let near = |found: &serde_json::Value, expected: f64, within: f64| {
        let found = found.as_f64().expect("a number");
        assert!((found - expected).abs() <= within, "{found}, expected {expected}");
    };
    near(&found["plan"]["wish"]["within"], 10.0, 1e-9);
    near(&found["plan"]["common"]["depth_mm"], 19.0, 1e-9);
    near(&found["plan"]["cylinders"][0]["mark_mm"], 39.0, 1e-9);
    near(&found["plan"]["cylinders"][2]["lead"]["short_by_mm"], 100.0, 1e-9);
    assert_eq!(found["plan"]["cylinders"][2]["offsets"][0]["at"], "idle");
    assert_eq!(found["trial"]["engines"], 10_000);
    assert!(found["trial"]["share"].as_f64().expect("a share") >= 0.95);
    assert_eq!(bench.run(&format!("{FOUR} --json")).out, bench.run(&format!("{FOUR} --json")).out);
}

#[test]
fn runners_stand_in_a_file_and_flags_count_before_it() {
    let bench = Bench::new();
    bench.write(
        "van.ron",
        "// As measured.\n(\n    within: 15,\n    all: (bore: 42, boss: 20, straight: 120),\n    \
         runners: [(), (), (bore: 38), (straight: 60, bend: 45)],\n)\n",
    );
    let found = bench.run("probe fit-plan --runners van.ron --boss 25 --json").document(0);
    assert_eq!(found["runners"][2]["bore_mm"], 38.0);
    assert_eq!(found["runners"][3]["bend_after_deg"], 45.0);
    assert_eq!(found["runners"][0]["boss_mm"], 25.0);
    assert_eq!(found["plan"]["wish"]["within"], 15.0);
    bench.run("probe fit-plan --runners van.ron -o van.ron --format text").fails(
        2,
        "error: van.ron is what is read here: nothing was written\nhint: give another name\n",
    );
    bench.write("odd.ron", "(runners: [(boer: 42)])");
    let run = bench.run("probe fit-plan --runners odd.ron");
    assert_eq!((run.status, &*run.out), (3, ""));
    assert!(run.err.starts_with("error: odd.ron: line 1"), "{}", run.err);
    assert!(run.err.contains("boer"), "{}", run.err);
}

#[test]
fn files_go_by_their_ending() {
    let bench = Bench::new();
    for (name, begins) in [
        ("plan.txt", "Fitting plan for 4 probes\n====="),
        ("plan.md", "# Fitting plan for 4 probes"),
        ("plan.html", "<!DOCTYPE html>"),
        ("plan.svg", "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg "),
        ("plan.pdf", "%PDF-"),
    ] {
        let line = format!("{FOUR} -o {name}");
        bench.run(&line).gives(0, &format!("wrote {name}\n"), "");
        let bytes = std::fs::read(bench.path(name)).expect("readable");
        assert!(bytes.starts_with(begins.as_bytes()), "{name}");
        bench.run(&line).fails(
            2,
            &format!(
                "error: {name} is there already: nothing was written\n\
                 hint: give another name, or `--force` to write over it\n"
            ),
        );
        bench.run(&format!("{line} --force")).succeeds();
    }
    bench.run(&format!("{FOUR} -o plan.doc")).fails(
        2,
        "error: `.doc` is no form of a plan\n\
         hint: use a name that ends in .txt, .md, .html, .pdf or .svg, or say `--format`\n",
    );
}

#[test]
fn bad_input_says_what_was_given_and_what_to_do() {
    let bench = Bench::new();
    for (line, said) in [
        (
            "--bore 42",
            "error: how many cylinders there are is not given\n\
             hint: `--cylinders 4`, or one figure per cylinder: `--bore 42 42 38 42`\n",
        ),
        (
            "--cylinders 4",
            "error: the bore of runner 1 is not given\n\
             hint: `--bore 42` for all, or one figure per cylinder: `--bore 42 42 38 42`\n",
        ),
        (
            "--cylinders 4 --bore 42 42 38",
            "error: --bore has 3 figures for 4 cylinders\n\
             hint: give one figure for all, or one per cylinder in order\n",
        ),
        (
            "--cylinders 4 --bore 42,42,38,42",
            "error: --bore: `42,42,38,42` is not a length in mm\n\
             hint: separate figures with spaces, as in `42 42 38 42`; a comma is a decimal point\n",
        ),
        (
            "--cylinders 4 --bore 4.2",
            "error: cylinder 1: runner bore 4.2 mm: expected 10 to 300 mm\n",
        ),
        (
            "--cylinders 4 --bore 42 --probe-length 60",
            "error: cylinder 1: how deep the probe reaches takes the height of the boss as well: give \
             it, from the inner wall to where the stem leaves the fitting\n\
             hint: `--boss MM`, or leave `--probe-length` out\n",
        ),
        (
            "--cylinders 4 --bore 42 --probe-length 22 --boss 20",
            "error: cylinder 1: a probe of 22 mm in a boss of 20 mm leaves 2.0 mm in the runner: fit \
             a longer probe or a lower boss\n",
        ),
        (
            "--cylinders 1 --bore 42",
            "error: a plan is for 2 to 24 cylinders, given: 1\nhint: `--cylinders N` says how many\n",
        ),
        (
            "--cylinders 99999999999 --bore 42",
            "error: a plan is for 2 to 24 cylinders, given: 99999999999\n\
             hint: `--cylinders N` says how many\n",
        ),
        (
            "--cylinders 4 --bore 42 --depth 60",
            "error: a depth of 60 mm: expected 5 to 39 mm\n\
             hint: `--within`, `--distance` and `--depth` say what is wanted\n",
        ),
    ] {
        bench.run(&format!("probe fit-plan {line}")).fails(2, said);
    }
}

/// Words of statistics stay behind `--detail`, and a screen is a screen, whatever the engine.
#[test]
fn no_plan_is_longer_than_a_screen() {
    let bench = Bench::new();
    for line in [
        "--cylinders 12 --bore 42",
        "--bore 42 41 40 39 38 37 36 35 --straight 120 110 100 90 80 70 60 50 --boss 20 \
         --probe-length 60 --lead 1500 --to-box 1200 1300 1400 1500 1600 1700 1800 1900",
        "--bore 42 42 42 42 --straight 30 30 120 120 --boss 20 --probe-length 60 60 60 35 --within 4",
        "--cylinders 4 --bore 42 --within 3 --depth 12",
    ] {
        let run = bench.run(&format!("probe fit-plan {line}"));
        assert_eq!((run.status, &*run.err), (0, ""), "{line}");
        assert!(run.out.lines().count() <= 22, "{line}: {}", run.out);
        assert!(run.out.lines().all(|line| line.chars().count() <= 80), "{line}: {}", run.out);
        assert!(run.out.contains("Caution: "), "{line}: {}", run.out);
        for word in ["spread", "standard deviation", "sigma"] {
            assert!(!run.out.contains(word), "{line}: {word}: {}", run.out);
        }
    }
}
