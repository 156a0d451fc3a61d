//! Names of things of the trade as a reader sees them: points, states, parts, faults.

use facts::job::arrangement::{Arrangement, PutBack};
use facts::job::entry::EngineState;
use facts::job::timeline::{Closing, Standing, Timeline};
use facts::job::trim::{Lever, MixtureSign};
use facts::knowledge::{Item, Knowledge, Points, RunningPoint, Seat, Thermal};
use judge::diagnosis::{Fault, Proof};
use measure::engine::{
    Cooling, Cylinder, DepthHold, Engine, Fuel, Ignition, Induction, Intake, Layout, Place,
    PointId, ProbeSite, Regime,
};

use super::words;

/// A running point.
#[must_use]
pub fn point(point: RunningPoint) -> &'static str {
    point.name()
}

/// A running point that a file names: by its id where the knowledge base has none of it.
#[must_use]
pub fn named_point(points: &Points, id: PointId) -> String {
    points.get(id).map_or_else(|| id.to_string(), |at| point(at).to_owned())
}

/// A running point that physics knows, where no job is spoken of.
#[must_use]
pub fn regime(regime: Regime) -> &'static str {
    point(Points::built_in().of(regime))
}

/// A running point, and the probes if they are not those of the complaint.
#[must_use]
pub fn point_and_site(at: RunningPoint, site: ProbeSite, usual: ProbeSite) -> String {
    with_site(point(at), site, usual)
}

/// The same of a point by its name.
#[must_use]
pub fn with_site(at: &str, site: ProbeSite, usual: ProbeSite) -> String {
    if site == usual {
        return at.to_owned();
    }
    match site {
        ProbeSite::Exhaust => format!("{at}, exhaust probes"),
        ProbeSite::Head => format!("{at}, head probes"),
    }
}

/// A state of the engine.
#[must_use]
pub fn thermal(state: Thermal) -> &'static str {
    match state {
        Thermal::ColdSoaked => "cold soaked, untouched for eight hours or more",
        Thermal::Cold => "cold",
        Thermal::Cool => "stopped and cool enough to handle",
        Thermal::Hot => "stopped and hot",
        Thermal::Idle => "running at warm idle",
        Thermal::Cruise => "running at steady cruise",
        Thermal::Full => "running at full load",
    }
}

/// A state of the engine as it was told.
#[must_use]
pub fn told_state(state: EngineState) -> &'static str {
    match state {
        EngineState::ColdSoaked => "cold soaked",
        EngineState::Cold => "cold",
        EngineState::Warm => "warm",
    }
}

/// A seat.
#[must_use]
pub fn seat(seat: Seat) -> &'static str {
    match seat {
        Seat::Probe => "probe body",
        Seat::Fit => "fit of the probe",
        Seat::Lead => "lead and connectors",
        Seat::Channel => "channel of the display box",
        Seat::Settings => "settings",
        Seat::Injector => "injector",
        Seat::InjectorWiring => "injector wiring",
        Seat::Plug => "spark plug",
        Seat::HtLead => "HT lead",
        Seat::Coil => "coil",
        Seat::Runner => "intake runner",
        Seat::ExhaustRunner => "exhaust runner",
        Seat::Cylinder => "cylinder itself",
        Seat::Bank => "whole bank",
        Seat::Engine => "whole engine",
        Seat::Nothing => "no part",
    }
}

/// Two like items that change places, without the verb.
#[must_use]
pub fn two_items(item: Item, a: Cylinder, b: Cylinder) -> String {
    match item {
        Item::Probe => format!("probes {a} and {b}"),
        Item::LeadAtBox => format!("the leads of displays {a} and {b} at the box"),
        Item::LeadAtProbe => format!("the leads of cylinders {a} and {b} at the probes"),
        Item::Injector => format!("injectors {a} and {b}"),
        Item::Plug => format!("spark plugs {a} and {b}"),
        Item::Coil => format!("coils {a} and {b}"),
        Item::HtLead => format!("HT leads {a} and {b}"),
    }
}

/// One item by the number it came in with.
#[must_use]
pub fn one_item(item: Item, number: Cylinder) -> String {
    match item {
        Item::Probe => format!("probe {number}"),
        Item::LeadAtBox => format!("box end of lead {number}"),
        Item::LeadAtProbe => format!("probe end of lead {number}"),
        Item::Injector => format!("injector {number}"),
        Item::Plug => format!("spark plug {number}"),
        Item::Coil => format!("coil {number}"),
        Item::HtLead => format!("HT lead {number}"),
    }
}

/// A position of an item: a display for the box end of a lead, else a cylinder.
#[must_use]
pub fn position(item: Item, number: Cylinder) -> String {
    match item {
        Item::LeadAtBox => format!("display {number}"),
        _ => format!("cylinder {number}"),
    }
}

/// What was undone and remade, or renewed, in the past tense.
#[must_use]
pub fn remade(item: Item, at: Cylinder, new: bool) -> String {
    let at = position(item, at);
    match (item, new) {
        (Item::LeadAtBox, true) => format!("plugged the lead of {at} into a spare channel"),
        (Item::LeadAtProbe, true) => format!("ran a known good lead to {at}"),
        (Item::LeadAtBox, false) => format!("remade the lead of {at} at the box"),
        (Item::LeadAtProbe, false) => format!("remade the lead of {at} at the probe"),
        (_, true) => format!("fitted a known good {} at {at}", kind(item)),
        (_, false) => format!("re-seated the {} at {at}", kind(item)),
    }
}

