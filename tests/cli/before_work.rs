//! Before something is moved, bought or run: what is looked at first, and what is not asked for at all.

use serde_json::Value;

use crate::bench::{bench, next};

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
