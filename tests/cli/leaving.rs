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
