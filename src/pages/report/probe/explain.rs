//! Which wiring fault explains displays at known temperatures.

use measure::thermocouple::Standard;
use measure::thermocouple::circuit::Display;
use measure::thermocouple::explain::{Explanation, Observation, Quantity};
use measure::thermocouple::wiring::Wiring;
use measure::units::{Scale, TempDelta};

use super::faults::{fault_name, proof};
use super::{bare, difference, display, number, signed, size};
use crate::report::doc::{Align, Doc, NoticeKind, Table};
use crate::report::words;

/// What the page is made from.
#[derive(Debug, Clone, Copy)]
pub struct ExplainInput<'a> {
    /// Type of probe that was meant.
    pub probe: Standard,
    /// Type that the box is set to.
    pub channel: Standard,
    /// What was seen.
    pub seen: &'a [Observation],
    /// How far a sound reading may be off, one standard deviation, °C.
    pub sd: f64,
    /// Every fault, best first.
    pub ranked: &'a [Explanation],
}

/// Faults in the table.
const SHOWN: usize = 8;
/// Faults shown when none fits.
const SHOWN_POOR: usize = 3;
/// Faults whose proof is told.
const PROOFS: usize = 4;
/// Akaike's criterion: this much worse, and a fault is not among the best any more.
const AS_GOOD: f64 = 2.0;

/// The page.
#[must_use]
pub fn explain(input: ExplainInput<'_>, scale: Scale) -> Doc {
    let mut doc = Doc::new("Which wiring fault explains these displays");
    let fitting: Vec<&Explanation> = input.ranked.iter().filter(|one| one.fits).collect();
    let best = fitting.first().map_or(f64::INFINITY, |one| one.score);
    let good: Vec<&Explanation> =
        fitting.iter().copied().filter(|one| one.score <= best + AS_GOOD).collect();
    let sound = good.iter().any(|one| fault_is(one, Wiring::Sound));
    doc.para(verdict(input, &good));
    if good.iter().any(|one| !one.tested) && !sound {
        doc.notice(
            NoticeKind::Doubt,
            "one display bends to any fault with a size. Read it at another temperature too, \
             boiling water or cold soak.",
        );
    }
    let rows: Vec<&Explanation> = if fitting.is_empty() {
        input.ranked.iter().take(SHOWN_POOR).collect()
    } else if sound {
        // A fault too small to see fits as well as none; nobody need hunt it.
        good.iter().copied().filter(|one| fault_is(one, Wiring::Sound)).collect()
    } else {
        fitting.iter().copied().take(SHOWN).collect()
    };
    doc.heading(if fitting.is_empty() {
        format!("Nearest, but none fits, {}", scale.sign())
    } else {
        format!("What fits, best first, {}", scale.sign())
    });
    doc.table(table(input, &rows, scale));
    let rest = fitting.len().saturating_sub(rows.len());
    let more = if sound {
        " So do faults too small to see here.".to_owned()
    } else if rest > 0 {
        format!(
            " {} not shown.",
            words::upper_first(&words::count(rest, "more fits,", "more fit,"))
        )
    } else {
        String::new()
    };
    doc.para(format!(
        "Fits: within three times {} of every display, the error a sound chain may have.{more}",
        difference(input.sd, scale).trim_start_matches('+'),
    ));
    let proofs = if sound { Vec::new() } else { proofs(&good) };
    if !proofs.is_empty() {
        doc.heading("What proves it");
        doc.numbered(proofs);
    }
    if let Some(apart) = tell_apart(input, &good) {
        doc.heading("To tell them apart");
        doc.para(apart);
    }
    doc
}

fn fault_is(explanation: &Explanation, fault: Wiring) -> bool {
    Wiring::of(explanation.fault).0 == fault
}

fn name(explanation: &Explanation) -> String {
    let (fault, other) = Wiring::of(explanation.fault);
    fault_name(fault, other)
}

fn verdict(input: ExplainInput<'_>, good: &[&Explanation]) -> String {
    let names: Vec<String> = good.iter().map(|one| name(one)).collect();
    match good {
        [] => "No single wiring fault explains all of these. Check the true temperatures, or look \
               for two faults."
            .to_owned(),
        list if list.iter().any(|one| fault_is(one, Wiring::Sound)) => {
            let cold = input.seen.iter().all(|one| (one.tip - one.terminals).abs() < 15.0);
            let limits = if cold {
                " But all of it is near the temperature of the box, where half of the wiring faults \
                 show nothing: read it in boiling water too."
            } else {
                ""
            };
            format!("These displays need no fault: a sound chain shows them.{limits}")
        }
        [_] => format!("One explains them best: {}.", names[0]),
        _ if names.len() <= 4 => format!("These explain them alike: {}.", words::list(&names)),
        _ => {
            let first = names[..3].join(", ");
            format!("They are explained alike by {} faults, such as {first}.", names.len())
        }
    }
}

