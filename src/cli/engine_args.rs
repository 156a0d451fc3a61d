//! An engine from a preset, a file or flags; what was not said is assumed and noted.

use std::path::Path;

use ron::extensions::Extensions;

use super::context::quote;
use super::failure::Failure;
use super::named;
use super::texts;
use facts::job::file;
use facts::job::typed::millimetres;
use facts::knowledge::Knowledge;
use measure::engine::{
    BaseMixture, Cooling, Cylinder, DepthHold, Engine, Fitting, Fuel, Ignition, Induction, Intake,
    Layout, ProbeSite, ProbeType,
};

/// Flags that describe an engine. With `--engine` they change what the preset or file says.
#[derive(Debug, Clone, clap::Args)]
#[group(id = "description")]
pub(super) struct EngineArgs {
    /// Preset id, or an engine file
    #[arg(long, value_name = "ID|FILE", required_unless_present = "cylinders")]
    engine: Option<String>,
    /// Number of cylinders, 2 to 16
    #[arg(long, value_name = "N", conflicts_with = "engine")]
    cylinders: Option<u8>,
    /// How the cylinders stand
    #[arg(long, conflicts_with = "engine", value_parser = named::<Layout>(Layout::NAMES))]
    layout: Option<Layout>,
    /// Fuel system
    #[arg(long, value_parser = named::<Fuel>(Fuel::NAMES))]
    fuel: Option<Fuel>,
    /// Ignition
    #[arg(long, value_parser = named::<Ignition>(Ignition::NAMES))]
    ignition: Option<Ignition>,
    /// Intake
    #[arg(long, value_parser = named::<Intake>(Intake::NAMES))]
    intake: Option<Intake>,
    /// Boosted or not
    #[arg(long, value_parser = named::<Induction>(Induction::NAMES))]
    induction: Option<Induction>,
    /// Cooling of the head
    #[arg(long, value_parser = named::<Cooling>(Cooling::NAMES))]
    cooling: Option<Cooling>,
    /// Where the probes of the complaint sit
    #[arg(long, value_parser = named::<ProbeSite>(ProbeSite::NAMES))]
    probes: Option<ProbeSite>,
    /// Thermocouple type of the probes
    #[arg(long, value_parser = named::<ProbeType>(ProbeType::NAMES))]
    probe_type: Option<ProbeType>,
    /// Whether a probe's depth travels with it (fixed collar) or stays with the boss
    #[arg(long, value_parser = named::<DepthHold>(DepthHold::NAMES))]
    depth: Option<DepthHold>,
    /// Fuel and spark can be trimmed for each cylinder
    #[arg(long)]
    trims: bool,
    /// Firing order, as 1,3,4,2
    #[arg(long, value_name = "ORDER", value_delimiter = ',')]
    firing_order: Option<Vec<Cylinder>>,
    /// Mixture it is set to as equivalence ratios (1 is stoichiometric, above is rich)
    #[arg(long, value_name = "IDLE,CRUISE,FULL", value_delimiter = ',')]
    mixture: Option<Vec<f64>>,
    #[command(flatten)]
    fitting: FittingArgs,
}

/// How the probes sit; all three or none.
#[derive(Debug, Clone, Copy, Default, clap::Args)]
#[group(id = "fitting", multiple = true, requires_all = ["probe_diameter", "bore", "probe_depth"])]
pub(super) struct FittingArgs {
    /// Diameter of the probes' sheath, mm
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    probe_diameter: Option<f64>,
    /// Bore of the exhaust runner where they sit, mm
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    bore: Option<f64>,
    /// How far their tips stand past the inner wall, mm
    #[arg(long, value_name = "MM", value_parser = millimetres)]
    probe_depth: Option<f64>,
}

impl FittingArgs {
    /// The fitting, if it was said.
    pub(super) fn given(self) -> Option<Fitting> {
        Some(Fitting { diameter: self.probe_diameter?, bore: self.bore?, depth: self.probe_depth? })
    }

