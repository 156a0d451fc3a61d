//! What the whole sheet of a fitting plan adds: the order of work, heat, and what it rests on.
//!
//! It must not compute a tolerance.

use measure::engine::Regime;
use measure::probe::Case;
use measure::probe::fit_plan::{DepthLimit, NEAREST, Plan, SLACK, USUAL_WITHIN};
use measure::probe::outlook::POINTS;
use measure::units::Scale;

use super::fit_plan::{FitPlanInput, degrees, mm};
use super::{bare, number, size};
use crate::report::{terms, words};

/// What to do, in order.
pub(super) fn steps(plan: &Plan) -> Vec<String> {
    let mark = "Mark each stem at its length from the tip, with a pen that stands heat or a light \
                scratch. Push it in until the mark is flush with the top of the fitting, tighten, look \
                again."
        .to_owned();
    let mut steps = vec![
        "Print the template at 100 % and hold a rule to its line of 100 mm. `-o plan.pdf` and \
         `-o plan.svg` have it."
            .to_owned(),
        format!(
            "Measure {} mm from the face of the flange along the middle of the runner; round a bend \
             the inside is shorter and the outside longer.",
            mm(plan.common.distance_mm)
        ),
        "Put all bosses on the same side of their runners, square to them: on the outside of the bend \
         before, away from a neighbour's runner, where a spanner goes (common practice, no source)."
            .to_owned(),
        "Before drilling look for water jackets, studs and what lies behind. Centre punch, small drill \
         first, deburr inside."
            .to_owned(),
        mark,
        "Measure every depth once more from the inner wall where you can see it, and write it down: \
         `oddpot fit JOB --depths ...` keeps it with the engine."
            .to_owned(),
    ];
    if plan.cylinders.iter().any(|one| !one.offsets.is_empty()) {
        steps.push(
            "Write the expected offsets on the sheet as well: they are there when all is healthy."
                .to_owned(),
        );
    }
    steps
}

/// What heat does to bosses, leads and heads.
pub(super) fn heat(plan: &Plan, scale: Scale) -> Vec<String> {
    let bosses: Vec<String> = POINTS
        .into_iter()
        .filter_map(|at| Some((at, Case::typical(at)?)))
        .map(|(at, case): (Regime, Case)| {
            format!("{} {} at {}", bare(case.boss, scale), scale.sign(), terms::regime(at))
        })
        .collect();
    let most = plan.cylinders.iter().map(|one| one.moves_mm).fold(0.0, f64::max);
    let mut lines = vec![
        format!(
            "A boss is typically {} (assumed, nobody measured yours). Heads and seals of probes stand \
             far less: look up what yours stand, and leave sheath between boss and head.",
            words::list(&bosses)
        ),
        format!(
            "From cold to full load a boss moves up to {} mm away from the flange (stainless steel, 17 \
             millionths per °C, from memory). Alike at all runners it costs nothing; a stay between \
             runner and head breaks.",
            number(most, 1)
        ),
        format!(
            "Leads: {} mm over the way to the box for a loop at the probe and the engine's rocking \
             (common practice, no source). Tie the lead to what moves with the engine before it \
             crosses to what does not.",
            mm(SLACK)
        ),
    ];
    let left = plan.cylinders.iter().filter_map(|one| one.outside_mm);
    let least = left.fold(f64::INFINITY, f64::min);
    if least.is_finite() {
        lines.push(format!("Sheath left outside the fitting: {} mm at least.", mm(least)));
    }
    lines
}

/// What the figures rest on.
pub(super) fn grounds(input: FitPlanInput<'_>, scale: Scale) -> Vec<String> {
    let plan = input.plan;
    let sign = scale.sign();
    let mut lines = Vec::new();
    if (plan.wish.within - USUAL_WITHIN).abs() < 1e-9 {
        lines.push(format!(
            "{} {sign} of spread: healthy cylinders differ by {} {sign} (one standard deviation, \
             common practice), so four lie within {} {sign} in 95 of 100 engines. Fitting adds under \
             {} {sign} to that. `--within` takes another.",
            degrees(USUAL_WITHIN, scale),
            degrees(12.0, scale),
            degrees(44.0, scale),
            degrees(2.0, scale),
        ));
    }
    lines.push(match plan.depth_limit {
        DepthLimit::Middle => {
            "Depth: to the middle of the narrowest runner. There a millimetre is worth least of all \
             depths that do not pass it (stem model)."
                .to_owned()
        }
        DepthLimit::Reach => {
            "Depth: as far as the shortest probe reaches. A longer one, up to the middle of the \
             runner, makes the tolerance wider."
                .to_owned()
        }
        DepthLimit::Asked => "Depth: as asked for.".to_owned(),
    });
    lines.push(format!(
        "Clear of bends: two bores after a bend of 90°, half a bore before one, less after a lesser \
         one; {} mm from the flange for the spanner (common practice, no source).",
        mm(NEAREST)
    ));
    lines.push(
        "Tolerances: errors even over the tolerance, the worst running point, slopes three quarters \
         of a standard deviation steeper than expected."
            .to_owned(),
    );
    if plan.cylinders.iter().any(|one| !one.offsets.is_empty()) {
        lines.push(
            "Off when healthy: stem model at the own place less at the common one. ± is one standard \
             deviation of what nobody measured: gas, flow, wall, sheath, depth, cooling."
                .to_owned(),
        );
    }
    lines.push(
        "Gas cooling along the pipe: Depcik and Assanis 2002 (SAE 2002-01-0372), Nu = 0.07 Re^0.75, \
         taken to be right to a factor of 1.5. Right behind the port it is steeper (common practice, \
         no figure)."
            .to_owned(),
    );
    if let Some(trial) = input.trial {
        lines.push(format!(
            "Tried on {} invented engines with {} such displays (seed {}), their gas, flow, walls and \
             probes drawn as well: {} of 100 kept within {} {sign}, 95 of 100 within {} {sign}.",
            trial.engines,
            trial.displays,
            trial.seed,
            number((100.0 * trial.share).floor(), 0),
            degrees(plan.wish.within, scale),
            size(trial.spread, scale),
        ));
    }
    lines.push(
        "Not in it: pulses of neighbours in a log or a collector, leaks, wraps, unlike ports."
            .to_owned(),
    );
    lines
}
