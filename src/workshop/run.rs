//! Many jobs in several ways on the same engines.
//!
//! Jobs are shared out over threads and put back in order, so that the number of threads changes
//! nothing. It must not sum up.

use std::sync::atomic::{AtomicUsize, Ordering};

use facts::knowledge::Knowledge;

use super::engine::VirtualEngine;
use super::field::Field;
use super::play::{Outcome, play};
use super::policy::Policy;
use super::tables::Wrong;

/// What is to be run.
#[derive(Debug, Clone, Copy)]
pub struct Plan<'a> {
    /// The knowledge base that mechanics go by.
    pub known: &'a Knowledge,
    /// How wrong it is about the world.
    pub wrong: Wrong,
    /// Kind of engine, all presets if none.
    pub preset: Option<&'a str>,
    /// Number of the first job of each seed.
    pub from: u64,
    /// How many jobs of each seed.
    pub jobs: u64,
    /// Seeds of worlds and jobs.
    pub seeds: &'a [u64],
    /// Ways of working.
    pub policies: &'a [Policy],
    /// Threads; at least one is used.
    pub threads: usize,
}

/// A job and what each way of working made of it.
#[derive(Debug, Clone)]
pub struct Played {
    /// Seed of its world.
    pub seed: u64,
    /// Its number.
    pub number: u64,
    /// The engine.
    pub job: VirtualEngine,
    /// By way of working, in the order asked for.
    pub outcomes: Vec<Outcome>,
}

/// Plays all jobs; `done` is told after each how many are done. Fewer than asked for only where no engine
/// could be drawn.
#[must_use]
pub fn run(plan: Plan<'_>, done: &(dyn Fn(usize) + Sync)) -> Vec<Played> {
    let fields: Vec<Field> =
        plan.seeds.iter().map(|&seed| Field::of(plan.known, plan.wrong, seed)).collect();
    let jobs = usize::try_from(plan.jobs).unwrap_or(usize::MAX);
    let all = jobs.saturating_mul(fields.len());
    let (next, ready) = (AtomicUsize::new(0), AtomicUsize::new(0));
    let one = |index: usize| -> Option<Played> {
        let (field, seed) = (&fields[index / jobs], plan.seeds[index / jobs]);
        let number = u64::try_from(index % jobs).ok()?.checked_add(plan.from)?;
        let job = VirtualEngine::came_in(field, plan.preset, seed, number)?;
        let outcomes = plan.policies.iter().map(|&policy| play(field, &job, policy)).collect();
        Some(Played { seed, number, job, outcomes })
    };
    let work = || {
        let mut mine = Vec::new();
        loop {
            let index = next.fetch_add(1, Ordering::Relaxed);
            if index >= all {
                return mine;
            }
            mine.extend(one(index).map(|played| (index, played)));
            done(ready.fetch_add(1, Ordering::Relaxed) + 1);
        }
    };
    let mut played: Vec<(usize, Played)> = std::thread::scope(|scope| {
        let workers: Vec<_> = (0..plan.threads.max(1)).map(|_| scope.spawn(work)).collect();
        // A worker that fails is a bug, and its panic is passed on.
        workers
            .into_iter()
            .flat_map(|worker| worker.join().unwrap_or_else(|e| std::panic::resume_unwind(e)))
            .collect()
    });
    played.sort_by_key(|(index, _)| *index);
    played.into_iter().map(|(_, played)| played).collect()
}
