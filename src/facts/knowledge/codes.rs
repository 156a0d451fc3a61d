//! Every kind of finding, with its code, how bad it is and what it means.
//!
//! Codes are a promise to scripts: a code may be added, none may change its meaning.

use super::finding::Severity;

/// A kind of finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Code {
    /// Stable name.
    pub name: &'static str,
    /// How bad it is.
    pub severity: Severity,
    /// What it means, one sentence.
    pub meaning: &'static str,
}

macro_rules! codes {
    ($($constant:ident = $name:literal $severity:ident $meaning:literal;)+) => {
        $(
            #[doc = $meaning]
            pub const $constant: Code = Code {
                name: $name,
                severity: Severity::$severity,
                meaning: $meaning,
            };
        )+
        /// Every code, in order of name.
        pub const ALL: &[Code] = &[$($constant),+];
    };
}

codes! {
    AMBIGUOUS_CAUSES = "ambiguous-causes" Warning
        "Causes with different remedies that no test and no reading tells apart.";
    BAD_CHANCE = "bad-chance" Error
        "A chance, share or correlation lies outside 0 to 1.";
    BAD_CURVE = "bad-curve" Error
        "The mixture curve has fewer than two points, or its ratios do not rise.";
    BAD_ENGINE = "bad-engine" Error
        "An engine preset describes no engine that can exist.";
    BAD_ID = "bad-id" Error
        "An id holds something other than small letters, digits and hyphens.";
    BAD_OUTCOMES = "bad-outcomes" Error
        "A test has fewer than two outcomes, or an exchange, re-seat or substitution has other outcomes than its kind.";
    BAD_PHYSICS = "bad-physics" Error
        "The numbers of a law of physics cannot be.";
    BAD_POINT = "bad-point" Error
        "A running point has no name, is like none that the program's physics knows, or its attributes contradict each other.";
    BAD_SEATS = "bad-seats" Error
        "The seats, the item or the table of a test do not go with its kind.";
    CAUSE_UNREACHABLE = "cause-unreachable" Warning
        "No test speaks to the cause and it does nothing to a reading, so that no evidence can find it.";
    CONSTANT_LENGTH = "constant-length" Error
        "A constant has another number of values than its name asks for.";
    DUPLICATE_FIELD = "duplicate-field" Error
        "A field is written twice in one record.";
    DUPLICATE_ID = "duplicate-id" Error
        "Two rows of one kind have the same id.";
    ENGINE_BASIS = "engine-basis" Warning
        "A ready engine does not say where its figures come from.";
    FILE_MISSING = "file-missing" Error
        "No file of a kind was given.";
    GIVEN_TWICE = "given-twice" Error
        "A test gives a cause two rows of equal standing.";
    GROUP_CYCLE = "group-cycle" Error
        "Groups hang under each other in a ring.";
    GROUP_EMPTY = "group-empty" Warning
        "No cause hangs under the group.";
    GROUP_UNREACHABLE = "group-unreachable" Error
        "The group hangs under a ring of groups, so that no top group leads to it.";
    HAZARD_UNWARNED = "hazard-unwarned" Warning
        "A test or remedy has a hazard, and none of the cautions against it.";
    MISSING_BASIS = "missing-basis" Error
        "A number does not say where it comes from.";
    MISSING_CONSTANT = "missing-constant" Error
        "A constant of the model is not given.";
    MISSING_FIELD = "missing-field" Error
        "A field that has no default is left out.";
    MISSING_REMEDY = "missing-remedy" Error
        "A cause that is a fault has no remedy.";
    NEGATIVE = "negative" Error
        "A time, a cost, a factor or a standard deviation is below zero.";
    NEWER_FORMAT = "newer-format" Error
        "A file has a version that this program does not know.";
    NOT_FINITE = "not-finite" Error
        "A number is infinite or no number.";
    POINT_CYCLE = "point-cycle" Error
        "Running points are like each other in a ring.";
    READINGS_ONLY = "readings-only" Warning
        "No test on some engine ever shows the cause: all that speaks of it is readings.";
    RETIRED_CONSTANT = "retired-constant" Warning
        "A constant of a former version, which no longer does anything.";
    ROW_LENGTH = "row-length" Error
        "A row has another number of chances than the test has outcomes.";
    ROW_SUM = "row-sum" Error
        "The chances of a row do not sum to one.";
    SAME_REMEDY_CAUSES = "same-remedy-causes" Note
        "Causes that no test and no reading tells apart; one remedy cures them all.";
    SHARE_SUM = "share-sum" Error
        "The shares of a cause's sides do not sum to one.";
    SPREAD_GAP = "spread-gap" Warning
        "Some engines have no natural spread for a probe site.";
    STATE_UNREACHABLE = "state-unreachable" Error
        "No chain of changes leads to a state of the engine.";
    SYNTAX = "syntax" Error
        "The text is not well-formed RON.";
    TEST_TELLS_NOTHING = "test-tells-nothing" Warning
        "Every cause gives the test the same chances.";
    UNKNOWN_CONSTANT = "unknown-constant" Error
        "A constant's name is none that the model uses.";
    UNKNOWN_FIELD = "unknown-field" Error
        "A record has no field of that name.";
    UNKNOWN_FILE = "unknown-file" Error
        "The name of a file is none of the knowledge base.";
    UNKNOWN_FLAG = "unknown-flag" Error
        "A flag of recent work is not in `setups.ron`.";
    UNKNOWN_ID = "unknown-id" Error
        "An id names nothing.";
    UNKNOWN_SOURCE = "unknown-source" Error
        "A source id is not in `sources.ron`.";
    UNKNOWN_WORD = "unknown-word" Error
        "A word is not in the closed list that its field allows.";
    UNUSED = "unused" Note
        "Nothing uses the row.";
    UNUSED_SOURCE = "unused-source" Warning
        "No number names the source, and it does not stand behind the code.";
    WEIGHT_NOT_POSITIVE = "weight-not-positive" Error
        "A weight is nought or below.";
    WRONG_TYPE = "wrong-type" Error
        "A value is of another kind than its field holds.";
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn codes_are_unique_in_order_and_kebab_case() {
        assert!(ALL.windows(2).all(|pair| pair[0].name < pair[1].name));
        for code in ALL {
            assert!(code.name.chars().all(|c| c.is_ascii_lowercase() || c == '-'), "{}", code.name);
            assert!(code.meaning.ends_with('.'), "{}", code.name);
        }
    }
}
