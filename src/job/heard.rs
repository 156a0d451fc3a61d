//! What a complaint names in the customer's own words: running points and numbers.
//!
//! Only to ask for what he spoke of before a job ends. It must not move a probability: words are taken
//! wrongly easily, and a reading asked for in vain costs minutes.

use crate::engine::{Cylinder, RunningPoint};

/// Words of the trade for running points (from memory; some first met in complaints of the casebook that
/// things were mended on). `full` alone says nothing.
const POINTS: [(RunningPoint, &[&str]); 4] = [
    (
        RunningPoint::Warming,
        &["in the morning", "from cold", "cold start", "warming up", "warm-up"],
    ),
    (RunningPoint::Idle, &["idle", "tick-over", "tickover", "at the lights"]),
    (
        RunningPoint::Cruise,
        &["cruise", "cruising", "on the road", "motorway", "steady", "driving", "under way"],
    ),
    (
        RunningPoint::Full,
        &[
            "full load",
            "full throttle",
            "full boost",
            "full power",
            "flat out",
            "wide open",
            "under load",
            "loaded",
            "uphill",
            "climb",
            "pull hard",
            "has to pull",
            "long pull",
            "top speed",
            "ploughing",
        ],
    ),
];

/// Words that a number of a cylinder follows.
const NUMBERED: [&str; 8] = ["number", "no", "cylinder", "cyl", "display", "pot", "head", "and"];

/// Running points that are named, by load.
#[must_use]
pub(super) fn points(text: &str) -> Vec<RunningPoint> {
    let text = text.to_lowercase();
    let named = |words: &[&str]| words.iter().any(|word| text.contains(word));
    POINTS.iter().filter(|(_, words)| named(words)).map(|(at, _)| *at).collect()
}

/// Numbers that are named, in ascending order.
#[must_use]
pub(super) fn numbers(text: &str) -> Vec<Cylinder> {
    let text = text.to_lowercase();
    let words: Vec<&str> =
        text.split(|c: char| !c.is_alphanumeric()).filter(|word| !word.is_empty()).collect();
    let mut list: Vec<Cylinder> = words
        .windows(2)
        .filter(|pair| NUMBERED.contains(&pair[0]))
        .filter_map(|pair| pair[1].parse().ok())
        .collect();
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
#[must_use]
pub(super) fn felt(text: &str) -> bool {
    let text = text.to_lowercase();
    FELT.iter().any(|word| text.contains(word))
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
#[must_use]
pub(super) fn all(text: &str) -> bool {
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

    #[test]
    fn what_is_named_is_heard_and_nothing_else() {
        let text = "On a hill under load no. 4 pings, number 7 and 8 too, by 40 degrees";
        assert_eq!(points(text), [RunningPoint::Full]);
        assert_eq!(numbers(text), [4, 7, 8]);
        assert_eq!(points("rough idle, fine on the road").len(), 2);
        assert!(points("a full service was done").is_empty());
        assert!(numbers("20 too high on all four").is_empty());
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
    }
}
