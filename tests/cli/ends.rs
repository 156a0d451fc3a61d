//! Ends that came wrongly once: each a short job, entered as a mechanic would.

use serde_json::Value;

use crate::bench::{Bench, bench, next, sound};

#[test]
fn a_number_that_was_misread_hides_no_fault_on_another_display() {
    let bench = bench(
        "--engine inline-six-port --complaint-at cruise --complaint-cylinder 5 --complaint-does low",
        &[
            "temps van --at cruise 656 648 663 645 605 643",
            "temps van --at idle 534 431 439 431 410 434",
            "temps van --at idle 436 432 438 432 411 434",
        ],
    );
    let next = next(&bench);
    assert!(sound(&next) < 0.7 && next["standing"] != "normal", "{next}");
}

#[test]
fn what_stood_off_while_leads_were_exchanged_stands_off_when_they_are_home() {
    let bench = bench(
        "--engine inline-four-port",
        &[
            "temps van --at cruise 650 598 655 648",
            "exchange van lead-at-probe 2 1",
            "temps van --at cruise 597 651 654 647",
        ],
    );
    let moved = sound(&next(&bench));
    bench.run("exchange van lead-at-probe 2 1").succeeds();
    let home = sound(&next(&bench));
    assert!((home - moved).abs() < 0.1, "{moved} and {home}");
}

/// The job of two faults: the first cured, the other still far off at cruise and hardly at idle.
#[test]
fn what_is_complained_of_and_stands_off_is_not_normal_because_it_is_small() {
    let said = "--engine flat-four-carburettor --complaint-at idle --complaint-cylinder 3 --complaint-does";
    let lines = ["temps van --at idle 424 405 452 412", "temps van --at cruise 636 612 634 618"];
    let high = next(&bench(&format!("{said} high"), &lines));
    assert!(sound(&high) < 0.9 && high["standing"] != "normal", "{high}");
    // The other way it is not what was noticed.
    let low = next(&bench(&format!("{said} low"), &lines));
    assert!(sound(&low) > sound(&high), "{low}");
}

#[test]
fn what_is_complained_of_and_does_not_show_makes_a_sound_engine_the_rarer() {
    let lines = ["temps van --at idle 441 437 445 440 436 444"];
    let open =
        |said: &str| format!("--engine v6-port --complaint-at idle --complaint-cylinder 5{said}");
    let nothing_wrong = |said: &str| {
        let suspects = bench(&open(said), &lines).run("suspects van --json").document(0);
        suspects["healthy"].as_f64().expect("a probability")
    };
    let plain = nothing_wrong("");
    for said in [" --complaint-does dead", " --complaint-does jumps", " --complaint-does high"] {
        assert!(nothing_wrong(said) < plain - 0.02, "{said}");
    }
}

#[test]
fn no_exchange_is_asked_for_where_nothing_would_be_seen_to_move() {
    let bench = bench(
        "--engine v8-port --complaint-at full --complaint-cylinder 6 --complaint-does high",
        &[
            "temps van --at full 824 792 821 832 808 915 787 826",
            "temps van --at cruise 661 637 659 667 640 648 636 660",
            "temps van --at idle 453 441 453 454 451 448 445 457",
        ],
    );
    let next = next(&bench);
    let others = next["alternatives"].as_array().expect("others").iter();
    for step in others.chain([&next]) {
        let id = step["id"].as_str().unwrap_or_default();
        assert!(!(id.starts_with("swap-") && step["cylinder"] == 6), "{id}: {next}");
    }
}

#[test]
fn where_leads_were_worked_on_no_engine_part_is_bought_before_it_is_known_whose_number_it_is() {
    let lines = ["temps van --at idle 440 437 441 246", "found van spark-test none --cylinder 4"];
    let open = |recent: &str| bench(&format!("--engine inline-four-direct {recent}"), &lines);
    let rule = |next: &Value| {
        let rules = next["guards"].as_array().expect("rules").iter();
        rules.filter(|rule| rule["code"] == "whose-number").count()
    };
    let touched = open("--recent wiring-worked");
    let advice = next(&touched);
    assert!(rule(&advice) == 1 && advice["kind"] != "remedy", "{advice}");
    // The settings of the channel do not tell crossed leads; the cylinder cut out does.
    touched.run("found van setting-check same --cylinder 4").succeeds();
    assert_eq!(rule(&next(&touched)), 1);
    touched.run("found van cut-out no-drop --cylinder 4").succeeds();
    assert_eq!(rule(&next(&touched)), 0);
    assert_eq!(rule(&next(&open(""))), 0);
}

