//! Where to put the probes: the plan on a screen, and the whole sheet.
//!
//! The screen has what a person with a drill needs first; what the sheet adds is in `fit_plan_sheet`.
//! It must not compute a tolerance.

use measure::engine::Regime;
use measure::probe::fit_plan::trial::Trial;
use measure::probe::fit_plan::{DepthLimit, Lead, Miss, Plan, Planned, RULE};
use measure::probe::outlook::POINTS;
use measure::units::Scale;

use super::fit_plan_sheet::{grounds, heat, steps};
use super::{TYPICAL, number, signed, size};
use crate::report::doc::{Align, Doc, NoticeKind, Table};
use crate::report::screen::{LINES, Screen};
use crate::report::{terms, words};

/// What the page is made from.
#[derive(Debug, Clone, Copy)]
pub struct FitPlanInput<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// What came of trying it, where it was tried.
    pub trial: Option<&'a Trial>,
}

/// What drilling into a manifold asks for.
const DRILLING: &str = "drill with the manifold off and cold, and clear it of swarf: what stays in goes \
     through a turbine or a catalyst. Goggles, gloves off near the drill, help or a hoist for what is \
     heavy. What the engine builder says of drilling, welding and torque comes first.";

/// Rows of a table that one screen has room for, whatever else stands on it.
const ROWS: usize = 8;
/// What drilling asks for where room is short.
const DRILLING_IN_SHORT: &str = "manifold off and cold, no swarf left in it, goggles, a hoist. What the \
     engine builder says of drilling and welding comes first.";

/// The plan in one screen; `foot` stands below it.
#[must_use]
pub fn fit_plan_at_a_glance(input: FitPlanInput<'_>, scale: Scale, foot: &str) -> Doc {
    let plan = input.plan;
    let any = |has: fn(&Planned) -> bool| plan.cylinders.iter().any(has);
    let mut screen = Screen::new(title(plan));
    screen.must(|doc| doc.fields(common(plan)));
    screen.must(|doc| doc.para(verdict(plan, scale)));
    if plan.tolerance.spread_by_rule.is_none() {
        screen.or(|doc| doc.para(verdict_in_short(plan, scale)));
    }
    let mut table = table(plan);
    let more = table.rows.len().saturating_sub(ROWS);
    table.rows.truncate(ROWS);
    screen.must(|doc| doc.table(table));
    if more > 0 {
        screen.must(|doc| doc.para(format!("{more} rows more: the whole sheet has them.")));
    }
    screen.must(|doc| doc.bullets(exceptions(plan)));
    if any(|one| !one.misses.is_empty()) {
        screen.or(|doc| doc.para("* Not what the others have: the whole sheet says why."));
    }
    screen.must(|doc| doc.table(offsets(plan, scale)));
    if any(|one| !one.offsets.is_empty()) {
        let words = "Some are off when all is healthy: the whole sheet says by how much.";
        screen.or(|doc| doc.para(words));
    }
    screen.must(|doc| doc.notice(NoticeKind::Caution, DRILLING));
    screen.or(|doc| doc.notice(NoticeKind::Caution, DRILLING_IN_SHORT));
    screen.may(2, |doc| doc.bullets(remarks(plan, scale)));
    screen.page(LINES, foot)
}

/// The whole sheet.
#[must_use]
pub fn fit_plan(input: FitPlanInput<'_>, scale: Scale) -> Doc {
    let plan = input.plan;
    let mut doc = Doc::new(title(plan));
    doc.fields(common(plan));
    doc.para(verdict(plan, scale));
    doc.table(table(plan));
    doc.bullets(exceptions(plan));
    doc.table(offsets(plan, scale));
    doc.bullets(remarks(plan, scale));
    doc.notice(NoticeKind::Caution, DRILLING);
    doc.heading("In this order");
    doc.numbered(steps(plan));
    doc.heading("Heat and movement");
    doc.bullets(heat(plan, scale));
    doc.heading("What it rests on");
    doc.bullets(grounds(input, scale));
    doc.notice(NoticeKind::Doubt, words::lower_first(TYPICAL));
    doc
}

fn title(plan: &Plan) -> String {
    format!("Fitting plan for {} probes", plan.cylinders.len())
}

