//! Simulation-based calibration of the diagnosis (Cook, Gelman and Rubin 2006; Talts and others 2018).
//!
//! Jobs are drawn from the model itself and judged by the very code that judges a workshop's. If the
//! posterior is right, the place of the truth in it is even between nought and one. Parameters are
//! discrete, so that it is the randomised form: what lies before the truth in some order, and an even
//! share of its own. The sampler is written from the distributions and asks the likelihood nothing.
//!
//! What cannot be drawn from exactly: numbers beyond what may be entered (drawn anew), the level of a box
//! that is wrong (the model compares medians), shifts in proportion to a level that the model takes from
//! the readings, a number that happens to lie at the box's own temperature. Scales of spread and
//! repeatability are drawn from their lognormals, of which the likelihood sums a few points.

mod claims;
mod course;
mod dice;
mod draw;
mod field;
mod hypothesis;
mod level;
mod look;
mod rank;
mod shift;
mod state;
mod uniform;

use std::collections::BTreeMap;

use facts::job::read::read;
use facts::knowledge::{Knowledge, embedded::embedded, load};
use measure::engine::Place;

use super::assess::{Diagnosis, diagnose};
use super::result::{CauseRef, Fault};
use claims::Claims;
use dice::Dice;
use draw::{Job, Scene};
use rank::rank;

/// Kinds of engine, with one bank and two, rich and lean, spark and none.
const ENGINES: [&str; 5] = [
    "inline-three-port",
    "inline-four-port",
    "inline-four-carburettor",
    "inline-four-diesel",
    "v6-port",
];

/// Hypotheses in a list that is full.
const FULL: usize = 400;

/// What stands for a hypothesis in the fixed order: its causes by id and place.
type Name = Vec<(String, Place)>;

fn name(knowledge: &Knowledge, faults: &[Fault]) -> Name {
    let mut name: Name =
        faults.iter().map(|f| (f.cause.id(knowledge).to_owned(), f.place)).collect();
    name.sort();
    name
}

/// The groups at the top of the fault tree that a hypothesis is of.
fn groups(knowledge: &Knowledge, faults: &[Fault]) -> Vec<usize> {
    let top = |mut group: usize| {
        while let Some(parent) = knowledge.groups[group].parent {
            group = parent;
        }
        group
    };
    let mut list: Vec<usize> = faults
        .iter()
        .map(|f| match f.cause {
            CauseRef::Listed(index) => top(knowledge.causes[index].group),
            CauseRef::Unlisted => usize::MAX,
        })
        .collect();
    list.sort_unstable();
    list
}

/// What a hypothesis is by its build.
fn class(knowledge: &Knowledge, faults: &[Fault]) -> &'static str {
    let passes = faults.iter().any(|f| f.cause.passes(knowledge));
    let misnamed = faults.iter().any(|f| f.cause.misnames(knowledge));
    match (faults, passes, misnamed) {
        ([], ..) => "nothing",
        ([_], true, _) => "not steady",
        ([_], _, true) => "misnamed",
        ([one], ..) if one.cause == CauseRef::Unlisted => "in no list",
        ([one], ..) if one.place == Place::Nowhere => "whole box",
        ([one], ..) if one.cause.is_measuring(knowledge) => "one, of the chain",
        ([_], ..) => "one, of the engine",
        (_, true, _) => "two, one not steady",
        (_, _, true) => "two, one misnamed",
        _ => "two faults",
    }
}

/// Ranks by statistic and claims by what is claimed.
#[derive(Default)]
struct Tally {
    ranks: BTreeMap<String, Vec<f64>>,
    claims: BTreeMap<String, Claims>,
    leading: Claims,
}

const STATISTICS: [&str; 5] = [
    "1 cause and place",
    "2 group",
    "3 nothing wrong",
    "4 likeliest first",
    "5 the same, if listed",
];

impl Tally {
    fn rank(&mut self, name: &str, rank: f64) {
        self.ranks.entry(name.to_owned()).or_default().push(rank);
    }

    fn claim(&mut self, name: &str, claimed: f64, so: bool) {
        self.claims.entry(name.to_owned()).or_default().push(claimed, so);
    }

