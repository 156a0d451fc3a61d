//! What a fault is attached to, what kind of place it is at, and what can be taken in hand.
//!
//! Closed lists of names. They must say nothing of what is likely or what it costs.

use measure::named_enum;

named_enum! {
    /// What a fault is attached to.
    Seat, "seat" {
        /// The sensor body.
        Probe = "probe",
        /// The installation of a probe in its boss: depth, contact, tightness.
        Fit = "fit",
        /// Wire and connectors between probe and box.
        Lead = "lead",
        /// The input of the box.
        Channel = "channel",
        /// Settings in software, tied to a channel or a cylinder number.
        Settings = "settings",
        /// Injector body.
        Injector = "injector",
        /// Injector wiring and driver.
        InjectorWiring = "injector-wiring",
        /// Spark plug.
        Plug = "plug",
        /// High-tension lead or boot.
        HtLead = "ht-lead",
        /// Ignition coil.
        Coil = "coil",
        /// Intake runner.
        Runner = "runner",
        /// Exhaust runner.
        ExhaustRunner = "exhaust-runner",
        /// The cylinder itself: valves, rings, head.
        Cylinder = "cylinder",
        /// A whole bank.
        Bank = "bank",
        /// The whole engine.
        Engine = "engine",
        /// Nothing.
        Nothing = "none",
    }
}

named_enum! {
    /// What kind of place a cause can be at.
    PlaceKind, "kind of place" {
        /// One cylinder (or the chain of one display).
        Cylinder = "cylinder",
        /// Two cylinders that stand for each other.
        Pair = "pair",
        /// Two cylinders on one wasted-spark coil.
        CoilPair = "coil-pair",
        /// Two cylinders side by side in a bank.
        Neighbours = "neighbours",
        /// One bank.
        Bank = "bank",
        /// Nowhere: nothing is wrong.
        Nowhere = "nowhere",
    }
}

named_enum! {
    /// A thing that can change places with its like, or be remade.
    Item, "item" {
        /// The probe, taken from its boss.
        Probe = "probe",
        /// The lead's end at the box.
        LeadAtBox = "lead-at-box",
        /// The lead's end at the probe.
        LeadAtProbe = "lead-at-probe",
        /// Injector.
        Injector = "injector",
        /// Spark plug.
        Plug = "plug",
        /// Coil.
        Coil = "coil",
        /// High-tension lead.
        HtLead = "ht-lead",
    }
}
