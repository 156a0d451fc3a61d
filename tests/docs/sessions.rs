//! Runs the sessions of the pages: every `console` block, line by line.
//!
//! A line after `$ ` is run if it begins with `oddpot`; what it says, standard output before
//! standard error, must be the lines up to the next. `| head -N` at its end is understood, an
//! exit status other than 0 is shown as `(exit status N)`. Blocks of one page share a folder
//! as home, and each command comes ten minutes after the one before; a line `# DATE` in a block begins
//! another day. A `ron` block that begins
//! with `// PATH` is a file there, and an `answers` block that begins with `# PATH`. An invented data
//! log lies there as `six.csv`.

use std::fmt::Write;
use std::path::Path;
use std::process::{Command, Stdio};

use crate::{keep, pages};

/// Folder and clock of a page.
struct Home {
    folder: tempfile::TempDir,
    minutes: u32,
    day: String,
}

impl Home {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let log = crate::top().join("tests/fixtures/log-six.csv");
        std::fs::copy(log, folder.path().join("six.csv")).expect("copied");
        Self { folder, minutes: 0, day: "2026-04-14".to_owned() }
    }

    /// Writes a block that says where it belongs.
    fn put(&self, block: &str) {
        let marked =
            |line: &str| ["// ", "# "].iter().find_map(|m| line.strip_prefix(m)).map(str::to_owned);
        if let Some(path) = block.lines().next().and_then(marked) {
            let path = self.folder.path().join(path);
            std::fs::create_dir_all(path.parent().expect("inside")).expect("a folder");
            std::fs::write(path, block).expect("writable");
        }
    }

    /// What a command line says.
    fn run(&mut self, line: &str) -> String {
        let (line, most) = match line.rsplit_once(" | head -") {
            Some((line, count)) => (line, count.parse().expect("a number of lines")),
            None => (line, usize::MAX),
        };
        let words = words(line);
        assert_eq!(words[0], "oddpot", "only the program itself is run: {line}");
        let (hours, minutes) = (8 + self.minutes / 60, self.minutes % 60);
        let now = format!("{}T{hours:02}:{minutes:02}:00Z", self.day);
        self.minutes += 10;
        let output = Command::new(env!("CARGO_BIN_EXE_oddpot"))
            .args(&words[1..])
            .args(["--now", &now])
            .env_clear()
            .env("TZ", "UTC")
            .env("HOME", self.folder.path())
            .current_dir(self.folder.path())
            .stdin(Stdio::null())
            .output()
            .expect("it runs");
        let mut said = String::from_utf8(output.stdout).expect("text");
        said += &String::from_utf8(output.stderr).expect("text");
        if let Some(status) = output.status.code().filter(|status| *status != 0) {
            let _ = writeln!(said, "(exit status {status})");
        }
        let said = said.replace(&self.folder.path().display().to_string(), "~");
        let lines: Vec<&str> = said.lines().take(most).map(str::trim_end).collect();
        lines.join("\n")
    }
}

/// Words of a command line, with single quotes.
fn words(line: &str) -> Vec<String> {
    let mut words = vec![String::new()];
    let mut quoted = false;
    for c in line.chars() {
        match c {
            '\'' => quoted = !quoted,
            ' ' if !quoted => words.push(String::new()),
            _ => words.last_mut().expect("one").push(c),
        }
    }
    words
}

/// The page with every session as the program has it now.
fn replayed(page: &str) -> String {
    let mut home = Home::new();
    let mut out = String::new();
    let mut inside = false;
    let mut file: Option<String> = None;
    for line in page.lines() {
        if line.starts_with("```") {
            inside = line == "```console";
            if let Some(block) = file.take() {
                home.put(&block);
            }
            file = ["```ron", "```answers"].contains(&line).then(String::new);
        } else if let Some(block) = &mut file {
            *block += line;
            block.push('\n');
        }
        match line.strip_prefix("$ ") {
            Some(command) if inside => {
                let _ = writeln!(out, "{line}");
                let said = home.run(command);
                if !said.is_empty() {
                    let _ = writeln!(out, "{said}");
                }
            }
            None if inside && line.starts_with("# 20") => {
                line.trim_start_matches("# ").clone_into(&mut home.day);
                home.minutes = 0;
                out = out + line + "\n";
            }
            None if inside && line != "```console" => {}
            _ => out = out + line + "\n",
        }
    }
    out
}

fn check(page: &Path) {
    let text = std::fs::read_to_string(page).expect("readable");
    keep(page, &replayed(&text));
}

#[test]
fn sessions_in_the_pages_are_what_the_program_says() {
    for page in pages() {
        check(&page);
    }
}

#[test]
fn the_readme_has_a_session() {
    let text = std::fs::read_to_string(crate::top().join("README.md")).expect("readable");
    let commands = text.lines().filter(|line| line.starts_with("$ oddpot ")).count();
    assert!(commands >= 4, "{commands}");
}

#[test]
fn the_shown_session_comes_to_its_end() {
    let page = std::fs::read_to_string(crate::top().join("docs/session.md")).expect("readable");
    assert!(page.contains(": job closed, proven."));
    assert!(!page.contains("(exit status"), "the answers of docs/session.md do not fit any more");
    assert!(page.lines().all(|line| line.chars().count() <= 100));
}

#[test]
fn quotes_keep_words_together() {
    assert_eq!(words("oddpot open a --complaint 'reads low'")[4], "reads low");
}