/// What all have in common.
fn common(plan: &Plan) -> [(&'static str, String); 4] {
    let (common, tolerance) = (plan.common, plan.tolerance);
    let misses = |miss: Miss| plan.cylinders.iter().any(|one| one.misses.contains(&miss));
    let but = |miss: Miss| if misses(miss) { ", where it can be had" } else { "" };
    let same = |of: fn(&Planned) -> Option<f64>| {
        let first = plan.cylinders.first().and_then(of)?;
        plan.cylinders.iter().all(|one| of(one) == Some(first)).then_some(first)
    };
    let mark = same(|one| one.mark_mm);
    let lead = same(|one| one.lead.map(|lead| lead.needed_mm));
    [
        (
            "From the flange",
            format!(
                "{} mm, ± {} mm{}",
                mm(common.distance_mm),
                mm(tolerance.place_mm),
                but(Miss::Distance)
            ),
        ),
        (
            "Tip past the inner wall",
            format!(
                "{} mm, ± {} mm{}",
                mm(common.depth_mm),
                mm(tolerance.depth_mm),
                but(Miss::Depth)
            ),
        ),
        (
            "Mark on the stem",
            mark.map(|mark| format!("{} mm from the tip", mm(mark))).unwrap_or_default(),
        ),
        ("Lead", lead.map(|lead| format!("{} mm", mm(lead))).unwrap_or_default()),
    ]
}

/// What it is worth, on a line.
fn verdict_in_short(plan: &Plan, scale: Scale) -> String {
    let within = degrees(plan.wish.within, scale);
    format!("Healthy displays of like runners then keep within {within} {}.", scale.sign())
}

/// What it is worth.
fn verdict(plan: &Plan, scale: Scale) -> String {
    let sign = scale.sign();
    let like = if plan.alike() < plan.cylinders.len() { " of like runners" } else { "" };
    let kept = format!(
        "fitting alone keeps healthy displays{like} within {} {sign} of each other in 95 of 100 \
         engines, at idle, cruise and full load.",
        degrees(plan.wish.within, scale),
    );
    match plan.tolerance.spread_by_rule {
        None => format!("Kept so, {kept}"),
        Some(spread) => format!(
            "Kept so, {kept} But that is finer than a rule and a pen keep on a stem, ± {RULE} mm \
             (common practice): with that it is {} {sign}. {}",
            degrees(spread, scale),
            if plan.depth_limit == DepthLimit::Middle {
                "Thinner probes help."
            } else {
                "Deeper tips help."
            },
        ),
    }
}

/// Where each probe goes, a row for every kind.
fn table(plan: &Plan) -> Table {
    type Cell = fn(&Planned) -> String;
    fn star(one: &Planned, miss: Miss) -> &'static str {
        if one.misses.contains(&miss) { "*" } else { "" }
    }
    let any = |has: fn(&Planned) -> bool| plan.cylinders.iter().any(has);
    let bore = plan.common.bore_mm;
    let bores = plan.cylinders.iter().any(|one| (one.spot.bore_mm - bore).abs() > 1e-9);
    let columns: [(&str, bool, Cell); 6] = [
        ("bore", bores, |one| mm(one.spot.bore_mm)),
        ("from flange", true, |one| mm(one.spot.distance_mm) + star(one, Miss::Distance)),
        ("depth", true, |one| mm(one.spot.depth_mm) + star(one, Miss::Depth)),
        ("lean", any(|one| one.spot.lean_deg > 0.0), |one| format!("{}°", mm(one.spot.lean_deg))),
        ("mark", any(|one| one.mark_mm.is_some()), |one| one.mark_mm.map(mm).unwrap_or_default()),
        ("lead", any(|one| one.lead.is_some()), |one| one.lead.map(lead).unwrap_or_default()),
    ];
    let shown: Vec<(&str, Cell)> =
        columns.into_iter().filter(|column| column.1).map(|(name, _, cell)| (name, cell)).collect();
    let cells = |one: &Planned| shown.iter().map(|(_, cell)| cell(one)).collect();
    let mut table =
        by_kind(&plan.cylinders, shown.iter().map(|(name, _)| (*name).to_owned()), cells);
    // One row says nothing that is not in common.
    if table.rows.len() < 2 && !short(plan) {
        table.rows.clear();
    }
    table
}

/// Whether a lead is short.
fn short(plan: &Plan) -> bool {
    plan.cylinders.iter().any(|one| one.lead.is_some_and(|lead| lead.short_by_mm > 0.0))
}

/// What healthy displays are off by, a row for every kind that is.
fn offsets(plan: &Plan, scale: Scale) -> Table {
    let off: Vec<Planned> =
        plan.cylinders.iter().filter(|one| !one.offsets.is_empty()).cloned().collect();
    let heads = POINTS.map(|at| format!("{}, {}", terms::regime(at), scale.sign()));
    let cells = |one: &Planned| {
        let shown = |at: Regime| {
            let offset = one.offsets.iter().find(|offset| offset.at == at);
            offset.map_or_else(String::new, |offset| {
                format!("{} ± {}", signed(offset.mean, scale), size(offset.sd, scale))
            })
        };
        POINTS.map(shown).to_vec()
    };
    let mut table = by_kind(&off, heads.into_iter(), cells);
    "off when healthy".clone_into(&mut table.columns[0].0);
    table
}

/// A table with cylinders that have the same cells in one row.
fn by_kind(
    list: &[Planned],
    heads: impl Iterator<Item = String>,
    cells: impl Fn(&Planned) -> Vec<String>,
) -> Table {
    let mut rows: Vec<(Vec<usize>, Vec<String>)> = Vec::new();
    for one in list {
        let cells = cells(one);
        match rows.iter_mut().find(|(_, other)| *other == cells) {
            Some((cylinders, _)) => cylinders.push(one.cylinder),
            None => rows.push((vec![one.cylinder], cells)),
        }
    }
    let first = std::iter::once(("cylinder".to_owned(), Align::Left));
    let columns = first.chain(heads.map(|head| (head, Align::Right))).collect();
    let row = |(who, cells): (Vec<usize>, Vec<String>)| {
        std::iter::once(numbers(&who)).chain(cells).collect()
    };
    Table { columns, rows: rows.into_iter().map(row).collect() }
}

