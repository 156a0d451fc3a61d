//! Commands that add an entry, and `undo`.

use serde_json::json;

use crate::bench::Bench;

/// What stands in the journal, as typed.
fn standing(bench: &Bench) -> Vec<String> {
    let document = bench.run("journal van --json").document(0);
    let entries = document["entries"].as_array().expect("a list");
    entries
        .iter()
        .filter(|entry| entry["stands"] == true)
        .map(|entry| entry["typed"].as_str().expect("text").to_owned())
        .collect()
}

#[test]
fn readings_are_entered_as_typed() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 652 590,5 open 640..655").gives(
        0,
        "entry 1: exhaust readings at idle: 652 590,5 open 640..655\n\
         Readings at warm idle: 652, 590, open, 640..655 °C; display 2 reads 59 °C below\n\
         the others.\n",
        "",
    );
    let document =
        bench.run("temps van --at cruise --head --units f 212 212 212 100C --json").document(0);
    assert_eq!(document["entry"], 2);
    assert_eq!(document["ok"], true);
    let journal = bench.run("journal van --json").document(0);
    let degrees = |t: f64| json!({"Degrees": t});
    assert_eq!(
        journal["entries"][0]["what"]["Temps"],
        json!({
            "at": "idle",
            "site": "exhaust",
            "readings": [
                degrees(652.0), degrees(590.5), "Open", {"Erratic": {"lo": 640.0, "hi": 655.0}},
            ],
        })
    );
    assert_eq!(
        journal["entries"][1]["what"]["Temps"],
        json!({"at": "cruise", "site": "head", "readings": vec![degrees(100.0); 4]})
    );
    let typed = &journal["entries"][1]["typed"];
    assert_eq!(typed, "temps --at cruise --head --units f 212 212 212 100C");
}

#[test]
fn frost_is_entered_and_heat_at_cold_soak_remarked_on() {
    let bench = Bench::with_van();
    bench.run("temps van --at cold -5 -5,5 -4C -6..-4").gives(
        0,
        "entry 1: exhaust readings at cold: -5 -5,5 -4C -6..-4\n\
         Readings at cold soak: -5, -6, -4, -6..-4 °C.\n",
        "",
    );
    bench.run("temps van --at cold 400 410 390 400").gives(
        0,
        "entry 2: exhaust readings at cold: 400 410 390 400\n\
         Readings at cold soak: 400, 410, 390, 400 °C.\n",
        "note: most displays are above 60 °C: is the engine really cold soaked? `oddpot undo` \
         takes the entry back\n",
    );
}

#[test]
fn readings_that_cannot_be_are_refused() {
    let bench = Bench::with_van();
    let cases = [
        (
            "652 590 655",
            "error: 3 readings given, this engine has 4 cylinders: one per display, in order\n\
             hint: a display without a number is `open`, `stuck` or `falling`\n",
        ),
        (
            "652 590 655 2400",
            "error: `2400`: 2400 °C cannot be right here: expected −60 to 1820 °C (is it in °F?)\n\
             hint: for °F add `--units f`, or write `1205F`\n",
        ),
        (
            "652 590 655 hot",
            "error: `hot` is not a reading: expected a number, `open`, `stuck`, `falling`, or \
             `LO..HI` for a display that jumps\n\
             hint: a display without a number is `open`, `stuck` or `falling`\n",
        ),
        (
            "652,590,655,648",
            "error: `652,590,655,648`: separate readings with spaces; a comma stands for a decimal \
             point only\n",
        ),
    ];
    for (values, message) in cases {
        bench.run(&format!("temps van --at idle {values}")).fails(2, message);
    }
    assert!(standing(&bench).is_empty());
}

