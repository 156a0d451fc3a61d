//! A cause of one's own.

use std::fmt::Write as _;

use super::ask::{
    access, basis, cautions, id, line, list, minutes, number, numbers, parts, quoted, several,
    states, text,
};
use super::{Shelves, Written};
use crate::session::asker::Asked;
use crate::session::desk::Desk;
use facts::knowledge::{Knowledge, Law, PlaceKind, Seat};
use measure::engine::Fuel;
use pages::report::{terms, words};

/// What it does to an exhaust probe.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shows {
    Shift,
    NoNumber,
    Nothing,
}

/// Asks for one.
pub(super) fn ask(desk: &mut Desk<'_>, shelves: Shelves<'_>) -> Asked<Written> {
    let help = "as a mechanic would say it, as: clamp on the runner loose";
    let name = line(desk, ("What is the cause called?", help), "", text)?;
    let id = id(desk, &name)?;
    let what = line(desk, ("What is it, in a sentence?", ""), "", text)?;
    let group = group(desk)?;
    let seat = seat(desk)?;
    let place = place(desk)?;
    let fuel = fuel(desk)?;
    let yard = yardstick(desk.knowledge);
    let weight = line(desk, ("How common is it beside other causes?", &yard), "10", |answer| {
        number(answer, 0.01, 1000.0)
    })?;
    let recent = recent(desk)?;
    let effect = effect(desk)?;
    let reseat = line(
        desk,
        (
            "Chance that undoing and remaking it makes it go away?",
            "0 to 1; 0.8 for a fit, 0.05 for a worn part",
        ),
        "0.1",
        |answer| number(answer, 0.0, 1.0),
    )?;
    let heat =
        desk.yes("Does the cylinder really run hot by it, so that load may harm it?", false)?;
    let remedy = remedy(desk, shelves, &id)?;
    let basis = basis(desk)?;

    let mut out = String::from(
        "\
// A cause of this workshop's own, written by `oddpot knowledge new cause`. Change it as you like, then
// `oddpot knowledge check`. Tests speak to it only where a table names it; give it a row in one of your
// own, or it stays where readings and re-seating leave it.
(
    causes: [
        (
            // Jobs name it so; never change it.
",
    );
    let _ = writeln!(out, "            id: {},", quoted(&id));
    let _ = writeln!(out, "            name: {},", quoted(&name));
    let _ = writeln!(out, "            what: {},", quoted(&what));
    let _ =
        writeln!(out, "            // Where it hangs in the fault tree, and what it moves with.");
    let _ = writeln!(out, "            group: {},", quoted(&group));
    let _ = writeln!(out, "            seat: {},", quoted(seat.as_str()));
    let _ = writeln!(out, "            place: {},", quoted(place.as_str()));
    if !fuel.is_empty() {
        let _ = writeln!(out, "            applies: (fuel: {}),", list(&fuel));
    }
    let _ = writeln!(out, "            // How common it is: {yard}.");
    let _ = writeln!(out, "            weight: {weight:?},");
    if !recent.is_empty() {
        let _ = writeln!(out, "            // Factors on the weight after recent work.");
        let rows: Vec<String> =
            recent.iter().map(|(flag, f)| format!("({}, {f:?})", quoted(flag))).collect();
        let _ = writeln!(out, "            recent: [{}],", rows.join(", "));
    }
    out.push_str(&effect.replace("BASIS", &basis));
    let _ =
        writeln!(out, "            // Chance that undoing and remaking its seat takes it away.");
    let _ = writeln!(out, "            reseat: {reseat:?},");
    if heat {
        let _ = writeln!(out, "            // The cylinder really runs hot: load is held back.");
        let _ = writeln!(out, "            heat: true,");
    }
    out.push_str(&remedy.replace("BASIS", &basis));
    let _ = write!(
        out,
        "            // Where the figures come from: practice, memory, computed(\"how\"), source(\"id\").\n\
         \x20           basis: {basis},\n        ),\n    ],\n)\n"
    );
    Ok(Written { id, text: out })
}

/// Known causes that weights can be compared with: a common one, a middling one, a rare one.
fn yardstick(knowledge: &Knowledge) -> String {
    let mut list: Vec<(f64, &str)> = knowledge
        .causes
        .iter()
        .filter(|cause| cause.remedy.is_some())
        .map(|cause| (cause.weight, cause.id.as_str()))
        .collect();
    list.sort_by(|a, b| b.0.total_cmp(&a.0).then(a.1.cmp(b.1)));
    let marks = [1, list.len() / 2, list.len().saturating_sub(2)];
    let list: Vec<String> = marks
        .iter()
        .filter_map(|&at| list.get(at))
        .map(|(weight, id)| format!("{id} has {weight}"))
        .collect();
    words::list(&list)
}

fn group(desk: &mut Desk<'_>) -> Asked<String> {
    let knowledge = desk.knowledge;
    let choices: Vec<(String, String)> = knowledge
        .groups
        .iter()
        .map(|group| {
            let above = group
                .parent
                .map_or_else(String::new, |above| format!("{}: ", knowledge.groups[above].name));
            (words::upper_first(&format!("{above}{}", group.name)), group.id.clone())
        })
        .collect();
    desk.pick("Where does it belong?", &choices, 0)
}

fn seat(desk: &mut Desk<'_>) -> Asked<Seat> {
    let choices: Vec<(String, Seat)> = Seat::ALL
        .iter()
        .filter(|seat| **seat != Seat::Nothing)
        .map(|&seat| (format!("{seat}: {}", terms::seat(seat)), seat))
        .collect();
    desk.pick("What is it attached to? When that moves, the fault goes with it.", &choices, 0)
}

fn place(desk: &mut Desk<'_>) -> Asked<PlaceKind> {
    let choices = [
        ("one cylinder", PlaceKind::Cylinder),
        ("two that stand for each other", PlaceKind::Pair),
        ("the two cylinders of a coil", PlaceKind::CoilPair),
        ("two side by side in a bank", PlaceKind::Neighbours),
        ("a bank", PlaceKind::Bank),
    ];
    let choices: Vec<(String, PlaceKind)> = choices.map(|(t, p)| (t.to_owned(), p)).to_vec();
    desk.pick("What does it sit on?", &choices, 0)
}

fn fuel(desk: &mut Desk<'_>) -> Asked<Vec<&'static str>> {
    let labels: Vec<String> = Fuel::NAMES.iter().map(|&name| name.to_owned()).collect();
    let chosen =
        desk.asker.choose_many("Only with which fuel systems? None marked: with all.", &labels)?;
    Ok(chosen.into_iter().filter_map(|i| Fuel::NAMES.get(i).copied()).collect())
}

fn recent(desk: &mut Desk<'_>) -> Asked<Vec<(String, f64)>> {
    let flags: Vec<(String, String)> =
        desk.knowledge.recent.iter().map(|r| (r.id.clone(), r.question.clone())).collect();
    let chosen = several(desk, "After which recent work is it likelier?", &flags)?;
    let mut list = Vec::new();
    for flag in chosen {
        let question = format!("How many times likelier after {flag}?");
        let factor = line(desk, (&question, "2 is twice as likely"), "2", |answer| {
            number(answer, 0.05, 50.0)
        })?;
        list.push((flag, factor));
    }
    Ok(list)
}

/// The fields of what it does to readings; `BASIS` stands for the basis.
fn effect(desk: &mut Desk<'_>) -> Asked<String> {
    let choices = [
        ("its reading is off by some degrees", Shows::Shift),
        ("its number means nothing, or there is none", Shows::NoNumber),
        ("nothing that an exhaust probe reads", Shows::Nothing),
    ];
    let choices: Vec<(String, Shows)> = choices.map(|(t, s)| (t.to_owned(), s)).to_vec();
    match desk.pick("What does its display show?", &choices, 0)? {
        Shows::Nothing => Ok(String::new()),
        Shows::NoNumber => {
            let help =
                "four shares of 1 or less: open, stuck, falling, jumping; the rest is a number";
            let states = line(desk, ("How often which?", help), "0.5 0.1 0.1 0.1", |answer| {
                let list = numbers(answer, 4, 0.0, 1.0)?;
                if list.iter().sum::<f64>() > 1.0 {
                    return Err("together more than 1".to_owned());
                }
                Ok(list)
            })?;
            let [open, stuck, falling, erratic] = states[..] else { return Ok(String::new()) };
            let chances = format!(
                "(open: {open:?}, stuck: {stuck:?}, falling: {falling:?}, erratic: {erratic:?})"
            );
            Ok(format!(
                "            // None: the number means nothing.\n            effects: [(\n                \
                 law: \"invalid\",\n                exhaust: (None, None, None, None),\n                \
                 basis: BASIS,\n            )],\n            // Chances of a display without a steady \
                 number, cold soaked and running.\n            states_cold: {chances},\n            \
                 states_running: {chances},\n"
            ))
        }
        Shows::Shift => shift(desk),
    }
}

fn shift(desk: &mut Desk<'_>) -> Asked<String> {
    let laws = [
        ("the same number of degrees at every point, cold too", Law::Offset),
        ("in proportion to the reading", Law::Proportional),
        ("pulled to the pipe's wall: nothing when cold", Law::Wall),
        ("with the heat under the bonnet or in the box", Law::Bay),
        ("another effect of the engine", Law::EngineEffect),
        ("missed firing", Law::Misfire),
    ];
    let laws: Vec<(String, Law)> = laws.map(|(t, l)| (t.to_owned(), l)).to_vec();
    let law = desk.pick("How does the error go with temperature?", &laws, 4)?;
    let mut shifts = Vec::new();
    for (point, level, default) in [
        ("cold soaked", "at 20 °C", if law == Law::Offset { "" } else { "0 1" }),
        ("at warm idle", "where the others read 400 °C", ""),
        ("at steady cruise", "where the others read 620 °C", ""),
        ("at full load", "where the others read 860 °C", ""),
    ] {
        let question = format!("Off by how much {point}, °C?");
        let help = format!("{level}: mean and spread (sd) between engines, as `-60 25`");
        let pair = line(desk, (&question, &help), default, |answer| {
            let list = numbers(answer, 2, -900.0, 900.0)?;
            if list[1] < 0.0 { Err("a spread is not below 0".to_owned()) } else { Ok(list) }
        })?;
        shifts.push(format!("({:?}, {:?})", pair[0], pair[1]));
    }
    Ok(format!(
        "            // Mean and sd in °C cold soaked, at idle, cruise and full load.\n            \
         effects: [(\n                law: \"{law}\",\n                exhaust: ({}),\n                \
         basis: BASIS,\n            )],\n",
        shifts.join(", ")
    ))
}

/// The field of the remedy; `BASIS` stands for the basis.
fn remedy(desk: &mut Desk<'_>, shelves: Shelves<'_>, id: &str) -> Asked<String> {
    let what = line(desk, ("What cures it, as an order?", "as: Tighten the clamp"), "", text)?;
    let time = minutes(desk, "Minutes it takes, hands-on and waiting?", "15 0")?;
    let parts = parts(desk, shelves, "What parts does it need, worth how much labour?")?;
    let states = states(desk, "In which states of the engine can it be put right?")?;
    let access = access(desk)?;
    let cautions = cautions(desk)?;
    Ok(format!(
        "            remedy: (\n                // Causes cured by the same work share it.\n                \
         id: {},\n                what: {},\n                // Hands-on and waiting minutes, opening \
         left out.\n                time: ({:?}, {:?}),\n                parts: {},\n                \
         states: {},\n                access: {},\n                cautions: {},\n                \
         basis: BASIS,\n            ),\n",
        quoted(&format!("cure-{id}")),
        quoted(&what),
        time.0,
        time.1,
        quoted(&parts),
        list(&states),
        list(&access),
        list(&cautions),
    ))
}