#[test]
fn one_wild_display_makes_no_other_odd() {
    let bench = bench("--engine inline-four-port", &["temps van --at idle 440 445 950 438"]);
    let suspects = bench.run("suspects van --json").document(0);
    assert_eq!(suspects["odd_display"], 3, "{suspects}");
    for odd in suspects["oddness"].as_array().expect("a list") {
        let far = odd["sigmas"].as_f64().is_some_and(|s| s.abs() > 3.0);
        assert_eq!(far, odd["display"] == 3, "{odd}");
    }
}

#[test]
fn what_has_always_been_so_is_the_likelier_to_be_the_engines_own() {
    let open = "--engine inline-six-port --complaint-at cruise --complaint-cylinder 4 --complaint-does low";
    let read = [
        "temps van --at idle 431 428 436 419 433 430",
        "temps van --at cruise 628 621 634 604 630 625",
    ];
    let with = |outcome: &str| {
        let bench = bench(open, &read);
        bench.run(&format!("found van history {outcome}")).succeeds();
        sound(&next(&bench))
    };
    let asked_nobody = sound(&next(&bench(open, &read)));
    assert!(with("always") > asked_nobody + 0.1, "{} {asked_nobody}", with("always"));
    assert!(with("sudden") < asked_nobody);
}

#[test]
fn what_is_complained_of_is_looked_at_before_it_is_called_normal() {
    let bench = bench(
        "--engine inline-six-port --complaint-at cruise --complaint-cylinder 4 --complaint-does low",
        &[
            "temps van --at idle 431 429 434 430 433 430",
            "temps van --at cruise 628 624 631 618 629 625",
            "temps van --at cruise 627 625 630 617 628 626",
            "found van history always",
        ],
    );
    let before = next(&bench);
    assert_eq!(
        (&before["kind"], &before["standing"]),
        (&"test".into(), &"test".into()),
        "{before}"
    );
    let refused = bench.run("record van");
    assert!(refused.status != 0 && refused.err.contains("a look or two"), "{}", refused.err);
    bench.run("found van look-fit alike --cylinder 4").succeeds();
    assert_eq!(next(&bench)["standing"], "normal", "{}", next(&bench));
    bench.run("record van").succeeds();
}

#[test]
fn what_came_and_rests_just_now_is_not_normal() {
    let open = "--engine inline-four-diesel --complaint-cylinder 3 --complaint-does high";
    let sets = [
        "temps van --at cruise 357 342 392 347",
        "temps van --at cruise 354 344 391 349",
        "temps van --at idle 152 150 149 144",
        "temps van --at cruise 353 343 357 349",
        "temps van --at cruise 357 343 351 344",
        "found van look-fit alike --cylinder 3",
        "found van smoke-smell clean",
    ];
    let next = next(&bench(open, &sets));
    assert!(sound(&next) < 0.5 && next["standing"] != "normal", "{next}");
}

#[test]
fn a_number_misread_once_and_read_again_is_no_fault() {
    let open =
        "--engine v8-port --complaint-at cruise --complaint-cylinder 6 --complaint-does high";
    let sets = [
        "temps van --at cruise 627 654 648 629 632 670 649 628",
        "temps van --at idle 530 443 442 427 430 449 438 428",
        "temps van --at idle 430 442 436 430 429 443 443 429",
    ];
    let rightly = sound(&next(&bench(open, &[sets[0], sets[2]])));
    let once_wrongly = sound(&next(&bench(open, &sets)));
    assert!(once_wrongly > rightly - 0.15, "{once_wrongly} {rightly}");
}

#[test]
fn what_went_away_while_nobody_worked_on_it_is_not_normal() {
    let mut lines = vec![
        "temps van --at idle 152 150 149 144",
        "temps van --at cruise 357 342 392 347",
        "temps van --at cruise 354 344 391 349",
        "found van smoke-smell clean",
        "found van feel-run smooth",
    ];
    lines.extend([
        "found van dies-cut equal --cylinder 3",
        "found van cut-out own-falls --cylinder 3",
        "found van settle-watch steady-odd --cylinder 3",
        "found van setting-check same --cylinder 3",
        "found van look-fit alike --cylinder 3",
        "found van input-link right --cylinder 3",
        "found van dies-nozzle-test good --cylinder 3",
        "found van runner-surface alike --cylinder 3",
        "found van look-leaks no-trace --cylinder 3",
        "found van crank-current even --cylinder 3",
        "found van intake-smoke none --cylinder 3",
        "found van clearance right --cylinder 3",
        "remake van lead-at-box 3 --new",
        "temps van --at cruise 358 349 352 343",
    ]);
    let open = "--engine inline-four-diesel --complaint-cylinder 3 --complaint-does high";
    let bench = bench(open, &lines);
    let next = next(&bench);
    assert_ne!(next["standing"], "normal", "{next}");
    let refused = bench.run("record van");
    assert!(refused.status != 0 && refused.err.contains("by itself"), "{}", refused.err);
}

