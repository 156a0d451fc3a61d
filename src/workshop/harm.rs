//! What each cause is in plain physics, how large it can be, and how far undoing its joint cures it.
//!
//! The world's own table by the ids of the knowledge base. Sizes are spread evenly over doublings
//! between two ends; they are from memory and common practice, without a source, and were written down
//! without looking at what the knowledge base has. A cause that is not in it (of an overlay) is taken
//! by its seat. It must not say what a display shows.

use facts::knowledge::{Cause, Seat};

/// What happens.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Kind {
    /// Share of fuel too little or too much, at all points; at idle; at load.
    Fuel,
    FuelIdle,
    FuelLoad,
    /// Share of the idle air that gets in besides; missing air at all points, at idle, at load.
    AirLeak,
    AirShort,
    AirIdle,
    AirLoad,
    /// Degrees of crank later.
    Late,
    /// Burnt gas or oil in the charge.
    Inert,
    /// Share of the charge that leaks past the exhaust valve; elsewhere.
    ExhaustValve,
    Lost,
    /// Share of cycles missed.
    Missing,
    /// Share of the rise: burning on, drawn-in air, blocked runner, knock.
    Afterburn,
    Thinned,
    Blocked,
    Knock,
    /// Share of the head's rise, hotter.
    Hot,
    /// Slow to light until warm.
    Glow,
    /// mm too deep or too far out; share of the way to the wall.
    Depth,
    Wall,
    /// Share of the rise shown wrong; °C wrong at any temperature; °C that come with the heat of bay and box.
    Gain,
    Offset,
    Bay,
    /// Shows another cylinder.
    Names,
    /// Shows no number: open, stuck, falling.
    Open,
    Stuck,
    Falling,
    /// Not among the virtual faults.
    None,
}

/// To which side.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Side {
    Less,
    More,
    Either,
}

/// A row of the table.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Harm {
    pub(super) kind: Kind,
    /// Smallest and largest size.
    pub(super) size: [f64; 2],
    pub(super) side: Side,
    /// Chance that undoing and remaking its joint cures it.
    pub(super) loose: f64,
    /// Chance that the display jumps while it is there.
    pub(super) jumps: f64,
}

