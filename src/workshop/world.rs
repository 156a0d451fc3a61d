//! A virtual engine being worked on: what it answers to whatever is done to it.
//!
//! Every answer has a key of its own, so that the same question gets the same answer whoever asks. It
//! keeps a plain journal, so that time and set-ups are reckoned as in any job. It must not know who
//! asks, nor why, nor use anything of what is measured in it.

use std::collections::BTreeMap;

use jiff::Timestamp;

use facts::job::complaint::{Details, Does};
use facts::job::entry::{Entry, FORMAT, FOURTH_FORMAT, Head, Journal, Reading, What};
use facts::job::read::{minutes_spent, read, thermal_of};
use facts::job::timeline::Timeline;
use facts::knowledge::{Item, Knowledge, RunningPoint, Seat, TestKind};
use measure::engine::{Cylinder, Place, PointId, Regime};
use measure::units::Cost;

use super::act::{Act, Verdict};
use super::chance::Chance;
use super::cure::{Gone, Work, what_becomes};
use super::engine::{Said, Told, TrueFault, VirtualEngine};
use super::field::Field;
use super::parts::Parts;
use super::reading::Look;

/// What an act brought to light.
#[derive(Debug, Clone, PartialEq)]
pub enum Shown {
    /// Readings, the last of the world.
    Readings,
    /// The outcome of a test, by index.
    Outcome(usize),
    /// Work was done; readings must show what it did.
    Done,
    /// A long search found everything that is the matter, and it was put right.
    Found,
    /// The job is at its end.
    End,
}

/// A virtual engine in the workshop.
#[derive(Debug, Clone)]
pub struct World<'a> {
    pub(super) field: &'a Field,
    /// What the mechanic goes by.
    pub known: &'a Knowledge,
    /// The engine.
    pub job: &'a VirtualEngine,
    /// Everything done.
    pub journal: Journal,
    /// The same, read.
    pub timeline: Timeline,
    /// The last readings and where they were taken.
    pub last: Option<(RunningPoint, Vec<Reading>)>,
    /// How each fault went away, if it has.
    pub gone: Vec<Option<Gone>>,
    /// Engine parts bought where nothing was the matter.
    pub parts_in_vain: u32,
    pub(super) parts: Parts,
    /// Which faults show at this moment: one that comes and goes may rest.
    pub(super) showing: Vec<bool>,
    refitted: Vec<u32>,
    /// How often what sits on a seat was renewed or put right, by cylinder.
    pub(super) renewed: BTreeMap<(Seat, Cylinder), u32>,
    /// Cost that no entry stands for, as a search.
    beside: Cost,
    /// Cost of what was read before the job came in.
    before: Cost,
    /// How often each thing was done.
    times: BTreeMap<String, u32>,
}

impl<'a> World<'a> {
    /// An engine as it comes in: complained of, and read once at the point complained of.
    #[must_use]
    pub fn open(field: &'a Field, job: &'a VirtualEngine) -> Self {
        let known = field.known(&job.preset);
        let journal = Journal { format: FORMAT, head: head(job), entries: Vec::new() };
        let mut world = Self {
            field,
            known,
            job,
            timeline: read(known, &journal),
            journal,
            last: None,
            gone: vec![None; job.faults.len()],
            parts_in_vain: 0,
            parts: Parts::new(&job.engine),
            showing: vec![true; job.faults.len()],
            refitted: vec![0; usize::from(job.engine.cylinders)],
            renewed: BTreeMap::new(),
            beside: Cost::default(),
            before: Cost::default(),
            times: BTreeMap::new(),
        };
        if !world.journal.head.details.is_empty() {
            world.journal.format = FOURTH_FORMAT;
        }
        world.take(known.points.of(job.said.at));
        if known.points.of(job.said.at).thermal != thermal_of(job.state) {
            world.enter(What::State(job.state));
        }
        world.before = minutes_spent(known, &world.journal);
        world
    }

    /// What was spent since the engine came in.
    #[must_use]
    pub fn spent(&self) -> Cost {
        let all = minutes_spent(self.known, &self.journal) + self.beside;
        Cost {
            hands_on: all.hands_on - self.before.hands_on,
            wait: all.wait - self.before.wait,
            parts: all.parts - self.before.parts,
        }
    }

