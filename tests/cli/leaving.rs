//! How a job is left: when looking has an end, and what is tried before.

use crate::bench::{Bench, bench, next};

/// Once looking has cost what the long search would, the job comes to its end.
#[test]
fn looking_ends_once_it_has_cost_the_long_search() {
    let bench = bench(
        "--engine inline-four-port",
        &[
            "temps van --at idle 440 438 475 436",
            "temps van --at idle 441 437 476 435",
            "temps van --at cruise 650 648 694 646",
            "temps van --at cruise 651 648 695 645",
            "found van look-fit alike --cylinder 3",
            "found van depth-measure within --cylinder 3",
            "found van second-thermometer agrees --cylinder 3",
            "found van runner-surface alike --cylinder 3",
            "found van setting-check same --cylinder 3",
            "found van ice-boil right --cylinder 3",
            "found van look-part same --cylinder 3",
            "found van compression even --cylinder 3",
            "found van leak-down tight --cylinder 3",
            "found van borescope normal --cylinder 3",
            "found van clearance right --cylinder 3",
        ],
    );
    let after = next(&bench);
    assert_eq!((&after["kind"], &after["end"]), (&"stop".into(), &"not-found".into()), "{after}");
}

/// Looks of a minute or two have no end by what they cost alone: each is fetched, found and written down too.
#[test]
fn cheap_looks_come_to_an_end_as_well() {
    let bench = bench(
        "--engine inline-four-port",
        &[
            "temps van --at idle 440 438 475 436",
            "temps van --at idle 441 437 476 435",
            "temps van --at cruise 650 648 694 646",
            "temps van --at cruise 651 648 695 645",
            "found van smoke-smell clean",
            "found van bank-trims ordinary",
            "found van feel-run smooth",
        ],
    );
    let looks = [
        "wiggle no-change",
        "inj-listen alike",
        "load-electric no-change",
        "plug-wiggle no-change",
        "setting-check same",
        "settle-watch steady-odd",
        "misfire-count none",
        "load-response together",
        "look-leaks no-trace",
        "runner-surface alike",
        "scatter-speed like-others",
        "second-thermometer agrees",
    ];
    for cylinder in [3, 1, 2] {
        for look in looks {
            bench.run(&format!("found van {look} --cylinder {cylinder}")).succeeds();
        }
    }
    // What setting the probe would wipe out is looked at, since that is cheaper than to leave it.
    for look in ["look-fit alike", "depth-measure within"] {
        bench.run(&format!("found van {look} --cylinder 3")).succeeds();
    }
    let after = next(&bench);
    assert_eq!((&after["kind"], &after["end"]), (&"stop".into(), &"not-found".into()), "{after}");
}

/// A cause that is as likely as not and is put right within the hour is put right before the job is left: to
/// leave it costs hours.
#[test]
fn what_costs_less_than_leaving_is_tried_when_looking_has_an_end() {
    let bench = bench(
        "--engine inline-four-carburettor --complaint-at idle --complaint-cylinder 3 --complaint-does high",
        &[
            "temps van --at idle 440 438 515 436",
            "temps van --at idle 441 437 516 435",
            "temps van --at cruise 622 620 640 618",
            "found van look-fit alike --cylinder 3",
            "found van depth-measure within --cylinder 3",
            "found van runner-surface same-way --cylinder 3",
            "found van intake-smoke none --cylinder 3",
            "found van setting-check same --cylinder 3",
            "found van ice-boil right --cylinder 3",
            "found van compression even --cylinder 3",
            "found van leak-down tight --cylinder 3",
            "found van borescope normal --cylinder 3",
            "found van clearance right --cylinder 3",
            "found van mixture-sweep early --cylinder 3",
        ],
    );
    let after = next(&bench);
    assert_eq!(after["kind"], "remedy", "{after}");
}

