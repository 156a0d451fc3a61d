//! What depth, thickness and touch are worth on an installed probe.

use measure::probe::Fitting;
use measure::probe::outlook::{Change, Outlook};
use measure::probe::shift::{Doubt, Shift};
use measure::units::Scale;

use super::{TYPICAL, bare, number, signed, size};
use crate::report::doc::{Align, Doc, NoticeKind, Table};
use crate::report::{terms, words};

/// What the page is made from.
#[derive(Debug, Clone, Copy)]
pub struct DepthInput<'a> {
    /// The mates' fitting.
    pub mates: Fitting,
    /// What each running point gives.
    pub outlook: &'a [Outlook],
    /// What was compared, in the order of [`Outlook::changes`].
    pub changes: &'a [Change],
}

/// Deeper in than this share of the bore, a probe is past the middle.
const MIDDLE: f64 = 0.5;
/// A slip that happens, mm, and a difference that somebody would call odd, °C (common practice).
const DIFFERENCE: f64 = 5.0;
const ODD: f64 = 15.0;

/// The page.
#[must_use]
pub fn depth(input: DepthInput<'_>, scale: Scale) -> Doc {
    let Fitting { diameter, bore, depth } = input.mates;
    let mut doc = Doc::new(format!(
        "A {diameter} mm probe {depth} mm into a {bore} mm runner, {}",
        scale.sign()
    ));
    doc.para(verdict(input, scale));
    let mut table = columns("", input.outlook);
    let mut line = |name: &str, cell: &dyn Fn(&Outlook) -> String| {
        let cells = input.outlook.iter().map(cell);
        table.rows.push(std::iter::once(name.to_owned()).chain(cells).collect());
    };
    line("shows", &|one| {
        let mark = if one.matched { "" } else { "?" };
        format!("{}{mark}", bare(one.shows, scale))
    });
    line("each mm deeper", &|one| give_or_take(one.per_mm, scale));
    line("63 % of a step", &|one| seconds(one.time_constant));
    line("99 % of a step", &|one| seconds(one.settled));
    doc.table(table);
    let mut table = columns("one probe", input.outlook);
    for (i, change) in input.changes.iter().enumerate() {
        let cells = input.outlook.iter().map(|one| give_or_take(one.changes[i], scale));
        table.rows.push(std::iter::once(change_words(*change)).chain(cells).collect());
    }
    doc.heading("What one would show otherwise than the others");
    doc.table(table);
    let guessed = input.outlook.iter().any(|one| !one.matched);
    let mut notes = Vec::new();
    if guessed {
        notes.push(
            "?: of a typical petrol engine. Give your healthy displays with `--idle`, `--cruise`, \
             `--full` and the rest follows them."
                .to_owned(),
        );
    }
    let doubt = Doubt::default();
    notes.push(format!(
        "±: one standard deviation over what is not known: gas, flow, wall, the sheath's make, \
         depth to {} mm and, for a difference, the ruler to {} mm.",
        doubt.base_depth, doubt.difference
    ));
    notes.push(
        "Depth counts from the inner wall of the runner, not from the boss. Pipe and head take \
         longer to settle than the probe."
            .to_owned(),
    );
    doc.bullets(notes);
    doc.notice(NoticeKind::Doubt, words::lower_first(TYPICAL));
    doc
}

/// What to make of it, in a sentence or two.
fn verdict(input: DepthInput<'_>, scale: Scale) -> String {
    let slopes: Vec<String> = input
        .outlook
        .iter()
        .map(|one| {
            format!(
                "{} {} at {}",
                signed(one.per_mm.mean, scale),
                scale.sign(),
                terms::regime(one.point)
            )
        })
        .collect();
    let worst = input.outlook.iter().map(|one| one.per_mm.mean.abs()).fold(0.0, f64::max);
    let rest = if input.mates.depth > MIDDLE * input.mates.bore {
        "It stands past the middle of the runner: towards the far wall it gets colder again."
    } else if worst * DIFFERENCE > ODD {
        "Five by mistake, and a healthy cylinder looks odd, or an odd one healthy."
    } else {
        "Depth counts for little here."
    };
    format!("A millimetre deeper is worth {}. {rest}", words::list(&slopes))
}

fn columns(first: &str, outlook: &[Outlook]) -> Table {
    let heads: Vec<&str> = outlook.iter().map(|one| terms::regime(one.point)).collect();
    Table::new(
        [(first, Align::Left)].into_iter().chain(heads.into_iter().map(|h| (h, Align::Right))),
    )
}

fn give_or_take(shift: Shift, scale: Scale) -> String {
    format!("{} ± {}", signed(shift.mean, scale), size(shift.sd, scale))
}

fn seconds(seconds: f64) -> String {
    if seconds < 99.5 { format!("{seconds:.0} s") } else { words::minutes(seconds / 60.0) }
}

fn change_words(change: Change) -> String {
    match change {
        Change::Deeper(mm) if mm < 0.0 => format!("{} mm less deep", decimals(-mm)),
        Change::Deeper(mm) => format!("{} mm deeper", decimals(mm)),
        Change::Diameter(mm) => format!("{} mm thick", decimals(mm)),
        Change::TouchesLightly => "tip rests on the far wall".to_owned(),
        Change::TouchesFirmly => "tip pressed on the far wall".to_owned(),
    }
}

/// A length as it was typed, without a tail of noughts.
fn decimals(mm: f64) -> String {
    number(mm, 2).trim_end_matches('0').trim_end_matches('.').to_owned()
}
