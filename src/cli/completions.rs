//! `oddpot completions`: what a shell needs to complete command lines.

use clap_complete::{Shell, generate};
use serde_json::json;

use super::answer::Answer;
use super::failure::Failure;

/// Write the completions for a shell
///
/// Put what it writes where your shell looks for completions.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot completions bash > ~/.local/share/bash-completion/completions/oddpot
  oddpot completions fish > ~/.config/fish/completions/oddpot.fish")]
pub(super) struct Args {
    /// The shell
    shell: Shell,
}

pub(super) fn run(args: &Args) -> Result<Answer, Failure> {
    let mut bytes = Vec::new();
    generate(args.shell, &mut super::command(), "oddpot", &mut bytes);
    let text = String::from_utf8(bytes)
        .map_err(|_| Failure::file("the completions came out as no text".to_owned()))?;
    let document = json!({"ok": true, "shell": args.shell.to_string(), "completions": text});
    Ok(Answer::new(text, document))
}
