//! What cards say, over jobs of every kind of end: what was annoying once when they were looked at.

use crate::bench::{Bench, words};
use crate::every_page::typed;

/// The card of a job of the list of ends, lines joined.
fn card(bench: &Bench, job: &str) -> String {
    let run = bench.run(&format!("card {job}"));
    run.succeeds();
    run.out.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn bench() -> Bench {
    let bench = Bench::new();
    for line in typed() {
        bench.run_args(&words(line).iter().map(String::as_str).collect::<Vec<_>>()).succeeds();
    }
    bench
}

#[test]
fn cards_say_what_happened_as_it_happened() {
    let bench = bench();
    for (job, said, unsaid) in [
        // The middle of a jump was never read.
        ("intermittent", "display 2 jumped between 20 and 505 °C before the work", "246"),
        ("normal", "Closed as normal for this engine", "without a proven cure"),
        (
            "two-faults",
            "Put back injectors 5 and 1 (entry 9)",
            "Exchanged injectors 5 and 1 (entry 9)",
        ),
        // Where it was done comes before what was done.
        ("two-faults", "At cylinder 5, have the injector cleaned", "with new seals, cylinder 5"),
        ("not-found", "usual scatter", "Usual scatter"),
        ("handed-over", "leads of displays 4 and 5 at the box exchanged", "exchange this lead"),
        ("handed-over", "Left as", "see STOP above"),
        ("proven", "hands-on waiting", "no time, UTC what estimated"),
    ] {
        let card = card(&bench, job);
        assert!(card.contains(said), "{job}: `{said}`: {card}");
        assert!(!card.contains(unsaid), "{job}: `{unsaid}`: {card}");
    }
    // Who takes a job over finds first what is to be done.
    let handed = card(&bench, "handed-over");
    let at = |text: &str| handed.find(text).unwrap_or_else(|| panic!("{text}: {handed}"));
    assert!(at("To do next") < at("Checked"));
}

/// What was put right is gone, and another display stands off as before: who reads the card is not sent away as if
/// all were well. An invented six with one carburettor, uneven as they are.
#[test]
fn a_card_says_which_display_still_stands_off() {
    let bench = Bench::new();
    for line in [
        "open van --engine inline-six-carburettor --state warm --complaint-at cruise --complaint-cylinder 1 \
         --complaint-does low",
        "temps van --at cruise 480 585 632 575 666 612",
        "temps van --at idle 298 390 421 384 424 405",
        "found van look-fit shallower --cylinder 1",
        "found van look-fit alike --cylinder 5",
        "found van smoke-smell clean",
        "found van runner-lambda alike --cylinder 5",
        "found van look-part same --cylinder 5",
        "remedy van fit-shallow@1",
        "temps van --at cruise 604 585 632 575 667 612",
        "temps van --at idle 401 390 421 384 425 405",
        "close van --unproven watched",
    ] {
        bench.run(line).succeeds();
    }
    let card = card(&bench, "van");
    assert!(card.contains("But display 5 still reads"), "{card}");
    assert!(card.contains("Watch display 5") && !card.contains("Run it as usual"), "{card}");
}

#[test]
fn a_caution_stands_only_where_the_engine_has_what_it_warns_of() {
    let rail = "A direct-injection rail holds";
    let spray = "Diesel spray goes through skin";
    for (engine, has_rail) in [("inline-four-port", false), ("inline-four-direct", true)] {
        let bench = Bench::new();
        bench.run(&format!("open van --engine {engine} --state warm")).succeeds();
        bench.run("temps van --at idle 512 505 598 509").succeeds();
        bench.run("remedy van inj-lean@3").succeeds();
        let card = card(&bench, "van");
        assert_eq!(card.contains(rail), has_rail, "{engine}: {card}");
        assert!(!card.contains(spray), "{engine}: {card}");
        let why = bench.run("why van swap-injector@3 --json").document(0).to_string();
        assert_eq!(why.contains(rail), has_rail, "{engine}: {why}");
        assert!(!why.contains(spray), "{engine}: {why}");
    }
}

#[test]
fn a_closed_job_is_not_told_to_be_closed() {
    let bench = bench();
    let next = bench.run("next normal");
    assert!(next.out.contains("Next: nothing, the job is closed"), "{}", next.out);
    assert!(!next.out.contains("Next: close the job"), "{}", next.out);
}

#[test]
fn a_long_journal_shows_what_was_entered_last() {
    let bench = bench();
    for _ in 0..6 {
        for state in ["cold", "warm"] {
            bench.run(&format!("state handed-over {state}")).succeeds();
        }
    }
    bench.run("temps handed-over --at idle 412 405 398 411 461 415").succeeds();
    let short = bench.run("journal handed-over");
    assert!(
        short.out.contains("411, 461") && short.out.contains(" earlier: `oddpot"),
        "{}",
        short.out
    );
    let whole = bench.run("journal handed-over --detail");
    assert!(whole.out.contains("398, 461") && whole.out.contains("411, 461"), "{}", whole.out);
}
