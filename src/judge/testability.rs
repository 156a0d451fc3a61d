//! What a knowledge base can tell apart on an engine, and at what price.
//!
//! Causes that nothing separates, tests that another does better for less, causes that only dear
//! tests reach, and what a new test would be worth. Plain distances between rows and shifts; it
//! must not plan a job.

use serde::Serialize;

use crate::diagnosis::data::Kind;
use crate::diagnosis::effect::{Context, Moments, moments};
use crate::diagnosis::prior::weight;
use facts::knowledge::{Cause, Charge, Knowledge, Test};
use measure::engine::Engine;

/// Share of cases in which a test must tell two causes apart to count (total variation).
const APART: f64 = 0.3;
/// Standard deviations between two causes' shifts at some point from which readings tell them
/// apart (two: one in six is taken for the other).
const READ: f64 = 2.0;
/// Share of cases in which a test must show a cause to count as reaching it.
const REACHES: f64 = 0.5;
/// Minutes of labour, own set-ups included, above which a test is dear.
const DEAR: f64 = 20.0;
/// Price of the test that is wished for, minutes of labour.
const NEW: f64 = 5.0;

/// Causes that nothing tells apart.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Ambiguity {
    /// Ids, likeliest first.
    pub causes: Vec<String>,
    /// Share of all faults of this engine.
    pub share: f64,
    /// The same work cures all of them, so that it does not matter.
    pub same_work: bool,
    /// What a test of five minutes that told them apart for sure would save in 100 faulty engines,
    /// minutes of labour; below nil where it would not pay.
    pub new_test: f64,
}

/// A test that need never be done.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Idle {
    /// Its id.
    pub test: String,
    /// Minutes of labour with its own set-ups.
    pub price: f64,
    /// Another that separates whatever it does at least as well for no more; none where it
    /// separates nothing.
    pub by: Option<String>,
}

/// A cause that only dear tests reach.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Remote {
    /// Its id.
    pub cause: String,
    /// Share of all faults of this engine.
    pub share: f64,
    /// The cheapest test that shows it in half of the cases, with its price; none where none does.
    pub cheapest: Option<(String, f64)>,
    /// Readings alone tell it from nothing wrong.
    pub by_readings: bool,
}

/// The whole report.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Testability {
    /// Causes that can occur.
    pub causes: usize,
    /// Tests that can be done.
    pub tests: usize,
    /// Pairs of causes cured by different work, and how many of them something tells apart.
    pub pairs: (usize, usize),
    /// Groups, the likeliest first.
    pub ambiguities: Vec<Ambiguity>,
    /// Tests that need never be done.
    pub idle: Vec<Idle>,
    /// Causes that only dear tests reach, the likeliest first.
    pub remote: Vec<Remote>,
}

struct Known<'a> {
    cause: &'a Cause,
    index: usize,
    share: f64,
    price: f64,
    sides: Vec<Moments>,
}

/// Reports on an engine.
#[must_use]
pub fn testability(knowledge: &Knowledge, engine: &Engine) -> Testability {
    let causes = causes(knowledge, engine);
    let tests: Vec<(&Test, f64)> = knowledge
        .tests
        .iter()
        .filter(|t| t.applies.holds(engine))
        .map(|t| (t, price(knowledge, t)))
        .collect();
    let noise = natural(knowledge, engine);
    let n = causes.len();
    let told = |a: usize, b: usize| {
        tests.iter().any(|(t, _)| apart(t, &causes[a], &causes[b]) >= APART)
            || read_apart(&causes[a].sides, &causes[b].sides, &noise)
    };
    let mut group: Vec<usize> = (0..n).collect();
    let mut pairs = (0, 0);
    for a in 0..n {
        for b in 0..a {
            let different = !same_work(causes[a].cause, causes[b].cause);
            let told = told(a, b);
            pairs.0 += usize::from(different);
            pairs.1 += usize::from(different && told);
            if !told && causes[a].cause.place == causes[b].cause.place {
                let (from, to) = (group[a], group[b]);
                group.iter_mut().filter(|g| **g == from).for_each(|g| *g = to);
            }
        }
    }
    Testability {
        causes: n,
        tests: tests.len(),
        pairs,
        ambiguities: ambiguities(&causes, &group),
        idle: idle(&causes, &tests),
        remote: remote(&causes, &tests, &noise),
    }
}

