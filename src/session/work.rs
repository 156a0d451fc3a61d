//! Work on one job: show where it stands, ask what to do, record it, again.

use std::collections::{BTreeMap, BTreeSet};

use super::asker::{Asked, Bench, Stop, or_back};
use super::desk::{Desk, Purpose};
use super::menu::{Act, IN_SIGHT, menu_lines};
use super::opening::engine_state;
use super::shelf::{Notebook, Shelf};
use facts::job::brief::Seen;
use facts::job::entry::{EngineState, What};
use facts::job::read::read;
use facts::job::timeline::{Standing, Timeline};
use facts::knowledge::Thermal;
use judge::commission::{Commission, commission};
use judge::diagnosis::{self, Assessment, Fault, Verification};
use judge::plan::{self, Advice, Step};
use measure::engine::Regime;
use measure::units::Celsius;
use pages::report::{self, Before};

/// What follows from the journal as it is now.
pub(super) struct Picture {
    pub(super) assessment: Assessment,
    pub(super) advice: Advice,
    pub(super) verification: Verification,
    pub(super) commission: Commission,
}

/// A job on the bench.
pub(super) struct Work<'w, 'd> {
    pub(super) desk: &'w mut Desk<'d>,
    pub(super) shelf: &'w mut dyn Shelf,
    pub(super) name: String,
    pub(super) job: Box<dyn Notebook>,
    pub(super) timeline: Timeline,
    /// Made when it is first needed after an entry.
    picture: Option<std::rc::Rc<Picture>>,
    /// Probabilities as last shown, to tell what changed.
    pub(super) shown: BTreeMap<Fault, f64>,
    /// The journal has changed since it was last shown where the job stands.
    pub(super) stale: bool,
    /// Cautions that were shown in full already.
    pub(super) told: BTreeSet<usize>,
    /// What the diagnosis said when it was last shown.
    pub(super) before: Before,
    /// Lines of the overview that stand above the main question.
    pub(super) filled: usize,
    /// The recommendation last shown.
    pub(super) advised: Option<Step>,
    /// What past jobs were last held against.
    pub(super) compared: Vec<Seen>,
    /// What was said or asked already of that for which once is enough.
    pub(super) once: BTreeSet<Once>,
    /// The entry in whose place the next one is to stand.
    pub(super) correcting: Option<usize>,
    /// Comebacks that were named.
    pub(super) comebacks_told: BTreeSet<String>,
    /// What the job is gone through for.
    pub(super) purpose: Purpose,
    /// What a thermometer shows beside the displays that are entered next.
    pub(super) beside: Option<Celsius>,
}

/// What is said or asked once a session.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Once {
    /// That the workshop's memory has its say.
    Recall,
    /// The cautions of a balance.
    Balance,
    /// What the builder's limit is.
    Limit,
}

impl<'w, 'd> Work<'w, 'd> {
    pub(super) fn new(
        desk: &'w mut Desk<'d>,
        shelf: &'w mut dyn Shelf,
        job: Box<dyn Notebook>,
        name: String,
    ) -> Self {
        let timeline = read(desk.knowledge, job.journal());
        // What is complained of is no engine to commission.
        let sound = !timeline.complaint.is_there();
        let purpose = if sound { desk.settings.purpose } else { Purpose::Complaint };
        Self {
            desk,
            shelf,
            name,
            job,
            timeline,
            picture: None,
            shown: BTreeMap::new(),
            stale: true,
            told: BTreeSet::new(),
            before: Before::default(),
            filled: 0,
            advised: None,
            compared: Vec::new(),
            once: BTreeSet::new(),
            correcting: None,
            comebacks_told: BTreeSet::new(),
            purpose,
            beside: None,
        }
    }

    /// How many entries there are, in words.
    pub(super) fn count(&self) -> String {
        report::words::count(self.job.journal().entries.len(), "entry", "entries")
    }

    /// Shows, asks and records until the job is put away; `Ok` asks for another job.
    pub(super) fn run(&mut self, fresh: bool) -> Asked<()> {
        self.on_bench();
        match self.begin(fresh) {
            Ok(()) | Err(Stop::Anew) => {}
            Err(stop) => return Err(stop),
        }
        loop {
            match self.once() {
                Ok(true) => return Ok(()),
                // A step back out of an action leads to the main question again.
                Ok(false) | Err(Stop::Back) => {}
                // What was being put together is left: what it was about may have changed.
                Err(Stop::Anew) => (self.correcting, self.beside) = (None, None),
                Err(stop) => return Err(stop),
            }
        }
    }

