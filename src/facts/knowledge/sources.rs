//! Texts of the knowledge base before anything is read from them.
//!
//! A text has a name, and the name says what kind of rows it may hold. No file is opened
//! here: whoever reads folders hands the texts over.

use std::borrow::Cow;

/// A file's text under the name it is shown by in findings.
///
/// Names must be unique over all texts of one load; the built-in ones start with `built-in/`.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SourceText {
    name: Cow<'static, str>,
    text: Cow<'static, str>,
}

impl SourceText {
    /// Takes a text; a byte order mark is dropped, so that offsets count from the first
    /// character an author sees.
    #[must_use]
    pub fn new(name: impl Into<Cow<'static, str>>, text: impl Into<Cow<'static, str>>) -> Self {
        let text = match text.into() {
            Cow::Borrowed(text) => Cow::Borrowed(text.strip_prefix('\u{feff}').unwrap_or(text)),
            Cow::Owned(text) => match text.strip_prefix('\u{feff}') {
                Some(rest) => Cow::Owned(rest.to_owned()),
                None => Cow::Owned(text),
            },
        };
        Self { name: name.into(), text }
    }

    /// The name it is shown by.
    #[must_use]
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The text without byte order mark.
    #[must_use]
    pub fn text(&self) -> &str {
        &self.text
    }

    /// What kind of rows it holds; `None` for a name no kind goes by.
    #[must_use]
    pub fn role(&self) -> Option<Role> {
        Role::of(&self.name)
    }
}

/// Kinds of files.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Role {
    /// `causes/*.ron`
    Causes,
    /// `tests/*.ron`
    Tests,
    /// `groups.ron`
    Groups,
    /// `setups.ron`
    Setups,
    /// `cautions.ron`
    Cautions,
    /// `spreads.ron`
    Spreads,
    /// `engines.ron`
    Engines,
    /// `model.ron`
    Model,
    /// `sources.ron`
    Sources,
    /// `heat.ron`
    Heat,
    /// `points.ron`
    Points,
}

impl Role {
    /// Every kind, in the order of declaration.
    pub const ALL: &'static [Self] = &[
        Self::Causes,
        Self::Tests,
        Self::Groups,
        Self::Setups,
        Self::Cautions,
        Self::Spreads,
        Self::Engines,
        Self::Model,
        Self::Sources,
        Self::Heat,
        Self::Points,
    ];

    /// The kind a path stands for, by its last two parts; both slashes part.
    #[must_use]
    pub fn of(path: &str) -> Option<Self> {
        let mut parts = path.rsplit(['/', '\\']);
        let file = parts.next()?;
        let folder = parts.next().unwrap_or_default();
        let stem = file.strip_suffix(".ron")?;
        match (folder, stem) {
            ("causes", _) => Some(Self::Causes),
            ("tests", _) => Some(Self::Tests),
            (_, "groups") => Some(Self::Groups),
            (_, "setups") => Some(Self::Setups),
            (_, "cautions") => Some(Self::Cautions),
            (_, "spreads") => Some(Self::Spreads),
            (_, "engines") => Some(Self::Engines),
            (_, "model") => Some(Self::Model),
            (_, "sources") => Some(Self::Sources),
            (_, "heat") => Some(Self::Heat),
            (_, "points") => Some(Self::Points),
            _ => None,
        }
    }

    /// The file or folder name an author would use.
    #[must_use]
    pub fn pattern(self) -> &'static str {
        match self {
            Self::Causes => "causes/*.ron",
            Self::Tests => "tests/*.ron",
            Self::Groups => "groups.ron",
            Self::Setups => "setups.ron",
            Self::Cautions => "cautions.ron",
            Self::Spreads => "spreads.ron",
            Self::Engines => "engines.ron",
            Self::Model => "model.ron",
            Self::Sources => "sources.ron",
            Self::Heat => "heat.ron",
            Self::Points => "points.ron",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_path_says_the_kind() {
        for (path, role) in [
            ("causes/fuel.ron", Some(Role::Causes)),
            ("/home/me/own/tests/mine.ron", Some(Role::Tests)),
            ("own\\tests\\mine.ron", Some(Role::Tests)),
            ("built-in/model.ron", Some(Role::Model)),
            ("sources.ron", Some(Role::Sources)),
            ("notes.ron", None),
            ("model.txt", None),
        ] {
            assert_eq!(Role::of(path), role, "{path}");
        }
    }

    #[test]
    fn a_byte_order_mark_is_dropped_from_either_kind_of_text() {
        assert_eq!(SourceText::new("a.ron", "\u{feff}x").text(), "x");
        assert_eq!(SourceText::new("a.ron", "\u{feff}x".to_owned()).text(), "x");
    }
}
