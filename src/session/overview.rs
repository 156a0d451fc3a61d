//! Where the job stands and what to do next, short enough for a screen.

use std::collections::BTreeMap;

use super::asker::Asked;
use super::sheet::Sheet;
use super::work::{Picture, Work};
use crate::diagnosis::Fault;
use crate::job::timeline::Standing;
use crate::plan::{Choice, Guard, Step};
use crate::report::{self, terms, words};

/// Suspects that are shown.
const SHOWN: usize = 4;
/// A suspect below this is not worth a line.
const NEGLIGIBLE: f64 = 0.01;
/// A suspect that was above this and is no longer shown is named all the same.
const FALLEN: f64 = 0.1;

impl Work<'_, '_> {
    /// Shows suspects, what changed, how a remedy did, and the recommendation.
    pub(super) fn overview(&mut self) -> Asked<()> {
        let picture = self.picture();
        let mut sheet = Sheet::new(self.desk.settings.width);
        self.suspects(&mut sheet, &picture);
        if report::remedied(&self.timeline) {
            self.remedy_so_far(&mut sheet, &picture);
        }
        if self.timeline.standing == Standing::Open {
            let best = &picture.advice.best;
            self.choice(&mut sheet, "NEXT: ", best);
            held_back(&mut sheet, &picture.advice.guards);
        } else {
            sheet.block();
            sheet.line(&format!("This job is {}.", terms::standing(self.timeline.standing)));
        }
        self.shown = picture
            .assessment
            .suspects
            .iter()
            .map(|suspect| (suspect.fault, suspect.probability))
            .collect();
        self.desk.show(&sheet)
    }

    fn suspects(&self, sheet: &mut Sheet, picture: &Picture) {
        let (knowledge, timeline) = (self.desk.knowledge, &self.timeline);
        let assessment = &picture.assessment;
        sheet.block();
        sheet.line(&report::verdict(knowledge, timeline, assessment));
        if assessment.surprise.unexplained {
            sheet.item("! ", "None of the known causes explains this: check what was entered.");
        }
        let name = |fault| terms::fault_now(knowledge, timeline, fault);
        let list: Vec<_> = assessment
            .suspects
            .iter()
            .take(SHOWN)
            .filter(|suspect| suspect.probability >= NEGLIGIBLE)
            .map(|s| (s.fault, name(s.fault), s.probability))
            .collect();
        let room = list.iter().map(|(_, name, _)| name.chars().count()).max().unwrap_or(0);
        let room = room.min(self.desk.settings.width.saturating_sub(34));
        for (fault, name, probability) in &list {
            let now = words::chance(*probability);
            let was = was(&self.shown, *fault, *probability);
            sheet.item("  ", &format!("{name}: {now}{was}"));
        }
        let _ = room;
        let fallen: Vec<String> = self
            .shown
            .iter()
            .filter(|(fault, was)| **was >= FALLEN && list.iter().all(|(f, ..)| f != *fault))
            .filter_map(|(&fault, &was)| {
                let now = assessment.suspects.iter().find(|s| s.fault == fault);
                let now = now.map_or(0.0, |s| s.probability);
                (was - now >= FALLEN / 2.0).then(|| {
                    format!("{} {} → {}", name(fault), words::percent(was), words::percent(now))
                })
            })
            .collect();
        if !fallen.is_empty() {
            sheet.item("  ", &format!("No longer: {}.", fallen.join("; ")));
        }
    }

    /// Whether the last remedy cured it and its cause is proven, and what is missing.
    fn remedy_so_far(&self, sheet: &mut Sheet, picture: &Picture) {
        let verification = &picture.verification;
        let Some(fault) = verification.remedied else { return };
        sheet.block();
        let name = terms::fault(self.desk.knowledge, fault);
        if let (true, Some(proof)) = (verification.verified(), verification.proof) {
            sheet.line(&format!(
                "VERIFIED: the fault is gone, and its cause is proven ({name}: {}).",
                terms::proof(proof)
            ));
            return;
        }
        sheet.line(&format!("REMEDIED: {name}. Not verified yet:"));
        for missing in &verification.missing {
            sheet.item("  - ", &words::sentence(missing));
        }
    }

