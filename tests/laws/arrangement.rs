//! Exchanges and their reverse.

use facts::job::entry::What;
use facts::job::read::read;
use facts::knowledge::Item;
use measure::engine::{Engine, Ignition};
use proptest::prelude::*;

use crate::support::{cases, inline, journal, knowledge};

/// Exchanges of a four, each of two different places.
fn exchanges() -> impl Strategy<Value = Vec<(Item, u8, u8)>> {
    let one = (proptest::sample::select(Item::ALL), 1_u8..=4, 1_u8..=3)
        .prop_map(|(item, a, step)| (item, a, (a + step - 1) % 4 + 1));
    proptest::collection::vec(one, 0..12)
}

fn exchange((item, a, b): (Item, u8, u8)) -> What {
    What::Exchange { item, a, b }
}

proptest! {
    #![proptest_config(cases(256))]

    #[test]
    fn exchanges_taken_back_in_reverse_restore_everything(list in exchanges(), wasted: bool) {
        let ignition = if wasted { Ignition::WastedSpark } else { Ignition::CoilPerPlug };
        let engine = Engine { ignition, ..inline(4) };
        let there_and_back = list.iter().chain(list.iter().rev()).copied().map(exchange);
        let timeline = read(knowledge(), &journal(&engine, there_and_back));
        prop_assert!(timeline.unknown.is_empty(), "{:?}", timeline.unknown);
        prop_assert!(timeline.arrangement.is_original());
        prop_assert_eq!(timeline.disturbances.len(), 2 * list.len());
    }

    #[test]
    fn the_put_back_list_restores_everything(list in exchanges(), wasted: bool) {
        let ignition = if wasted { Ignition::WastedSpark } else { Ignition::CoilPerPlug };
        let engine = Engine { ignition, ..inline(4) };
        let mut arrangement =
            read(knowledge(), &journal(&engine, list.iter().copied().map(exchange))).arrangement;
        for step in arrangement.put_back(&engine) {
            let (a, b) = step.positions;
            arrangement.exchange(&engine, step.item, a, b);
        }
        prop_assert!(arrangement.is_original());
    }
}
