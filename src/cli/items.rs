//! Which items an engine has, and how they are named.

use super::failure::Failure;
use facts::job::arrangement::share_a_coil;
use facts::knowledge::Item;
use measure::engine::{Engine, Fuel, Ignition};

/// Whether an engine has an item of its own for each cylinder.
///
/// # Errors
/// When it has not, and why.
pub(super) fn check(engine: &Engine, item: Item) -> Result<(), Failure> {
    let spark = engine.ignition != Ignition::None;
    let fits = match item {
        Item::Probe | Item::LeadAtBox | Item::LeadAtProbe => true,
        Item::Injector => engine.fuel != Fuel::Carburettor,
        Item::Plug | Item::HtLead => spark,
        Item::Coil => matches!(engine.ignition, Ignition::CoilPerPlug | Ignition::WastedSpark),
    };
    if fits {
        return Ok(());
    }
    let because = match item {
        Item::Injector => format!("its fuel system is `{}`", engine.fuel),
        _ => format!("its ignition is `{}`", engine.ignition),
    };
    Err(Failure::usage(format!("this engine has no `{item}` for each cylinder: {because}")))
}

/// Whether two items can change places.
///
/// # Errors
/// When both cylinders hang on one coil.
pub(super) fn check_pair(engine: &Engine, item: Item, a: u8, b: u8) -> Result<(), Failure> {
    check(engine, item)?;
    if item == Item::Coil && share_a_coil(engine, a, b) {
        return Err(Failure::usage(format!(
            "cylinders {a} and {b} share one coil: there is nothing to exchange"
        ))
        .hint("name a cylinder of another coil"));
    }
    Ok(())
}

/// The item in words, for more than one.
pub(super) fn plural(item: Item) -> &'static str {
    match item {
        Item::Probe => "probes of cylinders",
        Item::LeadAtBox => "leads at the box of displays",
        Item::LeadAtProbe => "leads at the probes of cylinders",
        Item::Injector => "injectors of cylinders",
        Item::Plug => "plugs of cylinders",
        Item::Coil => "coils of cylinders",
        Item::HtLead => "high-tension leads of cylinders",
    }
}

/// The item in words, for one.
pub(super) fn singular(item: Item) -> &'static str {
    match item {
        Item::Probe => "probe of cylinder",
        Item::LeadAtBox => "lead at the box of display",
        Item::LeadAtProbe => "lead at the probe of cylinder",
        Item::Injector => "injector of cylinder",
        Item::Plug => "plug of cylinder",
        Item::Coil => "coil of cylinder",
        Item::HtLead => "high-tension lead of cylinder",
    }
}

#[cfg(test)]
mod tests {
    use Item::{Coil, HtLead, Injector, LeadAtBox, LeadAtProbe, Plug, Probe};

    use super::*;

    #[test]
    fn items_the_engine_does_not_have_are_refused() {
        let with = |fuel, ignition| Engine { fuel, ignition, ..fixture::engine() };
        let has = |engine: &Engine| -> Vec<Item> {
            Item::ALL.iter().copied().filter(|&item| check(engine, item).is_ok()).collect()
        };
        let chain = [Probe, LeadAtBox, LeadAtProbe];
        let cases = [
            (Fuel::Carburettor, Ignition::Distributor, vec![Plug, HtLead]),
            (Fuel::Diesel, Ignition::None, vec![Injector]),
            (Fuel::Direct, Ignition::CoilPerPlug, vec![Injector, Plug, Coil, HtLead]),
        ];
        for (fuel, ignition, others) in cases {
            let expected: Vec<Item> = chain.iter().copied().chain(others).collect();
            assert_eq!(has(&with(fuel, ignition)), expected, "{fuel} {ignition}");
        }
    }

    #[test]
    fn one_coil_has_no_other_to_change_with() {
        let engine = fixture::engine();
        assert!(check_pair(&engine, Coil, 1, 4).is_err());
        assert!(check_pair(&engine, Coil, 1, 2).is_ok());
        assert!(check_pair(&engine, Plug, 1, 4).is_ok());
    }
}
