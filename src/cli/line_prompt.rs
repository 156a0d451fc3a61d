//! A line asked for on a terminal, with the keys of shells.
//!
//! It looks as the other prompts do. The terminal is put back when it ends, however it ends.

use std::io::{self, Write};

use crossterm::cursor::{MoveToColumn, MoveUp};
use crossterm::event::{Event, KeyEventKind, read};
use crossterm::queue;
use crossterm::style::{Color, Print, ResetColor, SetForegroundColor};
use crossterm::terminal::{Clear, ClearType, disable_raw_mode, enable_raw_mode, size};

use super::line_edit::{Done, Edited, rows};
use crate::session::Line;

/// A terminal that gives every key at once, until dropped.
struct Raw;

impl Raw {
    fn new() -> io::Result<Self> {
        enable_raw_mode()?;
        Ok(Self)
    }
}

impl Drop for Raw {
    fn drop(&mut self) {
        // There is nobody to tell when the terminal is gone.
        let _ = disable_raw_mode();
    }
}

/// How a prompt ended.
#[derive(Debug, PartialEq, Eq)]
pub(super) enum Ended {
    /// With this line.
    Taken(String),
    /// One step back.
    Back,
    /// Out of the session.
    Left,
}

/// Asks for a line.
///
/// # Errors
/// When the terminal is gone.
pub(super) fn ask(line: Line<'_>, colour: bool) -> io::Result<Ended> {
    let raw = Raw::new()?;
    let mut prompt = Prompt { line, colour, above: 0, out: io::stdout() };
    let mut edited = Edited::new(line.typed).numbers(line.most);
    let done = loop {
        prompt.draw(&edited)?;
        match read()? {
            Event::Key(key) if key.kind != KeyEventKind::Release => match edited.key(key) {
                Done::Not => {}
                done => break done,
            },
            _ => {}
        }
    };
    let text = edited.text();
    let taken = if text.is_empty() { line.default.to_owned() } else { text };
    match done {
        Done::Taken => prompt.end(">", &taken)?,
        _ if line.question.is_empty() => {}
        Done::Back => prompt.end("?", "(back)")?,
        _ => prompt.end("?", "<Ctrl-C>")?,
    }
    drop(raw);
    Ok(match done {
        Done::Taken => Ended::Taken(taken),
        Done::Left => Ended::Left,
        Done::Back | Done::Not => Ended::Back,
    })
}

struct Prompt<'a> {
    line: Line<'a>,
    colour: bool,
    /// Rows between the prompt's first and the cursor.
    above: usize,
    out: io::Stdout,
}

impl Prompt<'_> {
    /// What stands before the typed text, without its mark.
    fn head(&self) -> String {
        match self.line.default {
            "" => format!(" {} ", self.line.question),
            default => format!(" {} ({default}) ", self.line.question),
        }
    }

    fn width() -> usize {
        size().map_or(80, |(width, _)| usize::from(width))
    }

    /// Goes to the prompt's first cell and clears from there.
    fn clear(&mut self) -> io::Result<()> {
        if let Ok(up @ 1..) = u16::try_from(self.above) {
            queue!(self.out, MoveUp(up))?;
        }
        queue!(self.out, MoveToColumn(0), Clear(ClearType::FromCursorDown))
    }

    fn coloured(&mut self, text: &str, colour: Color) -> io::Result<()> {
        if self.colour {
            queue!(self.out, SetForegroundColor(colour), Print(text), ResetColor)
        } else {
            queue!(self.out, Print(text))
        }
    }

    fn draw(&mut self, edited: &Edited) -> io::Result<()> {
        self.clear()?;
        let width = Self::width();
        let head = format!("?{}", self.head());
        let (all, end) = rows(&format!("{head}{}", edited.text()), width);
        let (_, (row, column)) = rows(&format!("{head}{}", edited.before()), width);
        for (index, text) in all.iter().enumerate() {
            if index > 0 {
                queue!(self.out, Print("\r\n"))?;
            }
            match text.strip_prefix('?').filter(|_| index == 0) {
                Some(rest) => {
                    self.coloured("?", Color::Green)?;
                    queue!(self.out, Print(rest))?;
                }
                None => queue!(self.out, Print(text))?,
            }
        }
        let mut below = end.0 - row;
        if !self.line.help.is_empty() {
            let (help, _) = rows(&format!("[{}]", self.line.help), width);
            for text in help {
                if !text.is_empty() {
                    queue!(self.out, Print("\r\n"))?;
                    self.coloured(&text, Color::Cyan)?;
                    below += 1;
                }
            }
        }
        if let Ok(up @ 1..) = u16::try_from(below) {
            queue!(self.out, MoveUp(up))?;
        }
        queue!(self.out, MoveToColumn(u16::try_from(column).unwrap_or(0)))?;
        self.above = row;
        self.out.flush()
    }

    /// Leaves the question with its answer, and the cursor below.
    fn end(&mut self, mark: &str, answer: &str) -> io::Result<()> {
        self.clear()?;
        self.coloured(mark, Color::Green)?;
        queue!(self.out, Print(format!(" {} ", self.line.question)))?;
        self.coloured(answer, Color::Cyan)?;
        queue!(self.out, Print("\r\n"))?;
        self.out.flush()
    }
}