#[test]
fn exchanges_move_things_and_back() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 652 590 655 648").succeeds();
    bench.run("exchange van lead-at-box 2 3").gives(
        0,
        "entry 2: leads at the box of displays 2 and 3 exchanged\n",
        "note: now lead-at-box 3 is at 2, lead-at-box 2 is at 3\n",
    );
    bench.run("exchange van lead-at-box 3 2").gives(
        0,
        "entry 3: leads at the box of displays 3 and 2 exchanged\n",
        "note: everything is where it was when the job was opened\n",
    );
}

#[test]
fn exchanges_that_cannot_be_are_refused() {
    let bench = Bench::with_van();
    let cases = [
        ("probe 2 2", "error: an exchange needs two different places, 2 was given twice\n"),
        ("probe 2 5", "error: cylinder 5 does not exist: this engine has 1 to 4\n"),
        (
            "coil 1 4",
            "error: cylinders 1 and 4 share one coil: there is nothing to exchange\n\
             hint: name a cylinder of another coil\n",
        ),
    ];
    for (words, message) in cases {
        bench.run(&format!("exchange van {words}")).fails(2, message);
    }
    bench.run("open old --cylinders 4 --fuel carburettor --state cold").succeeds();
    bench.run("exchange old injector 1 2").fails(
        2,
        "error: this engine has no `injector` for each cylinder: its fuel system is \
         `carburettor`\n",
    );
    bench.run("remake old coil 1").fails(
        2,
        "error: this engine has no `coil` for each cylinder: its ignition is `distributor`\n",
    );
    assert!(standing(&bench).is_empty());
}

#[test]
fn what_was_remade_is_said_in_the_words_of_the_trade() {
    let bench = Bench::with_van();
    let cases = [
        ("probe 2", "probe of cylinder 2 re-seated"),
        ("probe 2 --new", "probe of cylinder 2 replaced by a known good one"),
        ("lead-at-box 2 --new", "display 2 given a spare channel"),
        ("lead-at-probe 2 --new", "jumper lead run from the probe of cylinder 2"),
    ];
    for (number, (words, said)) in (1..).zip(cases) {
        bench.run(&format!("remake van {words}")).gives(
            0,
            &format!("entry {number}: {said}\n"),
            "",
        );
    }
}

#[test]
fn outcomes_are_checked_against_the_test() {
    let bench = Bench::with_van();
    let run = bench.run("found van look-fti alike --cylinder 2");
    run.fails(
        2,
        "error: unknown test `look-fti`\nhint: did you mean `look-fit`?\n\
         hint: `oddpot knowledge list` has all ids\n",
    );
    let run = bench.run("found van swap-probe move --cylinder 2");
    run.fails(
        2,
        "error: unknown outcome of `swap-probe`: `move`\nhint: did you mean `moved`?\n\
         hint: it can show moved, stays, gone, other; `cannot` says that it cannot be done here\n",
    );
    bench
        .run("found van look-fit alike --cylinder 7")
        .fails(2, "error: cylinder 7 does not exist: this engine has 1 to 4\n");
    bench
        .run("found van look-fit alike --cylinder 2 --partner 3")
        .fails(2, "error: `alike` points at no other cylinder: leave out --partner\n");
    bench
        .run("found van dies-cut equal --cylinder 2")
        .fails(2, "error: `dies-cut` cannot be done on this engine\n");
    bench.run("found van look-fit alike").fails(
        2,
        "error: `look-fit` is done on one cylinder, and no display stands out to say which\n\
         hint: say which with --cylinder N\n",
    );
    assert!(standing(&bench).is_empty());
}

#[test]
fn an_outcome_that_points_at_another_cylinder_takes_its_number() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 500 430 503 498").succeeds();
    bench.run("found van map-check lead-elsewhere --cylinder 2 --partner 3").succeeds();
    let suspects = bench.run("suspects van --json").document(0);
    let causes = suspects["causes"].as_array().expect("a list");
    let crossed = causes.iter().find(|cause| cause["id"] == "lead-crossed").expect("suspected");
    assert_eq!(crossed["place"], "2-3");
    let next = bench.run("next van --json").document(0);
    let typed = next["type"].as_array().expect("lists");
    assert!(!typed.is_empty());
}