fn causes<'a>(knowledge: &'a Knowledge, engine: &'a Engine) -> Vec<Known<'a>> {
    let kinds = kinds(knowledge, engine);
    // Levels only scale shifts in proportion, so the reference readings will do.
    let rise = knowledge.constants.reference_rise;
    let levels = [20.0, 25.0 + rise[0], 25.0 + rise[1], 25.0 + rise[2]];
    // How probes sit is a job's matter; the tables stand in.
    let sat = vec![None; kinds.len()];
    let context = Context { knowledge, engine, kinds: &kinds, levels: &levels, installed: &sat };
    let mut list: Vec<Known<'a>> = knowledge
        .causes
        .iter()
        .enumerate()
        .filter_map(|(index, cause)| {
            let remedy = cause.remedy.as_ref()?;
            let share = weight(cause, engine, &[]);
            let price = remedy.cost.total(knowledge.constants.rates);
            (share > 0.0).then(|| Known {
                cause,
                index,
                share,
                price,
                sides: moments(context, index, None),
            })
        })
        .collect();
    let sum: f64 = list.iter().map(|k| k.share).sum();
    for known in &mut list {
        known.share /= sum;
    }
    list.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.index.cmp(&b.index)));
    list
}

fn kinds(knowledge: &Knowledge, engine: &Engine) -> Vec<Kind> {
    knowledge.points.kept().map(|at| Kind { site: engine.probes, at }).collect()
}

fn natural(knowledge: &Knowledge, engine: &Engine) -> Vec<f64> {
    kinds(knowledge, engine).iter().map(|k| knowledge.natural_sd(engine, k.site, k.at)).collect()
}

/// Price with what must be opened; the way to the engine's state is left out, since a job comes by it.
fn price(knowledge: &Knowledge, test: &Test) -> f64 {
    let rates = knowledge.constants.rates;
    let open: f64 = test.access.iter().map(|&a| knowledge.access[a].cost.total(rates)).sum();
    test.cost.total(rates) + open
}

/// Chances of a test's outcomes under a cause at the place it is done on.
fn row(test: &Test, known: &Known<'_>) -> Vec<f64> {
    if !test.kind.follows_seats() {
        return test.given.get(&known.index).unwrap_or(&test.default).clone();
    }
    let seat = known.cause.seat;
    let share = test.reseats.iter().find(|(s, _)| *s == seat).map_or(0.0, |(_, share)| *share);
    let moved = f64::from(u8::from(test.moves.contains(&seat)));
    let gone = if test.replaces.contains(&seat) { 1.0 } else { share * known.cause.reseat };
    let chance = |id: &str| match id {
        "gone" => gone,
        "moved" => (1.0 - gone) * moved,
        "stays" => (1.0 - gone) * (1.0 - moved),
        _ => 0.0,
    };
    test.outcomes.iter().map(|o| chance(&o.id)).collect()
}

fn distance(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| (a - b).abs()).sum::<f64>() / 2.0
}

/// In how many cases a test tells two causes apart.
fn apart(test: &Test, a: &Known<'_>, b: &Known<'_>) -> f64 {
    distance(&row(test, a), &row(test, b))
}

/// Whether readings at some point tell two causes apart, whatever their sides; none stands for
/// nothing wrong.
fn read_apart(a: &[Moments], b: &[Moments], noise: &[f64]) -> bool {
    a.iter().all(|a| {
        b.iter().all(|b| {
            (0..noise.len()).any(|k| {
                let spread = |m: &Moments| m.factor.row(k).iter().map(|f| f * f).sum::<f64>();
                let sd = (spread(a) + spread(b) + 2.0 * noise[k].powi(2)).sqrt();
                (a.mean[k] - b.mean[k]).abs() >= READ * sd
            })
        })
    })
}

fn same_work(a: &Cause, b: &Cause) -> bool {
    a.remedy.as_ref().map(|r| &r.id) == b.remedy.as_ref().map(|r| &r.id)
}

