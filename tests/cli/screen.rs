//! Every answer fits one screen of 80 by 24 in plain words; `--detail` has the rest.

use crate::bench::Bench;

/// Lines and cells of a usual terminal; one line is left for what was typed, one for the prompt.
pub(crate) const LINES: usize = 22;
pub(crate) const CELLS: usize = 80;

/// Words of statistics and of this program's own bookkeeping, which a mechanic need not know. "7 times in 10"
/// and "63 %" are plain, so is a gap where it is a plug's, how confident one is, and the mean of all displays, which a
/// controller is to watch.
const STATISTICS: [&str; 49] = [
    "above the best possible",
    "average",
    "bayes",
    "bayesian",
    "bits",
    "bound",
    "bounds",
    "brier",
    "conditional",
    "correlation",
    "covariance",
    "degrees of freedom",
    "deviation",
    "distribution",
    "dixon",
    "dixon's",
    "entropy",
    "evidence ratio",
    "expected cost",
    "expected to the proven",
    "expected value",
    "false alarm",
    "gap between",
    "gaussian",
    "grubbs",
    "hypotheses",
    "hypothesis",
    "information gain",
    "interval",
    "likelihood",
    "log score",
    "mean value",
    "median",
    "nats",
    "normal distribution",
    "null",
    "odds",
    "outlier",
    "percentile",
    "posterior",
    "prior",
    "probability",
    "quantile",
    "sample",
    "sd",
    "sigma",
    "significance",
    "standard deviation",
    "variance",
];

/// More than one word of the trade and of statistics: here it is the statistics' alone.
const SPREAD: [&str; 3] = ["spread", "spreads", "natural spread"];

/// Words of statistics on a page.
pub(crate) fn statistics(page: &str) -> Vec<&'static str> {
    let lower = page.to_lowercase();
    let parted: Vec<&str> = lower.split(|c: char| !c.is_alphanumeric()).collect();
    let words = STATISTICS.into_iter().chain(SPREAD);
    let found = |word: &&str| {
        if word.contains(' ') { lower.contains(*word) } else { parted.contains(word) }
    };
    words.filter(found).collect()
}

/// Jobs that differ in what a page has to hold, by the lines that make them.
const JOBS: [(&str, &[&str]); 8] = [
    (
        "easy",
        &[
            "open easy --engine v6-port --recent probes-new --state cold --vehicle Van",
            "temps easy --at idle 512 505 498 509 441 515",
            "temps easy --at cruise 655 648 640 651 561 658",
        ],
    ),
    (
        "two",
        &[
            "open two --engine v6-port --state warm",
            "temps two --at idle 512 445 498 509 571 515",
            "temps two --at cruise 655 560 640 651 741 658",
            "exchange two injector 5 1",
            "temps two --at idle 574 446 497 508 514 516",
        ],
    ),
    (
        "comes-and-goes",
        &[
            "open comes-and-goes --engine inline-four-port --state warm",
            "temps comes-and-goes --at idle 512 20..505 498 509",
            "found comes-and-goes wiggle jumps --cylinder 2",
        ],
    ),
    (
        "normal",
        &[
            "open normal --engine inline-four-port --state warm --vehicle Van",
            "temps normal --at idle 512 505 498 509",
            "temps normal --at cruise 655 648 640 651",
        ],
    ),
    (
        "hot",
        &[
            "open hot --engine inline-four-port --state warm",
            "temps hot --at cruise 700 705 840 698",
            "temps hot --at full 850 845 1005 850",
        ],
    ),
    (
        "eight",
        &[
            "open eight --cylinders 8 --layout v --fuel port --ignition distributor --state warm",
            "temps eight --at idle 512 505 498 509 441 515 510 501",
            "temps eight --at cruise 655 648 640 651 561 658 650 655",
            "temps eight --at full 755 748 740 751 661 758 750 755",
        ],
    ),
    (
        "sixteen",
        &[
            "open sixteen --cylinders 16 --layout v --fuel diesel --state warm --vehicle Barge",
            "temps sixteen --at idle 212 205 198 209 141 215 210 201 212 205 198 209 202 215 210 open",
            "temps sixteen --at cruise 412 405 398 409 341 415 410 401 412 405 398 409 402 415 410 open",
        ],
    ),
    (
        "sound",
        &[
            "open sound --cylinders 4 --layout flat --state cold-soaked --vehicle Kite",
            "found sound polarity rises --cylinder 1",
            "found sound polarity rises --cylinder 2",
            "found sound polarity rises --cylinder 3",
            "found sound polarity rises --cylinder 4",
            "temps sound --at cold 18 25 18.2 17.9 --air 18",
            "temps sound --at cold 18 18.1 18.2 17.9 --air 18",
            "fit sound --depths 14 14 14 14",
            "temps sound --at idle 402 396 404 400",
            "commission sound --builder-limit 900",
            "temps sound --at cruise 622 615 627 619",
            "temps sound --at full 842 835 847 839",
            "record sound",
            "limits sound --set",
            "close sound",
        ],
    ),
];