fn table(input: ExplainInput<'_>, rows: &[&Explanation], scale: Scale) -> Table {
    let heads: Vec<String> =
        input.seen.iter().map(|one| format!("at {}", bare(one.tip, scale))).collect();
    let columns = [("what is wrong", Align::Left)]
        .into_iter()
        .chain(heads.iter().map(|head| (head.as_str(), Align::Right)))
        .chain([("worst miss", Align::Right), ("with", Align::Left)]);
    let mut table = Table::new(columns);
    let seen = input.seen.iter().map(|one| display(Some(one.display), scale));
    table.rows.push(std::iter::once("seen".to_owned()).chain(seen).collect());
    for one in rows {
        let shown = one.displays.iter().map(|&shown| display(Some(shown), scale));
        let worst = one
            .residuals
            .iter()
            .map(|r| r.map(f64::abs))
            .try_fold(0.0, |worst, r| r.map(|r: f64| r.max(worst)));
        let worst = worst.map_or_else(|| "kind".to_owned(), |worst| size(worst, scale));
        let with = free_words(one, scale).unwrap_or_default();
        table.rows.push(std::iter::once(name(one)).chain(shown).chain([worst, with]).collect());
    }
    table
}

/// The free number of an explanation in words, if it has one.
#[must_use]
pub fn free_words(one: &Explanation, scale: Scale) -> Option<String> {
    let (value, free) = (one.value?, one.fault.free()?);
    let degrees = |value: f64| {
        format!("{} {}", number(scale.show_delta(TempDelta(value)).abs(), 0), scale.sign())
    };
    let above = |what: &str, value: f64| {
        let way = if value < 0.0 { "under" } else { "over" };
        format!("{what} {} {way} box", degrees(value))
    };
    Some(match free.what {
        Quantity::JointAboveTerminals => above("joint", value),
        Quantity::ShortAboveTerminals => above("touch", value),
        Quantity::ColdJunctionError => {
            let way = if value < 0.0 { "cold" } else { "hot" };
            format!("{} too {way}", degrees(value))
        }
        Quantity::ShareLost => format!("{} lost", words::percent(value)),
        Quantity::StrayMillivolts => format!("{} mV stray", signed(value, Scale::Celsius)),
        Quantity::ShareOfTip => format!("{} of tip's heat", words::percent(value)),
    })
}

/// A sentence for each kind of fault among the best, in their order.
fn proofs(good: &[&Explanation]) -> Vec<String> {
    let mut kinds: Vec<Wiring> = Vec::new();
    for one in good {
        let (fault, _) = Wiring::of(one.fault);
        if fault != Wiring::Sound && !kinds.contains(&fault) {
            kinds.push(fault);
        }
    }
    kinds
        .into_iter()
        .take(PROOFS)
        .map(|fault| format!("{}: {}", words::upper_first(&fault_name(fault, None)), proof(fault)))
        .collect()
}

/// What would part faults that are alike by nature.
fn tell_apart(input: ExplainInput<'_>, good: &[&Explanation]) -> Option<String> {
    let of_the_lead = |one: &&Explanation| {
        one.fault.free().is_some_and(|free| free.what == Quantity::JointAboveTerminals)
    };
    let constant =
        |one: &&Explanation| fault_is(one, Wiring::ColdJunction) || fault_is(one, Wiring::Bias);
    if good.len() < 2 || good.iter().any(|one| fault_is(one, Wiring::Sound)) {
        return None;
    }
    let joint_unknown = input.seen.iter().any(|one| one.joint.is_none());
    let flags = input.seen.iter().all(|one| !matches!(one.display, Display::Shows(_)));
    if flags {
        return Some(
            "A flag has no size: read a temperature at which it shows a number.".to_owned(),
        );
    }
    Some(if joint_unknown && good.iter().any(of_the_lead) {
        let mut text = "Measure the joint of probe and lead, and say `--joint T`".to_owned();
        if good.iter().any(constant) {
            text.push_str(
                "; or add a cold-soak display (`--cold T=SHOWN`): faults of the lead \
                           vanish there, those of the box stay",
            );
        }
        text + "."
    } else if good.iter().any(constant) {
        "Add a cold-soak display (`--cold T=SHOWN`): faults of the lead vanish there, those of the \
         box stay."
            .to_owned()
    } else {
        "Add a display at another temperature, boiling water being the cheapest.".to_owned()
    })
}
