//! Where the job stands and what to do next, short enough for a screen.

use std::collections::BTreeMap;

use super::asker::Asked;
use super::sheet::{Sheet, short};
use super::work::{Picture, Work};
use crate::diagnosis::Fault;
use crate::job::brief::Brief;
use crate::job::timeline::Standing;
use crate::plan::{Choice, Step};
use crate::report::{self, terms, words};
use crate::search;

/// Suspects that are shown.
const SHOWN: usize = 4;
/// A suspect below this is not worth a line.
const NEGLIGIBLE: f64 = 0.01;
/// A suspect that was above this and is no longer shown is named all the same.
const FALLEN: f64 = 0.1;
/// Characters that a step to come may take in the table of outcomes.
const THEN: usize = 60;

impl Work<'_, '_> {
    /// Shows suspects, what changed, how a remedy did, and the recommendation.
    ///
    /// A recommendation that stood there before is only named, unless all is wanted.
    pub(super) fn overview(&mut self, whole: bool) -> Asked<()> {
        let picture = self.picture();
        let mut sheet = Sheet::new(self.desk.settings.width);
        // An empty line above, too: an entry was confirmed there.
        sheet.block();
        sheet.gap();
        let scale = self.desk.settings.scale;
        if self.timeline.standing == Standing::Open
            && let Some(line) = report::heat_line(self.desk.knowledge, &self.timeline, scale)
        {
            sheet.line(&line);
        }
        self.suspects(&mut sheet, &picture);
        if let Some(line) = self.past() {
            sheet.item("  ", &line);
        }
        for line in report::comebacks(self.desk.knowledge, &self.timeline, &picture.assessment) {
            // Each once: the card and the page of suspects have them for good.
            if self.comebacks_told.insert(line.clone()) {
                sheet.item("! ", &words::sentence(&line));
            }
        }
        if let Some(line) = report::recalled(self.desk.knowledge, &picture.assessment)
            && !std::mem::replace(&mut self.recall_told, true)
        {
            sheet.item("  ", &line);
        }
        if report::remedied(&self.timeline) {
            self.remedy_so_far(&mut sheet, &picture);
        }
        if self.timeline.standing == Standing::Open {
            let best = &picture.advice.best;
            if self.advised == Some(best.step) && !matches!(best.step, Step::End(_)) && !whole {
                self.as_before(&mut sheet, best);
            } else {
                self.choice(&mut sheet, "NEXT: ", best);
            }
            self.advised = Some(best.step);
            // In full once; later "Why?" has it.
            let rules: Vec<&'static str> = picture.advice.guards.iter().map(|g| g.code).collect();
            if self.rules_told != rules && !matches!(best.step, Step::End(_)) {
                held_back(&mut sheet, &rules);
                self.rules_told = rules;
            }
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
        sheet.foot();
        self.desk.show(&sheet)
    }

    /// What past jobs with readings like these came to, when the readings are new.
    fn past(&mut self) -> Option<String> {
        let job = Brief::of(self.job.journal());
        if job.seen.is_empty() || job.seen == self.compared {
            return None;
        }
        let knowledge = self.desk.knowledge;
        let before = search::before(knowledge, &job, &self.shelf.past());
        self.compared = job.seen;
        report::readings_before(knowledge, &before)
    }

    fn suspects(&self, sheet: &mut Sheet, picture: &Picture) {
        let (knowledge, timeline) = (self.desk.knowledge, &self.timeline);
        let assessment = &picture.assessment;
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
        for (fault, name, probability) in &list {
            let now = words::chance(*probability);
            let was = was(&self.shown, *fault, *probability);
            sheet.item("  ", &format!("{name}: {now}{was}"));
        }
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

    /// A choice that was shown in full before.
    fn as_before(&self, sheet: &mut Sheet, choice: &Choice) {
        let what = report::step(self.desk.knowledge, &self.timeline, choice.step);
        sheet.block();
        sheet.item("NEXT: ", &format!("As before: {}", words::lower_first(&what)));
        sheet.item("  Takes    ", &words::cost(choice.cost));
        sheet.item("  ", "How, cautions and outcomes again: under \"More\".");
    }

    /// A choice with all that must be known before it is done.
    pub(super) fn choice(&mut self, sheet: &mut Sheet, mark: &str, choice: &Choice) {
        let (knowledge, timeline) = (self.desk.knowledge, &self.timeline);
        sheet.block();
        let what = report::step(knowledge, timeline, choice.step);
        sheet.item(mark, &words::upper_first(&what));
        if matches!(choice.step, Step::End(_)) {
            if timeline.is_recorded() {
                sheet.item("  ", "It is written down: what is left is to close the job.");
                return;
            }
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
    }

    fn how(&self, sheet: &mut Sheet, step: Step) {
        let steps = match step {
            Step::Test { test, .. } => self.desk.knowledge.tests[test].steps.clone(),
            Step::Readings { .. } | Step::Verify { .. } => {
                vec!["Let it settle, then read all displays within a few seconds".to_owned()]
            }
            Step::Remedy(_) | Step::PutBack { .. } | Step::End(_) => Vec::new(),
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
        let here = match choice.step {
            Step::Test { cylinder, .. } => cylinder,
            _ => None,
        };
        sheet.block();
        sheet.item("  ", "What it can show, and what that would mean:");
        for branch in &choice.branches {
            let seen = if branch.text.is_empty() { &branch.id } else { &branch.text };
            let leads = branch.leads.map(|(fault, p)| {
                // The cylinder that the step is about stands in its title.
                let name = if here.is_some() && fault.place.cylinder() == here {
                    fault.cause.name(knowledge).to_owned()
                } else {
                    terms::fault(knowledge, fault)
                };
                format!("{}: {}", words::lower_first(&name), words::percent(p))
            });
            let then =
                branch.then.map(|step| short(&report::step(knowledge, timeline, step), THEN));
            let then = match (leads, then) {
                (Some(leads), Some(then)) => format!(" → {leads}; then {then}"),
                (Some(leads), None) => format!(" → {leads}"),
                (None, Some(then)) => format!(" → {then}"),
                (None, None) => String::new(),
            };
            sheet.item(
                "  - ",
                &format!(
                    "{} ({}){then}",
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
fn held_back(sheet: &mut Sheet, rules: &[&'static str]) {
    let held: Vec<&str> = rules
        .iter()
        .map(|&rule| match rule {
            "chain-first" => "engine parts, mixture",
            "no-load" => "full load",
            "prove-first" => "expensive work",
            "look-before-moving" => "remedies that hide evidence",
            other => other,
        })
        .collect();
    if !held.is_empty() {
        sheet.block();
        sheet.item("  Not now  ", &format!("{} (see Why?)", held.join(", ")));
    }
}

fn first_sentence(text: &str) -> &str {
    text.split_inclusive(". ").next().map_or(text, str::trim_end)
}
