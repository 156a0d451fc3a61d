//! Closed lists of names that appear in files and on the command line.
//!
//! For enums whose variants are written by users. It must not hold any meaning:
//! what a value does lives with its type.

use thiserror::Error;

/// A word that is not in the list of allowed ones.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("unknown {what} `{given}`: expected one of {}", .allowed.join(", "))]
pub struct UnknownName {
    /// What kind of thing was wanted, as "fuel system".
    pub what: &'static str,
    /// What was typed.
    pub given: String,
    /// Every word that would have been right.
    pub allowed: &'static [&'static str],
}

/// Finds the candidate closest to `given`, if any is near enough to be a slip of the finger.
///
/// Similarity is Jaro–Winkler, threshold 0.75.
pub fn nearest<'a>(given: &str, candidates: impl IntoIterator<Item = &'a str>) -> Option<&'a str> {
    candidates
        .into_iter()
        .map(|name| (strsim::jaro_winkler(given, name), name))
        .filter(|(score, _)| *score >= 0.75)
        .max_by(|a, b| a.0.total_cmp(&b.0).then_with(|| b.1.cmp(a.1)))
        .map(|(_, name)| name)
}

/// Declares an enum with one fixed word per variant: `NAMES`, `ALL`, `as_str`, `FromStr`,
/// `Display`, and serde as that word.
#[macro_export]
macro_rules! named_enum {
    ($(#[$meta:meta])* $name:ident, $what:literal {
        $($(#[$vmeta:meta])* $variant:ident = $word:literal),+ $(,)?
    }) => {
        $(#[$meta])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash,
                 ::serde::Serialize, ::serde::Deserialize)]
        #[serde(into = "&'static str", try_from = "String")]
        pub enum $name { $($(#[$vmeta])* $variant),+ }

        impl From<$name> for &'static str {
            fn from(value: $name) -> &'static str {
                value.as_str()
            }
        }

        impl TryFrom<String> for $name {
            type Error = $crate::names::UnknownName;
            fn try_from(given: String) -> Result<Self, Self::Error> {
                given.parse()
            }
        }

        impl $name {
            /// Every word, in order of declaration.
            pub const NAMES: &'static [&'static str] = &[$($word),+];
            /// Every value, in order of declaration.
            pub const ALL: &'static [Self] = &[$(Self::$variant),+];

            /// The word used in files and on the command line.
            #[must_use]
            pub fn as_str(self) -> &'static str {
                match self { $(Self::$variant => $word),+ }
            }
        }

        impl ::std::fmt::Display for $name {
            fn fmt(&self, f: &mut ::std::fmt::Formatter<'_>) -> ::std::fmt::Result {
                f.pad(self.as_str())
            }
        }

        impl ::std::str::FromStr for $name {
            type Err = $crate::names::UnknownName;
            fn from_str(given: &str) -> Result<Self, Self::Err> {
                match given {
                    $($word => Ok(Self::$variant),)+
                    _ => Err($crate::names::UnknownName {
                        what: $what, given: given.to_owned(), allowed: Self::NAMES,
                    }),
                }
            }
        }
    };
}

#[cfg(test)]
mod tests {
    use super::nearest;

    #[test]
    fn a_slip_of_the_finger_finds_its_word() {
        let words = ["fit-deep", "fit-shallow", "probe-open"];
        assert_eq!(nearest("fit-dep", words), Some("fit-deep"));
        assert_eq!(nearest("xyzzy", words), None);
    }
}