/// A stationary engine burns lean and is cool for it: no box is set anew for that. One that was set anew and
/// shows what it showed before was in order.
#[test]
fn a_cool_engine_is_no_wrong_scale() {
    let open = "--cylinders 8 --layout v --fuel carburettor --ignition coil-per-plug --intake plenum \
                --induction boosted --cooling liquid --probes exhaust --mixture 0.85,0.68,0.65 \
                --complaint-at full --complaint-cylinder 5 --complaint-does high";
    let lines = [
        "temps van --at full 521 510 521 514 549 515 513 511",
        "temps van --at idle 342 341 350 341 357 346 346 344",
        "temps van --at cruise 475 465 476 470 499 472 473 466",
        "remedy van box-scale",
        "temps van --at full 522 509 522 513 550 516 512 512",
    ];
    let scale = |bench: &Bench| {
        let suspects = bench.run("suspects van --json").document(0);
        let list = suspects["causes"].as_array().expect("suspects").clone();
        let of = list.iter().find(|suspect| suspect["id"] == "box-scale");
        of.map_or(0.0, |suspect| suspect["probability"].as_f64().expect("a probability"))
    };
    let read = bench(open, &lines[..3]);
    assert!(scale(&read) < 0.05, "{}", scale(&read));
    let set_anew = bench(open, &lines);
    assert!(scale(&set_anew) < 0.01, "{}", scale(&set_anew));
}

/// A glow plug that is open, on an engine that hangs back on it until it is warm and no longer.
#[test]
fn what_lags_while_it_warms_up_and_no_longer_is_what_lights_it_cold() {
    let bench = bench(
        "--engine inline-four-diesel --complaint-at warming --complaint-cylinder 2 --complaint-does low",
        &[
            "temps van --at warming 93 63 95 91",
            "temps van --at idle 139 136 139 131",
            "temps van --at cruise 320 317 324 310",
            "found van glow-ohms open --cylinder 2",
        ],
    );
    let suspects = bench.run("suspects van --json").document(0);
    let causes = suspects["causes"].as_array().expect("causes");
    let chance = |at: usize| causes[at]["probability"].as_f64().expect("a chance");
    assert_eq!((&causes[0]["id"], &causes[0]["place"]), (&"dies-glow".into(), &"2".into()));
    assert!(chance(0) > 0.2 && chance(0) > 5.0 * chance(1), "{causes:?}");
}

/// Gone at one point after what was put right, which is likely to have been the cause: the other points that
/// were read before tell whether it changed there as well.
#[test]
fn a_likely_cause_is_proven_at_the_other_points_before_the_job_is_left() {
    let bench = bench(
        "--cylinders 6 --layout inline --fuel carburettor --ignition distributor --intake individual \
         --induction natural --cooling liquid --probes exhaust --recent probes-new,throttles-worked \
         --complaint-at cruise --complaint-cylinder 6 --complaint-does low",
        &[
            "temps van --at cruise 650 637 640 639 647 613",
            "temps van --at idle 422 423 418 418 422 404",
            "found van look-part same --cylinder 6",
            "found van look-fit shallower --cylinder 6",
            "remedy van fit-shallow@6",
            "temps van --at cruise 646 639 645 637 645 641",
        ],
    );
    let after = next(&bench);
    let end = after["end"].as_str().unwrap_or("");
    assert!(after["kind"] == "readings" || end == "proven", "{after}");
}

/// A rule holds the likeliest remedy back until one look is had: that look comes, and the job is not left.
#[test]
fn nobody_is_sent_away_because_a_rule_asks_for_a_look() {
    let bench = bench(
        "--engine v8-port --recent manifold-off --complaint-at cruise --complaint-cylinder 2 \
         --complaint-does low",
        &[
            "temps van --at cruise 642 578 636 628 632 624 640 632",
            "temps van --at idle 421 376 425 420 426 418 425 415",
            "temps van --at full 764 686 762 746 759 742 760 749",
            "found van look-fit alike --cylinder 2",
            "found van depth-measure within --cylinder 2",
            "found van look-leaks no-trace --cylinder 2",
            "found van mixture-sweep late --cylinder 2",
            "found van smoke-smell black",
            "found van second-thermometer agrees --cylinder 2",
            "found van ice-boil right --cylinder 2",
            "found van setting-check same --cylinder 2",
            "found van look-part same --cylinder 2",
            "found van inj-drop alike --cylinder 2",
            "found van leak-down tight --cylinder 2",
            "found van compression even --cylinder 2",
            "found van misfire-count none --cylinder 2",
            "temps van --at full 764 685 762 746 759 742 760 749",
        ],
    );
    let look = next(&bench);
    assert_eq!((&look["kind"], &look["cylinder"]), (&"test".into(), &2.into()), "{look}");
    let rules = look["guards"].as_array().expect("rules");
    assert!(rules.iter().any(|rule| rule["code"] == "whose-number"), "{look}");
    // It shows the cylinder whose number it bears: what waited for it comes.
    let id = look["id"].as_str().expect("a test");
    let whose = if id == "map-check" { "all-right" } else { "rises" };
    bench.run(&format!("found van {id} {whose} --cylinder 2")).succeeds();
    let remedy = next(&bench);
    assert_eq!(
        (&remedy["kind"], &remedy["id"]),
        (&"remedy".into(), &"air-blocked".into()),
        "{remedy}"
    );
}

