//! The help of the whole program: its commands grouped by what one wants, and `oddpot help COMMAND`.
//!
//! What a command says of itself stands with the command. It must not know how one is run.

use std::ffi::OsString;
use std::fmt::Write as _;

use clap::Command;

/// The commands by task; a test asks that each has its place.
const GROUPS: [(&str, &[&str]); 7] = [
    ("A job", &["open", "jobs", "journal", "correct", "undo", "record", "close", "reopen", "mend"]),
    (
        "Entering what was read, seen or done",
        &[
            "temps",
            "log",
            "watch",
            "found",
            "cannot",
            "exchange",
            "remake",
            "remedy",
            "fit",
            "state",
            "confirm-load",
        ],
    ),
    ("Asking", &["next", "suspects", "why", "verify", "vehicle", "search", "probe"]),
    ("Paper", &["card"]),
    ("At the engine, on a phone", &["serve"]),
    ("Once it runs right", &["commission", "balance", "limits"]),
    (
        "Knowledge, workshop, practice",
        &["knowledge", "memory", "workshop", "drill", "example", "completions"],
    ),
];

/// The command line with its commands grouped.
pub(super) fn grouped(command: Command) -> Command {
    let list = list(&command);
    command.help_template(format!(
        "{{before-help}}{{about-with-newline}}\n{{usage-heading}} {{usage}}\n\n{list}\n\
         `oddpot help COMMAND` says more of one. `next --sheet` and `card` are for printing.\n\n\
         Options:\n{{options}}{{after-help}}"
    ))
}

fn list(command: &Command) -> String {
    let wide = GROUPS.iter().flat_map(|(_, names)| names.iter()).map(|name| name.len()).max();
    let wide = wide.unwrap_or(0);
    let mut text = String::new();
    for (group, names) in GROUPS {
        let _ = writeln!(text, "{group}:");
        for name in names {
            let about = command.find_subcommand(name).and_then(Command::get_about);
            let about = about.map(ToString::to_string).unwrap_or_default();
            let _ = writeln!(text, "  {name:wide$}  {about}");
        }
        text.push('\n');
    }
    text.truncate(text.trim_end().len());
    text.push('\n');
    text
}

/// `oddpot help temps` as `oddpot temps --help`.
pub(super) fn asked(arguments: Vec<OsString>) -> Vec<OsString> {
    let Some(at) = arguments.iter().position(|word| word == "help").filter(|at| *at == 1) else {
        return arguments;
    };
    let mut asked = arguments;
    asked.remove(at);
    asked.push("--help".into());
    asked
}

#[cfg(test)]
mod tests {
    use super::{GROUPS, asked};

    #[test]
    fn every_command_has_one_place() {
        let command = crate::cli::command();
        let shown = command.get_subcommands().filter(|sub| !sub.is_hide_set());
        let mut shown: Vec<&str> = shown.map(clap::Command::get_name).collect();
        let mut placed: Vec<&str> =
            GROUPS.iter().flat_map(|(_, names)| names.iter().copied()).collect();
        shown.sort_unstable();
        placed.sort_unstable();
        assert_eq!(shown, placed);
    }

    #[test]
    fn the_list_fits_eighty_cells() {
        let list = super::list(&crate::cli::command());
        for line in list.lines() {
            assert!(line.chars().count() <= 80, "{line}");
        }
    }

    #[test]
    fn help_may_be_asked_for_as_a_command() {
        let line = |text: &str| asked(text.split(' ').map(Into::into).collect());
        assert_eq!(line("oddpot help temps"), ["oddpot", "temps", "--help"]);
        assert_eq!(line("oddpot help"), ["oddpot", "--help"]);
        assert_eq!(line("oddpot next help"), ["oddpot", "next", "help"]);
    }
}
