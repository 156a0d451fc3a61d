//! What a wiring fault would show.

use measure::thermocouple::Standard;
use measure::thermocouple::circuit::{Display, Temperatures};
use measure::thermocouple::wiring::{Shown, Sizes, Wiring};
use measure::units::{Scale, TempDelta};

use super::faults::{fault_name, proof, tells};
use super::{bare, display, number, signed, temperature};
use crate::report::doc::{Align, Doc, NoticeKind, Table};
use crate::report::words;

/// What the page is made from.
#[derive(Debug, Clone, Copy)]
pub struct ShowsInput<'a> {
    /// The type that was meant.
    pub meant: Standard,
    /// Temperatures asked for; the first is cold soak.
    pub at: &'a [Temperatures],
    /// Sizes of the faults.
    pub sizes: &'a Sizes,
    /// What they show.
    pub shown: &'a [Shown],
}

/// Every fault side by side.
#[must_use]
pub fn every_fault(input: ShowsInput<'_>, scale: Scale) -> Doc {
    let mut doc =
        Doc::new(format!("What wiring faults show, type {}, {}", input.meant, scale.sign()));
    let (soak, joint) = joint(input.at);
    doc.para(format!(
        "The tip truly at the temperature over each column; the box at {}, the joint of probe and \
         lead at {}. Soaked: everything at the temperature of the box.",
        temperature(soak.terminals, scale),
        temperature(joint, scale),
    ));
    let heads: Vec<String> = input
        .at
        .iter()
        .enumerate()
        .map(|(i, at)| if i == 0 { "soaked".to_owned() } else { bare(at.tip, scale) })
        .collect();
    let columns = [("what is wrong", Align::Left)]
        .into_iter()
        .chain(heads.iter().map(|head| (head.as_str(), Align::Right)));
    let mut table = Table::new(columns);
    for row in input.shown {
        let cells = row.displays.iter().map(|&shown| display(shown, scale));
        table.rows.push(std::iter::once(fault_name(row.fault, row.other)).chain(cells).collect());
    }
    doc.table(table);
    doc.para(legend(input.sizes, scale));
    doc.para(format!(
        "`oddpot probe shows FAULT` tells how one gives itself away and what proves it: {}.",
        Wiring::NAMES.join(", ")
    ));
    doc
}

/// One fault at every temperature, and what proves it.
#[must_use]
pub fn one_fault(input: ShowsInput<'_>, fault: Wiring, scale: Scale) -> Doc {
    let alone = match input.shown {
        [one] => one.other,
        _ => None,
    };
    let name = words::upper_first(&fault_name(fault, alone));
    let mut doc = Doc::new(format!("{name}: what a type {} chain shows", input.meant));
    doc.fields([
        ("Gives itself away", tells(fault).to_owned()),
        ("Proof", proof(fault).to_owned()),
        ("Size", size_words(fault, input.sizes, scale)),
    ]);
    let several = input.shown.len() > 1;
    let other = several.then_some(("type", Align::Left));
    let mut table = Table::new(other.into_iter().chain([
        ("tip truly", Align::Right),
        ("joint", Align::Right),
        ("box", Align::Right),
        ("shows", Align::Right),
        ("off by", Align::Right),
    ]));
    for row in input.shown {
        for (i, (at, &shown)) in input.at.iter().zip(&row.displays).enumerate() {
            let off = match shown {
                Some(Display::Shows(t)) => signed(t - at.tip, scale),
                _ => String::new(),
            };
            let kind = row.other.map_or_else(String::new, |other| other.to_string());
            let kind = several.then(|| if i == 0 { kind } else { String::new() });
            table.rows.push(
                kind.into_iter()
                    .chain([at.tip, at.joint, at.terminals].map(|t| bare(t, scale)))
                    .chain([display(shown, scale), off])
                    .collect(),
            );
        }
    }
    doc.heading(format!("Displays, {}", scale.sign()));
    doc.table(table);
    if input
        .shown
        .iter()
        .flat_map(|row| &row.displays)
        .any(|d| !matches!(d, Some(Display::Shows(_))))
    {
        doc.para(FLAGS);
    }
    let soaked_right = input.shown.iter().all(|row| {
        matches!(row.displays.first(), Some(Some(Display::Shows(t)))
            if (t - input.at[0].tip).abs() < 0.5)
    });
    if fault != Wiring::Sound && soaked_right {
        doc.notice(NoticeKind::Doubt, "Agreement at cold soak does not clear this fault.");
    }
    doc
}

const FLAGS: &str = "Under, over: beyond the type's table, where a box shows a flag, a floor or \
     nonsense. -: no wire of that type bears it.";

fn joint(at: &[Temperatures]) -> (Temperatures, f64) {
    let soak = at[0];
    (soak, at.get(1).map_or(soak.joint, |at| at.joint))
}

fn legend(sizes: &Sizes, scale: Scale) -> String {
    let parts: Vec<String> =
        [Wiring::ColdJunction, Wiring::Leak, Wiring::Bias, Wiring::ShortInProbe]
            .into_iter()
            .map(|fault| {
                format!("{}: {}", fault_name(fault, None), size_words(fault, sizes, scale))
            })
            .collect();
    format!("{FLAGS} Sizes taken: {}.", parts.join("; "))
}

/// How big a fault was taken to be, where it has a size.
fn size_words(fault: Wiring, sizes: &Sizes, scale: Scale) -> String {
    let ohms = |usual: f64| number(sizes.loop_ohms.unwrap_or(usual), 0);
    match fault {
        Wiring::ColdJunction => {
            let shown = scale.show_delta(TempDelta(sizes.cold_junction));
            let way = if shown < 0.0 { "too cold" } else { "too hot" };
            format!("believes itself {} {} {way}", number(shown.abs(), 0), scale.sign())
        }
        Wiring::Leak => {
            format!("{} Ω across a loop of {} Ω", number(sizes.leak_ohms, 0), ohms(10.0))
        }
        Wiring::Bias => {
            format!("{} µA through {} Ω", number(sizes.bias_microamps, 1), ohms(1000.0))
        }
        Wiring::ShortInProbe | Wiring::ShortInLead => match sizes.short {
            Some(t) => format!("where it is {}", temperature(t, scale)),
            None => "half-way in temperature".to_owned(),
        },
        _ => String::new(),
    }
}
