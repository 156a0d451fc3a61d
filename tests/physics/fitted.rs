//! The rows of causes in how a probe sits, held to the stem model that they were computed with.
//!
//! A row stands for an engine whose probes nobody measured: mates with their tips near the middle of
//! the pipe, in bores of 36 to 46 mm, showing what is taken as normal. Each row is averaged over that,
//! over the size of the error and over what the model does not know, every time brought back to the
//! display that was read. `rows_of_the_fit_are_those_of_the_stem -- --nocapture` prints what to write
//! into `knowledge/causes/fit.ron` and `probe.ron`.

use facts::knowledge::embedded::embedded;
use facts::knowledge::{Physics, Spread, load};
use measure::engine::RunningPoint;
use measure::probe::shift::Doubt;
use measure::probe::{Build, Case, Contact, Fitting, display_with};

const POINTS: [(RunningPoint, f64); 3] =
    [(RunningPoint::Idle, 400.0), (RunningPoint::Cruise, 620.0), (RunningPoint::Full, 860.0)];
const BORES: [f64; 3] = [36.0, 41.0, 46.0];
/// How far in the mates' tips are, as a share of the bore: 15 mm of 36 to 23 mm of 46.
const MIDDLE: [f64; 3] = [0.42, 0.46, 0.5];
/// Where the mates barely reach the stream: 8 mm of 36 to 14 mm of 46.
const BARELY: [f64; 3] = [0.22, 0.26, 0.3];
/// Rows are rounded to whole degrees and, in doubt, to the wider side.
const OFF: f64 = 3.0;

/// Sides that say what writers of complaints say, not what the model gives.
const BY_WRITERS: [(&str, usize); 3] = [("fit-shallow", 3), ("fit-deep", 2), ("fit-wall-touch", 1)];

/// A case and a build off by one standard deviation in each thing that is not known, or in none.
fn variations(case: &Case) -> Vec<(Case, Build)> {
    let (doubt, build) = (Doubt::default(), Build::default());
    let mut all = vec![(*case, build)];
    for sign in [-1.0, 1.0] {
        let factor = |share: f64| (1.0 + share).powf(sign);
        let conductance_factor = build.conductance_factor * factor(doubt.conductance);
        let emissivity = build.emissivity + sign * doubt.emissivity;
        let (wall, boss) = (case.wall + sign * doubt.wall, case.boss + sign * doubt.wall);
        all.push((Case { flow: case.flow * factor(doubt.flow), ..*case }, build));
        all.push((Case { wall, boss, ..*case }, build));
        all.push((*case, Build { conductance_factor, ..build }));
        all.push((*case, Build { emissivity, ..build }));
    }
    all
}

/// Weighed shifts of a probe beside such mates.
type Odd<'a> = &'a dyn Fn(Fitting, &Case, &Build) -> Vec<(f64, f64)>;

/// Mean and sd of a shift over mates, bores, sizes, and what is not known.
fn averaged(point: RunningPoint, level: f64, shares: [f64; 3], odd: Odd) -> Spread {
    let case = Case::typical(point).expect("a steady point");
    let (mut sum, mut squares, mut weights, mut unknown) = (0.0, 0.0, 0.0, 0.0);
    for bore in BORES {
        for share in shares {
            let mates = Fitting { diameter: 3.0, bore, depth: share * bore };
            let mut means = Vec::new();
            for (n, (case, build)) in variations(&case).iter().enumerate() {
                let case = case.matched(mates, build, level).expect("within reach");
                let shifts = odd(mates, &case, build);
                let weight: f64 = shifts.iter().map(|(_, w)| w).sum();
                means.push(shifts.iter().map(|(s, w)| s * w).sum::<f64>() / weight);
                if n == 0 {
                    weights += weight;
                    sum += shifts.iter().map(|(s, w)| s * w).sum::<f64>();
                    squares += shifts.iter().map(|(s, w)| s * s * w).sum::<f64>();
                }
            }
            // One sd up and down in each: half the sum of squares is the variance.
            unknown += means[1..].iter().map(|m| (m - means[0]).powi(2)).sum::<f64>() / 2.0 / 9.0;
        }
    }
    let mean = sum / weights;
    Spread { mean, sd: (squares / weights - mean * mean + unknown).sqrt() }
}

/// Shifts of a probe that differs as the knowledge base says.
fn shifts(physics: Physics, mates: Fitting, case: &Case, build: &Build) -> Vec<(f64, f64)> {
    let shown = |fitting, contact| display_with(fitting, case, build, contact);
    let own = shown(mates, Contact::Free);
    match physics {
        Physics::Depth { mean, sd, from, to } => (0..13_u8)
            .map(|i| {
                let error = from + (to - from) * f64::from(i) / 12.0;
                let depth = (mates.depth + error).clamp(1.0, mates.deepest());
                let weight = (-0.5 * ((error - mean) / sd).powi(2)).exp();
                (shown(mates.at_depth(depth), Contact::Free) - own, weight)
            })
            .collect(),
        Physics::Diameter(factor) => [0.5, 1.0, 1.5]
            .into_iter()
            .map(|part| {
                let diameter = mates.diameter * (1.0 + part * (factor - 1.0));
                (shown(Fitting { diameter, ..mates }, Contact::Free) - own, 1.0)
            })
            .collect(),
        Physics::WallTouch(from, to) => [0.0, 0.5, 1.0]
            .into_iter()
            .flat_map(|part| {
                let depth = mates.depth + part * (mates.deepest() - mates.depth);
                [from, to]
                    .map(|touch| (shown(mates.at_depth(depth), Contact::Wall(touch)) - own, 1.0))
            })
            .collect(),
        other => panic!("{other:?} is no way to sit"),
    }
}

#[test]
#[expect(clippy::print_stdout, reason = "the rows to write")]
fn rows_of_the_fit_are_those_of_the_stem() {
    let knowledge = load(embedded(), &[]).0.expect("the built-in knowledge base is sound");
    let mut seen = 0;
    let mut wrong = Vec::new();
    for cause in &knowledge.causes {
        for (side, effect) in cause.effects.iter().enumerate() {
            if BY_WRITERS.contains(&(cause.id.as_str(), side)) {
                continue;
            }
            let Some(physics) = effect.physics.filter(|p| p.needs_fitting()) else { continue };
            let table = effect.exhaust.clone().expect("a row of the exhaust");
            // Sides of both depths that are beside mates that are not in the middle.
            let far = matches!(physics, Physics::Depth { from, .. } if from > 8.0)
                || matches!(physics, Physics::Depth { from: -8.0, .. });
            let mates = if far { BARELY } else { MIDDLE };
            for (point, level) in POINTS {
                let odd = |mates, case: &Case, build: &Build| shifts(physics, mates, case, build);
                let found = averaged(point, level, mates, &odd);
                let row = table.at(point).expect("a figure at each steady point");
                let line = format!(
                    "{} {physics:?} {point}: stem {:.1} ± {:.1}, row {} ± {}",
                    cause.id, found.mean, found.sd, row.mean, row.sd
                );
                println!("{line}");
                let held = (row.mean - found.mean).abs() <= OFF
                    && row.sd >= found.sd - 1.0
                    && row.sd <= 1.25 * found.sd + 4.0;
                if !held {
                    wrong.push(line);
                }
                seen += 1;
            }
        }
    }
    assert_eq!(seen, 24, "a side at three points each");
    assert!(wrong.is_empty(), "not as the stem has it:\n{}", wrong.join("\n"));
}
