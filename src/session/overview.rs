//! Where the job stands and what to do next, short enough for a screen.

use std::collections::BTreeMap;

use super::asker::Asked;
use super::sheet::{Sheet, short};
use super::work::{Once, Picture, Work};
use facts::job::brief::Brief;
use facts::job::timeline::Standing;
use judge::diagnosis::{Assessment, Fault};
use judge::plan::{Choice, Step};
use judge::search;
use pages::report::{self, Before, Known, Room, Style, terms, words};

/// Suspects that are named.
const SHOWN: usize = 2;
/// A suspect below this is not worth a word.
const NEGLIGIBLE: f64 = 0.05;
/// Lines below which a step is not squeezed: what does not fit goes on another screen.
const LEAST: usize = 12;

impl Work<'_, '_> {
    /// Shows the head, what changed, how a remedy did, and the recommendation.
    ///
    /// A recommendation that stood there before is only named, unless all is wanted.
    pub(super) fn overview(&mut self, whole: bool) -> Asked<()> {
        let picture = self.picture();
        if whole {
            self.told.clear();
        }
        let mut sheet = Sheet::new(self.desk.settings.width);
        // An empty line above, too: an entry was confirmed there.
        sheet.block();
        sheet.gap();
        self.head(&mut sheet, &picture);
        if let Some(line) = self.past() {
            sheet.item("  ", &line);
        }
        let (knowledge, local) = (self.desk.knowledge, self.desk.settings.local);
        for line in report::comebacks(knowledge, &self.timeline, &picture.assessment, local) {
            // Each once: the card and the page of suspects have them for good.
            if self.comebacks_told.insert(line.clone()) {
                sheet.item("! ", &words::sentence(&line));
            }
        }
        if let Some(line) = report::recalled(self.desk.knowledge, &picture.assessment)
            && self.once.insert(Once::Recall)
        {
            sheet.item("  ", &line);
        }
        if report::remedied(&self.timeline) {
            self.remedy_so_far(&mut sheet, &picture);
        }
        if self.timeline.standing == Standing::Open {
            let best = &picture.advice.best;
            let whole = whole || self.desk.on_page();
            if self.advised == Some(best.step) && !matches!(best.step, Step::End(_)) && !whole {
                self.as_before(&mut sheet, best);
            } else {
                self.choice(&mut sheet, best);
            }
            self.advised = Some(best.step);
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
        self.before = Before::of(&picture.assessment);
        sheet.foot();
        self.filled = sheet.last_page(self.desk.settings.height);
        self.desk.show(&sheet)
    }

    /// What stands at the top of every overview: the complaint, heat, the verdict, what changed.
    fn head(&self, sheet: &mut Sheet, picture: &Picture) {
        let (knowledge, timeline) = (self.desk.knowledge, &self.timeline);
        let scale = self.desk.settings.scale;
        // A page has these always in sight.
        if !self.desk.on_page() {
            sheet.line(&short(&self.about(), self.desk.settings.width));
            if timeline.standing == Standing::Open
                && let Some(line) = report::heat_line(knowledge, timeline, scale)
            {
                sheet.line(&line);
            }
        }
        sheet.line(&report::verdict(knowledge, timeline, &picture.assessment));
        if picture.assessment.surprise.unexplained {
            sheet.item("! ", &words::sentence(report::UNEXPLAINED));
        }
        let assessment = &picture.assessment;
        if !self.shown.is_empty()
            && let Some(line) =
                report::after_exchange(knowledge, timeline, &self.before, assessment)
        {
            sheet.line(&line);
        }
        if !(timeline.sets.is_empty() && timeline.findings.is_empty()) {
            self.suspects(sheet, picture);
        }
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

    /// The likeliest suspects, and what they were when last shown.
    fn suspects(&self, sheet: &mut Sheet, picture: &Picture) {
        let (knowledge, timeline) = (self.desk.knowledge, &self.timeline);
        let list: Vec<String> = picture
            .assessment
            .suspects
            .iter()
            .take(SHOWN)
            .filter(|suspect| suspect.probability >= NEGLIGIBLE)
            .map(|suspect| {
                let name = terms::fault_now(knowledge, timeline, suspect.fault);
                let was = was(&self.shown, suspect.fault, suspect.probability);
                format!("{name} ({}{was})", words::percent(suspect.probability))
            })
            .collect();
        // What is proven is suspected no more.
        let proven = picture.verification.verified();
        let (label, list) = if proven {
            ("Cause: ", &list[..list.len().min(1)])
        } else {
            ("Suspects: ", &list[..])
        };
        if !list.is_empty() {
            sheet.item(label, &words::sentence(&list.join("; ")));
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
        sheet.item("Next: ", &format!("as before, {}", words::lower_first(&what)));
        sheet.item("  Takes    ", &words::cost(choice.cost));
        sheet.item("  ", "How and cautions again: under \"More\".");
    }

    /// What pages of this job are made of.
    pub(super) fn known<'a>(&'a self, assessment: &'a Assessment) -> Known<'a> {
        Known {
            knowledge: self.desk.knowledge,
            timeline: &self.timeline,
            assessment,
            scale: self.desk.settings.scale,
            local: self.desk.settings.local,
        }
    }

    /// A choice with all that must be known before it is done: as the page of what to do next has it.
    pub(super) fn choice(&mut self, sheet: &mut Sheet, choice: &Choice) {
        let picture = self.picture();
        let known = self.known(&picture.assessment);
        let left = self.desk.settings.height.saturating_sub(sheet.height() + 1);
        let room = Room { lines: left.max(LEAST), job: None, told: &self.told, foot: "" };
        let doc = report::step_at_a_glance(&known, choice, &room);
        sheet.page(&doc, Style::Plain);
        // Whole once, its heart every time after.
        if !self.desk.on_page() {
            self.told.extend(choice.cautions.first());
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
        format!(", was {}", words::percent(before))
    }
}
