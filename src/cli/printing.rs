//! What is printed, where, and with which status: an answer, a failure, what clap says.
//!
//! Every text goes through `harmless` on its way. It must not word an answer; what a session shows is not its own.

use std::ffi::OsString;
use std::io::{self, Write};

use super::answer::Answer;
use super::context::Context;
use super::failure::Failure;
use super::{exit, harmless};

/// Prints an answer: text with remarks beside it, or one document.
pub(super) fn answered(context: &Context, answer: &Answer) -> u8 {
    let printed = if context.json {
        print_document(&answer.document())
    } else {
        // What was answered stands before what is remarked on it when both go to one place.
        let printed = match &answer.bytes {
            Some(bytes) => put(&mut io::stdout().lock(), bytes),
            None => print(&answer.text),
        };
        for note in &answer.notes {
            complain(&harmless::plain(&format!("note: {note}\n")));
        }
        printed
    };
    match printed {
        Ok(()) => answer.status,
        Err(error) => {
            let failure = Failure::file(format!("could not write the answer: {error}"));
            // What was entered is on the disk, whatever becomes of the answer.
            failed(false, &failure.hints_first(stands(context)))
        }
    }
}

/// That an entry stands, where one was kept.
pub(super) fn stands(context: &Context) -> Option<String> {
    let number = context.kept.get()?;
    Some(format!("entry {number} stands: it was kept before the answer was printed"))
}

pub(super) fn failed(json: bool, failure: &Failure) -> u8 {
    complain(&harmless::plain(&failure.text()));
    if json {
        // Whoever reads the document may be gone; the status tells it all the same.
        let _ = print_document(&failure.json());
    }
    failure.status()
}

/// Help and version are answers; anything else that clap says is bad use.
pub(super) fn usage(arguments: &[OsString], error: &clap::Error) -> u8 {
    let text = in_words(&error.render().ansi().to_string());
    if !error.use_stderr() {
        let _ = print(&text);
        return exit::DONE;
    }
    complain(&text);
    if arguments.iter().any(|argument| argument == "--json") {
        let plain = in_words(&error.render().to_string());
        let message = plain.trim().trim_start_matches("error: ").to_owned();
        let _ = print_document(&Failure::usage(message).json());
    }
    exit::USAGE
}

/// What a library says of numbers, in our words.
pub(super) fn in_words(text: &str) -> String {
    LIBRARY.iter().fold(text.to_owned(), |text, (theirs, ours)| text.replace(theirs, ours))
}

/// What parsers of numbers say, and what is meant.
const LIBRARY: [(&str, &str); 6] = [
    ("invalid digit found in string", "expected a whole number"),
    ("invalid float literal", "expected a number, as `12` or `12.5`"),
    ("cannot parse integer from empty string", "expected a whole number, and nothing was given"),
    ("cannot parse float from empty string", "expected a number, and nothing was given"),
    ("number too large to fit in target type", "that number is too large here"),
    ("number too small to fit in target type", "that number is too small here"),
];

/// Writes to standard output; a reader that went away is no error.
pub(super) fn print(text: &str) -> io::Result<()> {
    put(&mut anstream::stdout().lock(), harmless::styled(text).as_bytes())
}

/// Writes a document for a program.
fn print_document(document: &serde_json::Value) -> io::Result<()> {
    print(&harmless::document(&format!("{document:#}\n")))
}

fn put(out: &mut impl Write, bytes: &[u8]) -> io::Result<()> {
    match out.write_all(bytes).and_then(|()| out.flush()) {
        Err(error) if error.kind() == io::ErrorKind::BrokenPipe => Ok(()),
        other => other,
    }
}

/// Writes to standard error; there is nobody to tell when that fails.
pub(super) fn complain(text: &str) {
    let _ = anstream::stderr().lock().write_all(harmless::styled(text).as_bytes());
}
