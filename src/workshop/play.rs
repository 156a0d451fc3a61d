//! One job by one way of working, from the complaint to its end.
//!
//! Counts what it cost and how it ended, and holds what the program said on the way against the truth. It
//! must not choose an act itself.

use facts::job::entry::Journal;
use facts::knowledge::{Knowledge, RunningPoint};
use measure::engine::Regime;
use measure::number::real;
use measure::units::Cost;

use super::act::{Act, Trouble, Verdict};
use super::cure::Gone;
use super::engine::{JobKind, TrueFault, VirtualEngine};
use super::field::Field;
use super::player::{Advised, advised};
use super::policy::{Memory, Policy};
use super::world::{Shown, World};

/// Probability at which a cause is said.
const SAID: f64 = 0.95;
/// Usual spreads at the point complained of, and at another steady point, from which a fault that is left
/// is noticeable (assumed).
const NOTICEABLE: [f64; 2] = [2.0, 3.0];
/// Chance that what went away in passing is back after the job (assumed).
const BACK_LATER: f64 = 0.2;

/// How a job ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
pub enum Ended {
    /// With something said.
    Said(Verdict),
    /// By the long search.
    Searched,
    /// Out of patience.
    Never,
}

/// What the program said at one moment, and whether it was so.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Claimed {
    /// Probability of the suspect (or of nothing wrong) that led.
    pub top: f64,
    /// It was the case.
    pub right: bool,
    /// Probability given to what was the case.
    pub truth: f64,
    /// Sum of squared errors over all suspects and nothing wrong.
    pub squares: f64,
}

/// One job done in one way.
#[derive(Debug, Clone, PartialEq)]
pub struct Outcome {
    /// Minutes of labour until it is cured, what came back included.
    pub total: f64,
    /// Its parts, what came back left out.
    pub cost: Cost,
    /// Acts with what they showed.
    pub acts: Vec<(Act, Shown)>,
    /// How it ended.
    pub ended: Ended,
    /// Something noticeable was left; it comes back and is searched for.
    pub left: bool,
    /// What was put right by the work meant for it.
    pub put_right: Vec<Trouble>,
    /// A fault was put right by the work meant for it, and nothing noticeable is left.
    pub cured: bool,
    /// Called proven though nothing was put right that was the matter, or something noticeable is left.
    pub false_proof: bool,
    /// Engine parts bought where nothing was the matter.
    pub parts_in_vain: u32,
    /// Tests done again at the same place with nothing touched in between: after a silent look, and after
    /// one that spoke.
    pub repeats: [u32; 2],
    /// What the program said, moment by moment; empty for other ways.
    pub claims: Vec<Claimed>,
    /// The first time a cause was given 0.95, whether it was so.
    pub sure: Option<bool>,
    /// The first time the work on a cause was given 0.95, whether it was right.
    pub sure_work: Option<bool>,
    /// Everything that was entered.
    pub journal: Journal,
}

/// Plays a job.
#[must_use]
pub fn play(field: &Field, job: &VirtualEngine, policy: Policy) -> Outcome {
    let mut world = World::open(field, job);
    let mut memory = Memory::default();
    let mut acts: Vec<(Act, Shown)> = Vec::new();
    let mut book = Book::default();
    let mut ended = Ended::Never;
    while acts.len() < policy.patience() {
        let act = if policy == Policy::Plan {
            let advised = advised(world.known, &world.timeline);
            book.note(world.known, job, &advised);
            advised.act
        } else {
            memory.next(policy, &world)
        };
        let shown = world.act(act);
        memory.note(&world, act, &shown);
        acts.push((act, shown.clone()));
        match (shown, act) {
            (Shown::End, Act::Stop(verdict)) => ended = Ended::Said(verdict),
            (Shown::Found, _) => ended = Ended::Searched,
            _ => continue,
        }
        break;
    }
    let cost = world.spent();
    let put_right: Vec<Trouble> = of(&world, |gone| gone == Some(Gone::Aimed));
    let left = came_back(&mut world, ended);
    let proven = ended == Ended::Said(Verdict::Proven);
    Outcome {
        total: world.spent().total(world.known.constants.rates),
        cost,
        repeats: repeats(&world, &acts),
        acts,
        ended,
        left,
        cured: !put_right.is_empty() && !left,
        false_proof: proven && (put_right.is_empty() || left),
        put_right,
        parts_in_vain: world.parts_in_vain,
        claims: book.claims,
        sure: book.sure,
        sure_work: book.sure_work,
        journal: world.journal,
    }
}