    fn take(
        &mut self,
        knowledge: &Knowledge,
        job: &Job,
        engine: &str,
        judged: &Judged,
        dice: &mut Dice,
    ) {
        let truth = name(knowledge, &job.truth);
        let by_name = |a: &(Name, f64), b: &(Name, f64)| a.0.cmp(&b.0);
        self.rank(STATISTICS[0], rank(&judged.posterior, &truth, by_name, dice.even()));
        let by_group = |a: &(Vec<usize>, f64), b: &(Vec<usize>, f64)| a.0.cmp(&b.0);
        let of = groups(knowledge, &job.truth);
        self.rank(STATISTICS[1], rank(&judged.groups, &of, by_group, dice.even()));
        let sound = truth.is_empty();
        let healthy = [(true, judged.healthy), (false, 1.0 - judged.healthy)];
        let first = |a: &(bool, f64), b: &(bool, f64)| b.0.cmp(&a.0);
        self.rank(STATISTICS[2], rank(&healthy, &sound, first, dice.even()));
        let likeliest =
            |a: &(Name, f64), b: &(Name, f64)| b.1.total_cmp(&a.1).then_with(|| a.0.cmp(&b.0));
        let by_chance = rank(&judged.posterior, &truth, likeliest, dice.even());
        self.rank(STATISTICS[3], by_chance);
        // Of what is in the list alone: given that the truth is among it, it is as likely as the list says.
        let listed = judged.posterior.iter().any(|(name, _)| *name == truth);
        if listed {
            self.rank(STATISTICS[4], by_chance);
        }
        // The same by how the job was read.
        let read = if job.design.again { "a point read again" } else { "each point once" };
        let looked = if job.design.looked { "with looks" } else { "numbers alone" };
        for of in [read, looked, engine].into_iter().filter(|_| listed) {
            self.rank(&format!("5 {of}"), by_chance);
        }

        let is = class(knowledge, &job.truth);
        for (class, claimed) in &judged.classes {
            self.claim(class, *claimed, *class == is);
            if listed {
                self.claim(&format!("listed: {class}"), *claimed, *class == is);
            }
        }
        self.claim("left out", judged.left_out, !listed);
        if judged.posterior.len() == FULL {
            self.claim("left out of a full list", judged.left_out, !listed);
        }
        self.claim(&format!("left out, {engine}"), judged.left_out, !listed);
        self.claim("~ begun between sets", judged.begun, job.course.begun);
        self.claim("~ rested at a set", judged.rested, job.course.rested);
        for (cause, claimed) in &judged.causes {
            let so = truth.iter().any(|(id, _)| id == cause);
            self.claim(&format!("= {cause}"), *claimed, so);
        }
        let (suspect, claimed) = &judged.leading;
        self.leading.push(*claimed, suspect.map_or(sound, |fault| job.truth.contains(&fault)));
    }

    fn join(&mut self, other: Self) {
        for (name, ranks) in other.ranks {
            self.ranks.entry(name).or_default().extend(ranks);
        }
        for (name, claims) in other.claims {
            self.claims.entry(name).or_default().join(claims);
        }
        self.leading.join(other.leading);
    }
}

/// What the diagnosis says of a job, as far as it is compared.
struct Judged {
    posterior: Vec<(Name, f64)>,
    groups: Vec<(Vec<usize>, f64)>,
    classes: BTreeMap<&'static str, f64>,
    /// By id.
    causes: BTreeMap<String, f64>,
    healthy: f64,
    /// Mass that the diagnosis says it did not weigh, or did not hand on.
    left_out: f64,
    begun: f64,
    rested: f64,
    /// The likeliest suspect, or nothing wrong.
    leading: (Option<Fault>, f64),
}

