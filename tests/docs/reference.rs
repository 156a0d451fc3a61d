//! `docs/commands.md` is made from the program's own help.

use std::fmt::Write;

use clap::Command;

use crate::{keep, top};

const HEAD: &str = "\
# Commands

Made from the program's own help by `tests/docs/reference.rs`; change the help in `src/cli/`, not
this page. `JOB` is the name of a job in the store, or a path to a job file: whatever has a
separator in it or ends in `.ron`.

Every command takes the options of the first section, works without a terminal, and with `--json`
prints one document and nothing else.

## Exit status

| status | meaning |
| --- | --- |
| 0 | done |
| 1 | the answer is \"no\": the check found faults, the job is not verified |
| 2 | bad use or bad input |
| 3 | a file could not be read, written or locked |
";

fn section(out: &mut String, path: &str, command: &Command) {
    let mut command = command.clone().bin_name(path).term_width(80);
    let help = command.render_long_help().to_string();
    let _ = write!(out, "\n## {path}\n\n```text\n");
    for line in help.lines() {
        let _ = writeln!(out, "{}", line.trim_end());
    }
    out.push_str("```\n");
    for sub in command.get_subcommands() {
        section(out, &format!("{path} {}", sub.get_name()), sub);
    }
}

#[test]
fn the_command_reference_is_the_programs_help() {
    let mut root = oddpot::cli::command();
    root.build();
    let mut text = HEAD.to_owned();
    section(&mut text, "oddpot", &root);
    keep(&top().join("docs").join("commands.md"), &text);
}