fn of(world: &World<'_>, gone: impl Fn(Option<Gone>) -> bool) -> Vec<Trouble> {
    let faults = world.job.faults.iter().zip(&world.gone);
    faults.filter(|(_, g)| gone(**g)).map(|(fault, _)| fault.trouble).collect()
}

/// Whether something noticeable was left, or the job never ended: then it is searched for at last.
pub fn came_back(world: &mut World<'_>, ended: Ended) -> bool {
    let back = world.job.chance.of("back later");
    for (k, gone) in world.gone.iter_mut().enumerate() {
        if *gone == Some(Gone::InPassing) && back.nth(k).happens(BACK_LATER) {
            *gone = None;
        }
    }
    let noticeable = world.job.faults.iter().zip(&world.gone);
    let noticeable = noticeable
        .filter(|(_, gone)| gone.is_none())
        .any(|(f, _)| is_noticeable(world.known, world.job, f));
    let left = ended == Ended::Never || noticeable;
    if left {
        let _ = world.search();
    }
    left
}

/// Whether somebody would notice a fault.
#[must_use]
pub fn is_noticeable(known: &Knowledge, job: &VirtualEngine, fault: &TrueFault) -> bool {
    let steady = [Regime::Idle, Regime::Cruise, Regime::Full];
    let plain = |at: Regime| {
        let least = NOTICEABLE[usize::from(at != job.said.at)];
        let usual = known.natural_sd(&job.engine, job.engine.probes, known.points.of(at));
        fault.effect.shift[at as usize].abs() >= least * usual
    };
    fault.effect.silence.is_some()
        || fault.effect.names
        || fault.effect.jumps > 0.3
        || steady.into_iter().any(plain)
}

/// Tests done again at the same place and running point with nothing touched in between.
fn repeats(world: &World<'_>, acts: &[(Act, Shown)]) -> [u32; 2] {
    let mut since: Vec<(usize, Option<u8>, Option<RunningPoint>, bool)> = Vec::new();
    let mut again = [0; 2];
    for (act, shown) in acts {
        let Act::Test { test, cylinder, at, .. } = *act else {
            if !matches!(act, Act::Read { .. }) {
                since.clear();
            }
            continue;
        };
        let known = &world.known.tests[test];
        if !known.reseats.is_empty() || !known.replaces.is_empty() || known.item.is_some() {
            since.clear();
            continue;
        }
        let same = |(t, c, a, _): &&(usize, Option<u8>, Option<RunningPoint>, bool)| {
            (*t, *c, *a) == (test, cylinder, at)
        };
        if let Some((.., spoke)) = since.iter().rev().find(same) {
            again[usize::from(*spoke)] += 1;
        }
        since.push((test, cylinder, at, *shown != Shown::Outcome(known.usual())));
    }
    again
}

/// What the program said so far.
#[derive(Default)]
struct Book {
    claims: Vec<Claimed>,
    sure: Option<bool>,
    sure_work: Option<bool>,
}

impl Book {
    fn note(&mut self, known: &Knowledge, job: &VirtualEngine, advised: &Advised) {
        let is_so = |trouble: Trouble| job.faults.iter().any(|f| f.trouble == trouble);
        let work_is_right = |trouble: Trouble| {
            job.faults.iter().map(|f| f.trouble).any(|own| {
                let same = own.work(known).is_some() && own.work(known) == trouble.work(known);
                own == trouble || own.place == trouble.place && same
            })
        };
        let leader = advised.suspects.first().copied();
        let sound = job.kind == JobKind::Sound;
        let (top, right) = match leader {
            Some((trouble, share)) if share > advised.sound => (share, is_so(trouble)),
            _ => (advised.sound, sound),
        };
        let error = |share: f64, so: bool| (share - if so { 1.0 } else { 0.0 }).powi(2);
        let suspects = || advised.suspects.iter();
        let named = |fault: &&TrueFault| suspects().any(|(t, _)| *t == fault.trouble);
        let unnamed = job.faults.iter().filter(|fault| !named(fault)).count();
        let given = suspects().filter(|(t, _)| is_so(*t)).map(|(_, share)| *share);
        let claim = Claimed {
            top,
            right,
            truth: given.fold(if sound { advised.sound } else { 0.0 }, f64::max),
            squares: error(advised.sound, sound)
                + suspects().map(|(t, share)| error(*share, is_so(*t))).sum::<f64>()
                + real(unnamed),
        };
        self.claims.push(claim);
        if self.sure.is_none() && claim.top >= SAID {
            self.sure = Some(claim.right);
        }
        if let Some((trouble, _)) = leader
            && self.sure_work.is_none()
            && advised.work >= SAID
        {
            self.sure_work = Some(work_is_right(trouble));
        }
    }
}
