//! Several at one job: each sees what the others enter, and nothing is lost.

use std::thread;

use super::client::Served;
use crate::bench::Bench;

#[test]
fn what_another_enters_is_shown_where_nothing_is_half_entered() {
    let bench = Bench::new();
    let served = Served::start(&bench, &[]);
    let phone = served.first();
    phone.opens("Van", "512 505 441 509");
    let n = |body: &str| {
        let after = body.split("data-n=\"").nth(1).unwrap_or_default();
        after.split('"').next().unwrap_or_default().to_owned()
    };
    let page = phone.page();
    assert_eq!(phone.get(&format!("/poll?n={}", n(&page.body))).body, "same");
    // The terminal is not kept out by an open page.
    bench.run("temps van --at cruise 655 648 560 651").succeeds();
    assert_eq!(phone.get(&format!("/poll?n={}", n(&page.body))).body, "entered");
    let page = phone.page();
    assert!(page.text().contains("Entered meanwhile as entry 2"), "{}", page.text());
    assert_eq!(page.question(), "What now?");
    assert_eq!(phone.get(&format!("/poll?n={}", n(&page.body))).body, "same");
}

#[test]
fn what_is_half_entered_is_not_lost_by_what_another_enters() {
    let bench = Bench::new();
    let served = Served::start(&bench, &[]);
    let phone = served.first();
    phone.opens("Van", "512 505 441 509");
    phone.picks("What now?", "Enter readings");
    phone.picks("Exhaust readings: how does the engine run?", "full load");
    bench.run("temps van --at cruise 655 648 560 651").succeeds();
    let page = phone.page();
    assert!(
        page.text().contains("Another has entered something meanwhile: 1 entry"),
        "{}",
        page.text()
    );
    // Confirming that load is safe is an entry of its own, the first after the other's.
    let mut text = String::new();
    if page.question() == "Is running at full load safe on this engine?" {
        text = phone.picks("Is running at full load safe on this engine?", "yes").text();
    }
    // Nobody has the builder's papers at hand.
    if phone.page().question() == "The builder's limit, °C?" {
        text += &phone.types("The builder's limit, °C?", "").text();
    }
    text += &phone.values("Displays 1 to 4 at full load, °C:", "755 748 660 751").text();
    assert!(text.contains("Entered meanwhile as entry 2"), "{text}");
    let journal = bench.run("journal van --json").document(0);
    let entries = journal["entries"].as_array().expect("entries").len();
    assert!(entries >= 3, "{journal}");
    // Or one leaves the question to see first.
    phone.picks("What now?", "Enter readings");
    bench.run("state van cold").succeeds();
    assert_eq!(phone.post("/anew", "").status, 303);
    let page = phone.page();
    assert_eq!(page.question(), "What now?");
    assert!(page.text().contains("Entered meanwhile"), "{}", page.text());
}

#[test]
fn a_job_that_another_closed_takes_no_more_entries() {
    let bench = Bench::new();
    let served = Served::start(&bench, &[]);
    let phone = served.first();
    phone.opens("Van", "512 505 441 509");
    phone.picks("What now?", "Enter readings");
    phone.picks("Exhaust readings: how does the engine run?", "steady cruise");
    bench.run_args(&["close", "van", "--unproven", "sold"]).succeeds();
    let page = phone.values("Displays 1 to 4 at steady cruise, °C:", "655 648 560 651");
    let text = page.text();
    assert!(
        text.contains("another has closed the job meanwhile")
            || text.contains("Another has closed"),
        "{text}"
    );
    assert_eq!(page.question(), "What now?");
    assert!(text.contains("Open the job again"), "{text}");
    let journal = bench.run("journal van --json").document(0);
    assert_eq!(journal["entries"].as_array().map(Vec::len), Some(2), "{journal}");
}

/// So many each enters.
const EACH: usize = 8;

#[test]
fn of_what_several_enter_at_once_nothing_is_lost() {
    let bench = Bench::new();
    let mut served = Served::start(&bench, &[]);
    served.first().opens("Van", "512 505 441 509");
    let keys: Vec<String> = (0..3)
        .map(|_| {
            std::io::Write::write_all(&mut served.typed, b"\n").expect("typed");
            let (_, key) = served.given();
            // Each key puts the one before out of use, so that it is used at once.
            served.admit(&key).cookie
        })
        .collect();
    let served = &served;
    let bench = &bench;
    thread::scope(|scope| {
        for cookie in &keys {
            scope.spawn(move || {
                let device = super::client::Device { served, cookie: cookie.clone() };
                device.begin();
                device.picks("Which job?", "van");
                device.picks("How is the engine now?", "warm");
                for _ in 0..EACH {
                    device.picks("What now?", "More");
                    device.picks("More:", "The engine has cooled down");
                    device.picks("How is the engine now?", "warm");
                }
            });
        }
        scope.spawn(move || {
            for _ in 0..EACH {
                bench.run("state van warm").succeeds();
            }
        });
    });
    let journal = bench.run("journal van --json").document(0);
    let entries = journal["entries"].as_array().map(Vec::len);
    assert_eq!(entries, Some(1 + 4 * EACH), "{journal}");
}
