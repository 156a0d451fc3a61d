//! What the workshop prints on every card: a short file in the folder of jobs, for people to read.

use std::path::PathBuf;

use super::context::Context;
use super::failure::Failure;
use super::folder::hold;
use super::texts;
use facts::job::store::write_whole;
use pages::report::{Letterhead, clean};

/// Name of the file in the folder of jobs.
const NAME: &str = "workshop.letterhead";
/// No such file is longer.
const LARGEST: u64 = 64 * 1024;
/// Characters of a workshop's name, and of a currency, that are kept.
const LONGEST: [usize; 2] = [120, 12];
const HEADER: &str = "\
# What stands on every card of this workshop. `oddpot card JOB --workshop NAME --currency WORD` writes it.
";

/// What stands on the cards of this workshop; empty where nothing was said or it cannot be read.
pub(super) fn read(context: &Context) -> Letterhead {
    let Ok(path) = place(context) else { return Letterhead::default() };
    parsed(&texts::kept(&path, LARGEST))
}

/// Keeps what was said for all cards; says where.
///
/// # Errors
/// When it cannot be written.
pub(super) fn keep(context: &Context, letterhead: &Letterhead) -> Result<PathBuf, Failure> {
    let path = place(context)?;
    let _hold = hold(&path)?;
    let text =
        format!("{HEADER}workshop: {}\ncurrency: {}\n", letterhead.workshop, letterhead.currency);
    write_whole(&path, text.as_bytes())?;
    Ok(path)
}

/// A word as it is kept: one harmless line.
pub(super) fn line(text: &str, field: usize) -> String {
    clean(text).chars().take(LONGEST[field]).collect()
}

fn place(context: &Context) -> Result<PathBuf, Failure> {
    Ok(context.store()?.join(NAME))
}

fn parsed(text: &str) -> Letterhead {
    let value = |name: &str| {
        let mut lines = text.lines().filter_map(|line| line.split_once(':'));
        let found = lines.rfind(|(key, _)| key.trim() == name);
        found.map_or_else(String::new, |(_, value)| value.trim().to_owned())
    };
    Letterhead { workshop: line(&value("workshop"), 0), currency: line(&value("currency"), 1) }
}

#[cfg(test)]
mod tests {
    use super::{line, parsed};

    #[test]
    fn the_letterhead_is_read_line_by_line() {
        let read = parsed("# note\nworkshop: Yard: the garage \ncurrency:EUR\nother: x\n");
        assert_eq!((read.workshop.as_str(), read.currency.as_str()), ("Yard: the garage", "EUR"));
        assert_eq!(parsed("").workshop, "");
        assert_eq!(line("a\nb\u{1b}[2J", 0), "a b\u{fffd}[2J");
        assert_eq!(line(&"x".repeat(500), 1).len(), 12);
    }
}
