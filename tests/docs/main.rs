//! The pages say what the program does: sessions shown in them are run, and the command
//! reference is the program's own help.
//!
//! Each test compares, and says how to bring the page up to date: `ODDPOT_WRITE_DOCS=1 cargo
//! test --test docs` writes what the program says now into the pages, for a person to read
//! before it is kept.

mod codes;
mod examples;
mod man;
mod pictures;
mod reference;
mod sessions;

use std::path::{Path, PathBuf};

/// The top folder of the project.
fn top() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

/// README and the pages of the docs folder, in order of name.
fn pages() -> Vec<PathBuf> {
    let mut pages: Vec<PathBuf> = std::fs::read_dir(top().join("docs"))
        .expect("a docs folder")
        .map(|item| item.expect("readable").path())
        .filter(|path| path.extension().is_some_and(|e| e == "md"))
        .collect();
    pages.push(top().join("README.md"));
    pages.push(top().join("DEVELOPERS.md"));
    pages.sort();
    pages
}

/// Demands that a page reads as the program would have it, or makes it so when asked to.
#[track_caller]
fn keep(page: &Path, wanted: &str) {
    let found = std::fs::read_to_string(page).unwrap_or_default();
    if found == wanted {
        return;
    }
    #[expect(clippy::disallowed_methods, reason = "a switch for the author, not for the program")]
    let write = std::env::var_os("ODDPOT_WRITE_DOCS").is_some();
    if write {
        std::fs::write(page, wanted).expect("writable");
        return;
    }
    let line = 1 + found.lines().zip(wanted.lines()).take_while(|(a, b)| a == b).count();
    let shown = |text: &str| text.lines().nth(line - 1).unwrap_or("(end)").to_owned();
    panic!(
        "{} is behind the program, first at line {line}:\n  page:    {}\n  program: {}\n\
         `ODDPOT_WRITE_DOCS=1 cargo test --release --test docs` brings it up to date; read the difference",
        page.display(),
        shown(&found),
        shown(wanted)
    );
}
