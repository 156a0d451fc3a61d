//! What further readings would show, under each hypothesis.
//!
//! The difference between one display and the mean of the others, beyond what the engine's history
//! expects of it, at a running point, forecast
//! from everything read so far: normal, its mean and variance conditional on the readings. Cut
//! into a few outcomes a mechanic would tell apart. No table: the same model that judges.

use statrs::distribution::{ContinuousCDF, Normal};

use crate::diagnosis::CauseRef;
use crate::diagnosis::assess::Diagnosis;
use crate::diagnosis::data::{Kind, correlation, repeatability};
use crate::diagnosis::effect::{self, Context, Moments};
use crate::diagnosis::model::{DepthsSeen, Part, depths_seen, narrowed, settling};
use crate::diagnosis::path::MOST;
use crate::diagnosis::usual::{Natural, natural, reach};
use facts::job::entry::Reading;
use facts::knowledge::AMBIENT;
use facts::knowledge::RunningPoint;
use measure::engine::Cylinder;

use super::cases::Case;

/// Outcomes of further readings: id and what is seen. The last is "no number".
pub(crate) const OUTCOMES: [(&str, &str); 6] = [
    ("far-below", "this display stands far below the others"),
    ("below", "somewhat below the others"),
    ("alike", "like the others"),
    ("above", "somewhat above the others"),
    ("far-above", "far above the others"),
    ("no-number", "no steady number"),
];

/// Those that nobody would take for a healthy cylinder's.
pub(crate) const FAR: [usize; 3] = [0, 4, 5];

/// Where one outcome ends and the next begins, in natural standard deviations.
const CUTS: [f64; 4] = [-4.0, -1.5, 1.5, 4.0];

/// Chance that the number is misread, spread over all outcomes.
pub(crate) const MISREAD: f64 = 0.02;

/// Forecasts for one kind of reading.
pub(crate) struct Forecaster<'a, 'b> {
    diagnosis: &'b Diagnosis<'a>,
    kind: Kind,
    display: Cylinder,
    /// Sides by cause index, over the kinds read so far and `kind` as the last.
    moments: Vec<Vec<Moments>>,
    /// The same in the light of measured depths.
    depths: DepthsSeen,
    /// What is natural for each display then.
    natural: Vec<Natural>,
}

impl<'a, 'b> Forecaster<'a, 'b> {
    /// For readings of a kind, looked at from one display.
    pub(crate) fn new(diagnosis: &'b Diagnosis<'a>, kind: Kind, display: Cylinder) -> Self {
        let model = &diagnosis.model;
        let (knowledge, engine) = (model.knowledge, &model.timeline.engine);
        let mut kinds = model.data.kinds.clone();
        let mut levels = model.data.levels.clone();
        kinds.push(kind);
        levels.push(level(diagnosis, kind));
        let mut installed = model.installed.clone();
        installed.extend(effect::installed(model.timeline, &[kind], &levels[levels.len() - 1..]));
        let context =
            Context { knowledge, engine, kinds: &kinds, levels: &levels, installed: &installed };
        let mut wanted = vec![false; knowledge.causes.len()];
        for weighed in &diagnosis.kept {
            for &c in &weighed.candidates {
                if let CauseRef::Listed(index) = model.candidates[c].fault.cause {
                    wanted[index] = true;
                }
            }
        }
        let mut moments: Vec<Vec<Moments>> = wanted
            .iter()
            .enumerate()
            .map(|(cause, &w)| if w { effect::moments(context, cause, None) } else { Vec::new() })
            .collect();
        // What passes with time pulls to where the engine comes from, and is over at a point read before.
        let mut ways = settling::came_from(&model.data);
        ways.push(Some(settling::would_come_from(&model.data, kind.at)));
        for (cause, moments) in knowledge.causes.iter().zip(&mut moments) {
            if cause.passes() {
                *moments = settling::one_way(moments, &ways);
            }
        }
        moments.push(effect::unlisted(context));
        let now = &model.timeline.arrangement;
        let natural = engine
            .all()
            .map(|c| natural(knowledge, model.timeline, kind, now.cylinder_shown(c)))
            .collect();
        let depths = depths_seen(context, model.timeline, &model.candidates);
        Self { diagnosis, kind, display, moments, depths, natural }
    }

