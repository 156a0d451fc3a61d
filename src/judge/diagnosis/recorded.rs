//! What the probe-fit sheet says before anything is read: factors on the priors.
//!
//! A probe of another kind than its mates, a boss elsewhere, a lead marked for another cylinder
//! make their causes likelier; the same facts alike all round make them rarer. So do displays that were
//! shown to be their cylinders', and depths that were measured alike, at an earlier visit. Depths
//! measured in this job are not here: they are measured evidence ([`super::model`]).

use std::collections::BTreeMap;

use facts::job::fit::{EQUAL_DEPTH, FitLine, Sheet};
use facts::job::history::History;
use facts::knowledge::{Cause, Knowledge};
use measure::engine::{Cylinder, Engine, Place};
use measure::readings::outlier::median;

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
/// Causes that show in how deep a probe sits.
const OF_ITS_DEPTH: [&str; 2] = ["fit-shallow", "fit-deep"];

/// What sheets say of the probes: this job's own, and that of the visits before it.
pub(super) struct Recorded<'a> {
    knowledge: &'a Knowledge,
    engine: &'a Engine,
    recent: &'a [String],
    history: Option<&'a History>,
    /// What was said in this job, and that with what was said before it.
    own: Lines,
    both: Lines,
    /// How probes sat when they were last described before this job.
    before: Sheet,
}

impl<'a> Recorded<'a> {
    /// Reads the sheets once for all causes.
    pub(super) fn new(
        knowledge: &'a Knowledge,
        (engine, recent): (&'a Engine, &'a [String]),
        sheet: &Sheet,
        history: Option<&'a History>,
    ) -> Self {
        let before = history.map_or_else(Sheet::default, |history| Sheet::of(&history.fit));
        let own = sheet.lines();
        let mut both = before.lines();
        for (cylinder, line) in &own {
            both.entry(*cylinder).or_default().merge(line);
        }
        Self { knowledge, engine, recent, history, own, both, before }
    }

    /// Factor on the prior of a cause at a place.
    ///
    /// Of what was so at an earlier visit nothing is left for a cause that work done lately brings about.
    pub(super) fn factor(&self, cause: &Cause, place: Place) -> f64 {
        let worked = worked(cause, self.recent);
        let lines = if worked { &self.own } else { &self.both };
        let id = cause.id.as_str();
        let said = match place {
            Place::Cylinder(c) if OF_ITS_KIND.contains(&id) => of_its_kind(lines, c),
            Place::Cylinder(c) if OF_ITS_BOSS.contains(&id) => of_its_boss(lines, c),
            Place::Cylinder(c) if OF_ITS_DEPTH.contains(&id) && !worked => self.of_its_depth(c),
            Place::Pair(a, b) if OF_ITS_NAME.contains(&id) => of_its_name(lines, a, b),
            _ => 1.0,
        };
        let names = matches!(place, Place::Pair(..)) && OF_ITS_NAME.contains(&id);
        let well = !worked && (cause.fitted || cause.by_build) && self.was_well(place, names);
        match (well, self.knowledge.constants.fitted_kept) {
            (false, _) => said,
            // Where both say that it is right they say one thing.
            (true, kept) if said <= 1.0 => said.min(kept),
            (true, kept) => said * kept,
        }
    }

    /// Whether an earlier visit showed that what is made at a fitting was right there, or too little wrong to
    /// see: of a name that the displays are their cylinders', of all else a whole commissioning.
    fn was_well(&self, place: Place, names: bool) -> bool {
        let Some(history) = self.history else { return false };
        let shown = |c: Cylinder| history.identified.iter().any(|(known, _)| *known == c);
        let cylinders = match place {
            // What is wrong with the whole box was right where every display was.
            Place::Nowhere => self.engine.all().collect(),
            place => place.cylinders(self.engine),
        };
        (names || history.commissioned.is_some()) && cylinders.into_iter().all(shown)
    }

    /// For a depth that was as its mates' at an earlier visit.
    fn of_its_depth(&self, cylinder: Cylinder) -> f64 {
        match self.before.difference(cylinder) {
            Some(then) if then.mm.abs() < EQUAL_DEPTH => self.knowledge.constants.depth_kept,
            _ => 1.0,
        }
    }
}

/// Whether recent work makes another's display, or another depth, likelier than it was.
pub(crate) fn brought_about(knowledge: &Knowledge, recent: &[String]) -> (bool, bool) {
    let by = |causes: &[&str]| {
        let known = causes.iter().filter_map(|id| knowledge.cause(id));
        let mut causes = known.map(|index| &knowledge.causes[index]);
        causes.any(|cause| worked(cause, recent))
    };
    (by(&OF_ITS_NAME), by(&OF_ITS_DEPTH))
}

/// Whether recent work makes a cause likelier.
fn worked(cause: &Cause, recent: &[String]) -> bool {
    recent.iter().any(|flag| cause.recent.get(flag).is_some_and(|by| *by > 1.0))
}

/// Fewest lines that make a majority.
const MAJORITY: usize = 3;

/// What is said of each probe.
type Lines = BTreeMap<Cylinder, FitLine>;

