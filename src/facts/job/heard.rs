//! What a complaint names in the customer's own words: running points and numbers.
//!
//! Mostly to ask for what he spoke of before a job ends: words are taken wrongly easily, and a reading asked for in
//! vain costs minutes. Two things move a probability: that it is said to come and go, since readings that are good just
//! then would rule out what is complained of, and that a second display is named, since a fault on each is likelier
//! then. It must not say which cause is meant.

use crate::knowledge::{Points, RunningPoint};
use measure::engine::Cylinder;

/// What is heard in a complaint.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Heard {
    /// Running points that are named, by load.
    pub points: Vec<RunningPoint>,
    /// Numbers of cylinders or displays that are named.
    pub numbers: Vec<Cylinder>,
    /// All displays are spoken of together.
    pub all: bool,
    /// Something is felt, heard, seen or smelt, whatever the displays show.
    pub felt: bool,
    /// It is said to come and go.
    pub comes: bool,
}

impl Heard {
    /// From the customer's words.
    #[must_use]
    pub fn of(text: &str, known: &Points) -> Self {
        Self {
            points: points(text, known),
            numbers: numbers(text),
            all: all(text),
            felt: felt(text),
            comes: comes_and_goes(text),
        }
    }
}

/// Words that a number of a cylinder follows.
const NUMBERED: [&str; 8] = ["number", "no", "cylinder", "cyl", "display", "pot", "head", "and"];

/// Running points that are named, by load.
fn points(text: &str, known: &Points) -> Vec<RunningPoint> {
    let text = text.to_lowercase();
    known.iter().filter(|at| at.words.iter().any(|word| text.contains(word.as_str()))).collect()
}

/// Numbers as they are said, from one.
const COUNTED: [&str; 16] = [
    "one", "two", "three", "four", "five", "six", "seven", "eight", "nine", "ten", "eleven",
    "twelve", "thirteen", "fourteen", "fifteen", "sixteen",
];

/// Numbers by their order, from the first.
const ORDERED: [&str; 16] = [
    "first",
    "second",
    "third",
    "fourth",
    "fifth",
    "sixth",
    "seventh",
    "eighth",
    "ninth",
    "tenth",
    "eleventh",
    "twelfth",
    "thirteenth",
    "fourteenth",
    "fifteenth",
    "sixteenth",
];

/// What is said of one that a number alone stands for: `five is low`, `the fourth sinks` (of daily speech, from
/// memory; some first met in complaints of the casebook that things were mended on).
const DOES: [&str; 43] = [
    "s", "is", "was", "isn", "has", "had", "does", "did", "reads", "read", "shows", "sits", "sat",
    "hangs", "hung", "drops", "dropped", "falls", "fell", "sinks", "sank", "sags", "lags",
    "trails", "climbs", "rises", "rose", "runs", "ran", "goes", "went", "stays", "stayed", "looks",
    "jumps", "flickers", "misses", "wanders", "creeps", "leads", "gets", "comes", "stands",
];

/// The same of two together: `two and four are low`.
const DO: [&str; 16] = [
    "are", "were", "aren", "have", "had", "both", "do", "read", "sit", "hang", "drop", "fall",
    "lag", "go", "stay", "too",
];

/// Numbers that are named, in ascending order.
fn numbers(text: &str) -> Vec<Cylinder> {
    let text = text.to_lowercase();
    let words: Vec<&str> =
        text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let position = |list: &[&str], word: &str| {
        let index = list.iter().position(|known| *known == word)?;
        Cylinder::try_from(index + 1).ok()
    };
    let number = |word: &str| word.parse().ok().or_else(|| position(&COUNTED, word));
    // `And two plugs` is no cylinder.
    let after = words.windows(2).filter(|pair| NUMBERED.contains(&pair[0]));
    let said = |pair: &&[&str]| pair[0] != "and" || pair[1].parse::<Cylinder>().is_ok();
    let mut list: Vec<Cylinder> = after.filter(said).filter_map(|pair| number(pair[1])).collect();
    // `That one is low` names none, and `second` alone is not always a cylinder.
    list.extend(words.windows(2).filter(|pair| DOES.contains(&pair[1])).filter_map(|pair| {
        let counted = number(pair[0]).filter(|_| pair[0] != "one");
        counted.or_else(|| position(&ORDERED, pair[0]).filter(|order| *order > 2))
    }));
    // `It is eleven that hangs back`.
    let that = words.windows(3).filter(|three| three[1] == "that" && DOES.contains(&three[2]));
    list.extend(that.filter_map(|three| number(three[0]).filter(|_| three[0] != "one")));
    let both = words.windows(4).filter(|four| four[1] == "and" && DO.contains(&four[3]));
    list.extend(both.filter_map(|four| Some([number(four[0])?, number(four[2])?])).flatten());
    list.sort_unstable();
    list.dedup();
    list
}

