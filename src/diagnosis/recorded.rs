//! What the probe-fit sheet says before anything is read: factors on the priors.
//!
//! A probe of another kind than its mates, a boss elsewhere, a lead marked for another cylinder
//! make their causes likelier; the same facts alike all round make them rarer. Depths are not
//! here: they are measured evidence ([`super::model`]).

use std::collections::BTreeMap;

use crate::engine::{Cylinder, Place};
use crate::job::fit::{FitLine, Sheet};
use crate::readings::outlier::median;

/// A probe recorded as another kind than most, and as the same (common practice, no source).
const ANOTHER: f64 = 8.0;
const THE_SAME: f64 = 0.3;
/// A boss so much nearer to the port or farther from it than its mates', mm, and the factor; and
/// the factor where all are alike (common practice, no source).
const ELSEWHERE: (f64, f64) = (10.0, 3.0);
const ALIKE: f64 = 0.5;
/// A lead or channel recorded under another cylinder's number, and both under their own (common
/// practice, no source).
const CROSSED: f64 = 20.0;
const NAMED: f64 = 0.3;

/// Causes that show in what a probe is, in where its boss is, and in what things are marked with.
const OF_ITS_KIND: [&str; 2] = ["probe-odd-build", "probe-wrong-type"];
const OF_ITS_BOSS: [&str; 1] = ["fit-position"];
const OF_ITS_NAME: [&str; 3] = ["lead-crossed", "cfg-order", "probes-exchanged"];

/// Factor on the prior of a cause at a place.
pub(super) fn factor(sheet: &Sheet, cause: &str, place: Place) -> f64 {
    match place {
        Place::Cylinder(c) if OF_ITS_KIND.contains(&cause) => of_its_kind(sheet, c),
        Place::Cylinder(c) if OF_ITS_BOSS.contains(&cause) => of_its_boss(sheet, c),
        Place::Pair(a, b) if OF_ITS_NAME.contains(&cause) => of_its_name(sheet, a, b),
        _ => 1.0,
    }
}

/// Fewest lines that make a majority.
const MAJORITY: usize = 3;

fn of_its_kind(sheet: &Sheet, cylinder: Cylinder) -> f64 {
    let kinds: BTreeMap<Cylinder, String> = sheet
        .lines()
        .iter()
        .filter_map(|(c, line)| Some((*c, line.probe.as_ref()?.trim().to_lowercase())))
        .collect();
    let Some(own) = kinds.get(&cylinder) else { return 1.0 };
    if kinds.len() < MAJORITY {
        return 1.0;
    }
    let count = |kind: &String| kinds.values().filter(|k| *k == kind).count();
    let usual = kinds.values().max_by_key(|kind| count(kind));
    match usual {
        Some(usual) if 2 * count(usual) <= kinds.len() => 1.0,
        Some(usual) if usual == own => THE_SAME,
        _ => ANOTHER,
    }
}

fn of_its_boss(sheet: &Sheet, cylinder: Cylinder) -> f64 {
    let from_port = |line: &FitLine| line.from_port;
    let lines = sheet.lines();
    let Some(own) = lines.get(&cylinder).and_then(from_port) else { return 1.0 };
    let lines = lines.iter().filter(|(c, _)| **c != cylinder);
    let others: Vec<f64> = lines.filter_map(|(_, line)| from_port(line)).collect();
    if others.len() + 1 < MAJORITY {
        return 1.0;
    }
    let (far, factor) = ELSEWHERE;
    match median(&others) {
        Some(usual) if (own - usual).abs() > far => factor,
        Some(usual) if (own - usual).abs() <= far / 2.0 => ALIKE,
        _ => 1.0,
    }
}

/// A number at the end of a mark, as 3 in `EGT 3` or `lead3`.
fn numbered(mark: &str) -> Option<Cylinder> {
    let digits: String = mark.chars().rev().take_while(char::is_ascii_digit).collect();
    digits.chars().rev().collect::<String>().parse().ok()
}

fn of_its_name(sheet: &Sheet, a: Cylinder, b: Cylinder) -> f64 {
    let lines = sheet.lines();
    let marks = |c: Cylinder| -> Vec<Cylinder> {
        let line = lines.get(&c);
        let marks = line.map_or([None, None], |l| [l.lead.as_deref(), l.channel.as_deref()]);
        marks.into_iter().flatten().filter_map(numbered).collect()
    };
    let (of_a, of_b) = (marks(a), marks(b));
    if of_a.contains(&b) || of_b.contains(&a) {
        CROSSED
    } else if !of_a.is_empty() && !of_b.is_empty() {
        NAMED
    } else {
        1.0
    }
}

#[cfg(test)]
#[expect(clippy::float_cmp, reason = "factors are handed on, not computed")]
mod tests {
    use super::*;
    use crate::job::fit::Noted;
    use crate::knowledge::{embedded::embedded, load};

    fn sheet(lines: &[FitLine]) -> Sheet {
        let mut sheet = Sheet::default();
        for (cylinder, line) in (1..).zip(lines) {
            let line = line.clone();
            sheet.noted.push(Noted { entry: 1, cylinder, number: cylinder, after: 0, line });
        }
        sheet
    }

    fn probe(kind: &str) -> FitLine {
        FitLine { probe: Some(kind.to_owned()), ..FitLine::default() }
    }

    #[test]
    fn the_causes_named_here_are_in_the_knowledge_base() {
        let knowledge = load(embedded(), &[]).0.expect("the built-in knowledge base is sound");
        for id in OF_ITS_KIND.iter().chain(&OF_ITS_BOSS).chain(&OF_ITS_NAME) {
            assert!(knowledge.cause(id).is_some(), "{id}");
        }
    }

    #[test]
    fn a_probe_of_another_kind_is_suspected() {
        let sheet = sheet(&["K 3 mm", "k 3 mm ", "K 4.5 mm", "K 3 mm"].map(probe));
        let of = |c| factor(&sheet, "probe-odd-build", Place::Cylinder(c));
        assert_eq!([of(1), of(3)], [THE_SAME, ANOTHER]);
        assert_eq!(factor(&sheet, "probe-drift", Place::Cylinder(3)), 1.0);
        let divided = self::sheet(&["a", "a", "b", "b"].map(probe));
        assert_eq!(factor(&divided, "probe-odd-build", Place::Cylinder(3)), 1.0);
    }

    #[test]
    fn a_boss_elsewhere_is_suspected() {
        let at = |mm| FitLine { from_port: Some(mm), ..FitLine::default() };
        let sheet = sheet(&[at(60.0), at(62.0), at(85.0), at(61.0)]);
        let of = |c| factor(&sheet, "fit-position", Place::Cylinder(c));
        assert_eq!([of(1), of(3)], [ALIKE, ELSEWHERE.1]);
    }

    #[test]
    fn a_lead_under_another_number_is_crossed() {
        let lead = |mark: &str| FitLine { lead: Some(mark.to_owned()), ..FitLine::default() };
        let sheet = sheet(&[lead("1"), lead("lead 3"), lead("EGT2"), lead("4")]);
        let of = |a, b| factor(&sheet, "lead-crossed", Place::Pair(a, b));
        assert_eq!([of(2, 3), of(1, 4), of(1, 2)], [CROSSED, NAMED, NAMED]);
        assert_eq!(factor(&Sheet::default(), "lead-crossed", Place::Pair(2, 3)), 1.0);
    }
}