fn of_its_kind(lines: &Lines, cylinder: Cylinder) -> f64 {
    let kinds: BTreeMap<Cylinder, String> = lines
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

fn of_its_boss(lines: &Lines, cylinder: Cylinder) -> f64 {
    let from_port = |line: &FitLine| line.from_port;
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

fn of_its_name(lines: &Lines, a: Cylinder, b: Cylinder) -> f64 {
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
    use facts::knowledge::{embedded::embedded, load};

    fn sheet(lines: &[FitLine]) -> Sheet {
        let lines: Vec<(Cylinder, FitLine)> = (1..).zip(lines.iter().cloned()).collect();
        Sheet::of(&lines)
    }

    fn base() -> Knowledge {
        load(embedded(), &[]).0.expect("the built-in knowledge base is sound")
    }

    fn factor(sheet: &Sheet, cause: &str, place: Place) -> f64 {
        since(&base(), (sheet, None), &[], (cause, place))
    }

    fn since(
        knowledge: &Knowledge,
        (sheet, history): (&Sheet, Option<&History>),
        recent: &[&str],
        (cause, place): (&str, Place),
    ) -> f64 {
        let recent: Vec<String> = recent.iter().map(|&flag| flag.to_owned()).collect();
        let index = knowledge.cause(cause).expect("a cause");
        let engine = fixture::engine();
        Recorded::new(knowledge, (&engine, &recent), sheet, history)
            .factor(&knowledge.causes[index], place)
    }

    fn probe(kind: &str) -> FitLine {
        FitLine { probe: Some(kind.to_owned()), ..FitLine::default() }
    }

    #[test]
    fn the_causes_named_here_are_in_the_knowledge_base() {
        let knowledge = base();
        let named = OF_ITS_KIND.iter().chain(&OF_ITS_BOSS).chain(&OF_ITS_NAME);
        for id in named.chain(&OF_ITS_DEPTH) {
            assert!(knowledge.cause(id).is_some(), "{id}");
        }
    }

    #[test]
    fn what_was_shown_at_the_fitting_is_rarer_until_somebody_worked_on_it() {
        let knowledge = base();
        let kept = (knowledge.constants.fitted_kept, knowledge.constants.depth_kept);
        let at = jiff::Timestamp::UNIX_EPOCH;
        let depth = |mm| FitLine { depth: Some(mm), ..FitLine::default() };
        let history = History {
            identified: vec![(1, at), (2, at), (3, at)],
            fit: (1..).zip([20.0, 20.5, 20.0, 26.0].map(depth)).collect(),
            ..History::default()
        };
        let none = Sheet::default();
        let of = |recent: &[&str], cause, place| {
            since(&knowledge, (&none, Some(&history)), recent, (cause, place))
        };
        for cause in OF_ITS_NAME {
            assert_eq!(of(&[], cause, Place::Pair(1, 3)), kept.0, "{cause}");
            assert_eq!(of(&[], cause, Place::Pair(1, 4)), 1.0, "display 4 was never shown");
            assert_eq!(of(&["high-hours"], cause, Place::Pair(1, 3)), kept.0, "{cause}");
        }
        assert_eq!(of(&["wiring-worked"], "lead-crossed", Place::Pair(1, 3)), 1.0);
        assert_eq!(of(&[], "fit-shallow", Place::Cylinder(2)), kept.1);
        assert_eq!(of(&[], "fit-deep", Place::Cylinder(4)), 1.0, "6 mm deeper than its mates then");
        assert_eq!(of(&["manifold-off"], "fit-shallow", Place::Cylinder(2)), 1.0);
        assert_eq!(of(&[], "probe-drift", Place::Cylinder(2)), 1.0);
        assert_eq!(of(&[], "lead-reversed", Place::Cylinder(2)), 1.0, "not a whole commissioning");
    }

    #[test]
    fn what_is_made_at_a_fitting_is_rarer_on_a_commissioned_engine() {
        let knowledge = base();
        let kept = knowledge.constants.fitted_kept;
        let at = jiff::Timestamp::UNIX_EPOCH;
        let identified = (1..=4).map(|c| (c, at)).collect::<Vec<_>>();
        let whole = History { identified, commissioned: Some(at), ..History::default() };
        let mut touched = whole.clone();
        touched.identified.remove(1);
        let of = |history: &History, recent: &[&str], cause, place| {
            since(&knowledge, (&Sheet::default(), Some(history)), recent, (cause, place))
        };
        let two = Place::Cylinder(2);
        assert_eq!(of(&whole, &[], "lead-reversed", two), kept);
        assert_eq!(of(&whole, &[], "cfg-type", two), kept);
        assert_eq!(of(&whole, &[], "box-scale", Place::Nowhere), kept);
        assert_eq!(of(&whole, &["wiring-worked"], "lead-reversed", two), 1.0);
        // Its lead was off since: the others stand.
        assert_eq!(of(&touched, &[], "lead-reversed", two), 1.0);
        assert_eq!(of(&touched, &[], "lead-reversed", Place::Cylinder(3)), kept);
        assert_eq!(of(&touched, &[], "box-scale", Place::Nowhere), 1.0);
        // What comes by running is as likely as ever.
        for cause in ["probe-drift", "conn-poor", "air-leak", "fit-leak", "inj-lean"] {
            assert_eq!(of(&whole, &[], cause, two), 1.0, "{cause}");
        }
        let by_build = knowledge.causes.iter().filter(|cause| cause.by_build);
        for cause in by_build {
            assert_eq!(of(&whole, &[], &cause.id, two), kept, "{}", cause.id);
        }
    }

    #[test]
    fn a_sheet_of_an_earlier_visit_speaks_of_what_this_one_does_not_say() {
        let knowledge = base();
        let fit = (1..).zip(["K 3 mm", "K 3 mm", "K 4.5 mm", "K 3 mm"].map(probe)).collect();
        let history = History { fit, ..History::default() };
        let new = Sheet::of(&[(3, probe("K 3 mm"))]);
        let none = Sheet::default();
        let of = |sheet: &Sheet, recent: &[&str]| {
            let about = ("probe-odd-build", Place::Cylinder(3));
            since(&knowledge, (sheet, Some(&history)), recent, about)
        };
        assert_eq!(of(&none, &[]), ANOTHER);
        assert_eq!(of(&new, &[]), THE_SAME);
        assert_eq!(of(&none, &["probes-new"]), 1.0);
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