#[test]
fn a_job_is_not_left_while_a_look_is_open_that_would_tell() {
    let open = |at: &str| {
        format!(
            "--engine flat-four-carburettor --recent valves-adjusted --complaint-at {at} \
             --complaint-cylinder 3 --complaint-does high"
        )
    };
    let nothing_is_worth_its_price = [
        "temps van --at cruise 600 620 664 603",
        "temps van --at idle 393 408 428 393",
        "temps van --at cruise 601 619 659 601",
        "found van history after-work",
        "found van cut-out small-drop --cylinder 3",
        "found van look-fit alike --cylinder 3",
        "found van setting-check same --cylinder 3",
        "found van smoke-smell clean",
        "found van settle-watch steady-odd --cylinder 3",
        "found van map-check all-right --cylinder 3",
        "found van look-part same --cylinder 3",
        "found van intake-smoke none --cylinder 3",
    ];
    // Two natural spreads of this engine: small, and what the customer sees, wherever its lead is now.
    let it_stands_off_on_another_display = [
        "temps van --at idle 422 403 451 410",
        "temps van --at cruise 634 609 630 616",
        "exchange van lead-at-box 3 4",
        "temps van --at idle 414 404 412 456",
        "found van cut-out own-falls --cylinder 3",
        "found van history unknown",
        "found van smoke-smell clean",
        "found van settle-watch steady-odd --cylinder 3",
        "found van feel-run smooth",
        "found van look-fit alike --cylinder 3",
        "found van input-link right --cylinder 3",
        "exchange van lead-at-box 3 4",
        "exchange van lead-at-probe 3 4",
        "temps van --at idle 414 402 407 460",
    ];
    for (at, lines) in [
        ("cruise", &nothing_is_worth_its_price[..]),
        ("idle", &it_stands_off_on_another_display[..]),
    ] {
        let next = next(&bench(&open(at), lines));
        assert_eq!(next["kind"], "test", "{next}");
    }
}

#[test]
fn what_did_not_show_when_read_once_is_read_once_more_before_it_is_normal() {
    let bench = bench(
        "--cylinders 8 --layout inline --fuel carburettor --ignition distributor --intake log \
         --complaint-at cruise --complaint-cylinder 6 --complaint-does low",
        &[
            "temps van --at cruise 596 613 608 602 617 601 609 598",
            "temps van --at idle 406 413 410 408 417 403 412 401",
            "found van cut-out own-falls --cylinder 6",
            "found van settle-watch steady-odd --cylinder 6",
            "found van look-fit alike --cylinder 6",
            "found van history unknown",
        ],
    );
    let before = next(&bench);
    assert_eq!(
        (&before["kind"], &before["id"]),
        (&"readings".into(), &"cruise".into()),
        "{before}"
    );
    bench.run("temps van --at cruise 598 612 607 603 615 602 608 599").succeeds();
    assert_eq!(next(&bench)["standing"], "normal", "{}", next(&bench));
}

#[test]
fn a_misfire_that_is_felt_and_does_not_show_is_not_normal() {
    let open = "--engine inline-six-port --complaint-at cruise --complaint-does misses";
    let bench = bench(open, &["temps van --at cruise 641 629 652 640 634 627"]);
    bench.run("temps van --at idle 447 438 450 445 440 441").succeeds();
    bench.run("found van smoke-smell clean").succeeds();
    bench.run("found van feel-run smooth").succeeds();
    let first = next(&bench);
    assert!(sound(&first) < 0.9 && first["standing"] != "normal", "{first}");
    // The same with a number that stands off by nature's measure, and nothing felt, may be.
    let quiet = Bench::new();
    quiet.run("open van --engine inline-six-port --state warm --complaint-at cruise").succeeds();
    for line in [
        "temps van --at cruise 641 629 652 640 634 627",
        "temps van --at idle 447 438 450 445 440 441",
    ] {
        quiet.run(line).succeeds();
    }
    assert!(sound(&next(&quiet)) >= 0.9);
}

