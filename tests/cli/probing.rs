//! `oddpot probe`: questions without a job.

use serde_json::Value;

use crate::bench::Bench;

/// The page of a question that is answered: nothing on standard error.
#[track_caller]
fn page(line: &str, status: i32) -> String {
    let run = Bench::new().run(line);
    assert_eq!((run.status, &*run.err), (status, ""), "{line}");
    run.out
}

#[track_caller]
fn document(line: &str) -> Value {
    Bench::new().run(&format!("{line} --json")).document(0)
}

#[track_caller]
fn near(found: &Value, expected: f64, within: f64) {
    let found = found.as_f64().expect("a number");
    assert!((found - expected).abs() <= within, "{found}, expected {expected}");
}

#[test]
fn a_question_is_answered_in_a_page() {
    for (line, wanted) in [
        ("probe shows", "legs swapped at both ends of the lead"),
        ("probe shows copper-lead --true 400 700 --joint 60 --box 25", "366"),
        ("probe shows wrong-setting --other J --true 700", "Box set to type J"),
        ("probe shows open", "open"),
        ("probe explain --cold 18=18 100=83 400=306", "One explains them best: box set to type J."),
        ("probe explain 100=open", "One explains them best: a leg is broken."),
        ("probe apart 850", "Up to 18 °C between two of IEC class 2"),
        ("probe apart 620 --bore 42 --depth 18 --scatter 2", "rarely more than 31 °C"),
        ("probe depth --bore 41 --depth 15", "A millimetre deeper is worth +7.9 °C at warm idle"),
        ("probe depth --bore 41 --depth 15 --deeper -5,5 --thick 6", "5.5 mm less deep"),
        ("probe cable", "Extension cable by type"),
        ("probe cable green", "type K (IEC), type R (American) and type S (American)"),
        ("probe cable purple", "A violet sheath"),
        ("probe cable --type K", "a magnet draws the negative leg"),
        ("probe millivolts 100 --box 25", "3.096"),
        ("probe degrees -1 15,4 --box 25", "400.1"),
    ] {
        let page = page(line, 0);
        assert!(page.contains(wanted), "{line}: {page}");
        assert!(page.lines().all(|line| line.chars().count() <= 80), "{line}: {page}");
    }
}

#[test]
fn when_nothing_explains_it_the_answer_is_no() {
    let page = page("probe explain 100=300 400=12", 1);
    assert!(page.contains("No single wiring fault explains all of these."), "{page}");
}

/// Domain facts 1.4: type K, 60 °C joint, 25 °C box, 700 °C tip.
#[test]
fn documents_are_in_celsius() {
    for line in [
        "probe shows reversed-both-ends --true 700 --joint 60 --box 25",
        "probe shows reversed-both-ends --true 1292 --joint 140 --box 77 --units f",
        "probe shows reversed-both-ends --true 1292F --joint 140F --box 77F",
    ] {
        let shown = document(line);
        let fault = &shown["faults"][0];
        assert_eq!(fault["fault"], "reversed-both-ends");
        near(&fault["displays"][0]["shows"], 25.0, 1e-6);
        near(&fault["displays"][1]["shows"], 631.8, 0.05);
    }
    let found = document("probe explain --joint 60 --cold 20=20 400=331.6 700=631.8");
    assert_eq!(found["faults"][0]["fault"], "reversed-both-ends");
    assert_eq!(found["explained"], true);
    let converted = document("probe millivolts 212F");
    near(&converted["values"][0]["millivolts"], 4.0962, 1e-4);
    near(&converted["values"][0]["microvolts_per_celsius"], 41.4, 0.05);
    let pair = document("probe apart 850");
    near(&pair["classes"][1]["each"], 6.375, 1e-9);
    near(&pair["classes"][1]["apart"], 17.75, 1e-9);
    let fitting = document("probe depth --bore 41 --depth 15 --cruise 600");
    let cruise = &fitting["points"][1];
    assert_eq!((&cruise["at"], &cruise["matched"]), (&"cruise".into(), &true.into()));
    near(&cruise["shows"], 600.0, 0.5);
    let cable = document("probe cable blue");
    assert_eq!(cable["may_be"][0]["type"], "T");
    assert_eq!(cable["types"][0]["cables"][1]["traps"][1]["id"], "blue-is-safe");
}

#[test]
fn a_difference_in_fahrenheit_has_no_offset() {
    // 18 °F is 10 °C: at 620 °C type K the error is 9.6 of those.
    let found = document("probe shows cold-junction --believes 18 --true 1148 --units f");
    near(&found["faults"][0]["displays"][1]["shows"], 629.6, 0.3);
}

