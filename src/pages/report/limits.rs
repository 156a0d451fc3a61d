//! Warning limits as a page and as a table for a controller.

use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, RunningPoint};
use judge::limits::{Hindrance, Limit, Limits, SeenAt};
use measure::engine::ProbeSite;
use measure::units::{Celsius, Scale, TempDelta};

use super::doc::{Align, Doc, NoticeKind, Table};
use super::screen::{LINES, Screen};
use super::{terms, words};

/// Causes that are shown by name.
const SHOWN: usize = 12;

/// A difference on a scale.
fn delta(kelvin: f64, scale: Scale) -> f64 {
    scale.show_delta(TempDelta(kelvin))
}

/// A deviation, signed.
fn signed(kelvin: f64, scale: Scale) -> String {
    words::bare_difference(kelvin, scale)
}

/// Hours between two false alarms, to two figures.
fn hours(per_hour: f64) -> String {
    let hours = 1.0 / per_hour.max(1e-9);
    if hours >= 1e6 {
        return "over a million".to_owned();
    }
    let grain = 10_f64.powf(hours.log10().floor() - 1.0).max(1.0);
    format!("{:.0}", (hours / grain).floor() * grain)
}

/// Why no limits are made.
#[must_use]
pub fn hindrance(why: Hindrance) -> String {
    match why {
        Hindrance::NotDone => {
            "the job is neither verified nor recorded as normal: limits would be set \
                               by a fault"
                .to_owned()
        }
        Hindrance::NoNumber(display) => format!(
            "display {display} showed no steady number when it was last read: there is nothing to set a \
             limit to"
        ),
    }
}

/// The page.
#[must_use]
pub fn limits(knowledge: &Knowledge, timeline: &Timeline, limits: &Limits, scale: Scale) -> Doc {
    let mut doc = Doc::new(format!("Warning limits, {}", scale.sign()));
    add(&mut doc, timeline, limits, scale);
    doc.heading("What they see");
    let mut table = Table::new(
        [("cause on one cylinder", Align::Left)]
            .into_iter()
            .chain(limits.overall.iter().map(|(kind, _)| (terms::point(kind.at), Align::Right))),
    );
    for fault in limits.faults.iter().take(SHOWN) {
        let mut row = vec![knowledge.causes[fault.cause].name.clone()];
        row.extend(fault.seen.iter().map(seen));
        table.rows.push(row);
    }
    if !limits.overall.is_empty() && !table.rows.is_empty() {
        let mut row = vec!["all causes of the list, by how frequent they are".to_owned()];
        row.extend(limits.overall.iter().map(|(_, chance)| words::percent(*chance)));
        table.rows.push(row);
        doc.table(table);
        doc.para(
            "Chance that an hour of running with the fault gives an alarm, and the time from a sudden \
             onset to it at the fault's usual size, the probe's own lag and the delay in it. No time: \
             at its usual size it stays within the limit.",
        );
    }
    doc
}

/// The page of one screen: a line for each display, a column for each running point.
#[must_use]
pub fn limits_at_a_glance(timeline: &Timeline, limits: &Limits, scale: Scale, foot: &str) -> Doc {
    let mut kinds = Vec::new();
    for row in &limits.rows {
        if !kinds.contains(&(row.kind.at, row.kind.site)) {
            kinds.push((row.kind.at, row.kind.site));
        }
    }
    let usual = timeline.engine.probes;
    let heads: Vec<String> =
        kinds.iter().map(|&(at, site)| terms::point_and_site(at, site, usual)).collect();
    let mut table = Table::new(
        [("display", Align::Right)]
            .into_iter()
            .chain(heads.iter().map(|head| (head.as_str(), Align::Left))),
    );
    for display in timeline.engine.all() {
        let mut row = vec![display.to_string()];
        row.extend(kinds.iter().map(|kind| {
            let own = limits.rows.iter();
            let mut own = own.filter(|r| r.display == display && (r.kind.at, r.kind.site) == *kind);
            own.next().map_or_else(
                || "none".to_owned(),
                |r| {
                    let low = signed(r.usual - r.rule.limit, scale);
                    let high = signed(r.usual + r.rule.limit, scale);
                    format!("below {low}, above {high}")
                },
            )
        }));
        table.rows.push(row);
    }
    let delay = limits.rows.iter().map(|row| row.rule.delay).fold(0.0, f64::max);
    let mut screen = Screen::new(format!("Warning limits, {}", scale.sign()));
    screen.must(|doc| doc.table(table));
    screen.must(|doc| {
        doc.para(format!(
            "Warn when a display is so far from the mean of all for {delay:.0} s without a break."
        ));
    });
    screen.must(|doc| match timeline.builder_limit {
        Some(limit) => doc.fields([("Builder's limit", builders(limit, scale))]),
        None => doc.notice(NoticeKind::Rule, words::first_sentence(NO_BUILDER)),
    });
    screen.page(LINES, foot)
}

fn builders(limit: Celsius, scale: Scale) -> String {
    format!("{} for any display, at once", words::temperature(limit, scale))
}

