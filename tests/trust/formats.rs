//! Files that were ever written can be read for ever; those of a newer program are refused with a
//! sentence, and no field is dropped in silence.

use std::path::{Path, PathBuf};

use facts::job::file::{self, FileError};
use facts::knowledge::embedded::embedded;
use facts::knowledge::finding::any_error;
use facts::knowledge::{SourceText, codes, load};

fn fixtures() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures/formats")
}

fn fixture(name: &str) -> String {
    let path = fixtures().join(name);
    std::fs::read_to_string(&path).unwrap_or_else(|e| panic!("{}: {e}", path.display()))
}

/// The newest version of job files, as the reader has it.
fn newest() -> u32 {
    let known =
        |n: &u32| !matches!(file::read(&format!("(format: {n})")), Err(FileError::Newer { .. }));
    (1..1000).take_while(known).last().expect("the first is known")
}

/// The text with a field more in each record that has fields.
fn with_a_field_more(text: &str) -> Vec<String> {
    let named = |rest: &str| {
        let name: String =
            rest.trim_start().chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect();
        !name.is_empty() && rest.trim_start()[name.len()..].starts_with(':')
    };
    text.match_indices('(')
        .map(|(at, _)| at + 1)
        .filter(|at| named(&text[*at..]))
        .map(|at| format!("{} novel: 1, {}", &text[..at], &text[at..]))
        .collect()
}

#[test]
fn job_files_of_every_version_are_read_for_ever() {
    for version in 1..=newest() {
        let text = fixture(&format!("job-{version}.ron"));
        let journal = file::read(&text).unwrap_or_else(|e| panic!("version {version}: {e}"));
        assert_eq!(journal.format, version);
        assert_eq!(journal.entries.len(), text.matches("what: ").count());
        // Written again it is the same job in the same version, so that the older program that
        // wrote it can go on with it.
        let again = file::write(&journal).expect("text");
        assert!(again.contains(&format!("format: {version},")));
        assert_eq!(file::read(&again).expect("read"), journal);
        let newest = journal.entries.iter().map(facts::job::entry::Entry::format).max();
        assert!(newest <= Some(version), "version {version} holds entries of {newest:?}");
    }
}

#[test]
fn a_newer_job_file_is_refused_with_a_sentence() {
    let newer = newest() + 1;
    let text =
        fixture("job-1.ron").replace("format: 1", &format!("format: {newer}, novel: [X(1)]"));
    let said = file::read(&text).expect_err("newer").to_string();
    assert!(said.contains(&format!("it has format {newer}, this program knows formats up to")));
}

#[test]
fn no_field_of_a_job_is_dropped_in_silence() {
    for version in 1..=newest() {
        let texts = with_a_field_more(&fixture(&format!("job-{version}.ron")));
        assert!(texts.len() > 20, "{}", texts.len());
        for text in texts {
            let error = file::read(&text).expect_err(&text).to_string();
            assert!(error.contains("novel"), "{error}\n{text}");
        }
    }
}

fn overlay(change: impl Fn(&str, &str) -> String) -> Vec<SourceText> {
    ["causes/own.ron", "groups.ron", "tests/thumb.ron"]
        .map(|name| SourceText::new(name, change(name, &fixture(&format!("knowledge-1/{name}")))))
        .into()
}

#[test]
fn knowledge_files_of_every_version_are_read_for_ever() {
    let (knowledge, findings) = load(embedded(), &overlay(|_, text| text.to_owned()));
    assert!(!any_error(&findings), "{findings:?}");
    let knowledge = knowledge.expect("knowledge");
    assert!(knowledge.causes.iter().any(|cause| cause.id == "own-cause"));
    assert!(knowledge.test("thumb-on-boss").is_some());
}

#[test]
fn newer_knowledge_is_refused_with_a_sentence() {
    let newer = |name: &str, text: &str| {
        let changed = if name == "groups.ron" { "(\n    format: 2, novel: X," } else { "(" };
        text.replacen('(', changed, 1)
    };
    let (_, findings) = load(embedded(), &overlay(newer));
    let found = findings.iter().find(|f| f.code == codes::NEWER_FORMAT.name).expect("found");
    assert_eq!(found.message, "it has format 2, this program knows formats up to 1");
}

#[test]
fn no_field_of_knowledge_is_dropped_in_silence() {
    for name in ["causes/own.ron", "groups.ron", "tests/thumb.ron"] {
        for text in with_a_field_more(&fixture(&format!("knowledge-1/{name}"))) {
            let over = overlay(|n, whole| if n == name { text.clone() } else { whole.to_owned() });
            let (_, findings) = load(embedded(), &over);
            assert!(findings.iter().any(|f| f.message.contains("novel")), "{findings:?}\n{text}");
        }
    }
}