    fn begin(&mut self, fresh: bool) -> Asked<()> {
        if !fresh {
            self.welcome_back()?;
        } else if self.purpose != Purpose::Commission
            && or_back(self.take_readings(None, None))?.is_none()
        {
            self.desk.say("No readings yet: they can be entered at any time.")?;
            // Nothing was read, so nothing says how warm it is.
            if let Some(state) = or_back(engine_state(self.desk, EngineState::Warm))?
                && state != EngineState::Warm
            {
                self.enter(format!("state {state}"), What::State(state))?;
            }
        }
        Ok(())
    }

    /// Tells the asker which job this is and how it stands.
    pub(super) fn on_bench(&mut self) {
        let (knowledge, scale) = (self.desk.knowledge, self.desk.settings.scale);
        let open = self.timeline.standing == Standing::Open;
        let notice = report::heat_notice(knowledge, &self.timeline, scale).filter(|_| open);
        self.desk.asker.bench(Some(Bench {
            name: self.name.clone(),
            about: self.about(),
            notice,
            entries: self.job.journal().entries.len(),
        }));
    }

    /// Vehicle and complaint, or the job's name where neither was said.
    pub(super) fn about(&self) -> String {
        let head = &self.job.journal().head;
        let mut about = vec![head.vehicle.as_str(), head.complaint.as_str()];
        about.retain(|text| !text.is_empty());
        if about.is_empty() { self.name.clone() } else { about.join(": ") }
    }

    /// Reads what others have entered meanwhile and says so; whether there was anything.
    pub(super) fn look_again(&mut self) -> Asked<bool> {
        let known = self.job.journal().entries.len();
        match self.job.refresh() {
            Ok(false) => Ok(false),
            Ok(true) => {
                self.reread();
                self.tell_of_others(known, self.job.journal().entries.len())?;
                Ok(true)
            }
            Err(problem) => {
                self.desk.refuse(&problem)?;
                Ok(false)
            }
        }
    }

    /// Makes everything anew that follows from the journal.
    pub(super) fn reread(&mut self) {
        self.timeline = read(self.desk.knowledge, self.job.journal());
        self.picture = None;
        self.stale = true;
        self.on_bench();
    }

    /// Says what others entered: the entries after those known, up to a number.
    pub(super) fn tell_of_others(&mut self, known: usize, to: usize) -> Asked<()> {
        let (knowledge, scale) = (self.desk.knowledge, self.desk.settings.scale);
        for number in known + 1..=to {
            let Some(entry) = self.job.journal().entries.get(number - 1) else { continue };
            let text = report::entry_text(knowledge, &entry.what, scale);
            self.desk.say(&format!("Entered meanwhile as entry {number}: {}", ended(&text)))?;
        }
        Ok(())
    }

    fn welcome_back(&mut self) -> Asked<()> {
        let about = self.about();
        let last = self.job.journal().standing().last().map(|(number, entry)| {
            let text =
                report::entry_text(self.desk.knowledge, &entry.what, self.desk.settings.scale);
            format!(" Last entry, {number}: {}", ended(&text))
        });
        self.desk.say(&format!("{about}.{}", last.unwrap_or_default()))?;
        if self.timeline.standing == Standing::Open {
            // The engine may have cooled down since; the entries cannot know.
            let now = told_state(self.timeline.thermal);
            if let Some(state) = or_back(engine_state(self.desk, now))?
                && state != now
            {
                self.enter(format!("state {state}"), What::State(state))?;
            }
        }
        Ok(())
    }