#[test]
fn what_cannot_be_done_here_is_not_asked_for_again() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 500 430 503 498").succeeds();
    let asked = |bench: &Bench| -> Vec<String> {
        let next = bench.run("next van --json").document(0);
        let others = next["alternatives"].as_array().expect("a list").clone();
        let all = [vec![next], others].concat();
        all.iter().filter_map(|step| step["id"].as_str().map(str::to_owned)).collect()
    };
    let tests = |ids: &[String]| -> Vec<String> {
        let readings = ["idle", "cruise", "full", "cold-soak", "stop"];
        ids.iter().filter(|id| !readings.contains(&id.as_str())).cloned().collect()
    };
    let before = asked(&bench);
    let test = &tests(&before)[0];
    bench.run(&format!("found van {test} cannot")).succeeds();
    assert!(!asked(&bench).iter().any(|id| id == test));
    let journal = bench.run("journal van");
    // Whatever the width of the column.
    let said: Vec<&str> = journal.out.split_whitespace().collect();
    assert!(said.join(" ").contains("cannot be done"), "{}", journal.out);
    bench.run("undo van").succeeds();
    assert_eq!(asked(&bench), before);
}

#[test]
fn a_verdict_goes_with_the_exchange_that_was_entered() {
    let bench = Bench::with_van();
    bench.run("found van look-fit alike --cylinder 2").succeeds();
    bench.run("exchange van probe 2 3").succeeds();
    bench.run("found van swap-probe moved").succeeds();
    bench.run("found van swap-at-box stays --cylinder 1 --partner 4").succeeds();
    assert_eq!(
        standing(&bench),
        [
            "found look-fit alike --cylinder 2",
            "exchange probe 2 3",
            "found swap-probe moved",
            "found swap-at-box stays --cylinder 1 --partner 4",
        ]
    );
}

#[test]
fn remedies_name_a_cause_and_a_place() {
    let bench = Bench::with_van();
    let run = bench.run("remedy van fit-shalow@2");
    run.fails(
        2,
        "error: unknown cause `fit-shalow`\nhint: did you mean `fit-shallow`?\n\
         hint: `oddpot knowledge list` has all ids\n",
    );
    bench.run("remedy van fit-shallow@9").fails(
        2,
        "error: `9` is not a place on this engine: expected a cylinder from 1 to 4, two as `1-2`, \
         or `bank-1`\n",
    );
    bench.run("remedy van fit-shallow@1-4").fails(
        2,
        "error: `fit-shallow` cannot be at cylinders 1 and 4: its place is a cylinder\n\
         hint: say where, as `fit-shallow@2`\n",
    );
    bench.run("remedy van natural-spread").fails(
        2,
        "error: `natural-spread` is no fault: there is nothing to remedy\n\
         hint: `oddpot record van` enters the difference as normal\n",
    );
    bench.run("remedy van fit-shallow@2").succeeds();
    assert_eq!(standing(&bench), ["remedy fit-shallow@2"]);
}

#[test]
fn undo_says_what_it_took_back_and_can_be_repeated() {
    let bench = Bench::with_van();
    bench.run("undo van").fails(2, "error: there is no entry to take back\n");
    bench.run("state van cold-soaked").gives(0, "entry 1: the engine is cold-soaked\n", "");
    bench.run("confirm-load van").succeeds();
    bench.run("undo van").gives(0, "entry 3: took back entry 2, `confirm-load`\n", "");
    let document = bench.run("undo van --json").document(0);
    assert_eq!(document["undone"], json!({"entry": 1, "typed": "state cold-soaked"}));
    assert!(standing(&bench).is_empty());
}