    /// The flags as typed.
    pub(super) fn typed(self) -> [(&'static str, Option<String>); 3] {
        [
            ("--probe-diameter", text(self.probe_diameter)),
            ("--bore", text(self.bore)),
            ("--probe-depth", text(self.probe_depth)),
        ]
    }
}

/// An engine with its name and what was assumed.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Described {
    /// Name of the preset; empty if it has none.
    pub(super) name: String,
    /// The engine.
    pub(super) engine: Engine,
    /// What was assumed, as `--fuel port`.
    pub(super) assumed: Vec<String>,
}

impl EngineArgs {
    /// Makes the engine.
    ///
    /// # Errors
    /// When there is no such preset or file, or the parts do not fit together.
    pub(super) fn describe(&self, knowledge: &Knowledge) -> Result<Described, Failure> {
        let mut described = match &self.engine {
            Some(given) => named_engine(knowledge, given)?,
            None => self.plain()?,
        };
        self.change(&mut described.engine)?;
        described.engine = described.engine.check()?;
        Ok(described)
    }

    /// An engine from flags alone.
    fn plain(&self) -> Result<Described, Failure> {
        let Some(cylinders) = self.cylinders else {
            return Err(Failure::usage("either --engine or --cylinders is needed"));
        };
        if !(2..=16).contains(&cylinders) {
            return Err(measure::engine::EngineError::Cylinders(cylinders).into());
        }
        let mut assumed = Vec::new();
        let mut or = |flag: &str, value: String, said: bool| {
            if !said {
                assumed.push(format!("--{flag} {value}"));
            }
        };
        let layout = self.layout.unwrap_or(Layout::Inline);
        or("layout", layout.to_string(), self.layout.is_some());
        // One said of fuel and ignition tells whether it is a diesel.
        let fuel = self.fuel.unwrap_or(match self.ignition {
            Some(Ignition::None) => Fuel::Diesel,
            _ => Fuel::Port,
        });
        or("fuel", fuel.to_string(), self.fuel.is_some());
        let ignition = self.ignition.unwrap_or(match fuel {
            Fuel::Diesel => Ignition::None,
            Fuel::Carburettor => Ignition::Distributor,
            Fuel::Port | Fuel::Direct => Ignition::CoilPerPlug,
        });
        or("ignition", ignition.to_string(), self.ignition.is_some());
        let intake = self.intake.unwrap_or(match fuel {
            Fuel::Carburettor => Intake::Log,
            _ => Intake::Plenum,
        });
        or("intake", intake.to_string(), self.intake.is_some());
        let induction = self.induction.unwrap_or(Induction::Natural);
        or("induction", induction.to_string(), self.induction.is_some());
        let cooling = self.cooling.unwrap_or(Cooling::Liquid);
        or("cooling", cooling.to_string(), self.cooling.is_some());
        let probes = self.probes.unwrap_or(ProbeSite::Exhaust);
        or("probes", probes.to_string(), self.probes.is_some());
        let probe_type = self.probe_type.unwrap_or(ProbeType::K);
        or("probe-type", probe_type.to_string(), self.probe_type.is_some());
        let depth = self.depth.unwrap_or(DepthHold::Stays);
        or("depth", depth.to_string(), self.depth.is_some());
        let firing_order = Engine::usual_firing_order(cylinders);
        or(
            "firing-order",
            order(&firing_order),
            // Only the pairs of wasted-spark coils hang on it.
            self.firing_order.is_some() || ignition != Ignition::WastedSpark,
        );
        Ok(Described {
            name: String::new(),
            engine: Engine {
                cylinders,
                layout,
                banks: Engine::usual_banks(cylinders, layout)?,
                firing_order,
                fuel,
                ignition,
                intake,
                induction,
                cooling,
                probes,
                probe_type,
                depth,
                trims: self.trims,
                mixture: BaseMixture::usual(fuel),
                fitting: None,
            },
            assumed,
        })
    }

