//! How far apart two good probes may be.

use measure::engine::Regime;
use measure::thermocouple::Standard;
use measure::thermocouple::tolerance::{Allowed, Class};
use measure::units::Scale;

use super::{TYPICAL, size, temperature};
use crate::report::doc::{Align, Doc, Table};
use crate::report::terms;

/// What the page is made from.
#[derive(Debug, Clone, Copy)]
pub struct ApartInput<'a> {
    /// The type.
    pub standard: Standard,
    /// The temperature, °C.
    pub at: f64,
    /// What each class allows.
    pub allowed: &'a [Allowed],
    /// Classes that cannot be had at this temperature are left out; this one was asked for.
    pub asked: Class,
    /// What unequal depths add, where the fitting is known.
    pub depth: Option<DepthScatter>,
}

/// What a scatter of depths does.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DepthScatter {
    /// Running point.
    pub point: Regime,
    /// Standard deviation of one probe's depth, mm.
    pub mm: f64,
    /// Standard deviation it gives one display, °C.
    pub sd: f64,
}

impl ApartInput<'_> {
    /// Standard deviation of the difference of two displays, depth counted in, °C.
    #[must_use]
    pub fn sd(&self, allowed: &Allowed) -> Option<f64> {
        let depth = self.depth.map_or(0.0, |depth| depth.sd * std::f64::consts::SQRT_2);
        allowed.apart().map(|apart| apart.sd.hypot(depth))
    }
}

/// The page.
#[must_use]
pub fn apart(input: ApartInput<'_>, scale: Scale) -> Doc {
    let (standard, at) = (input.standard, temperature(input.at, scale));
    let mut doc = Doc::new(format!("Two good type {standard} probes at {at}"));
    let sign = scale.sign();
    let asked = input.allowed.iter().find(|one| one.class == input.asked);
    let asked = asked.and_then(|one| Some((one, one.apart()?)));
    if let Some((one, limit)) = asked {
        let leads = if one.lead.is_some() { "leads counted in" } else { "leads not counted" };
        let depth = match (input.depth, input.sd(one)) {
            (Some(depth), Some(sd)) => format!(
                " With depths that scatter by {} mm it is rarely more than {} {sign} at {}.",
                depth.mm,
                size(2.0 * sd, scale),
                terms::regime(depth.point),
            ),
            _ => String::new(),
        };
        doc.para(format!(
            "Up to {} {sign} between two of {}, {leads}, and both are good.{depth}",
            size(limit.limit, scale),
            class_words(one.class),
        ));
    }
    let mut columns = vec![
        ("class", Align::Left),
        ("each", Align::Right),
        ("lead", Align::Right),
        ("apart, at most", Align::Right),
        ("rarely over", Align::Right),
    ];
    if input.depth.is_some() {
        columns.push(("with depth", Align::Right));
    }
    let mut table = Table::new(columns);
    for one in input.allowed {
        let Some((probe, limit)) = one.probe.zip(one.apart()) else { continue };
        let plus_minus = |kelvin: f64| format!("±{}", size(kelvin, scale));
        let mut row = vec![
            class_words(one.class).to_owned(),
            plus_minus(probe),
            one.lead.map_or_else(|| "no table".to_owned(), plus_minus),
            size(limit.limit, scale),
            size(2.0 * limit.sd, scale),
        ];
        if let (Some(_), Some(sd)) = (input.depth, input.sd(one)) {
            row.push(size(2.0 * sd, scale));
        }
        table.rows.push(row);
    }
    doc.heading(format!("By class, {sign}"));
    doc.table(table);
    let mut notes = vec![
        "New wire only: the standards promise nothing of drift, and used type K drifts.".to_owned(),
        "Rarely over: one pair of twenty lies further apart, if one probe of twenty lies outside its class. That is \
         an assumption; the standards do not say."
            .to_owned(),
    ];
    match input.depth {
        Some(depth) => notes.push(format!(
            "Depth: {} mm of scatter is {} {sign} on one display at {} (one standard deviation). \
             {TYPICAL}",
            depth.mm,
            size(depth.sd, scale),
            terms::regime(depth.point),
        )),
        None => notes.push(
            "Unequal depths come on top and are often more: give `--bore` and `--depth`."
                .to_owned(),
        ),
    }
    doc.bullets(notes);
    doc
}

fn class_words(class: Class) -> &'static str {
    match class {
        Class::One => "IEC class 1",
        Class::Two => "IEC class 2",
        Class::Three => "IEC class 3",
        Class::Standard => "ASTM standard",
        Class::Special => "ASTM special",
    }
}