#[test]
fn a_job_is_closed_only_when_verified_or_on_purpose() {
    let bench = Bench::with_van();
    bench.run("reopen van").fails(2, "error: this job is open: there is nothing to reopen\n");
    let run = bench.run("close van");
    assert_eq!((run.status, &*run.out), (1, ""));
    assert!(run.err.starts_with(
        "error: the job is at no end that can be shown: it was not closed\nhint: missing"
    ));
    assert_eq!(bench.run("verify van").status, 1);
    let document = bench.run("close van --unproven --json").document(0);
    assert_eq!((&document["ok"], &document["proven"]), (&json!(true), &json!(false)));
    for refused in [
        "temps van --at idle 1 2 3 4",
        "exchange van probe 1 2",
        "remake van probe 1",
        "found van look-fit alike --cylinder 1",
        "state van cold",
        "remedy van fit-shallow@1",
        "confirm-load van",
        "record van",
        "close van",
    ] {
        bench
            .run(refused)
            .fails(2, "error: this job is closed\nhint: `oddpot reopen van` opens it again\n");
    }
    bench.run("reopen van").gives(0, "entry 2: the job is open again\n", "");
    bench.run("state van cold").succeeds();
}

#[test]
fn a_difference_recorded_as_normal_closes_a_job_until_something_is_touched() {
    let bench = Bench::with_van();
    bench.run("record van").fails(
        2,
        "error: there are no readings to record\n\
         hint: enter some with `oddpot temps van --at POINT VALUE...`\n",
    );
    bench.run("temps van --at idle 652 640 655 648").succeeds();
    bench.run("temps van --at cruise 752 742 755 747").succeeds();
    bench.run("record van").succeeds();
    bench.run("remake van probe 2").succeeds();
    assert_eq!(bench.run("close van").status, 1);
    bench.run("undo van").succeeds();
    bench.run("close van").gives(
        0,
        "entry 6: job closed, the difference recorded as this engine's normal\n",
        "",
    );
}

#[test]
fn what_cannot_be_meant_is_refused_and_can_be_insisted_on() {
    let bench = Bench::with_van();
    for line in ["--at idle -5 -4 -5 -6", "--at idle 51 52 51 50", "--at full 1300 1300 1300 1300"]
    {
        let run = bench.run(&format!("temps van {line}"));
        assert_eq!(run.status, 2);
        assert!(run.err.contains("nothing was entered"), "{}", run.err);
    }
    let mixed = bench.run("temps van --at idle 954F 940F 928f 826");
    assert_eq!(mixed.status, 2);
    assert!(mixed.err.contains("`826` names no scale"), "{}", mixed.err);
    assert_eq!(standing(&bench), Vec::<String>::new());
    let document = bench.run("temps van --at idle 51 52 51 50 --as-typed --json").document(0);
    assert_eq!(document["stop"]["verdict"], "cannot-be");
}

#[test]
fn values_are_taken_as_people_have_them() {
    let bench = Bench::with_van();
    let document = bench.run("temps van --at idle T1=652 T2=OL --- 655 --json").document(0);
    assert_eq!(document["understood"], "readings at warm idle: 652, open, open, 655 °C");
    bench.run("temps van --at cruise 700 705 702 770").succeeds();
    let document = bench.run("next van --json").document(0);
    assert_eq!(document["stop"]["verdict"], "watch");
}

#[test]
fn the_verdict_on_an_exchange_needs_the_exchange() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 652 540 655 648").succeeds();
    for line in ["found van swap-probe moved", "found van swap-probe moved --cylinder 2"] {
        bench.run(line).fails(
            2,
            "error: `swap-probe` is an exchange, and which two changed places was not said\n\
             hint: `oddpot exchange van probe A B` enters it, then this line tells how it went\n\
             hint: or say both here: --cylinder A --partner B\n",
        );
    }
    bench.run("found van swap-probe moved --cylinder 2 --partner 3").succeeds();
    bench.run("exchange van injector 1 4").succeeds();
    bench.run("found van swap-injector stays").succeeds();
}
