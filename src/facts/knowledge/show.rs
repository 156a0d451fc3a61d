//! One row of the knowledge base in full, by id.

use std::fmt::Write as _;

use serde::Serialize;
use thiserror::Error;

use super::graph::KnowledgeGraph;
use super::list::{
    CauseDocument, EngineDocument, GroupDocument, PointDocument, TestDocument, group_path,
};
use super::model::{Basis, Cause, Effect, Knowledge, RunningPoint, Spread, Test};
use measure::names::nearest;
use measure::units::Cost;

/// Causes from which a row that they share is shown once, as that of any other cause.
const MANY: usize = 25;

/// No row has this id.
#[derive(Debug, Clone, PartialEq, Eq, Error)]
#[error("nothing in the knowledge base is called `{given}`{}", hint(.nearest.as_deref()))]
pub struct NotFound {
    /// What was asked for.
    pub given: String,
    /// The nearest id, if one is near.
    pub nearest: Option<String>,
}

fn hint(nearest: Option<&str>) -> String {
    nearest
        .map_or_else(|| ": see `knowledge list`".to_owned(), |id| format!(": did you mean `{id}`?"))
}

/// What an id stands for. A cause comes before a test, a group, an engine, a running point and a source
/// of the same id.
#[derive(Debug, Clone, Copy)]
enum Found<'k> {
    Cause(usize),
    Test(usize),
    Group(usize),
    Engine(usize),
    Point(RunningPoint),
    Source(&'k str),
}

fn find<'k>(knowledge: &'k Knowledge, id: &str) -> Result<Found<'k>, NotFound> {
    let groups = &knowledge.groups;
    let presets = &knowledge.presets;
    knowledge
        .cause(id)
        .map(Found::Cause)
        .or_else(|| knowledge.test(id).map(Found::Test))
        .or_else(|| groups.iter().position(|g| g.id == id).map(Found::Group))
        .or_else(|| presets.iter().position(|p| p.id == id).map(Found::Engine))
        .or_else(|| knowledge.points.named(id).map(Found::Point))
        .or_else(|| knowledge.sources.get(id).map(|text| Found::Source(text)))
        .ok_or_else(|| {
            let points: Vec<&str> = knowledge.points.ids();
            let causes = knowledge.causes.iter().map(|c| c.id.as_str());
            let all = causes
                .chain(knowledge.tests.iter().map(|t| t.id.as_str()))
                .chain(groups.iter().map(|g| g.id.as_str()))
                .chain(presets.iter().map(|p| p.id.as_str()))
                .chain(points)
                .chain(knowledge.sources.keys().map(String::as_str));
            NotFound { given: id.to_owned(), nearest: nearest(id, all).map(str::to_owned) }
        })
}