    /// Chances of [`OUTCOMES`] under a hypothesis.
    pub(crate) fn row(&self, case: &Case) -> Vec<f64> {
        self.row_cut(case, &CUTS)
    }

    /// Chances of the outcomes between these cuts, in natural standard deviations, and of no
    /// number.
    fn row_cut(&self, case: &Case, cuts: &[f64]) -> Vec<f64> {
        let mut row = vec![0.0; cuts.len() + 2];
        let sum: f64 = case.parts.iter().map(|(_, share)| share).sum();
        for (parts, share) in case.parts.iter().filter(|(_, share)| *share > 0.02 * sum) {
            for (to, from) in row.iter_mut().zip(self.row_of(parts, cuts)) {
                *to += share * from;
            }
        }
        let sum: f64 = row.iter().sum();
        let even = MISREAD / f64::from(u32::try_from(row.len()).unwrap_or(1));
        for value in &mut row {
            *value = (1.0 - MISREAD) * *value / sum + even;
        }
        row
    }

    /// Looks at another display.
    pub(crate) fn turn_to(&mut self, display: Cylinder) {
        self.display = display;
    }

    /// Chance that numbers read once more, after work that may have moved or cured it, are taken for
    /// odd where they are not, or the other way round: when they lie on the wrong side of half
    /// the difference that is forecast for this case.
    pub(crate) fn mistaken(&self, case: &Case) -> f64 {
        let sum: f64 = case.parts.iter().map(|(_, share)| share).sum();
        let standard = Normal::standard();
        let of = |(parts, share): &(Vec<Part>, f64)| {
            let (mean, variance) = self.difference(parts);
            share / sum * standard.cdf(-mean.abs() / 2.0 / variance.max(1.0).sqrt())
        };
        case.parts.iter().filter(|(_, share)| *share > 0.02 * sum).map(of).sum()
    }

    fn row_of(&self, parts: &[Part], cuts: &[f64]) -> Vec<f64> {
        let (mean, variance) = self.difference(parts);
        let no_number = self.no_number(parts);
        let natural = self.natural[usize::from(self.display) - 1];
        let scale = reach(self.diagnosis.model.knowledge, self.kind, natural)
            * (1.0 + 1.0 / f64::from(self.others())).sqrt();
        let mut row = Vec::with_capacity(cuts.len() + 2);
        let Ok(normal) = Normal::new(mean, variance.max(1.0).sqrt()) else {
            row.resize(cuts.len() + 2, 1.0);
            return row;
        };
        let mut below = 0.0;
        for cut in cuts {
            let upto = normal.cdf(cut * scale);
            row.push((upto - below) * (1.0 - no_number));
            below = upto;
        }
        row.push((1.0 - below) * (1.0 - no_number));
        row.push(no_number);
        row
    }

    fn others(&self) -> u32 {
        u32::from(self.diagnosis.model.timeline.engine.cylinders) - 1
    }