#[test]
fn bad_input_says_what_was_given_and_what_to_do() {
    let bench = Bench::new();
    for (line, said) in [
        (
            "probe shows --true 400 copper-lead",
            "error: `copper-lead` is not a temperature\n\
             hint: write temperatures as 620, 620,5, 1150F or 620C\n\
             hint: a fault stands before `--true`: `shows copper-lead --true ...`\n",
        ),
        (
            "probe shows sound --other J",
            "error: `sound` is no matter of types, `--other` was given\n\
             hint: `--other` goes with wrong-lead, wrong-setting and wrong-probe\n",
        ),
        (
            "probe shows wrong-setting --other K",
            "error: type K is the type that was meant\n\
             hint: name another with `--other`, or the right one with `--type`\n",
        ),
        (
            "probe shows --true 1400",
            "error: 1400 °C is outside type K: it goes from -270 to 1372 °C\n\
             hint: check the temperature, and the type with `--type`\n\
             hint: for °F add `--units f`, or write `1205F`\n",
        ),
        (
            "probe explain 400",
            "error: `400`: expected TRUE=SHOWN\n\
             hint: true 400, shown 371 is written 400=371\n",
        ),
        (
            "probe explain 400=hot",
            "error: `hot` is not a temperature\n\
             hint: write temperatures as 620, 620,5, 1150F or 620C\n\
             hint: a display without a number is `open`, `under` or `over`\n",
        ),
        (
            "probe apart 1100 --class class-1",
            "error: class-1 gives no limit for type K at 1100 °C\n\
             hint: those that have one: class-2, astm-standard, astm-special\n",
        ),
        (
            "probe apart 20 --at cold --bore 42 --depth 20",
            "error: at cold no gas flows steadily, so depth is worth nothing there\n\
             hint: `--at` takes idle, cruise, full here\n",
        ),
        (
            "probe depth --bore 42 --depth 50",
            "error: tip 50 mm past the inner wall of a 42 mm bore: measure from the inner wall, \
             not from the boss; expected 1 to 41.8 mm\n",
        ),
        ("probe depth --bore 42 --depth 0", "error: `0` is not a length in mm above zero\n"),
        (
            "probe depth --bore 42 --depth 20 --idle 900",
            "error: a display of 900 °C does not go with this fitting and running point: expected \
             112 to 533 °C\n\
             hint: check the display and the measures\n",
        ),
        (
            "probe cable gren",
            "error: unknown colour `gren`\n\
             hint: did you mean `green`?\n\
             hint: colours of cable: green, pink, black, violet, brown, orange, grey, yellow, blue, \
             white, red\n",
        ),
        (
            "probe degrees 80",
            "error: 80 mV is outside type K: with these terminals it goes from -6.458 to 54.886 mV\n\
             hint: check the polarity, the type with `--type`, and that the meter is set to \
             millivolts\n",
        ),
        (
            "probe millivolts 100,200,300",
            "error: `100,200,300` is not a temperature\n\
             hint: write temperatures as 620, 620,5, 1150F or 620C\n",
        ),
    ] {
        bench.run(line).fails(2, said);
    }
    for line in ["probe", "probe shows copper", "probe explain", "probe apart 620 --bore 42"] {
        let run = bench.run(line);
        assert_eq!((run.status, &*run.out), (2, ""), "{line}");
    }
}

#[test]
fn suspects_have_the_odd_one_by_numbers_beside_them() {
    let bench = Bench::with_van();
    assert_eq!(bench.run("suspects van --json").document(0)["odd_one"], Value::Null);
    bench.run("temps van --at idle 652 590 655 648").succeeds();
    let found = bench.run("suspects van --json").document(0);
    let odd = &found["odd_one"];
    // 590 less the median of 652, 655 and 648; natural spread at idle 12.
    assert_eq!((&odd["display"], &odd["odd"]), (&2.into(), &true.into()));
    near(&odd["difference"], -62.0, 1e-9);
    near(&odd["sigmas"], -62.0 / 12.0, 1e-9);
    // (648 − 590)/(655 − 590), limit 0.829.
    near(&odd["dixon"]["statistic"], 58.0 / 65.0, 1e-9);
    assert_eq!(odd["dixon"]["odd"], true);
    near(&odd["grubbs"]["power"], 0.23, 0.02);
    let page = bench.run("suspects van --detail").out;
    assert!(
        page.contains("Entry 1: display 2 is furthest off, -5.2 × the usual scatter."),
        "{page}"
    );
    assert!(page.contains("clean"), "{page}");
}