/// Who remakes a lead moves its plugs: a poor contact would be gone, and nobody would know which it was. The look at
/// the joint that costs a minute comes before.
#[test]
fn what_a_remedy_would_hide_is_looked_at_before_it() {
    let bench = bench(
        "--cylinders 12 --layout v --fuel port --ignition coil-per-plug --intake plenum \
         --recent wiring-worked --complaint-at cruise --complaint-cylinder 9 --complaint-does low",
        &[
            "temps van --at cruise 642 633 638 629 636 626 641 628 582 631 642 626",
            "exchange van lead-at-probe 9 1",
            "temps van --at cruise 640 634 641 634 640 625 645 624 586 633 638 629",
            "exchange van lead-at-probe 9 1",
        ],
    );
    let look = next(&bench);
    assert_eq!((&look["kind"], &look["cylinder"]), (&"test".into(), &9.into()), "{look}");
}

/// Depth marks that are all alike do not clear a fit: whoever pulls the probe to set it measures it first.
#[test]
fn what_comes_to_hand_anyway_is_looked_at_before_it_is_moved() {
    let bench = bench(
        "--engine inline-four-port --recent probes-new --complaint-at cruise --complaint-cylinder 3 \
         --complaint-does low",
        &[
            "temps van --at cruise 652 648 588 650",
            "temps van --at idle 440 437 402 439",
            "found van look-fit alike --cylinder 3",
        ],
    );
    let rule = || {
        let rules = next(&bench)["guards"].as_array().expect("rules").clone();
        rules.into_iter().find(|rule| rule["code"] == "look-before-moving")
    };
    let text = rule().expect("the rule")["text"].to_string();
    assert!(text.contains("measure its depth"), "{text}");
    // None is asked for that cannot be had here, nor one more where a look has found it.
    bench.run("cannot van depth-measure").succeeds();
    assert_eq!(rule(), None);
    bench.run("undo van").succeeds();
    bench.run("undo van").succeeds();
    bench.run("found van look-fit shallower --cylinder 3").succeeds();
    assert_eq!(rule(), None);
}

/// A mark that pulling the probe showed was seen on the way: the display is read before anybody pulls it again.
#[test]
fn what_a_look_found_and_refitted_is_read() {
    let bench = bench(
        "--engine flat-four-port --recent manifold-off --complaint-at cruise --complaint-cylinder 2 \
         --complaint-does low",
        &[
            "temps van --at cruise 636 580 633 619",
            "temps van --at idle 421 383 418 411",
            "found van look-fit alike --cylinder 2",
            "found van look-leaks no-trace --cylinder 2",
            "found van depth-measure wall-mark --cylinder 2",
        ],
    );
    let after = next(&bench);
    assert!(["readings", "remedy"].contains(&after["kind"].as_str().expect("a kind")), "{after}");
}

/// An exchange of coils disturbs a plug by the way. What was seen before it and is seen again speaks for a fault of
/// the plug no less than it did.
#[test]
fn what_is_seen_again_after_an_exchange_of_something_else_does_not_speak_against_it() {
    let bench = bench(
        "--engine inline-four-direct --recent plug-dropped --complaint-at full --complaint-cylinder 3 \
         --complaint-does low",
        &[
            "temps van --at full 822 804 734 808",
            "temps van --at cruise 650 645 655 648",
            "temps van --at full 820 807 739 808",
            "found van misfire-count counted --cylinder 3",
            "found van settle-watch wanders --cylinder 3",
            "exchange van coil 3 1",
            "temps van --at full 820 807 738 809",
        ],
    );
    let plug = || bench.probability("van", "plug-fouled", 3);
    for again in ["misfire-count counted", "settle-watch wanders"] {
        let before = plug();
        bench.run(&format!("found van {again} --cylinder 3")).succeeds();
        assert!(plug() > 0.98 * before, "{again}: {before} -> {}", plug());
    }
}

