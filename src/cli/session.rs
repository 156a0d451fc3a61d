//! `oddpot` without a command: the guided session on a terminal, a word of help elsewhere.

use serde_json::json;

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;

const WHAT_TO_TYPE: &str = "\
oddpot finds out why one cylinder reads a different temperature.

To see a whole job from complaint to job card:
  oddpot example
To start one of your own (also `--engine ID`; `oddpot knowledge list` has the ids):
  oddpot open JOB --cylinders 4
  oddpot temps JOB --at idle 652 590 655 648
  oddpot next JOB
All commands:
  oddpot --help
";

/// Hook of the guided session.
///
/// # Errors
/// As the session will.
#[expect(clippy::unnecessary_wraps, reason = "the session to be hooked in here can fail")]
pub(super) fn run(_context: &Context) -> Result<Answer, Failure> {
    if super::can_ask() {
        // HOOK: `crate::session` is to be called here.
    }
    Ok(Answer::new(
        WHAT_TO_TYPE,
        json!({"ok": true, "said": "no command given: see `oddpot --help`"}),
    ))
}