impl Judged {
    fn of(knowledge: &Knowledge, diagnosis: &Diagnosis<'_>) -> Self {
        let answer = &diagnosis.assessment;
        let classes = ["nothing", "not steady", "misnamed", "in no list", "whole box"];
        let more = ["one, of the chain", "one, of the engine", "two, one not steady"];
        let last = ["two, one misnamed", "two faults"];
        let all = classes.iter().chain(&more).chain(&last);
        let mut classes: BTreeMap<&'static str, f64> = all.map(|class| (*class, 0.0)).collect();
        let mut causes: BTreeMap<String, f64> =
            knowledge.causes.iter().map(|cause| (cause.id.clone(), 0.0)).collect();
        causes.insert(CauseRef::Unlisted.id(knowledge).to_owned(), 0.0);
        let mut by_group: BTreeMap<Vec<usize>, f64> = BTreeMap::new();
        let mut posterior = Vec::with_capacity(answer.hypotheses.len());
        let (mut begun, mut rested) = (0.0, 0.0);
        let looks = diagnosis.model.data.sets.len();
        for (hypothesis, weighed) in answer.hypotheses.iter().zip(&diagnosis.kept) {
            let (faults, chance) = (&hypothesis.faults, hypothesis.probability);
            *classes.entry(class(knowledge, faults)).or_default() += chance;
            *by_group.entry(groups(knowledge, faults)).or_default() += chance;
            let name = name(knowledge, faults);
            let mut ids: Vec<&String> = name.iter().map(|(id, _)| id).collect();
            ids.dedup();
            for id in ids {
                *causes.entry(id.clone()).or_default() += chance;
            }
            posterior.push((name, chance));
            let all: f64 = weighed.parts.iter().map(|(_, share)| share).sum();
            for (parts, share) in &weighed.parts {
                let share = chance * share / all;
                let in_between = parts.iter().any(|part| part.since > 0);
                let rests = |look| parts.iter().any(|p| p.since == 0 && !p.shows_in(0, look));
                begun += if in_between { share } else { 0.0 };
                rested += if (0..looks).any(rests) { share } else { 0.0 };
            }
        }
        let nothing = answer.hypotheses.iter().find(|h| h.faults.is_empty());
        let healthy = nothing.map_or(0.0, |h| h.probability);
        let suspect = answer.suspects.first().filter(|s| s.probability > healthy);
        let leading = suspect.map_or((None, healthy), |s| (Some(s.fault), s.probability));
        let groups = by_group.into_iter().collect();
        // Marginals are of all that was weighed, the list is of what is handed on.
        let kept = if healthy > 0.0 { (answer.healthy / healthy).min(1.0) } else { 1.0 };
        let left_out = 1.0 - kept * (1.0 - answer.pairs_dropped_mass);
        Self { posterior, groups, classes, causes, healthy, left_out, begun, rested, leading }
    }
}

/// Draws and judges some of the jobs: those with these numbers.
fn play(knowledge: &Knowledge, scenes: &[Scene<'_>], jobs: impl Iterator<Item = u32>) -> Tally {
    let mut tally = Tally::default();
    for number in jobs {
        let mut dice = Dice::new(0x5bc0_0000 + u64::from(number));
        let which = dice.one_of(scenes.len());
        let job = scenes[which].draw(&mut dice);
        let timeline = read(knowledge, &job.journal);
        assert!(timeline.disturbances.is_empty() && timeline.unknown.is_empty(), "{number}");
        let judged = Judged::of(knowledge, &diagnose(knowledge, &timeline));
        tally.take(knowledge, &job, ENGINES[which], &judged, &mut dice);
    }
    tally
}

/// Sixty jobs every day, as many as are asked for in the long run: `ODDPOT_CASES=2000 cargo test --release
/// -p oddpot-judge calibrated -- --nocapture`.
#[test]
#[expect(clippy::print_stdout, reason = "the long run is for its figures")]
fn the_posterior_is_calibrated_on_jobs_of_the_model() {
    let knowledge = load(embedded(), &[]).0.expect("the built-in knowledge base is whole");
    let scenes = ENGINES.map(|engine| Scene::of(&knowledge, engine));
    let jobs = fixture::cases::cases(60).cases;
    let mut tally = std::thread::scope(|scope| {
        let other = scope.spawn(|| {
            let scenes = ENGINES.map(|engine| Scene::of(&knowledge, engine));
            play(&knowledge, &scenes, (1..jobs).step_by(2))
        });
        let mut own = play(&knowledge, &scenes, (0..jobs).step_by(2));
        own.join(other.join().expect("no bug in the other half"));
        own
    });
    for (name, ranks) in &tally.ranks {
        println!("{}", uniform::line(name, ranks));
    }
    println!();
    for (name, claims) in &mut tally.claims {
        println!("{}", claims.line(name));
    }
    println!("\nThe leading suspect, or nothing wrong\n{}", tally.leading.by_decile());
    // The fourth also counts what was left out, which is no matter of how the rest is weighed.
    for statistic in STATISTICS.into_iter().filter(|s| *s != STATISTICS[3]) {
        let (square, p) = uniform::chi_square(&tally.ranks[statistic]);
        assert!(p > 1e-4, "{statistic}: {square}");
    }
}