/// What kind of item it is.
#[must_use]
pub fn kind(item: Item) -> &'static str {
    match item {
        Item::Probe => "probe",
        Item::LeadAtBox | Item::LeadAtProbe => "lead",
        Item::Injector => "injector",
        Item::Plug => "spark plug",
        Item::Coil => "coil",
        Item::HtLead => "HT lead",
    }
}

/// The exchange that puts two items back.
#[must_use]
pub fn put_back(step: PutBack) -> String {
    let (a, b) = step.positions;
    words::sentence(&match step.item {
        Item::LeadAtBox | Item::LeadAtProbe => {
            format!("exchange {}", two_items(step.item, a, b))
        }
        item => format!("exchange the {}s now at cylinders {a} and {b}", kind(item)),
    })
}

/// Where things are that are not in their first place, a sentence each.
#[must_use]
pub fn displaced(arrangement: &Arrangement) -> Vec<String> {
    arrangement
        .displaced()
        .into_iter()
        .map(|(item, number, now)| {
            words::sentence(&format!(
                "{} is now at {}",
                one_item(item, number),
                position(item, now)
            ))
        })
        .collect()
}

/// What is trimmed.
#[must_use]
pub fn lever(lever: Lever) -> &'static str {
    match lever {
        Lever::Fuel => "fuel",
        Lever::Spark => "spark",
    }
}

/// Where a trim stands against how it stood at first.
#[must_use]
pub fn trim(lever: Lever, to: f64) -> String {
    let size = to.abs();
    match lever {
        _ if size < 1e-9 => "where it stood".to_owned(),
        Lever::Fuel => format!("{size} % {}", if to > 0.0 { "richer" } else { "leaner" }),
        Lever::Spark => format!("{size}° {}", if to > 0.0 { "later" } else { "earlier" }),
    }
}

/// What an independent sign says of a mixture.
#[must_use]
pub fn mixture_sign(sign: MixtureSign) -> &'static str {
    match sign {
        MixtureSign::Lean => "leaner than the others",
        MixtureSign::Rich => "richer than the others",
        MixtureSign::Even => "like the others",
    }
}

/// The name of a fault with its place, named by the first positions; empty place left out.
#[must_use]
pub fn fault(knowledge: &Knowledge, fault: Fault) -> String {
    let name = fault.cause.name(knowledge);
    match (fault.place, fault.cause.seat(knowledge)) {
        (Place::Nowhere, _) => name.to_owned(),
        (Place::Cylinder(n), Seat::Channel | Seat::Settings) => format!("{name}, display {n}"),
        (place, _) => format!("{name}, {place}"),
    }
}

/// A fault as [`fault`], and where its part is now if that has moved.
#[must_use]
pub fn fault_now(knowledge: &Knowledge, timeline: &Timeline, which: Fault) -> String {
    let text = fault(knowledge, which);
    let seat = which.cause.seat(knowledge);
    let Some(number) = which.place.cylinder() else {
        return text;
    };
    if matches!(seat, Seat::Channel | Seat::Settings) {
        return text;
    }
    let travels = timeline.engine.depth_travels();
    let now = timeline.arrangement.cylinder_of(seat, number, travels);
    if now == number { text } else { format!("{text} (now at cylinder {now})") }
}

/// How a cause was proven.
#[must_use]
pub fn proof(proof: Proof) -> &'static str {
    match proof {
        Proof::Seen => "seen on inspection",
        Proof::Reversed => "gone with the remedy, back when it was reversed",
        Proof::Verified => "sure enough, and still gone at the run that verifies",
    }
}

/// How far a job has come.
#[must_use]
pub fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Open => "open",
        Standing::Closed(Closing::Proven) => "closed, proven",
        Standing::Closed(Closing::Normal) => "closed, normal for this engine",
        Standing::Closed(Closing::Unproven) => "closed, not proven",
    }
}

/// An engine in one line.
#[must_use]
pub fn engine(engine: &Engine) -> String {
    let layout = match engine.layout {
        Layout::Inline => "in line",
        Layout::V => "in a V",
        Layout::Flat => "flat",
    };
    let fuel = match engine.fuel {
        Fuel::Port => "port injection",
        Fuel::Direct => "direct injection",
        Fuel::Carburettor => "carburettor",
        Fuel::Diesel => "diesel",
    };
    let spark = match engine.ignition {
        Ignition::CoilPerPlug => ", a coil for each plug",
        Ignition::WastedSpark => ", wasted spark",
        Ignition::Distributor => ", distributor",
        Ignition::None => "",
    };
    let intake = match engine.intake {
        Intake::Plenum => "plenum",
        Intake::Log => "common intake",
        Intake::Individual => "a throttle for each cylinder",
    };
    let boost = match engine.induction {
        Induction::Natural => "",
        Induction::Boosted => ", boosted",
    };
    let cooling = match engine.cooling {
        Cooling::Liquid => "liquid cooled",
        Cooling::Air => "air cooled",
    };
    let order: Vec<String> = engine.firing_order.iter().map(u8::to_string).collect();
    format!(
        "{} cylinders {layout}, {fuel}{spark}, {intake}{boost}, {cooling}, firing order {}",
        engine.cylinders,
        order.join("-"),
    )
}

/// The probes of an engine in one line.
#[must_use]
pub fn probes(engine: &Engine) -> String {
    let site = match engine.probes {
        ProbeSite::Exhaust => "in the exhaust runners",
        ProbeSite::Head => "on the head",
    };
    let depth = match engine.depth {
        DepthHold::Travels => "depth held by a collar on the sheath",
        DepthHold::Stays => "depth set in a sliding gland",
    };
    format!("type {}, {site}, {depth}", engine.probe_type)
}