/// What is asked of each job.
const PAGES: [&str; 13] = [
    "next",
    "suspects",
    "verify",
    "why TOP",
    "why STEP",
    "limits",
    "balance",
    "journal",
    "jobs",
    "search read",
    "vehicle VEHICLE",
    "fit",
    "commission",
];

pub(crate) fn too_much(page: &str) -> Vec<String> {
    let mut faults = Vec::new();
    let lines = page.lines().count();
    if lines > LINES {
        faults.push(format!("{lines} lines"));
    }
    for line in page.lines().filter(|line| line.chars().count() > CELLS) {
        faults.push(format!("too wide: {line}"));
    }
    faults.extend(statistics(page).into_iter().map(|word| format!("statistics: {word}")));
    faults
}

#[test]
fn every_answer_fits_a_screen_in_plain_words() {
    let bench = Bench::new();
    let mut faults = Vec::new();
    let mut look = |line: &str| {
        let run = bench.run(line);
        assert_ne!(run.status, 2, "{line}: {}", run.err);
        for fault in too_much(&run.out) {
            faults.push(format!("`{line}`: {fault}\n{}", run.out));
        }
    };
    for (name, lines) in JOBS {
        for line in lines {
            look(line);
            // After every entry the advice is another.
            look(&format!("next {name}"));
            look(&format!("suspects {name}"));
            look(&format!("commission {name}"));
        }
        let next = bench.run(&format!("next {name} --json")).document(0);
        let suspects = bench.run(&format!("suspects {name} --json")).document(0);
        let place = |of: &serde_json::Value| {
            let id = of["id"].as_str().or(of["cause"].as_str()).unwrap_or_default();
            of["cylinder"].as_u64().map_or_else(|| id.to_owned(), |c| format!("{id}@{c}"))
        };
        for page in PAGES {
            let line = match page {
                "why TOP" => format!("why {name} {}", place(&suspects["causes"][0])),
                "why STEP" if next["kind"] == "test" => format!("why {name} {}", place(&next)),
                "vehicle VEHICLE" if lines[0].contains("--vehicle Van") => "vehicle Van".to_owned(),
                "why STEP" | "vehicle VEHICLE" => continue,
                "jobs" | "search read" => page.to_owned(),
                page => format!("{page} {name}"),
            };
            look(&line);
        }
    }
    for line in ["record normal", "close normal", "limits normal", "balance normal", "vehicle Van"]
    {
        look(line);
    }
    for number in 0..30 {
        bench.run(&format!("open job-{number} --cylinders 4")).succeeds();
    }
    look("jobs");
    assert!(faults.is_empty(), "{} faults\n{}", faults.len(), faults.join("\n"));
}

#[test]
fn what_is_left_out_is_in_the_detail() {
    let bench = Bench::new();
    for line in JOBS[0].1 {
        bench.run(line).succeeds();
    }
    for page in ["next easy", "suspects easy", "commission easy"] {
        let short = bench.run(page);
        let whole = bench.run(&format!("{page} --detail"));
        assert!(short.out.contains(&format!("`oddpot {page} --detail`")), "{}", short.out);
        assert!(whole.out.lines().count() > short.out.lines().count(), "{page}");
        assert!(!whole.out.contains("--detail"), "{}", whole.out);
        let json = |line: &str| bench.run(&format!("{line} --json")).out;
        assert_eq!(json(page), json(&format!("{page} --detail")));
    }
    for number in 0..30 {
        bench.run(&format!("open job-{number} --cylinders 4")).succeeds();
    }
    let jobs = bench.run("jobs");
    assert!(jobs.out.contains("more: `oddpot jobs --detail`"), "{}", jobs.out);
}

#[test]
fn heat_stands_above_everything() {
    let bench = Bench::new();
    for line in JOBS[4].1 {
        bench.run(line).succeeds();
    }
    for page in [
        "next hot",
        "suspects hot",
        "verify hot",
        "next hot --detail",
        "temps hot --at full 850 845 1005 850",
    ] {
        let run = bench.run(page);
        assert!(run.out.starts_with("STOP: "), "{page}: {}", run.out);
    }
}
