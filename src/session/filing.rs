//! A page or a table of a session as a file.
//!
//! It asks for the name and before it replaces anything. What is in the file is its caller's.

use super::asker::{Asked, Line};
use super::shelf::{NotWritten, Shelf};
use super::work::Work;

impl Work<'_, '_> {
    /// Asks for a name until a file is written; `of` says what it is of, `write` takes the name and whether it may
    /// replace what is there.
    pub(super) fn file(
        &mut self,
        of: &str,
        help: &str,
        usual: &str,
        write: impl Fn(&mut dyn Shelf, &str, bool) -> Result<String, NotWritten>,
    ) -> Asked<()> {
        let mut typed = String::new();
        let question = format!("File for the {of}?");
        loop {
            let file = self.desk.asker.line(Line {
                question: &question,
                help,
                default: usual,
                typed: &typed,
                ..Line::default()
            })?;
            let mut written = write(self.shelf, &file, false);
            if written == Err(NotWritten::Exists) {
                let question = format!("There is a `{file}`. Replace it?");
                written = if self.desk.yes(&question, false)? {
                    write(self.shelf, &file, true)
                } else {
                    Err(NotWritten::Because("choose another name".to_owned()))
                };
            }
            match written {
                Ok(place) => return self.desk.say(&format!("Written to {place}.")),
                Err(NotWritten::Because(why)) => self.desk.refuse(&why)?,
                Err(NotWritten::Exists) => self.desk.refuse("there is a file of that name")?,
            }
            typed = file;
        }
    }
}