/// A remedy that did nothing for the display that is complained of leaves the complaint standing.
#[test]
fn all_displays_together_are_not_judged_by_their_differences() {
    let readings = ["temps van --at cruise 540 545 538 541", "temps van --at idle 330 334 328 331"];
    let open =
        "--engine inline-four-port --recent box-changed --complaint-at cruise --complaint-does low";
    let said = bench(&format!("{open} --complaint-cylinder all"), &readings);
    let asked = next(&said);
    assert_eq!((&asked["kind"], &asked["id"]), (&"test".into(), &"box-check".into()), "{asked}");
    said.run("found van box-check wrong-scale").succeeds();
    let mend = next(&said);
    assert_eq!((&mend["kind"], &mend["id"]), (&"remedy".into(), &"box-scale".into()), "{mend}");
    // With the box in order it is what it is, and one display has nothing to do with it.
    let right = bench(&format!("{open} --complaint-cylinder all"), &readings);
    right.run("found van box-check right").succeeds();
    let after = next(&right);
    assert_ne!(after["kind"], "remedy", "{after}");
    // Who cannot look at the box is not asked again, and nothing is called normal.
    let lacks = bench(&format!("{open} --complaint-cylinder all"), &readings);
    lacks.run("cannot van box-check").succeeds();
    let without = next(&lacks);
    assert!(without["id"] != "box-check" && without["standing"] != "normal", "{without}");
    let wrong = Bench::new().run("open van --cylinders 4 --complaint-cylinder some");
    assert_eq!((wrong.status, &*wrong.out), (2, ""));
    assert!(wrong.err.contains("give the number of a display, or `all`"), "{}", wrong.err);
}

/// What is felt is there though no display stands off, and what is more likely ill than not is not normal.
#[test]
fn what_is_felt_by_the_words_is_not_normal_because_it_hides() {
    let lines = ["temps van --at idle 455 432 428 420", "temps van --at cruise 612 621 619 608"];
    let open = "--engine inline-four-carburettor --complaint-at idle --complaint";
    let after = next(&bench(&format!("{open} shakes"), &lines));
    assert!(sound(&after) < 0.75 && after["standing"] != "normal", "{after}");
}

/// Where something is complained of, nobody is sent away before two looks, as normal or as not found.
#[test]
fn nobody_is_sent_away_before_anything_was_looked_at() {
    let lines = ["temps van --at idle 431 428 433 430", "temps van --at cruise 612 609 613 611"];
    let after = next(&bench("--engine inline-four-carburettor --complaint-at idle", &lines));
    assert_eq!(after["kind"], "test", "{after}");
}

/// Another fault may show where nobody looked: of a cause that was not seen itself cruise is read before idle proves
/// its cure.
#[test]
fn what_is_complained_of_at_no_point_and_did_not_show_is_read_once_more() {
    let bench = bench(
        "--engine inline-four-carburettor --complaint-cylinder 4 --complaint-does low",
        &[
            "temps van --at idle 424 428 432 421",
            "temps van --at cruise 636 648 648 633",
            "found van settle-watch steady-odd --cylinder 4",
            "found van cut-out own-falls --cylinder 4",
        ],
    );
    let after = next(&bench);
    assert_eq!(after["kind"], "readings", "{after}");
}

/// While a display at steady cruise asks for the engine to be stopped no step runs it there, a step up from idle
/// neither.
#[test]
fn nothing_is_run_at_cruise_while_cruise_must_stop_the_engine() {
    let open =
        "--engine v6-port --complaint-at cruise --complaint-cylinder 5 --complaint-does high";
    let bench = bench(
        open,
        &[
            "temps van --at idle 512 508 498 509 541 515",
            "temps van --at cruise 655 648 640 651 1010 658",
        ],
    );
    let at_cruise = ["cruise", "load-response", "head-exh-pair", "mixture-sweep", "runner-lambda"];
    for _ in 0..4 {
        let now = next(&bench);
        let id = now["id"].as_str().unwrap_or("");
        assert!(!at_cruise.contains(&id) && now["at"] != "cruise", "{now}");
        let Some(cylinder) = now["cylinder"].as_u64().filter(|_| now["kind"] == "test") else {
            break;
        };
        bench.run(&format!("cannot van {id}")).succeeds();
        assert_eq!(cylinder, 5, "{now}");
    }
}