/// To measure a plug lead is to pull it and to put it back. A fault that is there all the same shows what it showed.
#[test]
fn what_is_seen_again_after_the_part_was_put_back_does_not_speak_against_it() {
    let bench = bench(
        "--engine inline-four-carburettor --complaint-at cruise --complaint-cylinder 3 --complaint-does low",
        &[
            "temps van --at cruise 637 604 556 628",
            "temps van --at cruise 639 602 558 630",
            "found van feel-run random-miss",
            "found van ht-ohms high --cylinder 3",
            "temps van --at cruise 638 603 557 629",
        ],
    );
    let before = bench.probability("van", "ht-lead", 3);
    bench.run("found van feel-run random-miss").succeeds();
    let after = bench.probability("van", "ht-lead", 3);
    assert!(after > 0.9 * before, "{before} -> {after}");
}

/// A lead says nothing of what a look at the engine would see. So it is one whether two leads were exchanged between
/// two looks or before both, and two looks that contradict each other leave a cause about where it was.
#[test]
fn an_exchange_of_leads_between_two_looks_at_the_engine_changes_nothing() {
    let (exchange, set) = ("exchange van lead-at-box 1 3", "temps van --at cruise 645 648 612");
    let (seen, not) =
        ("found van trim-check trimmed --cylinder 1", "found van trim-check alike --cylinder 1");
    let open = "--engine inline-three-port --complaint-at cruise --complaint-cylinder 1 --complaint-does low";
    let first = "temps van --at cruise 610 648 646";
    let after = |lines: &[&str]| bench(open, lines).probability("van", "trim-fuel", 1);
    let between = after(&[first, seen, exchange, set, not]);
    let before = after(&[first, exchange, set, seen, not]);
    assert!((between / before - 1.0).abs() < 0.02, "{between} between, {before} before");
    let unseen = after(&[first, exchange, set]);
    assert!(between > 0.5 * unseen, "{between}, and {unseen} with no look");
}

/// A mark that looks short at a display two spreads low leaves doubt whether it was nature. Who sets the depth pulls the
/// probe anyway: it is measured first, since nobody can afterwards, and what was measured proves the cure.
#[test]
fn a_depth_is_measured_before_it_is_set_where_setting_it_would_prove_nothing() {
    let bench = bench(
        "--engine inline-six-port --recent probes-new --complaint-at cruise --complaint-cylinder 5 --complaint-does low",
        &[
            "temps van --at idle 413 415 419 416 402 412",
            "temps van --at cruise 641 644 650 652 620 647",
            "found van look-fit shallower --cylinder 5",
            "found van look-part same --cylinder 5",
        ],
    );
    let after = next(&bench);
    assert_eq!(after["id"], "depth-measure", "{after}");
    for line in [
        "found van depth-measure shallower --cylinder 5",
        "remedy van fit-shallow@5",
        "temps van --at cruise 642 645 649 652 646 646",
        "temps van --at idle 412 415 420 417 415 413",
    ] {
        bench.run(line).succeeds();
    }
    let end = next(&bench);
    assert_eq!(end["end"], "proven", "{end}");
}

/// A display that the customer named beside the one he came for, and that still stands a spread and more off when that one
/// is cured, is looked at before the job is proven.
#[test]
fn who_is_named_beside_a_cure_is_looked_at_before_the_job_is_proven() {
    let after = |complaint: &str| {
        let bench = Bench::new();
        let open = "open van --engine inline-six-port --state warm --complaint-at cruise --complaint-cylinder 5 \
                    --complaint-does low --complaint";
        let open: Vec<&str> = open.split_whitespace().chain([complaint]).collect();
        bench.run_args(&open).succeeds();
        for line in [
            "temps van --at cruise 646 626 650 652 540 647",
            "temps van --at idle 413 404 416 412 350 411",
            "found van look-fit shallower --cylinder 5",
            "found van depth-measure shallower --cylinder 5",
            "remedy van fit-shallow@5",
            "temps van --at cruise 645 626 651 651 646 648",
            "temps van --at idle 412 404 417 413 410 412",
        ] {
            bench.run(line).succeeds();
        }
        next(&bench)
    };
    assert_eq!(after("five is low")["end"], "proven");
    let named = after("five is low, and two has been a shade under for years");
    assert_eq!((&named["kind"], &named["cylinder"]), (&"test".into(), &2.into()), "{named}");
}