    /// Applies the flags to an engine.
    fn change(&self, engine: &mut Engine) -> Result<(), Failure> {
        fn set<T: Clone>(field: &mut T, said: Option<&T>) {
            if let Some(value) = said {
                field.clone_from(value);
            }
        }
        if self.fuel.is_some_and(|fuel| fuel != engine.fuel) {
            // Another fuel system is set to another mixture.
            engine.mixture = BaseMixture::usual(self.fuel.unwrap_or(engine.fuel));
        }
        set(&mut engine.fuel, self.fuel.as_ref());
        set(&mut engine.ignition, self.ignition.as_ref());
        set(&mut engine.intake, self.intake.as_ref());
        set(&mut engine.induction, self.induction.as_ref());
        set(&mut engine.cooling, self.cooling.as_ref());
        set(&mut engine.probes, self.probes.as_ref());
        set(&mut engine.probe_type, self.probe_type.as_ref());
        set(&mut engine.depth, self.depth.as_ref());
        set(&mut engine.firing_order, self.firing_order.as_ref());
        engine.trims |= self.trims;
        engine.fitting = self.fitting.given().or(engine.fitting);
        if let Some(mixture) = &self.mixture {
            let &[idle, cruise, full] = mixture.as_slice() else {
                return Err(Failure::usage(format!(
                    "{} mixtures given: expected three, as --mixture 1.0,1.0,1.15",
                    mixture.len()
                )));
            };
            engine.mixture = BaseMixture { idle, cruise, full };
        }
        Ok(())
    }

    /// The flags as typed, for the journal, a word each.
    pub(super) fn typed(&self) -> Vec<String> {
        // A path says something of this machine only; its last part is enough.
        let engine = self.engine.as_ref().map(|given| {
            let name = Path::new(given).file_name();
            name.map_or_else(|| given.clone(), |n| n.to_string_lossy().into_owned())
        });
        let mixture = self.mixture.as_ref().map(|list| {
            let list: Vec<String> = list.iter().map(f64::to_string).collect();
            list.join(",")
        });
        let flags = [
            ("--engine", engine),
            ("--cylinders", text(self.cylinders)),
            ("--layout", text(self.layout)),
            ("--fuel", text(self.fuel)),
            ("--ignition", text(self.ignition)),
            ("--intake", text(self.intake)),
            ("--induction", text(self.induction)),
            ("--cooling", text(self.cooling)),
            ("--probes", text(self.probes)),
            ("--probe-type", text(self.probe_type)),
            ("--depth", text(self.depth)),
            ("--firing-order", self.firing_order.as_deref().map(order)),
            ("--mixture", mixture),
        ];
        let mut words = Vec::new();
        for (flag, value) in flags.into_iter().chain(self.fitting.typed()) {
            if let Some(value) = value {
                words.push(flag.to_owned());
                words.push(quote(&value));
            }
        }
        if self.trims {
            words.push("--trims".to_owned());
        }
        words
    }
}

fn text<T: ToString>(value: Option<T>) -> Option<String> {
    value.map(|value| value.to_string())
}

fn order(list: &[Cylinder]) -> String {
    let list: Vec<String> = list.iter().map(ToString::to_string).collect();
    list.join(",")
}

/// A preset, or an engine file.
fn named_engine(knowledge: &Knowledge, given: &str) -> Result<Described, Failure> {
    if let Some(preset) = knowledge.presets.iter().find(|p| p.id == given) {
        return Ok(Described {
            name: preset.name.clone(),
            engine: preset.engine.clone(),
            assumed: Vec::new(),
        });
    }
    let is_path = given.contains(std::path::is_separator)
        || Path::new(given).extension().is_some_and(|e| e == "ron");
    if !is_path {
        let ids = knowledge.presets.iter().map(|p| p.id.as_str());
        return Err(Failure::unknown("engine", given, ids).hint(
            "`oddpot knowledge list` has the engines; a file's name ends in `.ron`; or describe \
             it with --cylinders N",
        ));
    }
    let text = texts::text(Path::new(given))
        .map_err(|error| Failure::file(format!("could not read {given}: {error}")))?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    let engine: Engine = ron::Options::default()
        .with_default_extension(Extensions::IMPLICIT_SOME)
        .from_str(text)
        .map_err(|error| Failure::file(format!("{given}: {}", file::syntax(text, &error))))?;
    Ok(Described { name: String::new(), engine, assumed: Vec::new() })
}