    /// A choice with all that must be known before it is done.
    pub(super) fn choice(&mut self, sheet: &mut Sheet, mark: &str, choice: &Choice) {
        let (knowledge, timeline) = (self.desk.knowledge, &self.timeline);
        sheet.block();
        let what = report::step(knowledge, timeline, choice.step);
        sheet.item(mark, &words::upper_first(&what));
        if choice.step == Step::Stop {
            for why in choice.why.iter().take(2) {
                sheet.item("  ", &words::sentence(why));
            }
            return;
        }
        let tools = match choice.step {
            Step::Test { test, .. } => knowledge.tests[test].tools.as_str(),
            _ => "",
        };
        let tools = if tools.is_empty() { String::new() } else { format!("; tools: {tools}") };
        sheet.item("  Takes    ", &format!("{}{tools}", words::cost(choice.cost)));
        let set_up = report::set_up(knowledge, timeline, choice.step);
        if !set_up.is_empty() {
            sheet.item("  First    ", &set_up.join(" "));
        }
        for &caution in &choice.cautions {
            // The whole warning once, its heart every time.
            let text = &knowledge.cautions[caution].text;
            let again = !self.told.insert(caution);
            let text = if again { first_sentence(text) } else { text };
            sheet.item("  Caution  ", &words::sentence(text));
        }
        self.how(sheet, choice.step);
        self.outcomes(sheet, choice);
        if let Some(why) = choice.why.first() {
            sheet.block();
            sheet.item("  Why      ", &words::sentence(why));
        }
    }

    fn how(&self, sheet: &mut Sheet, step: Step) {
        let steps = match step {
            Step::Test { test, .. } => self.desk.knowledge.tests[test].steps.clone(),
            Step::Readings { .. } | Step::Verify => {
                vec!["Let it settle, then read all displays within a few seconds".to_owned()]
            }
            Step::Remedy(_) | Step::Stop => Vec::new(),
        };
        for (number, text) in (1..).zip(&steps) {
            let mark = if number == 1 { "  How      " } else { "           " };
            sheet.item(&format!("{mark}{number}. "), &words::sentence(text));
        }
    }

    /// What each outcome would mean, a line or two each.
    fn outcomes(&self, sheet: &mut Sheet, choice: &Choice) {
        let (knowledge, timeline) = (self.desk.knowledge, &self.timeline);
        if choice.branches.is_empty() {
            return;
        }
        sheet.block();
        sheet.line("  What it can show, and what that would mean:");
        for branch in &choice.branches {
            let seen = if branch.text.is_empty() { &branch.id } else { &branch.text };
            let leads = branch.leads.map(|(fault, p)| {
                let name = words::lower_first(&terms::fault(knowledge, fault));
                format!("{name} {}", words::percent(p))
            });
            let then = branch.then.map(|step| report::step(knowledge, timeline, step));
            let then = match (leads, then) {
                (Some(leads), Some(then)) => format!(" → {leads}; then {then}"),
                (Some(leads), None) => format!(" → {leads}"),
                (None, Some(then)) => format!(" → {then}"),
                (None, None) => String::new(),
            };
            sheet.item(
                "  - ",
                &format!(
                    "{} ({}){then}.",
                    words::lower_first(seen.trim_end_matches('.')),
                    words::percent(branch.probability)
                ),
            );
        }
    }
}

/// "was 45 %", where that reads differently from what is now.
fn was(shown: &BTreeMap<Fault, f64>, fault: Fault, now: f64) -> String {
    if shown.is_empty() {
        return String::new();
    }
    let before = shown.get(&fault).copied().unwrap_or(0.0);
    if words::percent(before) == words::percent(now) {
        String::new()
    } else {
        format!(" (was {})", words::percent(before))
    }
}

/// One line on the rules that bite; "Why?" has them in full.
fn held_back(sheet: &mut Sheet, guards: &[Guard]) {
    let short: Vec<&str> = guards
        .iter()
        .map(|guard| match guard.code {
            "chain-first" => "engine parts and mixture, until the number is proven",
            "no-load" => "full load, until you say it is safe",
            "prove-first" => "dear work, until its cause is likely",
            "look-before-moving" => {
                "remedies that would wipe out evidence, until it is written down"
            }
            other => other,
        })
        .collect();
    if !short.is_empty() {
        sheet.block();
        sheet.item("  Not now  ", &format!("{}.", short.join("; ")));
    }
}

fn first_sentence(text: &str) -> &str {
    text.split_inclusive(". ").next().map_or(text, str::trim_end)
}