    /// Does something.
    pub fn act(&mut self, act: Act) -> Shown {
        match act {
            Act::Read { at } => self.take(at),
            Act::Test { test, cylinder, partner, at } => self.test(test, (cylinder, partner), at),
            Act::Remedy { cause, place } => self.remedy(cause, place),
            Act::Search => self.search(),
            Act::PutBack { item, a, b } => self.exchange(item, a, b),
            Act::Stop(verdict) => self.stop(verdict),
        }
    }

    /// Whether anything was put right.
    #[must_use]
    pub fn remedied(&self) -> bool {
        self.journal.entries.iter().any(|entry| matches!(entry.what, What::Remedy { .. }))
    }

    fn stop(&mut self, verdict: Verdict) -> Shown {
        if verdict == Verdict::Normal && !self.remedied() {
            self.enter(What::Recorded);
        }
        self.enter(What::Close { proven: verdict == Verdict::Proven, reason: None });
        Shown::End
    }

    /// Goes over everything until it is found, and puts it right.
    pub fn search(&mut self) -> Shown {
        self.beside = self.beside + self.known.constants.unlisted_cure;
        for k in 0..self.job.faults.len() {
            if self.gone[k].is_none() {
                let cause = self.job.faults[k].trouble.cause;
                let remedy = cause.and_then(|cause| self.known.causes[cause].remedy.as_ref());
                self.beside = self.beside + remedy.map(|r| r.cost).unwrap_or_default();
                self.gone[k] = Some(Gone::Searched);
            }
        }
        Shown::Found
    }

    fn enter(&mut self, what: What) {
        let at = self.timeline.point_of(self.known, &what);
        self.enter_at(what, at);
    }

    /// The same of what was seen while the engine ran at a point.
    fn enter_at(&mut self, what: What, at: Option<PointId>) {
        let entry = Entry { at, ..Entry::new(Timestamp::UNIX_EPOCH, String::new(), what) };
        self.journal.format = self.journal.format.max(entry.format());
        self.journal.entries.push(entry);
        self.timeline = read(self.known, &self.journal);
    }

    /// A chance that hangs on what is done and how often it has been done, not on when.
    pub(super) fn keyed(&mut self, what: &str) -> Chance {
        let times = self.times.entry(what.to_owned()).or_default();
        *times += 1;
        self.job.chance.of(what).nth(*times)
    }

    /// Which faults show now.
    pub(super) fn look(&mut self, chance: Chance) {
        for (k, fault) in self.job.faults.iter().enumerate() {
            let on = fault
                .effect
                .comes_and_goes
                .is_none_or(|share| chance.of("shows").nth(k).happens(share));
            self.showing[k] = on && self.gone[k].is_none();
        }
    }

    /// Takes readings of all displays.
    fn take(&mut self, at: RunningPoint) -> Shown {
        let chance = self.keyed(&format!("read {at}"));
        for gone in &mut self.gone {
            // A contact that was stirred holds for a while.
            if *gone == Some(Gone::InPassing) && chance.of("back").happens(Gone::BACK) {
                *gone = None;
            }
        }
        self.look(chance);
        let look = Look {
            job: self.job,
            parts: &self.parts,
            there: &self.showing,
            at: at.regime,
            refitted: &self.refitted,
            early: self.last.is_none(),
        };
        let readings = look.readings(chance);
        self.last = Some((at, readings.clone()));
        self.enter(What::Temps { at: at.id, site: self.job.engine.probes, readings, from: None });
        Shown::Readings
    }

    fn test(
        &mut self,
        test: usize,
        (cylinder, partner): (Option<Cylinder>, Option<Cylinder>),
        at: Option<RunningPoint>,
    ) -> Shown {
        let known = &self.known.tests[test];
        if let (Some(item), Some(a)) = (known.item, cylinder) {
            if let (TestKind::Exchange, Some(b)) = (known.kind, partner) {
                return self.exchange(item, a, b);
            }
            let new = known.kind == TestKind::Substitute;
            self.disturb(&Work::of_test(known, &[a]), &format!("remake {item} {a} {new}"));
            self.enter(What::Remake { item, cylinder: a, new });
            return Shown::Done;
        }
        // Who is not told where looks where the engine was read last.
        let at = at.or(self.last.as_ref().map(|(at, _)| *at)).filter(|_| known.at_point);
        let (outcome, partner) = self.answer(test, cylinder, at.map(|at| at.regime));
        let what = What::Found {
            test: known.id.clone(),
            outcome: known.outcomes[outcome].id.clone(),
            cylinder,
            partner,
        };
        let cylinders: Vec<Cylinder> =
            cylinder.map_or_else(|| self.job.engine.all().collect(), |c| vec![c]);
        let work = Work::of_test(known, &cylinders);
        if !work.is_nothing() {
            self.disturb(&work, &format!("{} {}", known.id, cylinder.unwrap_or(0)));
        }
        let at = at.map(|at| at.id);
        let at = at.or_else(|| self.timeline.point_of(self.known, &what));
        self.enter_at(what, at);
        Shown::Outcome(outcome)
    }