    /// Mean and variance of the difference, given the readings and these parts.
    fn difference(&self, parts: &[Part]) -> (f64, f64) {
        let model = &self.diagnosis.model;
        let timeline = model.timeline;
        let engine = &timeline.engine;
        let constants = &model.knowledge.constants;
        let now = &timeline.arrangement;
        let slot = timeline.disturbances.len().min(MOST);
        let last = model.data.kinds.len();
        let share = -1.0 / f64::from(self.others());
        let weight = |display: Cylinder| if display == self.display { 1.0 } else { share };

        // Where each fault would show, and how much of that is in the difference.
        let mut mean = 0.0;
        let mut variance = 0.0;
        let mut shown = Vec::new();
        for part in parts {
            let candidate = &model.candidates[part.candidate];
            let there = part.presence >> slot & 1 == 1;
            let amount: f64 = if there {
                model.displays(candidate, now, &[]).into_iter().map(weight).sum()
            } else {
                0.0
            };
            let moments = self.moments_of(part);
            mean += amount * moments.mean[last];
            let factor = moments.factor.row(last);
            variance += amount * amount * factor.iter().map(|f| f * f).sum::<f64>();
            shown.push((amount, factor));
        }
        let noise = repeatability(model.knowledge, self.kind);
        // Of what is unusual: the engine's own expected offsets are taken away on both sides.
        variance += engine
            .all()
            .map(|d| {
                let sd = self.natural[usize::from(d) - 1].sd;
                weight(d).powi(2) * (sd * sd + noise * noise)
            })
            .sum::<f64>();

        let Some(base) = model.base_of(parts) else { return (mean, variance) };
        let effects = model.effects_of(base, parts);
        let mut with = vec![0.0; model.data.rows.len()];
        for (row, with) in model.data.rows.iter().zip(&mut with) {
            let kind = model.data.kinds[row.kind];
            let together = correlation(constants, kind, self.kind);
            let set = &timeline.sets[model.data.sets[row.set].index];
            let cylinder = set.arrangement.cylinder_shown(row.display);
            let natural = natural(model.knowledge, timeline, kind, cylinder);
            let display = now.display_of(cylinder);
            let then = self.natural[usize::from(display) - 1];
            *with += together * natural.sd * then.sd * weight(display);
        }
        let misnames = |part: &Part| model.candidates[part.candidate].renaming.is_some();
        let shown = parts.iter().zip(&shown).filter(|(part, _)| !misnames(part));
        for (effect, (_, (amount, factor))) in effects.iter().zip(shown) {
            for &(row, kind, _) in effect.on.rows() {
                let own = effect.factor.row(kind).iter().zip(*factor);
                with[row] += amount * own.map(|(a, b)| a * b).sum::<f64>();
            }
        }
        let forecast = base.forecast(base.usual(&effects), &effects, &with);
        let left = (variance - forecast.reduction).max(noise * noise);
        (mean + forecast.mean, left * forecast.scale)
    }

    fn moments_of(&self, part: &Part) -> &Moments {
        if let Some(narrowed) = narrowed(&self.depths, part) {
            return narrowed;
        }
        let model = &self.diagnosis.model;
        let sides = match model.candidates[part.candidate].fault.cause {
            CauseRef::Listed(index) => &self.moments[index],
            CauseRef::Unlisted => &self.moments[self.moments.len() - 1],
        };
        &sides[part.side]
    }

    /// Chance that the display shows no steady number.
    fn no_number(&self, parts: &[Part]) -> f64 {
        let model = &self.diagnosis.model;
        let timeline = model.timeline;
        let slot = timeline.disturbances.len().min(MOST);
        let constants = &model.knowledge.constants;
        let usual = constants.usual_states;
        let sum = |s: facts::knowledge::StateChances| s.open + s.stuck + s.falling;
        let mut quiet = 1.0 - sum(usual);
        for part in parts.iter().filter(|p| p.presence >> slot & 1 == 1) {
            let candidate = &model.candidates[part.candidate];
            let here =
                model.displays(candidate, &timeline.arrangement, &[]).contains(&self.display);
            if here && self.kind.site == timeline.engine.probes {
                quiet *= 1.0 - model.silent_next(part, self.kind);
            }
        }
        1.0 - quiet
    }
}

/// A likely level for readings not yet taken: the reference readings, as far up or down as this
/// engine is where it has been read.
fn level(diagnosis: &Diagnosis<'_>, kind: Kind) -> f64 {
    let model = &diagnosis.model;
    if let Some(index) = model.data.kinds.iter().position(|k| *k == kind) {
        return model.data.levels[index];
    }
    let reference = |at: RunningPoint| model.knowledge.constants.reference_rise_at(at);
    let known = model
        .data
        .kinds
        .iter()
        .zip(&model.data.levels)
        .find(|(k, _)| k.site == kind.site && reference(k.at) > 0.0);
    let scale = known.map_or(1.0, |(k, level)| (level - AMBIENT) / reference(k.at));
    AMBIENT + scale * reference(kind.at)
}