    /// One round; true asks for another job.
    fn once(&mut self) -> Asked<bool> {
        self.look_again()?;
        self.desk.asker.rest(self.stale);
        if self.purpose == Purpose::Commission && self.commissioned()? {
            return Ok(false);
        }
        if std::mem::take(&mut self.stale) {
            self.overview(false)?;
        }
        let acts = self.acts();
        self.make_room(acts.len())?;
        let act = match self.desk.pick("What now?", &acts, 0) {
            // A key too many leads nowhere: putting the job away is a choice of its own.
            Err(Stop::Back) => {
                self.stale = true;
                return Ok(false);
            }
            other => other?,
        };
        let act = if act == Act::More {
            let acts = self.more_acts();
            self.desk.pick("More:", &acts, 0)?
        } else {
            act
        };
        match act {
            Act::More => {}
            Act::Recommended => {
                let step = self.picture().advice.best.step;
                self.record(step)?;
            }
            Act::Cannot => {
                let step = self.picture().advice.best.step;
                self.cannot_do(step)?;
            }
            Act::Show => self.show_all()?,
            Act::Alternatives => self.alternatives()?,
            Act::Readings => self.take_readings(None, None)?,
            Act::Parts => self.parts()?,
            Act::OwnTest => self.own_test()?,
            Act::Remedy => self.remedy()?,
            Act::Why => self.why()?,
            Act::Where => self.whereabouts()?,
            Act::State => self.tell_state()?,
            Act::Fitting => self.fitting()?,
            Act::ConfirmLoad => {
                self.confirm_load(self.at(Regime::Full))?;
            }
            Act::BuilderLimit => {
                or_back(self.builder_limit())?;
            }
            Act::Balance => self.balancing()?,
            Act::Limits => self.limiting()?,
            Act::Commission => {
                self.purpose = Purpose::Commission;
                self.stale = true;
            }
            Act::CommissionSheet => self.commission_sheet()?,
            Act::Journal => {
                let (knowledge, scale) = (self.desk.knowledge, self.desk.settings.scale);
                let local = self.desk.settings.local;
                let page = report::journal(knowledge, self.job.journal(), scale, local);
                self.desk.page(&page)?;
            }
            Act::Undo => self.undo()?,
            Act::Correct => self.correct()?,
            Act::Card => self.card()?,
            Act::Close => self.close()?,
            Act::Reopen => {
                self.enter("reopen".to_owned(), What::Reopen)?;
            }
            Act::OtherJob => return Ok(true),
            Act::PutAway => return Err(Stop::Leave),
        }
        Ok(false)
    }

    /// A menu must not push what was just shown off the screen unread.
    pub(super) fn make_room(&mut self, choices: usize) -> Asked<()> {
        let rows = self.desk.settings.rows();
        let free = rows.saturating_sub(std::mem::take(&mut self.filled));
        if free >= menu_lines(choices.min(IN_SIGHT)) {
            self.desk.asker.room(free);
            return Ok(());
        }
        self.desk.asker.more()
    }

    /// The whole pages, as the commands give them with `--detail`, then the overview in full.
    fn show_all(&mut self) -> Asked<()> {
        let picture = self.picture();
        let (knowledge, scale) = (self.desk.knowledge, self.desk.settings.scale);
        let timeline = &self.timeline;
        let suspects = report::suspects(
            knowledge,
            timeline,
            &picture.assessment,
            (scale, self.desk.settings.local),
        );
        let advice = &picture.advice;
        let next =
            report::next(knowledge, timeline, &picture.assessment, advice, &self.name, scale);
        self.desk.page(&suspects)?;
        if self.timeline.standing == Standing::Open {
            self.desk.page(&next)?;
        }
        if self.desk.on_page() {
            // Where the job stands is kept in sight there.
            return Ok(());
        }
        self.overview(true)
    }

    /// The answer to the journal as it is now.
    pub(super) fn picture(&mut self) -> std::rc::Rc<Picture> {
        let (knowledge, timeline) = (self.desk.knowledge, &self.timeline);
        let made = self.picture.get_or_insert_with(|| {
            let diagnosis = diagnosis::diagnose(knowledge, timeline);
            let advice = plan::advise(&diagnosis);
            let ends = plan::ends(&diagnosis);
            let commission = commission(&diagnosis, &ends, &advice.guards);
            let (assessment, verification) = (diagnosis.assessment, ends.verification);
            std::rc::Rc::new(Picture { assessment, advice, verification, commission })
        });
        made.clone()
    }
}

/// The state as it would be told at the counter.
pub(super) fn told_state(thermal: Thermal) -> EngineState {
    match thermal {
        Thermal::ColdSoaked => EngineState::ColdSoaked,
        Thermal::Cold | Thermal::Cool => EngineState::Cold,
        Thermal::Hot | Thermal::Idle | Thermal::Cruise | Thermal::Full => EngineState::Warm,
    }
}

/// With one full stop at its end.
pub(super) fn ended(text: &str) -> String {
    format!("{}.", text.trim_end_matches('.'))
}