/// A cause, test, group, engine, running point or source, with its `type`.
#[derive(Debug, Serialize)]
#[serde(tag = "type", rename_all = "lowercase")]
pub enum ShownDocument<'k> {
    /// A cause.
    Cause(CauseDocument<'k>),
    /// A test.
    Test(Box<TestDocument<'k>>),
    /// A group.
    Group(GroupDocument<'k>),
    /// An engine.
    Engine(EngineDocument<'k>),
    /// A running point.
    Point(PointDocument<'k>),
    /// A source.
    Source {
        /// Its id.
        id: &'k str,
        /// Where it was published and how far it was seen.
        text: &'k str,
    },
}

/// A cause, test, group, engine, running point or source for programs.
///
/// # Errors
/// When nothing has the id.
pub fn document<'k>(knowledge: &'k Knowledge, id: &'k str) -> Result<ShownDocument<'k>, NotFound> {
    Ok(match find(knowledge, id)? {
        Found::Cause(n) => ShownDocument::Cause(CauseDocument::of(knowledge, &knowledge.causes[n])),
        Found::Test(n) => ShownDocument::Test(Box::new(TestDocument::of(knowledge, n))),
        Found::Group(n) => ShownDocument::Group(GroupDocument::of(knowledge, n)),
        Found::Engine(n) => ShownDocument::Engine(EngineDocument::of(&knowledge.presets[n])),
        Found::Point(at) => ShownDocument::Point(PointDocument::of(at)),
        Found::Source(text) => ShownDocument::Source { id, text },
    })
}

/// A cause, test, group, engine, running point or source as plain text.
///
/// # Errors
/// When nothing has the id.
pub fn to_text(knowledge: &Knowledge, id: &str) -> Result<String, NotFound> {
    let mut text = String::new();
    match find(knowledge, id)? {
        Found::Cause(n) => cause(&mut text, knowledge, n),
        Found::Test(n) => test(&mut text, knowledge, n),
        Found::Group(n) => group(&mut text, knowledge, n),
        Found::Engine(n) => engine(&mut text, knowledge, n),
        Found::Point(at) => point(&mut text, at),
        Found::Source(source) => {
            let _ = writeln!(text, "source {id}\n{source}");
        }
    }
    Ok(text)
}

/// A line `name: value`, left out when there is no value.
fn field(text: &mut String, name: &str, value: &str) {
    if !value.is_empty() {
        let _ = writeln!(text, "  {name}: {value}");
    }
}

fn cause(text: &mut String, knowledge: &Knowledge, index: usize) {
    let this: &Cause = &knowledge.causes[index];
    let _ = writeln!(text, "cause {}: {}\n  {}", this.id, this.name, this.what);
    field(text, "group", &group_path(knowledge, this.group).join(" > "));
    field(text, "seat", this.seat.as_str());
    field(text, "place", this.place.as_str());
    field(text, "weight", &this.weight.to_string());
    let recent: Vec<String> =
        this.recent.iter().map(|(flag, factor)| format!("{flag} ×{factor}")).collect();
    field(text, "after recent work", &recent.join(", "));
    field(text, "re-seat chance", &this.reseat.to_string());
    field(text, "basis", &basis(&this.basis));
    for effect in &this.effects {
        self::effect(text, effect);
    }
    if !this.diesel.is_empty() {
        text.push_str("  on a diesel:\n");
    }
    for effect in &this.diesel {
        self::effect(text, effect);
    }
    for clue in &this.clues {
        field(text, "clue", clue);
    }
    if let Some(remedy) = &this.remedy {
        field(text, "remedy", &format!("{} ({}; {})", remedy.what, remedy.id, cost(remedy.cost)));
    }
    let graph = KnowledgeGraph::of(knowledge);
    let tests: Vec<&str> =
        graph.tests_for(index).into_iter().map(|n| knowledge.tests[n].id.as_str()).collect();
    field(text, "tests that speak to it", &tests.join(", "));
}

fn effect(text: &mut String, effect: &Effect) {
    let share = if effect.share < 1.0 {
        format!(", {:.0} % of cases", effect.share * 100.0)
    } else {
        String::new()
    };
    let _ = writeln!(text, "  effect ({}{share}), °C:", effect.law);
    let shift = |s: Option<Spread>| {
        s.map_or_else(|| "no number".to_owned(), |s| format!("{:+} ±{}", s.mean, s.sd))
    };
    if let Some(at) = &effect.exhaust {
        let _ = writeln!(
            text,
            "    exhaust: cold {}, idle {}, cruise {}, full {}",
            shift(at.cold),
            shift(at.idle),
            shift(at.cruise),
            shift(at.full)
        );
        if at.warming.is_some() {
            let _ = writeln!(text, "    exhaust while it warms up: {}", shift(at.warming));
        }
        for (point, own) in &at.own {
            let _ = writeln!(text, "    exhaust at {point}: {}", shift(*own));
        }
    }
    if effect.head.is_some() {
        let _ = writeln!(text, "    head at cruise: {}", shift(effect.head));
    }
    if effect.physics.is_some() {
        let _ = writeln!(text, "    estimated from the job's own probes where they are known");
    }
    if let Some(mixture) = effect.mixture {
        let change: Vec<String> = mixture
            .iter()
            .map(|m| format!("{:+.0} ±{:.0}", m.mean * 100.0, m.sd * 100.0))
            .collect();
        let _ = writeln!(text, "    fuel over air at idle, cruise, full, %: {}", change.join(", "));
    }
    let _ = writeln!(text, "    basis: {}", basis(&effect.basis));
}

fn test(text: &mut String, knowledge: &Knowledge, index: usize) {
    let this: &Test = &knowledge.tests[index];
    let _ = writeln!(text, "test {}: {} ({})", this.id, this.name, this.kind);
    let states: Vec<&str> = this.states.iter().map(|s| s.as_str()).collect();
    let access: Vec<&str> =
        this.access.iter().map(|&n| knowledge.access[n].name.as_str()).collect();
    field(text, "engine", &states.join(" or "));
    field(text, "open", &access.join(", "));
    field(text, "tools", &this.tools);
    field(text, "cost", &cost(this.cost));
    field(text, "basis", &basis(&this.basis));
    for (n, step) in (1..).zip(&this.steps) {
        field(text, &n.to_string(), step);
    }
    for &n in &this.cautions {
        field(text, "caution", &knowledge.cautions[n].text);
    }
    for outcome in &this.outcomes {
        field(text, &format!("outcome {}", outcome.id), &outcome.text);
    }
    let TestDocument { given, default, .. } = TestDocument::of(knowledge, index);
    let ids: Vec<&str> = this.outcomes.iter().map(|o| o.id.as_str()).collect();
    let _ = writeln!(text, "  chances of {}:", ids.join(", "));
    let mut row = |name: &str, chances: &[f64]| {
        let shown: Vec<String> = chances.iter().map(|p| format!("{p:.3}")).collect();
        let _ = writeln!(text, "    {name:22}  {}", shown.join("  "));
    };
    // What most causes share is said once.
    let like = |chances: &[f64]| given.values().filter(|other| other.as_slice() == chances).count();
    let shared = given.values().map(Vec::as_slice).max_by_key(|chances| like(chances));
    let shared = shared.filter(|chances| like(chances) > MANY);
    if shared.is_some() {
        row("nothing wrong", default);
    }
    row("any other cause", shared.unwrap_or(default));
    for (cause, chances) in &given {
        if chances != default && Some(chances.as_slice()) != shared {
            row(cause, chances);
        }
    }
}

fn group(text: &mut String, knowledge: &Knowledge, index: usize) {
    let this = &knowledge.groups[index];
    let _ = writeln!(text, "group {}: {}", this.id, this.name);
    field(text, "path", &group_path(knowledge, index).join(" > "));
    for child in knowledge.groups.iter().filter(|g| g.parent == Some(index)) {
        field(text, "group", &format!("{} ({})", child.name, child.id));
    }
    for cause in knowledge.causes.iter().filter(|c| c.group == index) {
        field(text, "cause", &format!("{} ({})", cause.name, cause.id));
    }
}

fn point(text: &mut String, point: RunningPoint) {
    let _ = writeln!(text, "running point {point}: {}", point.name());
    field(text, "engine", point.thermal.as_str());
    field(text, "held warm", if point.settled { "yes" } else { "no" });
    field(text, "load", point.load.as_str());
    field(text, "run once it was said to be safe", if point.confirm { "yes" } else { "" });
    field(text, "read in every job", if point.routine { "yes" } else { "" });
    if let Some(like) = point.like {
        let times = if (point.factor - 1.0).abs() > 0.0 {
            format!(", what a fault does × {}", point.factor)
        } else {
            String::new()
        };
        field(text, "like", &format!("{like}{times}"));
    }
    field(text, "named by", &point.words.join(", "));
}

fn engine(text: &mut String, knowledge: &Knowledge, index: usize) {
    let preset = &knowledge.presets[index];
    let this = &preset.engine;
    let _ = writeln!(text, "engine {}: {}", preset.id, preset.name);
    let order: Vec<String> = this.firing_order.iter().map(u8::to_string).collect();
    field(text, "cylinders", &this.cylinders.to_string());
    field(text, "layout", this.layout.as_str());
    field(text, "firing order", &order.join("-"));
    field(text, "fuel", this.fuel.as_str());
    field(text, "ignition", this.ignition.as_str());
    field(text, "intake", this.intake.as_str());
    field(text, "induction", this.induction.as_str());
    field(text, "cooling", this.cooling.as_str());
    field(
        text,
        "probes",
        &format!(
            "type {} in the {}, depth {} with the probe",
            this.probe_type,
            this.probes,
            if this.depth_travels() { "going" } else { "not going" }
        ),
    );
    field(text, "trims", if this.trims { "yes" } else { "no" });
    let from = preset.basis.as_ref().map_or_else(|| "not said".to_owned(), basis);
    field(text, "basis", &from);
}

fn cost(cost: Cost) -> String {
    let mut parts = vec![format!("{} min", cost.hands_on)];
    if cost.wait > 0.0 {
        parts.push(format!("{} min waiting", cost.wait));
    }
    if cost.parts > 0.0 {
        parts.push(format!("parts {}", cost.parts));
    }
    parts.join(", ")
}

fn basis(basis: &Basis) -> String {
    match basis {
        Basis::Source(id) => format!("source `{id}`"),
        Basis::Cited(id, place) => format!("source `{id}`, {place}"),
        Basis::Computed(how) => format!("computed: {how}"),
        Basis::Judgement(why) => format!("judgement: {why}"),
        Basis::Practice => "common practice, no source".to_owned(),
        Basis::Memory => "from memory, unverified".to_owned(),
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::super::fixture::knowledge;
    use super::*;

    #[test]
    fn each_kind_of_row_has_a_page() {
        let knowledge = knowledge();
        let pages: Vec<String> =
            ["chan-error", "look-fit", "measuring", "inline-four-port", "handbook"]
                .into_iter()
                .map(|id| to_text(&knowledge, id).expect("is there"))
                .collect();
        insta::assert_snapshot!(pages.join("\n"), @r#"
        cause chan-error: channel off
          The input amplifier is out.
          group: measuring > channel
          seat: channel
          place: cylinder
          weight: 8
          re-seat chance: 0.03
          basis: common practice, no source
          effect (offset, 50 % of cases), °C:
            exhaust: cold -9 ±5, idle -9 ±5, cruise -9 ±5, full -9 ±5
            basis: common practice, no source
          effect (offset, 50 % of cases), °C:
            exhaust: cold +9 ±5, idle +9 ±5, cruise +9 ±5, full +9 ±5
            basis: common practice, no source
          remedy: Use a spare channel. (spare-channel-use; 15 min)

        test look-fit: Look at the depth marks (observe)
          engine: cool or hot
          open: probe out
          tools: rule
          cost: 2 min
          basis: common practice, no source
          1: Look.
          caution: It burns.
          outcome right: As the others.
          outcome less-out: Less shows.
          outcome more-out: More shows.
          chances of right, less-out, more-out:
            any other cause         0.940  0.030  0.030
            fit-deep                0.300  0.600  0.100
            fit-shallow             0.200  0.050  0.750

        group measuring: sensor side
          path: measuring
          group: probe (probe)
          group: fit (fit)
          group: lead (lead)
          group: channel (channel)

        engine inline-four-port: four in line
          cylinders: 4
          layout: inline
          firing order: 1-3-4-2
          fuel: port
          ignition: wasted-spark
          intake: plenum
          induction: natural
          cooling: liquid
          probes: type K in the exhaust, depth not going with the probe
          trims: no
          basis: common practice, no source

        source handbook
        A handbook; seen.
        "#);
    }

    #[test]
    fn each_kind_of_row_says_its_type_as_json() {
        let knowledge = knowledge();
        for (id, kind) in [
            ("fit-deep", "cause"),
            ("swap-probe", "test"),
            ("measuring", "group"),
            ("inline-four-port", "engine"),
            ("handbook", "source"),
        ] {
            let value = json!(document(&knowledge, id).expect("is there"));
            assert_eq!((&value["type"], &value["id"]), (&json!(kind), &json!(id)));
        }
    }

    #[test]
    fn an_unknown_id_gets_the_nearest_name() {
        let said = |id| to_text(&knowledge(), id).expect_err("unknown").to_string();
        insta::assert_snapshot!(said("fit-dep") + "\n" + &said("zzz"), @r#"
        nothing in the knowledge base is called `fit-dep`: did you mean `fit-deep`?
        nothing in the knowledge base is called `zzz`: see `knowledge list`
        "#);
    }
}