/// An invented V10 whose probe cables were tidied up: that two displays bear each other's names is nearly certain
/// after hours of looking, and with which. Who knows so much follows a lead, which takes minutes, before he gives up.
#[test]
fn what_takes_minutes_and_tells_most_is_done_however_long_the_job_was_looked_at() {
    let bench = bench(
        "--cylinders 10 --layout v --fuel port --ignition coil-per-plug --intake plenum --induction natural \
         --cooling liquid --probes exhaust --probe-type K --firing-order 1,6,5,10,2,7,3,8,4,9 \
         --mixture 1,1,1.15 --recent wiring-worked,stored --complaint-at full --complaint-cylinder 8 \
         --complaint-does high",
        &[
            "temps van --at full 774 760 769 769 762 772 772 814 762 761",
            "temps van --at cruise 640 632 635 637 630 641 635 616 630 631",
            "temps van --at idle 416 415 418 422 412 422 418 399 416 409",
            "exchange van lead-at-probe 8 2",
            "temps van --at cruise 641 631 634 638 632 640 640 612 633 630",
            "found van input-link right --cylinder 2",
            "found van ignition-off-hot smooth --cylinder 2",
            "found van map-check all-right --cylinder 2",
            "found van warm-joint steady --cylinder 2",
            "found van polarity rises --cylinder 2",
            "remake van lead-at-probe 2 --new",
            "temps van --at cruise 641 636 635 640 631 639 635 610 631 634",
            "found van setting-check same --cylinder 2",
            "found van load-electric no-change --cylinder 2",
            "found van ignition-off-hot smooth --cylinder 2",
            "found van simulator right --cylinder 2",
            "found van warm-joint steady --cylinder 2",
            "exchange van lead-at-probe 8 2",
            "remake van lead-at-box 8 --new",
            "temps van --at full 776 764 770 769 763 771 775 810 765 763",
            "found van ignition-off-hot smooth --cylinder 8",
            "found van input-link right --cylinder 8",
            "found van warm-joint steady --cylinder 8",
            "found van scatter-speed like-others --cylinder 8",
            "found van simulator right --cylinder 8",
            "found van second-thermometer normal --cylinder 8",
            "found van look-part same --cylinder 8",
            "exchange van lead-at-box 8 2",
            "temps van --at full 769 811 771 775 763 775 769 765 767 763",
            "found van ignition-off-hot smooth --cylinder 8",
            "found van loop-ohms alike --cylinder 8",
            "exchange van lead-at-box 8 2",
            "temps van --at full 773 764 770 770 760 768 774 808 760 764",
            "remedy van lead-double-reversed@8",
            "temps van --at idle 422 413 420 415 412 421 418 399 415 414",
            "temps van --at cruise 645 635 638 642 631 639 641 610 634 629",
        ],
    );
    let next = next(&bench);
    assert_eq!(next["kind"], "test", "{next}");
}

/// Two neighbours of an invented four are low together, and both have little compression: one gasket, not two.
#[test]
fn two_neighbours_low_together_have_one_gasket_between_them() {
    let bench = bench(
        "--engine inline-four-carburettor --recent overheated",
        &[
            "temps van --at idle 410 354 351 400",
            "temps van --at cruise 630 580 579 618",
            "found van compression two-low --cylinder 2",
        ],
    );
    let suspects = bench.run("suspects van --json").document(0);
    let first = &suspects["causes"][0];
    assert_eq!(
        (&first["id"], &first["place"]),
        (&"gasket-between".into(), &"2-3".into()),
        "{first}"
    );
}

