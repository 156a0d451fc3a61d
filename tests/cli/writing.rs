//! Files that a command is told to write: nothing that is there is lost by it.

use std::fmt::Write as _;
use std::path::Path;

use crate::bench::Bench;

/// Ways to write a page, and the word that says a form where the ending of the name does not.
const WRITERS: [&str; 6] = [
    "card van --format md -o",
    "fit van --format md -o",
    "next van --sheet --format md -o",
    "log run.csv --format md -o",
    "example --format md -o",
    "knowledge draw --format svg -o",
];

fn bench() -> Bench {
    let bench = Bench::with_van();
    bench.run("temps van --at idle 652 590 655 648").succeeds();
    bench.run("memory learn").succeeds();
    let mut log = "time,T1,T2,T3,T4\n".to_owned();
    for second in 0..300 {
        let _ = writeln!(log, "{second},652,590,655,648");
    }
    bench.write("run.csv", &log);
    bench.write("notes.txt", "precious");
    bench.write("notes.ron", "(precious)");
    bench.write("page.pdf", "%PDF-precious");
    std::fs::create_dir(bench.path("own")).expect("a folder");
    bench.write("own/causes.ron", "[]");
    std::fs::create_dir(bench.path("folder")).expect("a folder");
    bench
}

/// The bytes of every file that must stay.
fn kept(bench: &Bench) -> Vec<(String, Vec<u8>)> {
    let names = [
        "jobs/van.ron",
        "jobs/van.ron.lock",
        "jobs/workshop.memory",
        "run.csv",
        "notes.txt",
        "notes.ron",
        "read-only.txt",
        "page.pdf",
        "own/causes.ron",
    ];
    names
        .iter()
        .map(|name| ((*name).to_owned(), std::fs::read(bench.path(name)).unwrap_or_default()))
        .collect()
}

fn read_only(path: &Path) {
    std::fs::write(path, "precious").expect("written");
    let mut may = std::fs::metadata(path).expect("there").permissions();
    may.set_readonly(true);
    std::fs::set_permissions(path, may).expect("set");
}

#[test]
fn nothing_that_is_there_is_written_over_by_any_writer() {
    let bench = bench();
    read_only(&bench.path("read-only.txt"));
    let mut targets = vec![
        "jobs/van.ron",
        "jobs/van.ron.lock",
        "jobs/workshop.memory",
        "run.csv",
        "notes.txt",
        "notes.ron",
        "folder",
        "none/page.md",
        "read-only.txt",
        "notes.txt/page.md",
        "page.pdf",
        "own/causes.ron",
    ];
    #[cfg(unix)]
    {
        std::os::unix::fs::symlink("notes.txt", bench.path("link")).expect("a link");
        std::os::unix::fs::symlink("jobs/van.ron", bench.path("to-job")).expect("a link");
        std::os::unix::fs::symlink("nowhere", bench.path("dangling")).expect("a link");
        let made = std::process::Command::new("mkfifo").arg(bench.path("pipe")).status();
        assert!(made.is_ok_and(|made| made.success()));
        targets.extend(["link", "to-job", "dangling", "pipe", "/dev/null", "/dev/full"]);
    }
    let before = kept(&bench);
    for writer in WRITERS {
        for target in &targets {
            let run = bench.run(&format!("{writer} {target}"));
            let status = if target.ends_with("/page.md") { 3 } else { 2 };
            assert_eq!((run.status, &*run.out), (status, ""), "{writer} {target}: {}", run.err);
            // Of a missing folder the folder is named; nothing hidden is ever told.
            let named = target.strip_suffix("/page.md").unwrap_or(target);
            assert!(run.err.contains(named) && !run.err.contains(".tmp"), "{}", run.err);
            assert!(!run.err.contains("to enter it again"), "{}", run.err);
        }
    }
    assert_eq!(kept(&bench), before);
    #[cfg(unix)]
    assert!(bench.path("link").is_symlink() && bench.path("dangling").is_symlink());
    assert!(!bench.path("nowhere").exists());
}

#[test]
fn force_writes_over_a_page_and_never_over_what_has_commands_of_its_own() {
    let bench = bench();
    read_only(&bench.path("read-only.txt"));
    #[cfg(unix)]
    std::os::unix::fs::symlink("jobs/van.ron", bench.path("to-job")).expect("a link");
    let before = kept(&bench);
    for target in [
        "jobs/van.ron",
        "jobs/van.ron.lock",
        "jobs/workshop.memory",
        "notes.ron",
        "read-only.txt",
        "folder",
        "own/causes.ron",
        #[cfg(unix)]
        "to-job",
    ] {
        for writer in WRITERS {
            let run = bench.run(&format!("{writer} {target} --force"));
            assert_eq!((run.status, &*run.out), (2, ""), "{writer} {target}: {}", run.err);
        }
    }
    let run = bench.run("log run.csv --format md -o run.csv --force");
    assert_eq!(run.status, 2);
    assert!(run.err.contains("run.csv is what is read here"), "{}", run.err);
    assert_eq!(kept(&bench), before);
    bench.run("card van -o notes.txt --force").gives(0, "wrote notes.txt\n", "");
    assert!(Bench::read(&bench.path("notes.txt")).contains("Handover"));
}

#[test]
fn the_ending_of_the_name_says_the_form() {
    let bench = bench();
    for (line, name, begins) in [
        ("card van", "c.pdf", "%PDF-"),
        ("card van", "c.html", "<!DOCTYPE html>"),
        ("card van", "c.md", "# "),
        ("card van", "c.txt", "Handover"),
        ("knowledge draw", "t.svg", "<?xml"),
        ("knowledge draw", "t.dot", "digraph"),
        ("knowledge draw", "t.pdf", "%PDF-"),
    ] {
        bench.run(&format!("{line} -o {name}")).succeeds();
        let bytes = std::fs::read(bench.path(name)).expect("written");
        assert!(bytes.starts_with(begins.as_bytes()), "{name}");
    }
    for line in ["card van -o c.svg", "card van -o c.docx", "knowledge draw -o t.docx"] {
        let run = bench.run(line);
        assert_eq!((run.status, &*run.out), (2, ""), "{line}");
        assert!(run.err.contains("is no form of"), "{}", run.err);
    }
}
