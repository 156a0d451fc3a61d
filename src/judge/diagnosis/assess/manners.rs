//! Courses and paths of a single cause, numbered by what readings and what words know of them.
//!
//! Thousands of ways differ in what nothing entered could tell. It must not weigh any of them.

use std::collections::BTreeMap;

use super::ways::since_when;
use crate::diagnosis::looks::Shows;
use crate::diagnosis::model::{Model, Part};
use crate::diagnosis::path::Presence;

/// A course and a path of a candidate.
#[derive(Debug)]
pub(super) struct Manner {
    presence: Presence,
    shows: Shows,
    since: usize,
    /// The chance of both, and its log.
    pub(super) chance: f64,
    pub(super) log_chance: f64,
    /// Number of what readings know of it.
    pub(super) told: u32,
    /// Number of what words know of it.
    pub(super) said: u32,
}

impl Manner {
    pub(super) fn part(&self, candidate: usize, side: usize) -> Part {
        let Self { presence, shows, since, .. } = *self;
        Part { candidate, side, presence, shows, since }
    }
}

/// All courses and paths of a candidate.
#[derive(Debug)]
pub(super) struct Manners {
    pub(super) list: Vec<Manner>,
    /// By number of what readings know the looks at which it shows, and the first that has it.
    pub(super) choices: Vec<Shows>,
    heard: Vec<u32>,
    /// By the same number the largest chance.
    pub(super) likeliest: Vec<f64>,
    /// By number of what words know the first that has it.
    pub(super) spoken: Vec<u32>,
}

impl Manners {
    pub(super) fn of(model: &Model<'_>, number: usize) -> Self {
        let candidate = &model.candidates[number];
        let by_presence = model.told_by_presence(number);
        let (mut told, mut said) = (BTreeMap::new(), BTreeMap::new());
        let (mut choices, mut heard, mut spoken) = (Vec::new(), Vec::new(), Vec::new());
        let mut list: Vec<Manner> = Vec::new();
        for course in candidate.courses.iter() {
            since_when(model, candidate, course, |path, since, chance| {
                let presence = path.presence;
                let (seen, slots) = model.shown(presence, course.shows);
                let key = (seen, if by_presence { presence } else { slots });
                let way = short(list.len());
                let told = *told.entry(key).or_insert_with(|| {
                    choices.push(seen);
                    heard.push(way);
                    short(heard.len() - 1)
                });
                let key = model.told_by_words(presence, since, course.shows);
                let said = *said.entry(key).or_insert_with(|| {
                    spoken.push(way);
                    short(spoken.len() - 1)
                });
                let shows = course.shows;
                let log_chance = chance.ln();
                list.push(Manner { presence, shows, since, chance, log_chance, told, said });
            });
        }
        let mut likeliest = vec![0.0_f64; heard.len()];
        for manner in &list {
            let most = &mut likeliest[manner.told as usize];
            *most = most.max(manner.chance);
        }
        Self { list, choices, heard, likeliest, spoken }
    }

    /// How many numbers there are of what readings know.
    pub(super) fn told(&self) -> usize {
        self.heard.len()
    }

    /// How many there are of what words know.
    pub(super) fn said(&self) -> usize {
        self.spoken.len()
    }

    /// A part of which readings know this.
    pub(super) fn told_part(&self, candidate: usize, side: usize, told: usize) -> Part {
        self.list[self.heard[told] as usize].part(candidate, side)
    }
}

/// Ways are few enough.
fn short(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}
