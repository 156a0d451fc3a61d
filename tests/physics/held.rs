//! Which recorded changes the sides of causes stand for, from the smaller size of the defect to the larger.
//!
//! A row that is new, and that the cycle model knows, gets its line here.

use Side::{Diesel, Petrol};

/// Which side of a cause: among `effects`, or among those for diesels.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Side {
    Petrol(usize),
    Diesel(usize),
}

/// A cause's side, and the changes whose span it must lie in at idle, cruise and full load; none where the row has
/// another reason there than the model's (a leak that closes, a throttle that governs).
pub(crate) type Held = (&'static str, Side, [&'static [&'static str]; 3]);

const DEAD: &[&str] = &["no-burn", "no-fuel"];
const DEAD_BURNS_ON: &[&str] = &["no-burn", "no-burn-5-lit"];
const SOME: &[&str] = &["miss-1-in-10", "miss-1-in-4"];
const MANY: &[&str] = &["miss-1-in-4", "miss-3-in-4"];
const ANY: &[&str] = &["miss-1-in-10", "miss-3-in-4"];
const HALF_UP: &[&str] = &["miss-1-in-4", "no-burn"];
const LATE_BURN: &[&str] = &["burn-longer", "burn-long"];
const LEAK: &[&str] = &["leak-crankcase-1mm2", "leak-crankcase-3mm2"];
const INLET: &[&str] = &["leak-inlet-1mm2", "leak-inlet-3mm2", "leak-crankcase-1mm2"];
const EXHAUST: &[&str] = &["leak-exhaust-1mm2", "leak-exhaust-6mm2"];
const LIT_LATE: &[&str] = &["no-burn-25-lit", "no-burn-50-lit"];

/// The rows that are held against it.
pub(crate) const HELD: &[Held] = &[
    ("inj-lean", Petrol(1), [&["lean-10-slow"], &["lean-10-slow"], &["lean-10-slow"]]),
    (
        "inj-lean",
        Petrol(2),
        [&["fuel-33", "miss-1-in-4"], &["fuel-33", "miss-1-in-4"], &["fuel-33", "miss-1-in-4"]],
    ),
    (
        "inj-rich",
        Petrol(1),
        [&["fuel+30", "no-burn"], &["fuel+30", "no-burn"], &["fuel+15", "fuel+30"]],
    ),
    ("inj-dead", Petrol(0), [DEAD, DEAD, DEAD]),
    ("inj-wiring", Petrol(1), [ANY, ANY, ANY]),
    ("inj-wiring", Petrol(2), [DEAD, DEAD, DEAD]),
    ("inj-phase-direct", Petrol(0), [DEAD_BURNS_ON, DEAD_BURNS_ON, &["no-burn", "no-burn-25-lit"]]),
    ("rail-starved", Petrol(1), [&[], &[], &["fuel-33"]]),
    ("carb-rich", Petrol(1), [ANY, ANY, ANY]),
    ("air-leak", Petrol(1), [&["lean-15-slow", "lean-15-late"], &[], &[]]),
    ("air-leak", Petrol(2), [MANY, &[], &[]]),
    ("boost-leak", Diesel(0), [&[], &["air-5"], &["air-5", "air-10"]]),
    (
        "air-blocked",
        Diesel(0),
        [&["air-10", "air-15"], &["air-10", "air-15"], &["air-10", "air-15"]],
    ),
    ("throttle-uneven", Petrol(2), [&["charge+20"], &["charge+20"], &[]]),
    ("throttle-uneven", Petrol(3), [&["charge-20"], &["charge-20"], &[]]),
    ("inert-gas", Petrol(0), [&["dilution+5"], &["dilution+5"], &[]]),
    (
        "inert-gas",
        Petrol(1),
        [&["dilution+5-slow", "dilution+10-slow"], &["dilution+5-slow", "dilution+10-slow"], &[]],
    ),
    ("inert-gas", Petrol(2), [SOME, &[], &[]]),
    ("plug-fouled", Petrol(0), [SOME, SOME, SOME]),
    ("plug-fouled", Petrol(1), [&[], SOME, ANY]),
    ("plug-fouled", Petrol(2), [HALF_UP, HALF_UP, HALF_UP]),
    ("plug-fouled", Petrol(3), [LATE_BURN, LATE_BURN, LATE_BURN]),
    ("plug-dead", Petrol(0), [DEAD_BURNS_ON, DEAD_BURNS_ON, &["no-burn", "no-burn-25-lit"]]),
    ("plug-dead", Petrol(1), [&[], ANY, HALF_UP]),
    ("ht-lead", Petrol(0), [&[], SOME, ANY]),
    ("ht-lead", Petrol(1), [DEAD_BURNS_ON, DEAD_BURNS_ON, &["no-burn", "no-burn-25-lit"]]),
    ("ht-lead", Petrol(2), [LATE_BURN, LATE_BURN, LATE_BURN]),
    ("coil-weak", Petrol(0), [&[], SOME, ANY]),
    ("coil-weak", Petrol(1), [DEAD_BURNS_ON, DEAD_BURNS_ON, &["no-burn", "no-burn-25-lit"]]),
    ("coil-weak", Petrol(2), [LATE_BURN, LATE_BURN, LATE_BURN]),
    ("coil-dead", Petrol(0), [DEAD_BURNS_ON, DEAD_BURNS_ON, &["no-burn", "no-burn-25-lit"]]),
    ("coil-dead", Petrol(1), [MANY, MANY, MANY]),
    ("pair-coil", Petrol(0), [&[], SOME, ANY]),
    ("pair-coil", Petrol(1), [DEAD_BURNS_ON, DEAD_BURNS_ON, &["no-burn", "no-burn-25-lit"]]),
    ("pair-coil", Petrol(2), [LATE_BURN, LATE_BURN, LATE_BURN]),
    ("ht-crossed", Petrol(0), [DEAD_BURNS_ON, DEAD_BURNS_ON, &["no-burn", "no-burn-25-lit"]]),
    ("ht-crossed", Petrol(1), [LIT_LATE, LIT_LATE, LIT_LATE]),
    ("coil-crossed", Petrol(0), [DEAD_BURNS_ON, DEAD_BURNS_ON, &["no-burn", "no-burn-25-lit"]]),
    ("coil-crossed", Petrol(1), [LIT_LATE, LIT_LATE, LIT_LATE]),
    ("dist-fault", Petrol(0), [&[], SOME, SOME]),
    ("dist-fault", Petrol(1), [DEAD_BURNS_ON, DEAD_BURNS_ON, &["no-burn", "no-burn-25-lit"]]),
    (
        "dist-fault",
        Petrol(2),
        [&["burn+5", "burn+7"], &["burn+5", "burn+7"], &["burn+5", "burn+7"]],
    ),
    ("spark-late", Petrol(0), [&["burn+7"], &["burn+7"], &["burn+7"]]),
    ("spark-late", Petrol(1), [&[], &[], &["burn+7"]]),
    ("knock", Petrol(0), [&[], &["burn-3"], &["burn-3", "burn-5"]]),
    ("knock", Petrol(1), [&[], &["burn-5", "burn-10"], &["burn-10"]]),
    ("trim-spark", Petrol(0), [&["burn+5"], &["burn+5"], &["burn+5"]]),
    ("trim-spark", Petrol(1), [&["burn-5"], &["burn-5"], &["burn-5"]]),
    ("cyl-cut", Petrol(0), [DEAD, DEAD, DEAD]),
    ("valve-exh-leak", Petrol(0), [EXHAUST, EXHAUST, EXHAUST]),
    ("valve-inl-leak", Petrol(0), [INLET, INLET, INLET]),
    ("rings", Petrol(0), [LEAK, LEAK, LEAK]),
    ("gasket", Petrol(0), [LEAK, LEAK, LEAK]),
    (
        "valve-tight",
        Petrol(0),
        [
            &["opens-5", "leak-exhaust-3mm2"],
            &["opens-5", "leak-exhaust-3mm2"],
            &["opens-5", "leak-exhaust-3mm2"],
        ],
    ),
    ("valve-wide", Petrol(0), [&[], &["charge-20", "air-10"], &["charge-20", "air-10"]]),
    ("oil-in", Petrol(1), [LATE_BURN, LATE_BURN, LATE_BURN]),
    (
        "rod-bent",
        Petrol(0),
        [&["ratio-1", "ratio-2"], &["ratio-1", "ratio-2"], &["ratio-1", "ratio-2"]],
    ),
    (
        "exh-leak",
        Petrol(0),
        [&["runner-air+5", "runner-air+10"], &["runner-air+5", "runner-air+10"], &[]],
    ),
    ("exh-leak", Petrol(2), [&[], &[], &["runner-air+5-lit"]]),
    (
        "exh-blocked",
        Petrol(0),
        [
            &["exhaust-pressure+30", "exhaust-pressure+30-slow"],
            &["exhaust-pressure+30", "exhaust-pressure+30-slow"],
            &["exhaust-pressure+30", "exhaust-pressure+30-slow"],
        ],
    ),
    ("exh-blocked", Petrol(1), [&["half-flow"], &["half-flow"], &["half-flow"]]),
    (
        "exh-leak",
        Diesel(0),
        [&["runner-air+5", "runner-air+10"], &["runner-air+5", "runner-air+10"], &[]],
    ),
    ("dies-high", Diesel(0), [&["fuel+10"], &["fuel+10"], &["fuel+10"]]),
    ("dies-low", Diesel(0), [&["fuel-12"], &["fuel-12"], &["fuel-12"]]),
    ("dies-nozzle", Diesel(0), [LATE_BURN, LATE_BURN, LATE_BURN]),
    (
        "dies-seat-leak",
        Diesel(0),
        [
            &["leak-crankcase-0.5mm2", "leak-crankcase-1mm2"],
            &["leak-crankcase-0.5mm2", "leak-crankcase-1mm2"],
            &["leak-crankcase-0.5mm2", "leak-crankcase-1mm2"],
        ],
    ),
    (
        "dies-timing",
        Diesel(0),
        [&["burn+5", "burn+8"], &["burn+5", "burn+8"], &["burn+5", "burn+8"]],
    ),
    (
        "dies-timing",
        Diesel(1),
        [&["burn-3", "burn-5"], &["burn-3", "burn-5"], &["burn-3", "burn-5"]],
    ),
    ("dies-coding", Diesel(0), [&["fuel+8"], &["fuel+8"], &["fuel+8"]]),
    ("dies-coding", Diesel(1), [&["fuel-8"], &["fuel-8"], &["fuel-8"]]),
    ("valve-exh-leak", Diesel(0), [EXHAUST, EXHAUST, EXHAUST]),
    ("valve-inl-leak", Diesel(0), [INLET, INLET, INLET]),
    ("rings", Diesel(0), [LEAK, LEAK, LEAK]),
    ("gasket", Diesel(0), [LEAK, LEAK, LEAK]),
    ("valve-wide", Diesel(0), [&["air-5"], &["air-5"], &["air-5"]]),
    ("oil-in", Diesel(0), [&["fuel+5", "fuel+10"], &["fuel+5", "fuel+10"], &["fuel+5", "fuel+10"]]),
    (
        "rod-bent",
        Diesel(0),
        [
            &["ratio-1", "ratio-2", "burn+3"],
            &["ratio-1", "ratio-2", "burn+3"],
            &["ratio-1", "ratio-2", "burn+5"],
        ],
    ),
];
