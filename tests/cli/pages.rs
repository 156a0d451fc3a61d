//! Cards, sheets and pictures from the command line.

use crate::bench::Bench;

/// Found when the forms were added: the text in the document of `--json` had styles in it.
#[test]
fn every_form_of_a_card_can_be_had() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 652 590 655 648").succeeds();
    for (form, start) in [("text", "Handover"), ("md", "# "), ("html", "<!DOCTYPE html>")] {
        let run = bench.run(&format!("card van --format {form}"));
        assert_eq!((run.status, &*run.err), (0, ""));
        assert!(run.out.starts_with(start), "{form}");
        assert!(run.out.contains("Temperatures at warm idle"), "{form}");
        let document = bench.run(&format!("card van --format {form} --json")).document(0);
        assert_eq!(document["card"].as_str(), Some(&*run.out), "{form}");
    }
    let refused = bench.run("card van --format pdf --json");
    assert_eq!(refused.status, 2);
    assert!(refused.err.starts_with("error: a PDF is no text"), "{}", refused.err);
    for paper in ["a4", "letter"] {
        bench.run(&format!("card van --paper {paper} -o van.pdf --force")).gives(
            0,
            "wrote van.pdf\n",
            "",
        );
        let bytes = std::fs::read(bench.path("van.pdf")).expect("written");
        assert!(bytes.starts_with(b"%PDF-") && bytes.len() < 200_000);
    }
}

#[test]
fn sheets_for_the_bench_and_for_the_fit() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 440 438 540 441").succeeds();
    bench.run("temps van --at idle 440 438 540 441").succeeds();
    let sheet = bench.run("next van --sheet").out;
    for wanted in ["Bench sheet\n", "\n1. ", "If it goes another way", "Done by"] {
        assert!(sheet.contains(wanted), "{wanted}: {sheet}");
    }
    bench.run("next van --sheet --format html -o bench.html").gives(0, "wrote bench.html\n", "");
    bench.run("fit van --depths 20 14 20 20").succeeds();
    bench.run("fit van --format html -o fit.html").gives(0, "wrote fit.html\n", "");
    let page = Bench::read(&bench.path("fit.html"));
    assert!(page.contains("How the probes sit"), "{page}");
    let run = bench.run("fit van --depths 20 14 20 20 -o fit.html");
    assert_eq!(run.status, 2);
    assert!(run.err.contains("without anything to enter"), "{}", run.err);
}

#[test]
fn the_fault_tree_can_be_drawn_with_a_job_over_it() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 652 590 655 648").succeeds();
    let plain = bench.run("knowledge draw --format svg").out;
    assert!(plain.contains("probe not in far enough") && !plain.contains("\u{a0}%"));
    let laid = bench.run("knowledge draw fit --job van --format svg").out;
    assert!(laid.contains("Fault tree of this job") && laid.contains("\u{a0}%"));
    assert!(!laid.contains("plug dead"));
    let text = bench.run("knowledge draw fit --job van --format text").out;
    assert!(text.contains("+- probe not in far enough"), "{text}");
    let dot = bench.run("knowledge draw fit --job van").out;
    assert!(dot.starts_with("digraph") && dot.contains("fit-shallow: "), "{dot}");
    let run = bench.run("knowledge draw fitt");
    assert_eq!(run.status, 2);
    assert!(run.err.contains("unknown group `fitt`"), "{}", run.err);
}

#[test]
fn completions_name_the_commands() {
    let bench = Bench::new();
    for shell in ["bash", "zsh", "fish", "elvish", "powershell"] {
        let out = bench.run(&format!("completions {shell}")).out;
        assert!(out.contains("suspects") && out.contains("confirm-load"), "{shell}");
    }
}

/// Seen: a card went over the job, and text into a file that ends in .pdf.
#[test]
fn a_file_is_written_by_its_ending_and_over_nothing() {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 652 590 655 648").succeeds();
    for (name, start) in [("a.txt", "Handover"), ("a.md", "# "), ("a.html", "<!DOCTYPE html>")] {
        bench.run(&format!("card van -o {name}")).succeeds();
        assert!(Bench::read(&bench.path(name)).starts_with(start), "{name}");
    }
    let before = Bench::read(&bench.job("van"));
    for line in
        ["card van -o jobs/van.ron", "card van --format text -o jobs/van.ron", "card van -o a.md"]
    {
        let run = bench.run(line);
        assert_eq!(run.status, 2, "{line}: {}", run.err);
    }
    assert_eq!(Bench::read(&bench.job("van")), before);
    bench.run("card van -o a.md --force").succeeds();
}
