//! What is odd about a log: data, never a reason to stop.
//!
//! One finding a kind, with its first place and how often it was met. It must not grow with the
//! file.

use std::collections::BTreeMap;

use crate::named_enum;

named_enum! {
    /// A kind of finding.
    Code, "finding" {
        /// A row has more or fewer columns than the header.
        Columns = "columns",
        /// A time that cannot be read.
        Time = "time",
        /// Time goes back.
        Backwards = "backwards",
        /// Time begins anew, as when the logger was started again.
        Restart = "restart",
        /// Midnight passed on a clock without a date.
        Midnight = "midnight",
        /// A line beyond the bound.
        LongLine = "long-line",
        /// A quote that is never closed.
        OpenQuote = "open-quote",
        /// The last line has no end.
        CutOff = "cut-off",
        /// Text where a number should be.
        NoNumber = "no-number",
        /// Figures that are no number: two separators, a date.
        Unreadable = "unreadable",
        /// A number that no display can mean.
        Impossible = "impossible",
        /// A stretch without rows.
        Gap = "gap",
        /// Two offsets from universal time in one file.
        Zones = "zones",
        /// Times with such an offset and without in one file; those unlike the first are left out.
        NoZone = "no-zone",
        /// Two columns of one name.
        SameName = "same-name",
        /// The encoding was guessed.
        Encoding = "encoding",
        /// No row of names.
        NoHeader = "no-header",
        /// The temperature scale was guessed.
        Scale = "scale",
        /// The unit of time was guessed.
        TimeUnit = "time-unit",
        /// Day and month cannot be told apart.
        DateOrder = "date-order",
        /// More than one group of columns may be the displays.
        Groups = "groups",
        /// Displays were numbered from nought.
        FromNought = "from-nought",
        /// No column of speed.
        NoSpeed = "no-speed",
        /// Rows are too far apart to judge.
        Sparse = "sparse",
        /// More windows than are kept.
        ManyWindows = "many-windows",
        /// Not settled anywhere.
        NotSettled = "not-settled",
    }
}

impl Code {
    /// Whether each occurrence is a row that was left out whole.
    #[must_use]
    pub fn skips_row(self) -> bool {
        use Code::{Backwards, Columns, CutOff, LongLine, NoZone, Time};
        matches!(self, Columns | Time | Backwards | LongLine | NoZone | CutOff)
    }

    /// Whether it may falsify what is shown; else it is said for information.
    #[must_use]
    pub fn is_warning(self) -> bool {
        !matches!(
            self,
            Self::Midnight | Self::Encoding | Self::FromNought | Self::NoSpeed | Self::CutOff
        )
    }
}

/// One kind of oddity of a file.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Finding {
    /// Kind.
    pub code: Code,
    /// Line of the first, from 1; 0 for the file as a whole.
    pub line: u64,
    /// Column of the first, from 1; 0 for the line as a whole.
    pub column: usize,
    /// How often.
    pub count: u64,
    /// What is the matter, of the first.
    pub text: String,
    /// What can be done; may be empty.
    pub help: String,
}

/// Findings so far, by kind.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Findings(BTreeMap<Code, Finding>);

impl Findings {
    /// Counts a finding; only the first of its kind keeps its words.
    pub(super) fn add(
        &mut self,
        code: Code,
        (line, column): (u64, usize),
        words: impl FnOnce() -> (String, String),
    ) {
        self.0.entry(code).and_modify(|known| known.count += 1).or_insert_with(|| {
            let (text, help) = words();
            Finding { code, line, column, count: 1, text, help }
        });
    }

    /// Takes in what a later part of the file gave, its lines counted from `base`.
    pub(super) fn merge(&mut self, later: Self, base: u64) {
        for (code, mut finding) in later.0 {
            if finding.line > 0 {
                finding.line += base;
            }
            self.0.entry(code).and_modify(|known| known.count += finding.count).or_insert(finding);
        }
    }

    pub(super) fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// All, in order of kind.
    pub(super) fn into_list(self) -> Vec<Finding> {
        self.0.into_values().collect()
    }
}
