//! Colours of extension cable, what a colour may mean, and how it misleads.

use measure::thermocouple::Standard;
use measure::thermocouple::colour::{self, Cable, Code, Colour, Leg, Trap};

use crate::report::doc::{Align, Doc, NoticeKind, Table};
use crate::report::words;

/// The cable of one type in both codes, its traps and its magnet check.
#[must_use]
pub fn cable(standard: Standard) -> Doc {
    let mut doc = Doc::new(format!("Extension cable of type {standard}"));
    doc.table(legs(&[standard]));
    doc.heading("Traps");
    let mut traps: Vec<Trap> = Vec::new();
    for &code in Code::ALL {
        for trap in colour::traps(standard, code) {
            // Named below with the types it means.
            if trap != Trap::SheathOfAnother && !traps.contains(&trap) {
                traps.push(trap);
            }
        }
    }
    let mut lines: Vec<String> = traps.iter().map(|&trap| trap_words(trap).to_owned()).collect();
    for &code in Code::ALL {
        let sheath = colour::cable(standard, code).sheath;
        let others: Vec<String> = colour::meanings(sheath)
            .into_iter()
            .filter(|&(_, other)| other != standard)
            .map(|(other_code, other)| format!("type {other} ({})", code_words(other_code)))
            .collect();
        if !others.is_empty() {
            lines.push(format!(
                "{} may as well be {}.",
                words::upper_first(sheath.as_str()),
                words::list(&others)
            ));
        }
    }
    doc.bullets(lines);
    doc.heading("Magnet");
    doc.para(magnet(standard));
    unseen(&mut doc, &[standard]);
    doc
}

/// What a sheath of a colour may be.
#[must_use]
pub fn meanings(sheath: Colour) -> Doc {
    let mut doc = Doc::new(format!("A {sheath} sheath"));
    let all = colour::meanings(sheath);
    let names: Vec<String> = all
        .iter()
        .map(|&(code, standard)| format!("type {standard} ({})", code_words(code)))
        .collect();
    if all.is_empty() {
        doc.para(format!(
            "No type has a {sheath} sheath in the codes known here. It may be a superseded national \
             code, or no extension cable at all: go by magnet and boiling water."
        ));
        if sheath == Colour::White || sheath == Colour::Red {
            doc.para(if sheath == Colour::White {
                "As a leg, white is negative by IEC for every type, but positive for an American type J."
            } else {
                "As a leg, red is negative by the American code; in several superseded national \
                 codes it was positive."
            });
        }
        return doc;
    }
    doc.para(format!("May be {}.", words::list(&names)));
    let types: Vec<Standard> = Standard::ALL
        .iter()
        .copied()
        .filter(|&standard| all.iter().any(|&(_, found)| found == standard))
        .collect();
    doc.table(legs(&types));
    if sheath == Colour::Blue {
        doc.bullets(vec![trap_words(Trap::BlueIsSafe).to_owned()]);
    }
    doc.heading("Magnet");
    doc.bullets(types.iter().map(|&standard| magnet(standard)).collect());
    unseen(&mut doc, &types);
    doc.notice(
        NoticeKind::Doubt,
        "a colour is a hint. A magnet and a display in boiling water are proof.",
    );
    doc
}

/// Every type in both codes.
#[must_use]
pub fn every_cable() -> Doc {
    let mut doc = Doc::new("Extension cable by type");
    doc.table(legs(Standard::ALL));
    doc.bullets(
        [Trap::RedEitherWay, Trap::WhitePositive, Trap::BlackPositive, Trap::BlueIsSafe]
            .map(|trap| trap_words(trap).to_owned())
            .to_vec(),
    );
    unseen(&mut doc, Standard::ALL);
    doc.notice(
        NoticeKind::Doubt,
        "a colour is a hint. A magnet and a display in boiling water are proof.",
    );
    doc
}

fn legs(types: &[Standard]) -> Table {
    let mut table = Table::new([
        ("type", Align::Left),
        ("code", Align::Left),
        ("sheath", Align::Left),
        ("positive", Align::Left),
        ("negative", Align::Left),
    ]);
    for &standard in types {
        for &code in Code::ALL {
            let Cable { sheath, positive, negative, seen } = colour::cable(standard, code);
            let mark = if seen { "" } else { " *" };
            table.rows.push(vec![
                standard.to_string(),
                format!("{}{mark}", code_words(code)),
                sheath.to_string(),
                positive.to_string(),
                negative.to_string(),
            ]);
        }
    }
    table
}

/// Says which rows nobody has looked up.
fn unseen(doc: &mut Doc, types: &[Standard]) {
    if types.iter().any(|&standard| !colour::cable(standard, Code::Iec).seen) {
        doc.para("*: from memory, not seen in a published chart.");
    }
}

fn code_words(code: Code) -> &'static str {
    match code {
        Code::Iec => "IEC",
        Code::Astm => "American",
    }
}

/// A trap as a sentence.
#[must_use]
pub fn trap_words(trap: Trap) -> &'static str {
    match trap {
        Trap::RedEitherWay => {
            "Red is the negative leg in the American code, and was the positive one in several \
             superseded national codes: old cable may be either."
        }
        Trap::WhitePositive => {
            "White is the negative leg of every type by IEC, but the positive leg of an American \
             type J."
        }
        Trap::BlackPositive => {
            "Black is the positive leg of type J by IEC, and of types R and S in the American code."
        }
        Trap::SheathOfAnother => "The same sheath means another type in the other code.",
        Trap::BlueIsSafe => {
            "A blue sheath is type T in the American code; by IEC blue marks an intrinsically safe \
             circuit of any type."
        }
    }
}

fn magnet(standard: Standard) -> String {
    match colour::magnetic_leg(standard) {
        Some(Leg::Negative) => format!(
            "Type {standard}: a magnet draws the negative leg of cold wire and leaves the positive alone."
        ),
        Some(Leg::Positive) => format!(
            "Type {standard}: a magnet draws the positive leg (iron) and leaves the negative alone."
        ),
        None => format!("Type {standard}: a magnet draws neither leg."),
    }
}
