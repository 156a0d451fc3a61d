//! The line as it was typed: to be typed again, and made fit for clap.
//!
//! It must not know the commands.

use std::ffi::OsString;

use super::context::quote;

/// Options that are said anew, or not needed, when a line is typed again for its detail.
const NOT_AGAIN: [&str; 3] = ["--json", "--jobs", "--now"];

/// The line as it was typed, without what says where jobs are and in what form it is answered: as
/// every line that a page gives to type.
pub(super) fn typed_again(arguments: &[OsString]) -> String {
    let mut line = "oddpot".to_owned();
    let mut words = arguments.iter().skip(1).map(|word| word.to_string_lossy());
    while let Some(word) = words.next() {
        let name = word.split('=').next().unwrap_or_default();
        if NOT_AGAIN.contains(&name) {
            if name != "--json" && !word.contains('=') {
                words.next();
            }
            continue;
        }
        line.push(' ');
        line.push_str(&quote(&word));
    }
    line
}

/// Writes a value below zero with the minus sign of typography, so that `-5,5`, `-5C` and
/// `-6..-4` are not taken for options. No option of ours begins with a digit.
pub(super) fn below_zero(argument: &OsString) -> OsString {
    // What a meter shows for an open loop.
    if argument.to_str().is_some_and(|text| text.len() > 2 && text.chars().all(|c| c == '-')) {
        return "open".into();
    }
    let value = argument.to_str().and_then(|text| text.strip_prefix('-'));
    match value {
        Some(value) if value.starts_with(|c: char| c.is_ascii_digit()) => {
            format!("−{value}").into()
        }
        _ => argument.clone(),
    }
}