#[test]
fn what_was_complained_of_and_showed_on_another_display_is_not_forgotten() {
    let open = "--engine inline-six-port --complaint-at cruise --complaint-cylinder 3 --complaint-does low";
    let bench = bench(
        open,
        &[
            "exchange van lead-at-box 3 4",
            "temps van --at cruise 650 655 648 620 652 647",
            "exchange van lead-at-box 3 4",
            "temps van --at cruise 650 655 640 645 652 647",
            "temps van --at cruise 651 654 642 645 652 646",
            "temps van --at idle 450 455 440 445 452 447",
            "temps van --at idle 451 454 441 445 452 446",
        ],
    );
    // It stood two spreads low while its lead was at the next display, and near the others ever since.
    let next = next(&bench);
    assert!(sound(&next) < 0.9 && next["standing"] != "normal", "{next}");
}

#[test]
fn what_came_and_rests_is_not_ruled_out_by_looks_while_it_rests() {
    let bench = bench(
        "--engine inline-four-port --complaint-at cruise --complaint-cylinder 3 --complaint-does low",
        &[
            "temps van --at cruise 655 647 654 648",
            "temps van --at idle 416 414 417 419",
            "temps van --at cruise 656 646 567 646",
            "temps van --at cruise 658 647 652 648",
            "found van misfire-count none --cylinder 3",
            "found van cut-out own-falls --cylinder 3",
            "found van feel-run smooth",
        ],
    );
    // It was seen six spreads low as was complained of, and the looks were at an engine that ran well just then.
    let next = next(&bench);
    assert!(sound(&next) < 0.85 && next["standing"] != "normal", "{next}");
}

#[test]
fn who_says_that_it_comes_and_goes_makes_a_sound_engine_the_rarer_while_it_does_not_show() {
    let open = "--engine inline-four-port --complaint-at cruise --complaint-cylinder 3 --complaint-does low";
    let nothing_wrong = |complaint: &str| {
        let bench = Bench::new();
        let open = format!("open van {open}");
        let words: Vec<&str> = open.split(' ').chain(["--complaint", complaint]).collect();
        bench.run_args(&words).succeeds();
        for line in ["temps van --at cruise 655 647 654 648", "temps van --at idle 416 414 417 419"]
        {
            bench.run(line).succeeds();
        }
        let suspects = bench.run("suspects van --json").document(0);
        suspects["healthy"].as_f64().expect("a probability")
    };
    let (comes, stays) =
        (nothing_wrong("it goes cold now and then"), nothing_wrong("it reads low"));
    assert!(comes < stays - 0.02, "{comes} {stays}");
}

#[test]
fn what_is_almost_certainly_wrong_is_not_written_down_as_normal() {
    let bench = bench(
        "--cylinders 4 --layout inline --fuel carburettor --ignition distributor --intake log --induction natural \
         --cooling liquid --probes exhaust --probe-type K --complaint-at cruise --complaint-cylinder 1 \
         --complaint-does low",
        &[
            "temps van --at cruise 611 599 600 609",
            "temps van --at idle 378 400 399 400",
            "temps van --at idle 382 397 396 401",
            "temps van --at idle 405 400 399 402",
            "found van wiggle no-change --cylinder 1",
            "found van cap-look fine",
            "found van input-link right --cylinder 1",
            "found van second-thermometer agrees --cylinder 1",
            "temps van --at cruise 587 602 595 610",
            "found van settle-watch wanders --cylinder 1",
            "found van second-thermometer normal --cylinder 1",
        ],
    );
    let next = next(&bench);
    assert_ne!(next["standing"], "normal", "{next}");
}

#[test]
fn what_came_and_rests_is_read_again_before_looks_that_cannot_see_it() {
    let bench = bench(
        "--engine inline-four-port --complaint-at cruise --complaint-cylinder 3 --complaint-does low",
        &[
            "temps van --at cruise 655 647 654 648",
            "temps van --at idle 416 414 417 419",
            "temps van --at cruise 656 646 567 646",
            "temps van --at cruise 658 647 652 648",
            "found van history sudden",
            "found van wiggle no-change --cylinder 3",
            // What is measured at a standing engine would see it.
            "cannot van ht-ohms",
        ],
    );
    let again = next(&bench);
    assert_eq!((&again["kind"], &again["id"]), (&"readings".into(), &"cruise".into()), "{again}");
    // Not for ever: three good sets are enough.
    for line in ["temps van --at cruise 657 645 653 649", "temps van --at cruise 656 648 655 647"] {
        bench.run(line).succeeds();
    }
    assert_ne!(next(&bench)["kind"], "readings");
}