/// What is felt, heard, seen or smelt of an engine whatever its displays show (words of the trade, from memory;
/// some first met in complaints of the casebook that things were mended on).
const FELT: [&str; 30] = [
    "smok",
    "rattl",
    "knock",
    "clatter",
    "shak",
    "stumbl",
    "misfir",
    "hesitat",
    "pops",
    "popping",
    "spits",
    "backfir",
    "rough idle",
    "runs rough",
    "idles rough",
    "lumpy",
    "no pull",
    "not pull",
    "loses power",
    "lost power",
    "down on power",
    "breathless",
    "jerk",
    "bucks",
    "drinks more",
    "thirsty",
    "surges",
    "hunts",
    "idles too fast",
    "smells of",
];

/// Whether something is complained of that is felt, heard, seen or smelt.
fn felt(text: &str) -> bool {
    let text = text.to_lowercase();
    FELT.iter().any(|word| text.contains(word))
}

/// Words for what comes and goes (of daily speech, from memory; some first met in complaints of the casebook that
/// things were mended on).
const COMES: [&str; 25] = [
    "now and then",
    "now and again",
    "comes and goes",
    "on and off",
    "off and on",
    "sometimes",
    "some days",
    "on some trips",
    "some mornings",
    "once in a while",
    "every so often",
    "every now",
    "from time to time",
    "at times",
    "intermittent",
    "occasional",
    "comes back",
    "then it is right",
    "then it is fine",
    "right again",
    "fine again",
    "not always",
    "when it likes",
    "drops out",
    "cuts in and out",
];

/// Whether it is said to come and go.
fn comes_and_goes(text: &str) -> bool {
    let text = text.to_lowercase();
    COMES.iter().any(|word| text.contains(word))
}

/// What is all of a set of displays.
const DISPLAYS: [&str; 18] = [
    "cylinders",
    "displays",
    "of them",
    "probes",
    "numbers",
    "two",
    "three",
    "four",
    "five",
    "six",
    "eight",
    "ten",
    "twelve",
    "sixteen",
    "the displays",
    "the cylinders",
    "the numbers",
    "pots",
];

/// Whether all displays are spoken of together: `all eight show too little`, `every display`.
fn all(text: &str) -> bool {
    let text = text.to_lowercase();
    if ["every display", "every cylinder", "the whole lot", "everything reads"]
        .iter()
        .any(|w| text.contains(w))
    {
        return true;
    }
    text.match_indices("all ").any(|(at, word)| {
        let alone = !text[..at].ends_with(char::is_alphanumeric);
        let behind = text[at + word.len()..].trim_start();
        let of_displays = |of: &&str| {
            let rest = behind.strip_prefix(*of);
            rest.is_some_and(|rest| !rest.starts_with(char::is_alphanumeric))
        };
        alone && DISPLAYS.iter().any(of_displays)
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use measure::engine::Regime;

    #[test]
    fn what_is_named_is_heard_and_nothing_else() {
        let text = "On a hill under load no. 4 pings, number 7 and 8 too, by 40 degrees";
        let known = Points::built_in();
        assert_eq!(points(text, known), [known.of(Regime::Full)]);
        assert_eq!(numbers(text), [4, 7, 8]);
        assert_eq!(points("rough idle, fine on the road", known).len(), 2);
        assert!(points("a full service was done", known).is_empty());
        for (text, named) in [
            ("20 too high on all four", &[][..]),
            ("Three is down at the lights, but at eighty it is number one that is down", &[1, 3]),
            ("Five is not as good as the rest either", &[5]),
            ("The fourth sinks once she is hot; that one is new, the second was done", &[4]),
            ("all six were new, the other three run well, and two plugs too", &[]),
            ("Number two hangs back, and four flickers", &[2, 4]),
            ("At tickover two and four are miles apart, one of them will be a bad gauge", &[2, 4]),
            (
                "Nice biscuit colour same as one and three, it's up there with one and three again",
                &[],
            ),
            ("Two's been a shade under I don't know how long", &[2]),
            ("It takes one gear lower, 20 is too much", &[20]),
            ("At speed it is eleven that hangs back, and one that is mine", &[11]),
        ] {
            assert_eq!(numbers(text), named, "{text}");
        }
        assert!(felt("It smokes and clatters") && felt("Idles too fast and pops downhill"));
        assert!(!felt("Number 3 is 30 over the others flat out, she goes well"));
        for (text, named) in [
            ("20 too high on all four", true),
            ("Since the new box all eight show far too little", true),
            ("every display reads 40 low", true),
            ("all the others are fine", false),
            ("it jumps all the time, above all at idle", false),
            ("small six", false),
            ("tall four", false),
        ] {
            assert_eq!(all(text), named, "{text}");
        }
        for (text, said) in [
            ("Some days number 1 is low, some days it is spot on", true),
            ("It drops out over rough ground and comes back", true),
            ("Number 1 is low since the probes were in and out", false),
            ("It always reads forty under the others", false),
        ] {
            assert_eq!(comes_and_goes(text), said, "{text}");
        }
    }
}
