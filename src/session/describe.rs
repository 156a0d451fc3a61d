//! The engine: a ready description by its plain name, or a short questionnaire.

use super::asker::{Asked, Line, or_back};
use super::desk::{Desk, Question};
use measure::engine::{
    BaseMixture, Cooling, DepthHold, Engine, Fuel, Ignition, Induction, Intake, Layout, ProbeSite,
    ProbeType,
};
use pages::report::{terms, words};

/// Asks which engine it is; gives its name, empty if it was described, and itself. One that was given `before` can be
/// changed instead of being described anew.
pub(super) fn engine(desk: &mut Desk<'_>, before: Option<&Engine>) -> Asked<(String, Engine)> {
    loop {
        let presets = &desk.knowledge.presets;
        let mut choices: Vec<(String, Which)> = (0..presets.len())
            .map(|i| (words::upper_first(&presets[i].name), Which::Known(i)))
            .collect();
        if before.is_some() {
            let label = "The one just named, but something about it differs";
            choices.insert(0, (label.to_owned(), Which::Changed));
        }
        choices.push(("None of these: describe it".to_owned(), Which::New));
        let start = match desk.pick("What engine is it?", &choices, 0)? {
            Which::Known(index) => {
                let preset = &desk.knowledge.presets[index];
                let (name, engine) = (preset.name.clone(), preset.engine.clone());
                let back = desk.word("Esc if that is not so", "Back if that is not so");
                desk.say(&format!("{} {back}.", in_words(&engine)))?;
                return Ok((name, engine));
            }
            Which::Changed => before.cloned().unwrap_or_else(|| Engine::plain(4)),
            Which::New => Engine::plain(4),
        };
        let described = or_back(describe(desk, &start))?;
        if let Some(engine) = described
            && let Some(engine) = or_back(agree(desk, engine))?
        {
            return Ok((String::new(), engine));
        }
    }
}

/// What is taken of the list of engines.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Which {
    Known(usize),
    Changed,
    New,
}

/// Asks for an engine question by question, from a plain four on, and shows it until it is right.
pub(super) fn described(desk: &mut Desk<'_>) -> Asked<Engine> {
    let engine = describe(desk, &Engine::plain(4))?;
    agree(desk, engine)
}

/// What is taken for granted of an engine.
fn in_words(engine: &Engine) -> String {
    let probes = terms::probes(engine);
    format!("{}. Probes: {probes}.", words::upper_first(&terms::engine(engine)))
}

/// Shows what was described and lets it be changed.
fn agree(desk: &mut Desk<'_>, mut engine: Engine) -> Asked<Engine> {
    loop {
        desk.say(&in_words(&engine))?;
        if desk.yes("Is that right?", true)? {
            return Ok(engine);
        }
        if let Some(other) = or_back(describe(desk, &engine))? {
            engine = other;
        }
    }
}

/// What a description starts from.
/// The questionnaire, each question with the way back to the one before.
fn describe(desk: &mut Desk<'_>, from: &Engine) -> Asked<Engine> {
    let mut engine = from.clone();
    loop {
        desk.walk(&mut engine, &QUESTIONS)?;
        match engine.clone().check() {
            Ok(engine) => return Ok(engine),
            Err(error) => desk.refuse(&format!("{error}; once more from the start"))?,
        }
    }
}

/// In the order of asking; what goes together stands together.
const QUESTIONS: [Question<Engine>; 13] = [
    cylinders,
    layout,
    fuel,
    ignition,
    firing_order,
    intake,
    induction,
    cooling,
    site,
    probe_type,
    depth,
    trims,
    banks,
];

fn cylinders(desk: &mut Desk<'_>, engine: &mut Engine) -> Asked<bool> {
    let line = Line {
        question: "How many cylinders?",
        help: "2 to 16",
        default: &engine.cylinders.to_string(),
        ..Line::default()
    };
    let n = desk.line(line, |answer| match answer.trim().parse::<u8>() {
        Ok(n) if (2..=16).contains(&n) => Ok(n),
        _ => Err(format!("`{answer}` is no number from 2 to 16: correct the line")),
    })?;
    if n != engine.cylinders {
        engine.cylinders = n;
        engine.firing_order = Engine::usual_firing_order(n);
    }
    Ok(true)
}

/// One of a few words for a property.
fn one<T: Copy + PartialEq>(
    desk: &mut Desk<'_>,
    question: &str,
    choices: &[(&str, T)],
    now: T,
) -> Asked<T> {
    let list: Vec<(String, T)> = choices.iter().map(|&(text, v)| (text.to_owned(), v)).collect();
    let at = list.iter().position(|(_, value)| *value == now).unwrap_or(0);
    desk.pick(question, &list, at)
}

fn layout(desk: &mut Desk<'_>, engine: &mut Engine) -> Asked<bool> {
    if engine.cylinders % 2 == 1 {
        // Two banks of an odd number must be given in a file.
        engine.layout = Layout::Inline;
        return Ok(false);
    }
    let choices =
        [("in line", Layout::Inline), ("in a V", Layout::V), ("flat, opposed", Layout::Flat)];
    engine.layout = one(desk, "How do the cylinders stand?", &choices, engine.layout)?;
    Ok(true)
}