#[test]
fn a_fault_that_does_next_to_nothing_to_a_warm_cylinder_keeps_no_sound_engine_from_its_end() {
    let bench = bench(
        "--cylinders 5 --layout inline --fuel port --ignition distributor --intake plenum --induction natural \
         --cooling liquid --probes exhaust --probe-type K --firing-order 1,2,4,5,3 --mixture 1,1.02,1.12 \
         --recent inj-serviced --complaint-at full --complaint-cylinder 3 --complaint-does high",
        &[
            "temps van --at full 798 805 819 793 805",
            "temps van --at idle 412 413 416 411 414",
            "temps van --at cruise 648 647 660 644 648",
            "exchange van lead-at-box 3 1",
            "temps van --at full 821 808 791 791 804",
            "exchange van lead-at-probe 3 2",
            "temps van --at full 802 821 790 793 807",
            "found van history unknown",
            "remake van lead-at-box 3 --new",
            "temps van --at full 803 817 796 797 807",
            "found van feel-run smooth",
            "found van smoke-smell clean",
            "found van bank-trims ordinary",
            "found van cut-out own-falls --cylinder 3",
            "exchange van lead-at-box 3 1",
            "exchange van lead-at-probe 3 2",
        ],
    );
    // Twenty degrees went with the cylinder, not with lead and channel, and no look saw anything.
    let next = next(&bench);
    assert_eq!(next["standing"], "normal", "{next}");
}

/// Still odd at cruise after the work, and level at idle, where it hardly ever showed: that is no cure which
/// full load has to confirm.
#[test]
fn what_is_still_odd_at_one_point_is_not_as_it_should_be_so_far() {
    let bench = bench(
        "--engine v6-port --complaint-at full --complaint-cylinder 5 --complaint-does low",
        &[
            "temps van --at full 764 751 761 759 686 753",
            "temps van --at idle 419 413 418 414 401 412",
            "temps van --at cruise 641 632 641 628 587 629",
            "confirm-load van",
            "remedy van inj-odd-flow@5",
            "temps van --at cruise 637 628 642 637 586 629",
            "temps van --at idle 421 410 424 418 402 410",
        ],
    );
    let next = next(&bench);
    assert_ne!(next["standing"], "verify", "{next}");
}

/// An invented V12, one cylinder far too hot in the last mile: after the work it is gone wherever it was read, once.
/// A fault that comes and goes would look the same, so it is read once more where it showed.
#[test]
fn what_is_gone_and_not_proven_is_read_once_more_where_it_showed() {
    let bench = bench(
        "--cylinders 12 --layout v --fuel port --ignition coil-per-plug --intake plenum --induction natural \
         --cooling liquid --probes exhaust --probe-type K --firing-order 1,7,5,11,3,9,6,12,2,8,4,10 --trims \
         --recent rebuilt,fuel-changed --complaint-at full --complaint-cylinder 12 --complaint-does high \
         --builder-limit 870",
        &[
            "temps van --at full 812 808 812 812 804 809 809 804 801 815 811 890",
            "temps van --at idle 432 426 428 433 427 433 427 430 428 434 432 428",
            "temps van --at cruise 655 649 651 656 650 652 655 649 646 661 655 651",
            "found van inj-drop alike --cylinder 12",
            "found van trim-check alike --cylinder 12",
            "found van plug-read pale --cylinder 12",
            "temps van --at cruise 658 644 653 655 642 656 659 647 646 654 652 654",
            "remedy van rail-starved@12",
            "temps van --at idle 432 429 431 429 425 431 438 431 423 428 436 422",
            "temps van --at cruise 656 651 656 655 648 656 658 650 646 659 651 651",
            "temps van --at full 810 805 812 816 801 812 812 802 802 812 810 806",
        ],
    );
    let once = next(&bench);
    assert_eq!((&once["kind"], &once["at"]), (&"readings".into(), &"full".into()), "{once}");
    bench.run("temps van --at full 811 806 812 815 802 811 812 803 802 813 810 807").succeeds();
    let twice = next(&bench);
    assert_ne!(twice["kind"], "readings", "{twice}");
}
