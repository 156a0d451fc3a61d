//! What every step of the loader shares: the findings so far, the ids that exist, and the
//! checks on single numbers and names.
//!
//! A check that fails adds a finding and hands on a harmless value, so that loading goes on
//! and one mistake is reported once.

use std::collections::{BTreeMap, BTreeSet};

use super::read::Rows;
use super::spot::{At, Row};
use crate::knowledge::codes::{self, Code};
use crate::knowledge::file::{RawBasis, RawCondition};
use crate::knowledge::finding::Finding;
use crate::knowledge::model::{Basis, Condition, Spread};
use crate::knowledge::ron_error::BASIS_HELP;
use crate::knowledge::sources::Role;
use measure::engine::PointId;
use measure::names::nearest;
use measure::units::{Cost, Rates};

/// How far a sum of chances may be from one: rows are written with two decimals.
pub(super) const SUM_TOLERANCE: f64 = 0.011;

/// Ids of one kind.
#[derive(Debug)]
pub(super) struct Names<'a> {
    /// As "cause".
    what: &'static str,
    code: Code,
    index: BTreeMap<&'a str, usize>,
    /// Whether a text that may hold more of them could not be read.
    incomplete: bool,
    used: BTreeSet<usize>,
    /// Whether an id was asked for in vain, which may stand for one that is now unused.
    missed: bool,
}

impl<'a> Names<'a> {
    pub(super) fn new<T>(
        what: &'static str,
        code: Code,
        rows: &[Row<'a, T>],
        id: fn(&T) -> &'a str,
        incomplete: bool,
    ) -> Self {
        Self {
            what,
            code,
            index: rows.iter().map(|row| id(&row.value)).zip(0..).collect(),
            incomplete,
            used: BTreeSet::new(),
            missed: false,
        }
    }

    /// The index of an id; an unknown one is a finding, unless the text that may define it
    /// could not be read.
    pub(super) fn resolve(
        &mut self,
        findings: &mut Vec<Finding>,
        at: At<'_, '_>,
        id: &str,
    ) -> Option<usize> {
        let found = self.index.get(id).copied();
        if let Some(index) = found {
            self.used.insert(index);
            return found;
        }
        self.missed = true;
        if !self.incomplete {
            let finding =
                at.finding(self.code, format!("unknown {} `{id}`", self.what), "not defined");
            findings.push(match nearest(id, self.index.keys().copied()) {
                Some(name) => finding.help(format!("did you mean `{name}`?")),
                None => finding,
            });
        }
        found
    }

    /// As "cause".
    pub(super) fn what(&self) -> &'static str {
        self.what
    }

    /// Ids that were never asked for, and their indices; none once an unknown id was, for one
    /// slip of the pen is reported once.
    pub(super) fn unused(&self) -> impl Iterator<Item = (&'a str, usize)> {
        let all = self.index.iter().map(|(id, index)| (*id, *index));
        all.filter(|(_, index)| !self.missed && !self.used.contains(index))
    }
}

/// Everything the steps share.
#[derive(Debug)]
pub(super) struct Cx<'a> {
    pub(super) findings: Vec<Finding>,
    pub(super) causes: Names<'a>,
    pub(super) tests: Names<'a>,
    pub(super) groups: Names<'a>,
    pub(super) sets: Names<'a>,
    pub(super) access: Names<'a>,
    pub(super) parts: Names<'a>,
    pub(super) recent: Names<'a>,
    pub(super) sources: Names<'a>,
    pub(super) cautions: Names<'a>,
    pub(super) points: Names<'a>,
    /// Minutes of labour by class of parts.
    pub(super) part_minutes: Vec<f64>,
    /// Members by set.
    pub(super) members: Vec<Vec<usize>>,
    pub(super) rates: Rates,
    pub(super) floor: f64,
}

impl<'a> Cx<'a> {
    pub(super) fn new(rows: &Rows<'a>, findings: Vec<Finding>) -> Self {
        let broken = |role| rows.unreadable(role);
        let (setups, groups) = (broken(Role::Setups), broken(Role::Groups));
        let unknown = codes::UNKNOWN_ID;
        Self {
            findings,
            causes: Names::new("cause", unknown, &rows.causes, |c| c.id, broken(Role::Causes)),
            tests: Names::new("test", unknown, &rows.tests, |t| t.id, broken(Role::Tests)),
            groups: Names::new("group", unknown, &rows.groups, |g| g.0, groups),
            sets: Names::new("set of causes", unknown, &rows.sets, |s| s.0, groups),
            access: Names::new("access", unknown, &rows.access, |a| a.id, setups),
            parts: Names::new("class of parts", unknown, &rows.parts, |p| p.0, setups),
            recent: Names::new("flag", codes::UNKNOWN_FLAG, &rows.recent, |r| r.0, setups),
            sources: Names::new(
                "source",
                codes::UNKNOWN_SOURCE,
                &rows.sources,
                |s| s.0,
                broken(Role::Sources),
            ),
            cautions: Names::new(
                "caution",
                unknown,
                &rows.cautions,
                |c| c.0,
                broken(Role::Cautions),
            ),
            points: Names::new(
                "running point",
                unknown,
                &rows.points,
                |p| p.id,
                broken(Role::Points),
            ),
            part_minutes: Vec::new(),
            members: Vec::new(),
            rates: Rates { labour_per_minute: 1.0, wait_weight: 0.0 },
            floor: 0.0,
        }
    }