/// Whether a display shows something that is not a number now.
pub(crate) fn shows_no_number(diagnosis: &Diagnosis<'_>, display: Cylinder) -> bool {
    let last = diagnosis.model.timeline.sets.iter().rev().find(|s| !s.at.is_cold());
    last.is_some_and(|set| {
        matches!(
            set.readings[usize::from(display) - 1],
            Reading::Open | Reading::Stuck | Reading::Falling
        )
    })
}

#[cfg(test)]
mod tests {
    use jiff::Timestamp;

    use super::*;
    use crate::diagnosis::diagnose;
    use crate::plan::actions::choices;
    use crate::plan::advice::Step;
    use crate::plan::problem::Problem;
    use crate::plan::value::Planner;
    use facts::job::entry::{EngineState, Entry, FORMAT, Head, Journal, What};
    use facts::job::read::read;
    use facts::knowledge::embedded::embedded;
    use facts::knowledge::{Knowledge, load};
    use measure::engine::{ProbeSite, Regime};
    use measure::units::Celsius;

    /// An invented job on the four in line: one settled set at idle.
    fn four(knowledge: &Knowledge, values: &[f64]) -> Journal {
        let engine = knowledge.presets.iter().find(|e| e.id == "inline-four-port");
        let what = What::Temps {
            at: Regime::Idle.into(),
            site: ProbeSite::Exhaust,
            readings: values
                .iter()
                .map(|v| Reading::Degrees(Celsius::new(*v).expect("heat")))
                .collect(),
            from: None,
        };
        Journal {
            format: FORMAT,
            head: Head {
                opened: Timestamp::UNIX_EPOCH,
                typed: String::new(),
                vehicle: String::new(),
                complaint: String::new(),
                engine_name: String::new(),
                engine: engine.expect("an engine").engine.clone(),
                recent: Vec::new(),
                state: EngineState::Warm,
                details: facts::job::complaint::Details::default(),
            },
            entries: vec![Entry::new(Timestamp::UNIX_EPOCH, String::new(), what)],
        }
    }

    /// Twenty-four outcomes instead of five.
    fn fine() -> Vec<f64> {
        (0..23).map(|k| -5.5 + 0.5 * f64::from(k)).collect()
    }

    #[test]
    fn five_outcomes_are_worth_nearly_as_much_as_twenty_four() {
        // Invented: four in line, plain numbers. How much dearer further readings look because
        // their outcomes are few, in minutes of labour by one step of look-ahead.
        let jobs: [&[f64]; 3] = [
            &[400.0, 404.0, 455.0, 398.0],
            &[400.0, 404.0, 430.0, 398.0],
            &[200.0, 200.0, 320.0, 200.0],
        ];
        let knowledge = load(embedded(), &[]).0.expect("a knowledge base");
        // The odd display of all three.
        let display = 3;
        let mut most = 0.0_f64;
        for values in jobs {
            let timeline = read(&knowledge, &four(&knowledge, values));
            let diagnosis = diagnose(&knowledge, &timeline);
            let choices = choices(&diagnosis);
            for (index, option) in choices.options.iter().enumerate() {
                let Step::Readings { at, site: ProbeSite::Exhaust } = option.step else { continue };
                let kind = Kind { site: ProbeSite::Exhaust, at };
                let forecaster = Forecaster::new(&diagnosis, kind, display);
                let cuts = fine();
                let rows: Vec<Vec<f64>> =
                    choices.cases.iter().map(|case| forecaster.row_cut(case, &cuts)).collect();
                for row in &rows {
                    assert!((row.iter().sum::<f64>() - 1.0).abs() < 1e-9);
                }
                let value = |problem: &Problem| {
                    Planner::new(problem).one_step(&problem.belief, problem.now, index).total
                };
                let few = value(&choices.problem);
                let mut problem = choices.problem.clone();
                problem.probes[index].rows = crate::plan::actions::transpose(&rows, cuts.len() + 2);
                most = most.max((few - value(&problem)).abs());
            }
        }
        // 16.0 measured, of some 400 minutes, where leaving a job costs seven hours; a reading may be misread or
        // not settled, which coarse outcomes say less of.
        assert!(most < 18.0, "{most}");
    }
}