type Row = (&'static str, Kind, [f64; 2], Side, f64, f64);

use Kind as K;
use Side::{Either, Less, More};

const TABLE: [Row; 79] = [
    ("air-blocked", K::AirShort, [0.08, 0.45], More, 0.05, 0.0),
    ("air-leak", K::AirLeak, [0.06, 1.2], More, 0.25, 0.0),
    ("bank-mixture", K::Fuel, [0.05, 0.25], Either, 0.05, 0.0),
    ("boost-leak", K::AirLoad, [0.05, 0.3], More, 0.25, 0.0),
    ("box-dead", K::None, [1.0, 1.0], More, 0.0, 0.0),
    ("box-scale", K::None, [1.0, 1.0], More, 0.0, 0.0),
    ("carb-lean", K::Fuel, [0.06, 0.35], Less, 0.1, 0.0),
    ("carb-rich", K::Fuel, [0.06, 0.45], More, 0.1, 0.0),
    ("cfg-correction", K::Offset, [8.0, 80.0], Either, 0.0, 0.0),
    ("cfg-order", K::Names, [1.0, 1.0], More, 0.0, 0.0),
    ("cfg-type", K::Gain, [0.12, 0.4], Either, 0.0, 0.0),
    ("chan-cold-junction", K::Bay, [5.0, 35.0], Either, 0.1, 0.0),
    ("chan-error", K::Offset, [6.0, 70.0], Either, 0.05, 0.0),
    ("chan-ground-loop", K::Offset, [8.0, 80.0], Either, 0.2, 0.25),
    ("chan-stuck", K::Stuck, [1.0, 1.0], More, 0.1, 0.0),
    ("coil-crossed", K::Missing, [0.9, 1.0], More, 0.0, 0.0),
    ("coil-dead", K::Missing, [0.95, 1.0], More, 0.2, 0.0),
    ("coil-weak", K::Missing, [0.04, 0.6], More, 0.12, 0.15),
    ("conn-poor", K::Gain, [0.01, 0.25], Less, 0.6, 0.35),
    ("cool-airflow", K::Hot, [0.06, 0.35], More, 0.1, 0.0),
    ("cool-passage", K::Hot, [0.05, 0.3], More, 0.1, 0.0),
    ("cyl-cut", K::Missing, [0.95, 1.0], More, 0.0, 0.0),
    ("dies-coding", K::Fuel, [0.03, 0.12], Either, 0.0, 0.0),
    ("dies-glow", K::Glow, [0.05, 0.5], Less, 0.05, 0.0),
    ("dies-high", K::Fuel, [0.07, 0.35], More, 0.05, 0.0),
    ("dies-low", K::Fuel, [0.07, 0.45], Less, 0.1, 0.0),
    ("dies-nozzle", K::Late, [3.0, 18.0], More, 0.05, 0.0),
    ("dies-seat-leak", K::Lost, [0.05, 0.4], More, 0.5, 0.0),
    ("dies-timing", K::Late, [2.0, 10.0], Either, 0.05, 0.0),
    ("dist-fault", K::Missing, [0.04, 0.6], More, 0.25, 0.15),
    ("exh-afterburn", K::Afterburn, [0.03, 0.18], More, 0.05, 0.05),
    ("exh-blocked", K::Blocked, [0.08, 0.5], More, 0.02, 0.0),
    ("exh-leak", K::Thinned, [0.03, 0.22], More, 0.15, 0.0),
    ("fit-deep", K::Depth, [2.0, 9.0], More, 0.7, 0.0),
    ("fit-head-contact", K::Gain, [0.06, 0.5], Less, 0.65, 0.1),
    ("fit-leak", K::Thinned, [0.03, 0.25], More, 0.55, 0.0),
    ("fit-position", K::Gain, [0.02, 0.12], Either, 0.0, 0.0),
    ("fit-shallow", K::Depth, [2.0, 13.0], Less, 0.7, 0.0),
    ("fit-wall-touch", K::Wall, [0.12, 0.6], More, 0.75, 0.05),
    ("gasket", K::Lost, [0.06, 0.5], More, 0.0, 0.0),
    ("gasket-between", K::Lost, [0.12, 0.6], More, 0.0, 0.0),
    ("ht-crossed", K::Missing, [0.9, 1.0], More, 0.0, 0.0),
    ("ht-lead", K::Missing, [0.04, 0.6], More, 0.3, 0.15),
    ("inert-gas", K::Inert, [0.04, 0.3], More, 0.1, 0.0),
    ("inj-dead", K::Missing, [0.95, 1.0], More, 0.1, 0.0),
    ("inj-dribble", K::FuelIdle, [0.06, 0.7], More, 0.05, 0.0),
    ("inj-lean", K::Fuel, [0.07, 0.45], Less, 0.05, 0.0),
    ("inj-odd-flow", K::Fuel, [0.05, 0.25], Either, 0.0, 0.0),
    ("inj-phase", K::Fuel, [0.01, 0.06], Either, 0.0, 0.0),
    ("inj-phase-direct", K::Missing, [0.8, 1.0], More, 0.0, 0.0),
    ("inj-rich", K::Fuel, [0.07, 0.6], More, 0.05, 0.0),
    ("inj-wiring", K::Missing, [0.05, 0.9], More, 0.5, 0.2),
    ("knock", K::Knock, [0.02, 0.12], More, 0.03, 0.0),
    ("lead-copper", K::Bay, [10.0, 50.0], Either, 0.05, 0.0),
    ("lead-crossed", K::Names, [1.0, 1.0], More, 0.0, 0.0),
    ("lead-double-reversed", K::Bay, [20.0, 90.0], Less, 0.05, 0.0),
    ("lead-open", K::Open, [1.0, 1.0], More, 0.3, 0.1),
    ("lead-pickup", K::Offset, [5.0, 60.0], Either, 0.2, 0.45),
    ("lead-reversed", K::Falling, [1.0, 1.0], More, 0.05, 0.0),
    ("lead-shorted", K::Gain, [0.5, 0.97], Less, 0.25, 0.1),
    ("natural-spread", K::None, [1.0, 1.0], More, 0.0, 0.0),
    ("not-settled", K::None, [1.0, 1.0], More, 0.0, 0.0),
    ("oil-in", K::Inert, [0.03, 0.2], More, 0.02, 0.0),
    ("pair-coil", K::Missing, [0.06, 1.0], More, 0.15, 0.1),
    ("plug-dead", K::Missing, [0.95, 1.0], More, 0.1, 0.0),
    ("plug-fouled", K::Missing, [0.04, 0.7], More, 0.15, 0.15),
    ("probe-damp", K::Gain, [0.02, 0.3], Less, 0.1, 0.35),
    ("probe-drift", K::Gain, [0.01, 0.09], Less, 0.03, 0.0),
    ("probe-odd-build", K::Gain, [0.01, 0.07], Either, 0.0, 0.0),
    ("probe-open", K::Open, [1.0, 1.0], More, 0.05, 0.1),
    ("probe-short", K::Gain, [0.3, 0.95], Less, 0.1, 0.1),
    ("probe-wrong-type", K::Gain, [0.12, 0.4], Either, 0.0, 0.0),
    ("probes-exchanged", K::Names, [1.0, 1.0], More, 0.0, 0.0),
    ("rail-starved", K::FuelLoad, [0.06, 0.35], Less, 0.05, 0.0),
    ("rings", K::Lost, [0.05, 0.5], More, 0.0, 0.0),
    ("rod-bent", K::Lost, [0.08, 0.45], More, 0.0, 0.0),
    ("spark-late", K::Late, [3.0, 18.0], More, 0.05, 0.0),
    ("throttle-uneven", K::AirIdle, [0.06, 0.35], Either, 0.1, 0.0),
    ("trim-fuel", K::Fuel, [0.05, 0.25], Either, 0.0, 0.0),
];
/// The rest of the table.
const MORE: [Row; 5] = [
    ("trim-spark", K::Late, [3.0, 15.0], Either, 0.0, 0.0),
    ("valve-exh-leak", K::ExhaustValve, [0.03, 0.4], More, 0.0, 0.0),
    ("valve-inl-leak", K::Lost, [0.05, 0.5], More, 0.0, 0.0),
    ("valve-tight", K::ExhaustValve, [0.02, 0.15], More, 0.0, 0.0),
    ("valve-wide", K::AirShort, [0.05, 0.35], More, 0.0, 0.0),
];

/// The row of a cause.
pub(super) fn harm(cause: &Cause) -> Harm {
    let known = TABLE.iter().chain(&MORE).find(|row| row.0 == cause.id);
    let (kind, size, to, loose, jumps) = match (known, cause.seat) {
        (Some(&(_, kind, size, to, loose, jumps)), _) => (kind, size, to, loose, jumps),
        (None, Seat::Nothing) => (K::None, [1.0, 1.0], More, 0.0, 0.0),
        (None, Seat::Probe | Seat::Fit | Seat::Lead) => (K::Gain, [0.03, 0.3], Either, 0.3, 0.1),
        (None, Seat::Channel | Seat::Settings) => (K::Offset, [8.0, 80.0], Either, 0.05, 0.0),
        (None, Seat::Plug | Seat::HtLead | Seat::Coil) => (K::Missing, [0.05, 0.8], More, 0.1, 0.1),
        (None, _) => (K::Fuel, [0.06, 0.35], Either, 0.05, 0.0),
    };
    Harm { kind, size, side: to, loose, jumps }
}

#[cfg(test)]
mod tests {
    use super::*;
    use facts::knowledge::{embedded::embedded, load};

    #[test]
    fn the_table_has_each_cause_of_the_knowledge_base_once_and_nothing_else() {
        let known = load(embedded(), &[]).0.expect("the built-in knowledge base is sound");
        let rows: Vec<&str> = TABLE.iter().chain(&MORE).map(|row| row.0).collect();
        let causes: Vec<&str> = known.causes.iter().map(|cause| cause.id.as_str()).collect();
        assert_eq!(rows, causes);
        for row in TABLE.iter().chain(&MORE) {
            assert!(row.2[0] > 0.0 && row.2[0] <= row.2[1], "{}", row.0);
        }
    }
}
