//! Every command's help has an example, and every example is a command line that the program
//! takes.

use clap::Command;

/// Commands that are run, not only there to hold others, with their help.
fn leaves<'c>(command: &'c Command, path: &str, found: &mut Vec<(String, &'c Command)>) {
    for sub in command.get_subcommands().filter(|sub| !sub.is_hide_set()) {
        let path = format!("{path} {}", sub.get_name());
        if sub.has_subcommands() {
            leaves(sub, &path, found);
        } else {
            found.push((path, sub));
        }
    }
}

/// Command lines shown in a help: on lines of their own, or between backticks.
fn examples(command: &Command) -> Vec<String> {
    let text = |styled: Option<&clap::builder::StyledStr>| {
        styled.map(ToString::to_string).unwrap_or_default()
    };
    let after = text(command.get_after_long_help());
    let lines = after.lines().filter_map(|line| line.strip_prefix("  "));
    let about = text(command.get_long_about()).replace('\n', " ");
    let quoted = about.split('`').skip(1).step_by(2);
    lines
        .chain(quoted)
        .filter(|line| line.starts_with("oddpot "))
        .map(|line| line.split(" > ").next().unwrap_or(line).to_owned())
        .collect()
}

/// The words of a line, those in single quotes kept together.
fn words(line: &str) -> Vec<String> {
    let mut list = Vec::new();
    for (index, part) in line.split('\'').enumerate() {
        if index % 2 == 1 {
            list.push(part.to_owned());
        } else {
            list.extend(part.split_whitespace().map(str::to_owned));
        }
    }
    list
}

#[test]
fn every_help_has_examples_that_the_program_takes() {
    let root = oddpot::cli::command();
    let mut found = Vec::new();
    leaves(&root, "oddpot", &mut found);
    assert!(found.len() > 20);
    let names: Vec<String> = found.iter().map(|(path, _)| path.clone()).collect();
    for (path, command) in found {
        let examples = examples(command);
        assert!(examples.iter().any(|line| line.starts_with(&path)), "{path}: {examples:?}");
        // A command's bare name only says where to look.
        for example in examples.into_iter().filter(|line| !names.contains(line)) {
            let taken = oddpot::cli::command().try_get_matches_from(words(&example));
            assert!(taken.is_ok(), "{example}: {}", taken.expect_err("refused"));
        }
    }
}
