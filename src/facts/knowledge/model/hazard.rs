//! What can hurt whoever does a piece of work.
//!
//! It must not word anything: the warnings that answer a hazard stand in the knowledge base.

use measure::named_enum;

named_enum! {
    /// What can hurt whoever does a piece of work, or the engine it is done on.
    Hazard, "hazard" {
        /// Hot metal, hot air, boiling water.
        Heat = "heat",
        /// Exhaust gas where it is breathed.
        Gas = "gas",
        /// Ignition, or a driver of injectors.
        Voltage = "voltage",
        /// Belts, fans, shafts.
        Motion = "motion",
        /// A crank that may swing while hands are in the engine.
        Crank = "crank",
        /// Fuel that burns.
        Fuel = "fuel",
        /// Fuel under a pressure that goes through skin.
        Injection = "injection",
        /// An engine under load.
        Load = "load",
        /// A part of the engine that may melt or burn.
        Melting = "melting",
        /// Hot coolant under pressure.
        Coolant = "coolant",
        /// Unlit gas at the intake.
        Fire = "fire",
        /// Weight over or in hands.
        Lifting = "lifting",
        /// Fibres and soot.
        Dust = "dust",
    }
}
