//! What is said of causes in no list, held against the list.

use facts::job::read::read;
use facts::knowledge::{Knowledge, embedded::embedded, load};
use fixture::journal;
use measure::engine::ProbeSite;

use super::data::Kind;
use super::effect::{self, Context, Moments};
use facts::knowledge::AMBIENT;

/// Second and fourth moment about nothing at a kind of reading, by weight.
fn moments_at(sides: &[(f64, &Moments)], kind: usize) -> (f64, f64) {
    let (mut all, mut second, mut fourth) = (0.0, 0.0, 0.0);
    for (weight, side) in sides.iter().filter(|(_, side)| side.meaningful[kind]) {
        let variance: f64 = side.factor.row(kind).iter().map(|f| f * f).sum();
        let square = side.mean[kind].powi(2);
        let share = weight * side.share;
        all += share;
        second += share * (square + variance);
        fourth += share * (square * square + 6.0 * square * variance + 3.0 * variance * variance);
    }
    (second / all, fourth / all)
}

/// The sizes of what no list has are those that listed causes have: what stands in the knowledge base as
/// computed is computed here anew.
#[test]
fn what_is_in_no_list_has_the_sizes_of_what_is() {
    let knowledge: Knowledge =
        load(embedded(), &[]).0.expect("the built-in knowledge base is whole");
    let mut head = journal();
    let preset = knowledge.presets.iter().find(|p| p.id == "inline-four-port").expect("there");
    head.head.engine = preset.engine.clone();
    let timeline = read(&knowledge, &head);
    let site = ProbeSite::Exhaust;
    let kinds = knowledge.points.steady().map(|at| Kind { site, at });
    let levels = knowledge.constants.reference_rise.map(|rise| AMBIENT + rise);
    let installed = effect::installed(&timeline, &kinds, &levels);
    let context = Context {
        knowledge: &knowledge,
        engine: &timeline.engine,
        kinds: &kinds,
        levels: &levels,
        installed: &installed,
    };
    let known: Vec<(f64, Vec<Moments>)> = knowledge
        .causes
        .iter()
        .enumerate()
        .filter(|(_, cause)| cause.applies.holds(&timeline.engine) && !cause.passes())
        .filter(|(_, cause)| !cause.effects.is_empty() && !cause.misnames())
        .map(|(index, cause)| (cause.weight, effect::moments(context, index, None)))
        .collect();
    let listed: Vec<(f64, &Moments)> =
        known.iter().flat_map(|(weight, sides)| sides.iter().map(|side| (*weight, side))).collect();
    let unlisted = effect::unlisted(context);
    let unlisted: Vec<(f64, &Moments)> = unlisted.iter().map(|side| (1.0, side)).collect();
    for (kind, at) in kinds.iter().enumerate() {
        let (ours, theirs) = (moments_at(&unlisted, kind), moments_at(&listed, kind));
        for (ours, theirs) in
            [(ours.0.sqrt(), theirs.0.sqrt()), (ours.1.powf(0.25), theirs.1.powf(0.25))]
        {
            assert!((ours / theirs - 1.0).abs() < 0.15, "{at:?}: {ours} for {theirs}");
        }
    }
}