/// Said where the builder's limit was not entered.
const NO_BUILDER: &str = "The limit for a single temperature is the engine builder's: look it up and enter it \
     with `--builder-limit`. None is made up here, and a deviation limit does not stand in for it.";

fn seen(seen: &SeenAt) -> String {
    let chance = words::percent(seen.chance);
    match seen.seconds {
        Some(seconds) => format!("{chance}, {seconds:.0} s"),
        None => chance,
    }
}

/// Table and what it means; also on the card.
pub(super) fn add(doc: &mut Doc, timeline: &Timeline, limits: &Limits, scale: Scale) {
    let mut table = Table::new([
        ("at", Align::Left),
        ("display", Align::Right),
        ("usual", Align::Right),
        ("below", Align::Right),
        ("above", Align::Right),
        ("delay, s", Align::Right),
        ("false, one in h", Align::Right),
    ]);
    let mut last: Option<(RunningPoint, ProbeSite)> = None;
    for row in &limits.rows {
        let kind = (row.kind.at, row.kind.site);
        let at = if last == Some(kind) {
            String::new()
        } else {
            terms::point_and_site(row.kind.at, row.kind.site, timeline.engine.probes)
        };
        last = Some(kind);
        table.rows.push(vec![
            at,
            row.display.to_string(),
            signed(row.usual, scale),
            signed(row.usual - row.rule.limit, scale),
            signed(row.usual + row.rule.limit, scale),
            format!("{:.0}", row.rule.delay),
            hours(row.per_hour),
        ]);
    }
    doc.table(table);
    doc.para(
        "Usual: distance from the mean of all displays. Warn when a display has been below or above \
         for the whole of the delay. False: hours of running between two false alarms of one display, \
         estimated from how visits and readings scatter.",
    );
    for (kind, display) in &limits.none {
        doc.notice(
            NoticeKind::Doubt,
            format!("display {display} at {}: no limit keeps false alarms so rare.", kind.at),
        );
    }
    match timeline.builder_limit {
        Some(limit) => doc.fields([("Builder's limit", builders(limit, scale))]),
        None => doc.notice(NoticeKind::Rule, NO_BUILDER),
    }
}

/// The table as CSV for typing or loading into a controller; texts cannot act as formulas.
#[must_use]
pub fn limits_csv(
    job: &str,
    vehicle: &str,
    timeline: &Timeline,
    limits: &Limits,
    scale: Scale,
) -> String {
    let unit = scale.as_str();
    let mut out = format!(
        "job,vehicle,display,channel,probes,point,usual_{unit},low_{unit},high_{unit},delay_s,\
         false_alarms_per_hour,builder_limit_{unit}\r\n"
    );
    let lines = timeline.sheet.lines();
    let builder = timeline
        .builder_limit
        .map_or_else(String::new, |limit| format!("{:.0}", scale.show(limit)));
    for Limit { display, kind, usual, rule, per_hour } in &limits.rows {
        let channel = lines.get(display).and_then(|line| line.channel.clone()).unwrap_or_default();
        let (usual, limit) = (delta(*usual, scale), delta(rule.limit, scale));
        let cells = [
            cell(job),
            cell(vehicle),
            display.to_string(),
            cell(&channel),
            kind.site.to_string(),
            kind.at.to_string(),
            format!("{usual:.1}"),
            format!("{:.1}", usual - limit),
            format!("{:.1}", usual + limit),
            format!("{:.0}", rule.delay),
            format!("{per_hour:.2e}"),
            builder.clone(),
        ];
        out += &cells.join(",");
        out += "\r\n";
    }
    out
}

/// A text as a cell (RFC 4180), harmless to a spreadsheet: one that would be taken for a formula gets an
/// apostrophe in front, and no control character is left.
fn cell(text: &str) -> String {
    let text = super::doc::clean(text);
    let formula =
        text.starts_with(['=', '+', '-', '@', '＝', '＋', '－', '＠', '\u{2212}', '|', '%']);
    let text = if formula { format!("'{text}") } else { text };
    if text.contains(['"', ',', ';', '\'', ' ']) {
        format!("\"{}\"", text.replace('"', "\"\""))
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_text_becomes_a_formula_or_a_cell_more() {
        for (given, expected) in [
            ("EGT3", "EGT3"),
            ("=1+1", "\"'=1+1\""),
            ("  =1+1", "\"'=1+1\""),
            ("\t=1+1", "\"'=1+1\""),
            ("-2", "\"'-2\""),
            ("@SUM(A1)", "\"'@SUM(A1)\""),
            ("a,b", "\"a,b\""),
            ("say \"hi\"\n=2", "\"say \"\"hi\"\" =2\""),
            ("", ""),
        ] {
            assert_eq!(cell(given), expected, "{given:?}");
        }
    }

    #[test]
    fn hours_are_never_promised_beyond_what_they_are() {
        for (rate, text) in
            [(1e-3, "1000"), (0.000_64, "1500"), (0.2, "5"), (1e-9, "over a million"), (0.75, "1")]
        {
            assert_eq!(hours(rate), text, "{rate}");
        }
    }
}