/// What a runner cannot have, a line each.
fn exceptions(plan: &Plan) -> Vec<String> {
    let of = |miss: Miss| {
        let ones = plan.cylinders.iter().filter(|one| one.misses.contains(&miss));
        let list: Vec<usize> = ones.map(|one| one.cylinder).collect();
        (!list.is_empty()).then(|| cylinders(&list))
    };
    let mut lines = Vec::new();
    if let Some(who) = of(Miss::Straight) {
        lines.push(format!(
            "{} (*): no place far enough from its bends. What a bend does is in no figure here; on \
             its inside a display may be tens of degrees low (common practice, no figure): drill \
             on its outside.",
            words::upper_first(&who)
        ));
    }
    let bent = |one: &&Planned| {
        one.misses.contains(&Miss::Distance) && !one.misses.contains(&Miss::Straight)
    };
    let bent: Vec<usize> = plan.cylinders.iter().filter(bent).map(|one| one.cylinder).collect();
    if !bent.is_empty() {
        lines.push(format!(
            "{} (*): a bend or the flange is in the way of the common distance.",
            words::upper_first(&cylinders(&bent))
        ));
    }
    if let Some(who) = of(Miss::Depth) {
        lines.push(format!(
            "{} (*): bore or probe does not allow the common depth.",
            words::upper_first(&who)
        ));
    }
    lines
}

/// What the table leaves open.
fn remarks(plan: &Plan, scale: Scale) -> Vec<String> {
    let mut lines = Vec::new();
    if plan.cylinders.iter().any(|one| !one.offsets.is_empty()) {
        lines.push("Off when healthy: take it off a display before you compare it.".to_owned());
    }
    if plan.cylinders.iter().all(|one| one.mark_mm.is_none()) {
        lines.push(
            "Mark on the stem: depth and boss together, from the tip. `--boss` gives the boss, from \
             the inner wall to where the stem comes out."
                .to_owned(),
        );
    } else {
        lines.push("Mark: mm from the tip, flush with the top of the fitting.".to_owned());
    }
    let short: Vec<usize> = plan
        .cylinders
        .iter()
        .filter(|one| one.lead.is_some_and(|lead| lead.short_by_mm > 0.0))
        .map(|one| one.cylinder)
        .collect();
    if !short.is_empty() {
        lines.push(format!(
            "{}: the lead is short. Join on cable of the probe's own type, both legs, plus to plus.",
            words::upper_first(&cylinders(&short))
        ));
    }
    lines.push(format!(
        "A millimetre of depth is worth up to {} {sign}, one along the runner {}.",
        size(plan.tolerance.by_depth, scale),
        size(plan.tolerance.by_place, scale),
        sign = scale.sign()
    ));
    lines
}

/// A length without a tail of noughts.
pub(super) fn mm(length: f64) -> String {
    let text = number(length, 1);
    text.strip_suffix(".0").map(str::to_owned).unwrap_or(text)
}

/// A difference in degrees, whole where it is.
pub(super) fn degrees(kelvin: f64, scale: Scale) -> String {
    let text = size(kelvin, scale);
    text.strip_suffix(".0").map(str::to_owned).unwrap_or(text)
}

fn lead(lead: Lead) -> String {
    if lead.short_by_mm > 0.0 {
        format!("{}, {} short", mm(lead.needed_mm), mm(lead.short_by_mm))
    } else {
        mm(lead.needed_mm)
    }
}

/// Numbers of cylinders, stretches joined: `1-4, 6`.
pub(super) fn numbers(of: &[usize]) -> String {
    let mut runs: Vec<(usize, usize)> = Vec::new();
    for &one in of {
        match runs.last_mut() {
            Some((_, last)) if *last + 1 == one => *last = one,
            _ => runs.push((one, one)),
        }
    }
    let text = runs.into_iter().map(|(first, last)| match last - first {
        0 => first.to_string(),
        1 => format!("{first}, {last}"),
        _ => format!("{first}-{last}"),
    });
    text.collect::<Vec<_>>().join(", ")
}

/// `cylinder 3`, `cylinders 1-4`.
pub(super) fn cylinders(list: &[usize]) -> String {
    format!("cylinder{} {}", if list.len() == 1 { "" } else { "s" }, numbers(list))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn stretches_of_cylinders_are_joined() {
        assert_eq!(numbers(&[1, 2, 3, 4]), "1-4");
        assert_eq!(numbers(&[1, 2, 4, 6, 7, 8]), "1, 2, 4, 6-8");
        assert_eq!(cylinders(&[3]), "cylinder 3");
        assert_eq!([mm(20.0), mm(20.5), mm(0.25)], ["20", "20.5", "0.2"]);
    }
}
