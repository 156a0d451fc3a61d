//! Wrong entries, and what becomes of each: `docs/trust.md` has the same table in words, held to this one.
//!
//! What is refused leaves the file as it was, byte for byte. What is kept is said back as it was understood; where
//! it may be a slip, how to take it back is said as well.

use crate::bench::{Bench, words};

/// What becomes of an entry.
#[derive(Clone, Copy, PartialEq, Debug)]
enum Comes {
    /// Nothing is entered, and why is said.
    Refused,
    /// It is entered as it was meant.
    AsMeant,
    /// It is entered, and what may be wrong with it is said beside it.
    Remarked,
}

use Comes::{AsMeant, Refused, Remarked};

/// What is typed after one good set at idle (652 590 655 648), what becomes of it, and words of the answer.
const WRONG: [(&str, Comes, &str); 38] = [
    // The wrong number of values, or none.
    ("temps van --at idle", Refused, "<VALUE>"),
    ("temps van --at idle 652 590 655", Refused, "3 readings given, this engine has 4"),
    ("temps van --at idle 652 590 655 648 650", Refused, "5 readings given"),
    // Values that are none.
    ("temps van --at idle 652 590 655 hot", Refused, "`hot` is not a reading"),
    ("temps van --at idle 652 590 655 6e2", Refused, "`6e2` is not a reading"),
    ("temps van --at idle 652 590 655 20..", Refused, "`20..` is not a reading"),
    ("temps van --at idle 652 590 655 648..648", Refused, "does not jump"),
    ("temps van --at idle 652 590 655 2400", Refused, "cannot be right here"),
    ("temps van --at idle 652,590,655,648", Refused, "separate readings with spaces"),
    ("temps van --at idle 1.018,5 590 655 648", Refused, "`1.018,5` is not a reading"),
    // Values in the wrong place or on the wrong scale.
    (
        "temps van --at idle T2=652 T1=590 T3=655 T4=648",
        Refused,
        "stands in the place of display 1",
    ),
    ("temps van --at idle 954F 940F 928f 826", Refused, "`826` names no scale"),
    ("temps van --at idle 1.200 1.205 0.998 1.201", Refused, "a running engine reaches"),
    ("temps van --at idle -5 22 51 20", Refused, "a running engine reaches"),
    ("temps van --at idle 1206 1094 1211 1198", Refused, "no engine is above 950 °C all over"),
    ("temps van --at idle --units f 652 590 655 648", Refused, "as °C they would be like it"),
    ("temps van --at cruise 1000 1010 990 1005", Remarked, "if the numbers are °F"),
    ("temps van --at cold 400 410 390 400", Remarked, "is the engine really cold soaked?"),
    ("temps van --at idle 652 590 655 648", Remarked, "exactly that of entry 1"),
    // As boxes, meters and people write it.
    ("temps van --at idle 652 OL --- ERR", AsMeant, "652, open, open, open °C"),
    ("temps van --at Idle T1=652 T2=591C T3=655degC T4=648", AsMeant, "652, 591, 655, 648 °C"),
    ("temps van --at idle '652 591 655 648'", AsMeant, "652, 591, 655, 648 °C"),
    ("temps van --at idle 652 590,6 655 648", AsMeant, "652, 591, 655, 648 °C"),
    ("temps van --at idle 652 590 655 640..20", AsMeant, "display 4 jumps by 620 °C"),
    ("temps van --at idle 652 590 655 ''", Refused, "3 readings given"),
    // A slip in a word.
    ("temps van --at iddle 652 590 655 648", Refused, "`idle`"),
    ("temps van 652 590 655 648", Refused, "--at"),
    ("temps vam --at idle 652 590 655 648", Refused, "did you mean `van`?"),
    ("found van look-fti alike --cylinder 2", Refused, "did you mean `look-fit`?"),
    ("found van look-fit deep --cylinder 2", Refused, "did you mean `deeper`?"),
    ("found van look-fit alike --cylinder 7", Refused, "this engine has 1 to 4"),
    ("found van swap-probe moved", Refused, "which two changed places was not said"),
    // What cannot be done.
    ("exchange van probe 2 2", Refused, "two different places"),
    ("exchange van probe 2 5", Refused, "this engine has 1 to 4"),
    ("exchange van coil 1 4", Refused, "share one coil"),
    ("remedy van fit-shalow@2", Refused, "did you mean `fit-shallow`?"),
    ("close van", Refused, "it was not closed"),
    ("correct van 7 temps --at idle 1 2 3 4", Refused, "entry 7"),
];

/// What stands in a job.
fn standing(bench: &Bench) -> usize {
    let journal = bench.run("journal van --json").document(0);
    let entries = journal["entries"].as_array().expect("a list");
    entries.iter().filter(|entry| entry["stands"] == true).count()
}

#[test]
fn no_wrong_entry_is_kept_wrongly_or_loses_a_right_one() {
    for (line, comes, said) in WRONG {
        let bench = Bench::with_van();
        bench.run("temps van --at idle 652 590 655 648").succeeds();
        let before = std::fs::read(bench.job("van")).expect("there");
        let given = words(line);
        let run = bench.run_args(&given.iter().map(String::as_str).collect::<Vec<_>>());
        let answer = format!("{}\n{}", run.out, run.err);
        // Where lines are broken depends on the width alone.
        let answer = answer.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(answer.contains(said), "{line}: {answer}");
        let after = std::fs::read(bench.job("van")).expect("there");
        if comes == Refused {
            assert!(run.status != 0 && run.out.is_empty(), "{line}: {answer}");
            assert!(before == after, "{line}: the file was touched");
            continue;
        }
        assert_eq!((run.status, standing(&bench)), (0, 2), "{line}: {answer}");
        assert!(answer.contains("entry 2: "), "{line}: {answer}");
        assert_eq!(run.err.contains("oddpot undo"), comes == Remarked, "{line}: {answer}");
        // Taken back it is as if it had never been typed.
        bench.run("undo van").succeeds();
        assert_eq!(standing(&bench), 1, "{line}");
    }
}

/// A slip seen late is put right where it stands, without typing again what came after it.
#[test]
fn a_slip_seen_five_entries_later_is_one_line() {
    let bench = Bench::with_van();
    for line in [
        "temps van --at idle 652 509 655 648",
        "temps van --at cruise 752 690 755 748",
        "found van look-fit alike --cylinder 2",
        "exchange van lead-at-box 2 3",
        "temps van --at idle 652 655 590 648",
        "exchange van lead-at-box 2 3",
    ] {
        bench.run(line).succeeds();
    }
    let run = bench.run("correct van 1 temps --at idle 652 590 655 648");
    run.succeeds();
    assert_eq!(standing(&bench), 6, "{}", run.out);
    let journal = bench.run("journal van --detail");
    let told = journal.out.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(told.contains("652, 590, 655, 648 °C (instead of entry 1)"), "{}", journal.out);
}

/// The table in the documents names each of them.
#[test]
fn the_table_of_the_documents_is_this_one() {
    let page = include_str!("../../docs/trust.md");
    for (line, comes, _) in WRONG {
        let became = match comes {
            Refused => "refused",
            AsMeant => "kept",
            Remarked => "kept, remarked on",
        };
        let row = page.lines().find(|row| row.starts_with(&format!("| `{line}` |")));
        let row = row.unwrap_or_else(|| panic!("docs/trust.md lacks `{line}`"));
        assert!(row.contains(&format!("| {became} |")), "{row}");
    }
}
