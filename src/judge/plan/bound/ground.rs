//! What set-ups cost at the least, wherever a plan goes from a situation.
//!
//! A set-up is shared by all the work that needs it, so no single piece of work can be made to
//! pay for it in a bound. Here each is charged once: to the repair that ends a case where that
//! repair needs it too, to the tests otherwise. It must not look at a belief.

use crate::plan::problem::{Problem, Situation};
use crate::plan::value::Prices;

/// Who pays for a test's set-up.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Due {
    /// Nothing to pay.
    Nothing,
    /// Bringing the engine into a state, an index into [`Ground::entries`].
    Entry(usize),
    /// Opening something.
    Access(usize),
}

/// Least prices seen from a situation.
#[derive(Debug)]
pub(super) struct Ground {
    /// Where.
    pub(super) from: Situation,
    /// By repair: least price with its set-up, wherever it is done in a plan.
    pub(super) full: Vec<f64>,
    /// By case: the least that ending it costs.
    pub(super) of_case: Vec<f64>,
    /// By test: its price, without what is charged to repairs that need it to be done before.
    pub(super) cost: Vec<f64>,
    /// By test.
    pub(super) due: Vec<Due>,
    /// Prices of entering states that tests need, ascending.
    pub(super) entries: Vec<f64>,
    /// Prices of opening.
    pub(super) access: Vec<f64>,
    /// By case: whether its repairs pay for bringing the engine into a state.
    pub(super) pays_entry: Vec<bool>,
    /// By case: bit per thing that its repairs pay for.
    pub(super) pays_access: Vec<u64>,
}

impl Ground {
    pub(super) fn new(problem: &Problem, prices: &Prices, from: Situation) -> Self {
        let world = &problem.world;
        // States that the engine can get into without a price of its own: where it is, where a
        // repair is verified, where a test leaves it.
        let mut free = vec![from.state, world.verifying];
        free.extend(problem.probes.iter().filter_map(|probe| probe.leaves));
        free.sort_unstable();
        free.dedup();
        let entry = |states: &[usize]| {
            let ways = free.iter().flat_map(|&a| states.iter().map(move |&b| (a, b)));
            ways.map(|(a, b)| world.change[a][b].total).fold(f64::INFINITY, f64::min)
        };
        let shut = |access: u64| {
            let shut = access & !from.open;
            (0..world.access.len()).filter(move |i| shut >> i & 1 == 1)
        };
        let access: Vec<f64> = world.access.iter().map(|price| price.total).collect();
        let full: Vec<f64> = problem
            .repairs
            .iter()
            .enumerate()
            .map(|(index, repair)| {
                let needs = &repair.needs;
                let opening: f64 = shut(needs.access).map(|i| access[i] * needs.openings).sum();
                let least = repair.price.total + entry(&needs.states) + opening;
                least.min(prices.later_from(index, from).total)
            })
            .collect();
        let mut entries: Vec<f64> = Vec::new();
        let mut dues: Vec<(f64, Due)> = Vec::new();
        for probe in &problem.probes {
            if probe.opens != 0 {
                dues.push((0.0, Due::Nothing));
                continue;
            }
            let state = entry(&probe.needs.states);
            let dearest = shut(probe.needs.access).max_by(|a, b| access[*a].total_cmp(&access[*b]));
            let opening = dearest.map_or(0.0, |i| access[i]);
            if state > opening {
                entries.push(state);
                dues.push((state, Due::Entry(0)));
            } else {
                dues.push((opening, dearest.map_or(Due::Nothing, Due::Access)));
            }
        }
        entries.sort_by(f64::total_cmp);
        entries.dedup_by(|a, b| (*a - *b).abs() < 1e-12);
        let place = |price: f64| entries.partition_point(|e| *e < price - 1e-12);
        let due = dues
            .into_iter()
            .map(|(price, due)| if due == Due::Entry(0) { Due::Entry(place(price)) } else { due })
            .collect();
        let pays_entry = problem
            .cures
            .iter()
            .map(|cures| cures.iter().any(|&r| entry(&problem.repairs[r].needs.states) > 0.0))
            .collect();
        let pays_access = problem
            .cures
            .iter()
            .map(|cures| cures.iter().fold(0, |bits, &r| bits | problem.repairs[r].needs.access))
            .collect();
        let of_case =
            problem.cures.iter().map(|cures| cures.iter().map(|&r| full[r]).sum()).collect();
        let cost = problem
            .probes
            .iter()
            .map(|probe| {
                let charged: f64 = shut(probe.opens).map(|i| access[i]).sum();
                (probe.price.total - charged).max(0.0)
            })
            .collect();
        Self { from, full, of_case, cost, due, entries, access, pays_entry, pays_access }
    }
}