    /// A finite number, 0 in place of another.
    pub(super) fn finite(&mut self, at: At<'_, '_>, what: &str, value: f64) -> f64 {
        if value.is_finite() {
            return value;
        }
        self.findings.push(
            at.finding(codes::NOT_FINITE, format!("{what} is `{value}`, not a finite number"), "")
                .help("numbers too large to hold are read as infinite"),
        );
        0.0
    }

    /// A finite number of at least 0.
    pub(super) fn not_negative(&mut self, at: At<'_, '_>, what: &str, value: f64) -> f64 {
        let value = self.finite(at, what, value);
        if value >= 0.0 {
            return value;
        }
        self.findings.push(at.finding(
            codes::NEGATIVE,
            format!("{what} is {value}, below zero"),
            "",
        ));
        0.0
    }

    /// A number from 0 to 1.
    pub(super) fn chance(&mut self, at: At<'_, '_>, what: &str, value: f64) -> f64 {
        let value = self.finite(at, what, value);
        if (0.0..=1.0).contains(&value) {
            return value;
        }
        self.findings.push(at.finding(
            codes::BAD_CHANCE,
            format!("{what} is {value}, outside 0 to 1"),
            "",
        ));
        value.clamp(0.0, 1.0)
    }

    /// A running point that has figures of its own beside those that every row gives.
    pub(super) fn point(&mut self, at: At<'_, '_>, id: &str) -> Option<PointId> {
        self.points.resolve(&mut self.findings, at, id)?;
        let known: PointId = id.parse().ok()?;
        if known.regime().is_some() {
            self.findings.push(at.finding(
                codes::BAD_POINT,
                format!("`{id}` has its figure in the list beside, and cannot have another here"),
                "",
            ));
            return None;
        }
        Some(known)
    }

    /// A mean and its sd.
    pub(super) fn spread(&mut self, at: At<'_, '_>, what: &str, (mean, sd): (f64, f64)) -> Spread {
        Spread {
            mean: self.finite(at.nth(0), &format!("the mean of {what}"), mean),
            sd: self.not_negative(at.nth(1), &format!("the sd of {what}"), sd),
        }
    }

    /// Times and a class of parts; parts are priced in minutes of labour.
    pub(super) fn cost(
        &mut self,
        time: At<'_, '_>,
        minutes: (f64, f64),
        parts: At<'_, '_>,
        class: &str,
    ) -> Cost {
        let class = self.parts.resolve(&mut self.findings, parts, class);
        let part_minutes =
            class.and_then(|class| self.part_minutes.get(class).copied()).unwrap_or(0.0);
        Cost { parts: part_minutes * self.rates.labour_per_minute, ..self.time(time, minutes) }
    }

    /// Times alone.
    pub(super) fn time(&mut self, at: At<'_, '_>, (hands_on, wait): (f64, f64)) -> Cost {
        Cost {
            hands_on: self.not_negative(at.nth(0), "the hands-on time", hands_on),
            wait: self.not_negative(at.nth(1), "the waiting time", wait),
            parts: 0.0,
        }
    }

    /// Where a number comes from.
    pub(super) fn basis(&mut self, at: At<'_, '_>, raw: &RawBasis<'_>) -> Basis {
        match raw {
            RawBasis::Source(id) => {
                self.sources.resolve(&mut self.findings, at, id);
                Basis::Source((*id).to_owned())
            }
            RawBasis::Cited(id, place) => {
                self.sources.resolve(&mut self.findings, at.nth(0), id);
                self.says(at, "`cited` does not say the place", place);
                Basis::Cited((*id).to_owned(), place.clone())
            }
            RawBasis::Computed(how) => {
                self.says(at, "`computed` does not say how", how);
                for id in bracketed(how) {
                    self.sources.resolve(&mut self.findings, at, id);
                }
                Basis::Computed(how.clone())
            }
            RawBasis::Judgement(why) => {
                self.says(at, "`judgement` does not say on what grounds", why);
                Basis::Judgement(why.clone())
            }
            RawBasis::Practice => Basis::Practice,
            RawBasis::Memory => Basis::Memory,
        }
    }

    /// A finding where a basis that has to say something says nothing.
    fn says(&mut self, at: At<'_, '_>, wanting: &str, text: &str) {
        if text.trim().is_empty() {
            self.findings.push(at.finding(codes::MISSING_BASIS, wanting, "").help(BASIS_HELP));
        }
    }
}

/// The ids of sources that a text names: words of small letters, digits and hyphens in square brackets.
fn bracketed(text: &str) -> impl Iterator<Item = &str> {
    let is_id = |word: &&str| {
        let plain = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
        word.starts_with(|c: char| c.is_ascii_lowercase()) && word.chars().all(plain)
    };
    text.split('[')
        .skip(1)
        .filter_map(|rest| rest.split_once(']'))
        .map(|(word, _)| word)
        .filter(is_id)
}

/// Conditions need no check: every word is of a closed list.
pub(super) fn condition(raw: RawCondition) -> Condition {
    let RawCondition { layout, fuel, ignition, intake, induction, cooling, probes, trims } = raw;
    Condition { layout, fuel, ignition, intake, induction, cooling, probes, trims }
}