fn ambiguities(causes: &[Known<'_>], group: &[usize]) -> Vec<Ambiguity> {
    let mut list: Vec<Ambiguity> = Vec::new();
    let mut seen: Vec<usize> = Vec::new();
    for &g in group {
        if seen.contains(&g) {
            continue;
        }
        seen.push(g);
        let members: Vec<&Known<'_>> =
            causes.iter().zip(group).filter(|(_, other)| **other == g).map(|(k, _)| k).collect();
        if members.len() < 2 {
            continue;
        }
        let same = members.windows(2).all(|pair| same_work(pair[0].cause, pair[1].cause));
        list.push(Ambiguity {
            causes: members.iter().map(|k| k.cause.id.clone()).collect(),
            share: members.iter().map(|k| k.share).sum(),
            same_work: same,
            new_test: if same { 0.0 } else { saving(&members) },
        });
    }
    list.sort_by(|a, b| b.share.total_cmp(&a.share).then_with(|| a.causes.cmp(&b.causes)));
    list
}

/// What a sure test of its price would save in 100 faulty engines: trying the work in order of
/// probability per price, less going straight to the right one.
fn saving(members: &[&Known<'_>]) -> f64 {
    let mut works: Vec<(f64, f64, &str)> = Vec::new();
    for known in members {
        let id = known.cause.remedy.as_ref().map_or("", |r| r.id.as_str());
        match works.iter_mut().find(|w| w.2 == id) {
            Some(work) => work.0 += known.share,
            None => works.push((known.share, known.price.max(1e-9), id)),
        }
    }
    works.sort_by(|a, b| (b.0 / b.1).total_cmp(&(a.0 / a.1)).then(a.2.cmp(b.2)));
    let (mut tried, mut wasted, mut share) = (0.0, 0.0, 0.0);
    for (p, price, _) in works {
        wasted += p * tried;
        tried += price;
        share += p;
    }
    100.0 * (wasted - NEW * share)
}

fn idle(causes: &[Known<'_>], tests: &[(&Test, f64)]) -> Vec<Idle> {
    let separates = |test: &Test| -> Vec<f64> {
        let mut list = Vec::new();
        for (a, one) in causes.iter().enumerate() {
            list.push(distance(&row(test, one), &silent_row(test)));
            list.extend(causes[..a].iter().map(|other| apart(test, one, other)));
        }
        list
    };
    let all: Vec<Vec<f64>> = tests.iter().map(|(t, _)| separates(t)).collect();
    let mut list = Vec::new();
    for (k, (test, price)) in tests.iter().enumerate() {
        if all[k].iter().all(|d| *d < 0.05) {
            list.push(Idle { test: test.id.clone(), price: *price, by: None });
            continue;
        }
        let by = (0..tests.len()).filter(|&o| o != k && tests[o].1 <= *price).find(|&o| {
            all[k].iter().zip(&all[o]).all(|(own, other)| *own < 0.05 || *other >= *own)
        });
        if let Some(by) = by {
            let by = Some(tests[by].0.id.clone());
            list.push(Idle { test: test.id.clone(), price: *price, by });
        }
    }
    list
}

/// What is seen when nothing is wrong.
fn silent_row(test: &Test) -> Vec<f64> {
    if test.kind.follows_seats() {
        test.outcomes.iter().map(|o| f64::from(u8::from(o.id == "stays"))).collect()
    } else {
        test.default.clone()
    }
}

fn remote(causes: &[Known<'_>], tests: &[(&Test, f64)], noise: &[f64]) -> Vec<Remote> {
    let nothing = |like: &Moments| Moments {
        share: 1.0,
        mean: vec![0.0; like.mean.len()],
        factor: crate::diagnosis::linalg::Matrix::zeros(like.mean.len(), like.mean.len()),
        meaningful: like.meaningful.clone(),
        charge: Charge::Usual,
    };
    causes
        .iter()
        .filter_map(|known| {
            let reaching =
                tests.iter().filter(|(t, _)| distance(&row(t, known), &silent_row(t)) >= REACHES);
            let cheapest = reaching.min_by(|a, b| a.1.total_cmp(&b.1));
            if cheapest.is_some_and(|(_, price)| *price <= DEAR) {
                return None;
            }
            let sound: Vec<Moments> = known.sides.iter().take(1).map(nothing).collect();
            Some(Remote {
                cause: known.cause.id.clone(),
                share: known.share,
                cheapest: cheapest.map(|(t, price)| (t.id.clone(), *price)),
                by_readings: read_apart(&known.sides, &sound, noise),
            })
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use facts::knowledge::{embedded::embedded, load};

    #[test]
    fn what_cannot_be_told_apart_on_a_four() {
        let known = load(embedded(), &[]).0.expect("the built-in knowledge base is sound");
        let preset = known.presets.iter().find(|p| p.id == "inline-four-port").expect("is there");
        let found = testability(&known, &preset.engine);
        assert!(found.pairs.1 <= found.pairs.0 && found.pairs.1 * 10 >= found.pairs.0 * 9);
    }
}
