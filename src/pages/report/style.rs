//! The few styles of terminal text, by name. Colour repeats what the words say, never more.

use anstyle::{AnsiColor, Effects};

/// Whether terminal text carries styles.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Style {
    /// No escape sequence at all.
    #[default]
    Plain,
    /// Styled with ANSI escape sequences.
    Colour,
}

/// What a piece of text is, and so how it looks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Role {
    /// The title of a page.
    Title,
    /// A heading, the head of a table.
    Heading,
    /// The filled part of a bar.
    Bar,
    /// The word before a caution.
    Caution,
    /// The word before a rule or a doubt.
    Rule,
    /// A line to type.
    Command,
}

impl Role {
    fn style(self) -> anstyle::Style {
        let plain = anstyle::Style::new();
        match self {
            Self::Title => plain.effects(Effects::BOLD),
            Self::Heading => plain.effects(Effects::UNDERLINE),
            Self::Bar => plain.fg_color(Some(AnsiColor::Magenta.into())),
            Self::Caution => plain.fg_color(Some(AnsiColor::Red.into())).effects(Effects::BOLD),
            Self::Rule => plain.fg_color(Some(AnsiColor::Yellow.into())),
            Self::Command => plain.effects(Effects::ITALIC),
        }
    }
}

impl Style {
    /// Wraps text in the style of its role.
    pub(super) fn paint(self, role: Role, text: &str) -> String {
        match self {
            Self::Colour if !text.is_empty() => {
                let style = role.style();
                format!("{style}{text}{style:#}")
            }
            Self::Colour | Self::Plain => text.to_owned(),
        }
    }
}