/// Not asked: which cylinders stand together where it was not said.
fn banks(desk: &mut Desk<'_>, engine: &mut Engine) -> Asked<bool> {
    let counted: usize = engine.banks.iter().map(Vec::len).sum();
    let banks = if engine.layout == Layout::Inline { 1 } else { 2 };
    if (engine.banks.len() != banks || counted != usize::from(engine.cylinders))
        && let Ok(usual) = Engine::usual_banks(engine.cylinders, engine.layout)
    {
        engine.banks = usual;
        if banks == 2 {
            let list: Vec<String> =
                engine.banks.iter().map(|bank| words::list(&numbers(bank))).collect();
            desk.say(&format!(
                "Taken as banks {}; an engine file can say otherwise.",
                list.join(" against ")
            ))?;
        }
    }
    Ok(false)
}

/// Whether a list names each cylinder once.
fn each_once(list: &[u8], cylinders: u8) -> bool {
    let mut sorted = list.to_vec();
    sorted.sort_unstable();
    sorted.into_iter().eq(1..=cylinders)
}

fn numbers(list: &[u8]) -> Vec<String> {
    list.iter().map(u8::to_string).collect()
}

fn fuel(desk: &mut Desk<'_>, engine: &mut Engine) -> Asked<bool> {
    let choices = [
        ("petrol, an injector in each intake port", Fuel::Port),
        ("petrol, injected into the cylinder", Fuel::Direct),
        ("carburettor", Fuel::Carburettor),
        ("diesel", Fuel::Diesel),
    ];
    let fuel = one(desk, "How does the fuel get in?", &choices, engine.fuel)?;
    if fuel != engine.fuel {
        engine.fuel = fuel;
        engine.mixture = BaseMixture::usual(fuel);
    }
    Ok(true)
}

/// Not asked of a diesel.
fn ignition(desk: &mut Desk<'_>, engine: &mut Engine) -> Asked<bool> {
    if engine.fuel == Fuel::Diesel {
        engine.ignition = Ignition::None;
        return Ok(false);
    }
    let mut choices = vec![
        ("a coil for each plug", Ignition::CoilPerPlug),
        ("a coil for two cylinders (wasted spark)", Ignition::WastedSpark),
        ("a distributor", Ignition::Distributor),
    ];
    if engine.cylinders % 2 == 1 {
        choices.remove(1);
    }
    engine.ignition = one(desk, "What makes the spark?", &choices, engine.ignition)?;
    Ok(true)
}

/// Asked only where the pairs of coils hang on it.
fn firing_order(desk: &mut Desk<'_>, engine: &mut Engine) -> Asked<bool> {
    if engine.ignition != Ignition::WastedSpark {
        return Ok(false);
    }
    let usual = numbers(&engine.firing_order).join(" ");
    let line = Line {
        question: "Firing order?",
        help: "cylinder numbers with spaces; it says which two share a coil",
        default: &usual,
        ..Line::default()
    };
    engine.firing_order = desk.line(line, |answer| {
        let order: Result<Vec<u8>, _> = answer
            .split(|c: char| !c.is_ascii_digit())
            .filter(|word| !word.is_empty())
            .map(str::parse)
            .collect();
        let order = order.ok().filter(|order| each_once(order, engine.cylinders));
        order.ok_or_else(|| {
            let cylinders = engine.cylinders;
            format!("`{answer}` must name each of the {cylinders} cylinders once: correct the line")
        })
    })?;
    Ok(true)
}

fn intake(desk: &mut Desk<'_>, engine: &mut Engine) -> Asked<bool> {
    let choices = [
        ("plenum with a runner for each", Intake::Plenum),
        ("common manifold, or one carburettor for all", Intake::Log),
        ("a throttle or carburettor for each cylinder", Intake::Individual),
    ];
    engine.intake = one(desk, "What is the intake like?", &choices, engine.intake)?;
    Ok(true)
}

fn induction(desk: &mut Desk<'_>, engine: &mut Engine) -> Asked<bool> {
    let choices = [("no", Induction::Natural), ("yes", Induction::Boosted)];
    engine.induction = one(desk, "Is it boosted?", &choices, engine.induction)?;
    Ok(true)
}

fn cooling(desk: &mut Desk<'_>, engine: &mut Engine) -> Asked<bool> {
    let choices = [("coolant", Cooling::Liquid), ("air", Cooling::Air)];
    engine.cooling = one(desk, "What cools the head?", &choices, engine.cooling)?;
    Ok(true)
}

fn site(desk: &mut Desk<'_>, engine: &mut Engine) -> Asked<bool> {
    let choices =
        [("in the exhaust runners", ProbeSite::Exhaust), ("on the head", ProbeSite::Head)];
    engine.probes = one(desk, "Where are the probes?", &choices, engine.probes)?;
    Ok(true)
}

fn probe_type(desk: &mut Desk<'_>, engine: &mut Engine) -> Asked<bool> {
    let choices = [
        ("type K, or not known", ProbeType::K),
        ("type N", ProbeType::N),
        ("type J", ProbeType::J),
        ("type E", ProbeType::E),
        ("type T", ProbeType::T),
    ];
    engine.probe_type = one(desk, "What thermocouples are they?", &choices, engine.probe_type)?;
    Ok(true)
}

fn depth(desk: &mut Desk<'_>, engine: &mut Engine) -> Asked<bool> {
    let choices = [
        ("a gland or ferrule that slides: set by hand", DepthHold::Stays),
        ("a fixed collar: the depth goes with the probe", DepthHold::Travels),
    ];
    engine.depth = one(desk, "What holds a probe's depth?", &choices, engine.depth)?;
    Ok(true)
}

fn trims(desk: &mut Desk<'_>, engine: &mut Engine) -> Asked<bool> {
    let choices = [("no, or not known", false), ("yes", true)];
    let question = "Can fuel or spark be trimmed for single cylinders?";
    engine.trims = one(desk, question, &choices, engine.trims)?;
    Ok(true)
}