/// Where hardly a fault is left, looks before leaving cost no more than leaving is expected to: a tenth of the long
/// search, not all of it.
#[test]
fn what_stands_off_beside_a_cure_is_not_looked_at_for_as_long_as_the_long_search() {
    let bench = bench(
        "--engine flat-four-port --recent inj-serviced --complaint-at cruise --complaint-cylinder 2 \
         --complaint-does low",
        &[
            "temps van --at cruise 752 405 690 655",
            "temps van --at idle 520 262 441 430",
            "found van cut-out no-drop --cylinder 2",
            "found van inj-drop sinks --cylinder 2",
            "found van misfire-count counted --cylinder 2",
            "remedy van inj-dead@2",
            "temps van --at idle 519 436 440 431",
            "temps van --at cruise 751 674 691 656",
            "temps van --at idle 521 437 441 428",
            "found van look-fit alike --cylinder 1",
            "found van setting-check same --cylinder 1",
            "found van look-part same --cylinder 1",
            "found van misfire-count none --cylinder 1",
            "found van timing-light same --cylinder 1",
        ],
    );
    let after = next(&bench);
    assert_eq!(after["kind"], "stop", "{after}");
}

/// Nobody keeps an engine overnight for a look at another display that nobody complained of.
#[test]
fn a_look_that_is_owed_is_not_waited_for_all_night() {
    let bench = bench(
        "--engine inline-six-carburettor --recent manifold-off --complaint cylinder_6_reads_low_at_full_load",
        &[
            "temps van --at full 955 890 925 956 915 789",
            "temps van --at idle 480 445 463 479 472 391",
            "found van look-fit deeper --cylinder 6",
            "found van depth-measure shallower --cylinder 6",
            "temps van --at cruise 721 700 705 718 708 692",
            "remedy van fit-shallow@6",
            "temps van --at idle 478 446 456 479 451 456",
            "temps van --at full 953 903 920 944 921 986",
            "temps van --at cruise 722 696 710 715 706 690",
            "found van mixture-sweep together --cylinder 6",
            "found van history always",
            "found van look-leaks no-trace --cylinder 6",
            "found van feel-run smooth",
            "found van cut-out own-falls --cylinder 6",
            "temps van --at full 956 892 924 945 917 895",
        ],
    );
    let after = next(&bench);
    assert!(after["cost"]["wait_min"].as_f64().expect("a number") < 60.0, "{after}");
}

/// What goes home after it has said what it could is not read on the way, with others still to go.
#[test]
fn nothing_is_read_between_two_things_that_go_home() {
    let bench = bench(
        "--engine inline-six-port --complaint-at idle --complaint-cylinder 3 --complaint-does low",
        &[
            "temps van --at idle 440 441 362 442 438 439",
            "temps van --at cruise 650 652 571 651 648 649",
            "exchange van lead-at-box 3 2",
            "temps van --at idle 441 363 440 441 439 438",
            "exchange van lead-at-box 5 6",
            "temps van --at idle 440 362 441 442 438 439",
            "exchange van lead-at-box 5 6",
        ],
    );
    let after = next(&bench);
    assert_ne!(after["kind"], "readings", "{after}");
}

/// A display that is complained of since somebody set the valves, and stands as it did, is not left before anybody
/// looked at the valves.
#[test]
fn what_recent_work_made_likelier_is_looked_at_before_a_job_is_left() {
    let bench = bench(
        "--engine inline-four-port --recent valves-adjusted,wiring-worked --complaint-at full \
         --complaint-cylinder 4 --complaint-does high --since valves-adjusted",
        &[
            "temps van --at full 768 806 808 869",
            "temps van --at cruise 617 653 652 695",
            "exchange van lead-at-probe 4 2",
            "temps van --at cruise 621 693 651 654",
            "temps van --at idle 404 445 427 424",
            "exchange van lead-at-box 1 2",
            "temps van --at cruise 692 616 654 655",
            "remake van lead-at-probe 1 --new",
            "temps van --at cruise 693 664 653 655",
            "remedy van lead-copper@1",
            "temps van --at cruise 701 662 655 653",
            "found van look-fit alike --cylinder 4",
            "found van history after-work",
            "temps van --at full 867 821 805 809",
            "temps van --at full 869 820 813 812",
            "temps van --at cruise 700 664 655 653",
            "exchange van lead-at-box 1 2",
            "exchange van lead-at-probe 4 2",
            "exchange van lead-at-box 4 2",
            "temps van --at cruise 667 695 651 656",
            "exchange van lead-at-box 4 2",
        ],
    );
    let after = next(&bench);
    assert_eq!((&after["kind"], &after["cylinder"]), (&"test".into(), &4.into()), "{after}");
    let looks_at_valves =
        ["clearance", "leak-down", "compression", "borescope", "running-compression"];
    assert!(looks_at_valves.iter().any(|look| after["id"] == *look), "{after}");
}