    fn exchange(&mut self, item: Item, a: Cylinder, b: Cylinder) -> Shown {
        let test = facts::job::timeline::test_for(item, true, false);
        if let Some(test) = self.known.test(test) {
            let work = Work::of_test(&self.known.tests[test], &[a, b]);
            self.disturb(&work, &format!("exchange {item} {} {}", a.min(b), a.max(b)));
        }
        self.parts.exchange(&self.job.engine, item, a, b);
        self.enter(What::Exchange { item, a, b });
        Shown::Done
    }

    fn remedy(&mut self, cause: usize, place: Place) -> Shown {
        let known = &self.known.causes[cause];
        let numbers = place.cylinders(&self.job.engine);
        let on_it =
            |f: &TrueFault| f.seat == known.seat && f.numbers.iter().any(|n| numbers.contains(n));
        let buys = known.remedy.as_ref().is_some_and(|remedy| remedy.cost.parts > 0.0);
        if buys && !self.known.is_measuring(cause) && !self.job.faults.iter().any(on_it) {
            self.parts_in_vain += 1;
        }
        let work = Work::of_remedy(self.known, cause, place, &numbers);
        self.disturb(&work, &format!("remedy {} {}", known.id, place.code()));
        self.enter(What::Remedy { cause: known.id.clone(), place });
        Shown::Done
    }

    /// Lets what is undone, renewed or put right change.
    fn disturb(&mut self, work: &Work<'_>, key: &str) {
        let chance = self.keyed(key);
        for (k, fault) in self.job.faults.iter().enumerate() {
            let aimed = work.aims_at(self.known, fault);
            let share = work.undoes(&self.parts, &self.job.engine, fault);
            self.gone[k] = what_becomes(self.gone[k], fault, aimed, share, chance.nth(k));
        }
        for place in work.renews(self.known) {
            *self.renewed.entry(place).or_default() += 1;
        }
        for cylinder in work.refits() {
            if let Some(times) = self.refitted.get_mut(usize::from(cylinder) - 1) {
                *times += 1;
            }
        }
    }
}

/// The head of the job, with as much of the complaint as is said.
fn head(job: &VirtualEngine) -> Head {
    let said = &job.said;
    let complaint = match said.told {
        Told::Little => "one display is not like the others".to_owned(),
        Told::Sentence | Told::Full => sentence(said),
    };
    let details = match said.told {
        Told::Full => Details {
            at: Some(said.at.into()),
            cylinder: Some(said.display),
            does: Some(said.does),
            since: job.recent.first().filter(|_| said.since).cloned(),
            ..Details::default()
        },
        Told::Little | Told::Sentence => Details::default(),
    };
    Head {
        opened: Timestamp::UNIX_EPOCH,
        typed: format!("open job --engine {}", job.preset),
        vehicle: "a virtual engine".to_owned(),
        complaint,
        engine_name: job.preset.clone(),
        engine: job.engine.clone(),
        recent: job.recent.clone(),
        state: job.state,
        details,
    }
}

/// The complaint as a customer would say it.
#[must_use]
pub fn sentence(said: &Said) -> String {
    let at = match said.at {
        Regime::ColdSoak => "cold",
        Regime::Warming => "while it warms up",
        Regime::Idle => "at idle",
        Regime::Cruise => "at cruise",
        Regime::Full => "at full load",
    };
    let cylinder = said.display;
    match said.does {
        Does::Low => format!("cylinder {cylinder} reads low {at}"),
        Does::High => format!("cylinder {cylinder} reads high {at}"),
        Does::Jumps => format!("cylinder {cylinder} jumps about {at}"),
        Does::Dead => format!("cylinder {cylinder} shows nothing {at}"),
        Does::Misses => format!("it misses {at}, cylinder {cylinder} is odd"),
        Does::Pings | Does::RunsOn => format!("it pings {at}, cylinder {cylinder} is odd"),
    }
}
