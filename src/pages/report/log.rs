//! A data log as a page: how it was read, what is odd about it, its windows, how displays behave.

use measure::readings::log::{Finding, Guess, Log, Rest, Unsettled, heading, points, rest};
use measure::readings::outlier::{median, others};
use measure::readings::settle::{Rule, Verdict};
use measure::units::{Scale, TempDelta};

use super::doc::{Align, Block, Doc, NoticeKind, Table};
use super::figure::{Chart, Figure, Trace, TraceLine};
use super::{plot, terms, words};

/// Windows of which the displays are listed when none are chosen.
const LISTED: usize = 3;
/// Rows of the list of windows.
const MOST: usize = 24;

/// What the page is made of.
#[derive(Debug, Clone, Copy)]
pub struct LogPage<'a> {
    /// Name of the file.
    pub file: &'a str,
    /// The file as it is to be typed.
    pub path: &'a str,
    /// The log.
    pub log: &'a Log,
    /// When a display counted as settled.
    pub rule: &'a Rule,
    /// Windows whose displays are listed, from 1; all points' longest if empty.
    pub chosen: &'a [usize],
    /// Scale shown.
    pub scale: Scale,
    /// Cells in a line.
    pub width: usize,
    /// The course is a picture, for forms that can have one, and not drawn with characters.
    pub picture: bool,
}

/// The display furthest from the median of the others in a window, from 0, and by how much, °C.
#[must_use]
pub fn odd_one(log: &Log, rule: &Rule, window: usize) -> Option<(usize, f64)> {
    let off = deviations(log, rule, window);
    off.into_iter()
        .enumerate()
        .filter_map(|(display, off)| Some((display, off?)))
        .max_by(|a, b| a.1.abs().total_cmp(&b.1.abs()))
}

/// How far each display with a number is from the median of the others with one, °C.
fn deviations(log: &Log, rule: &Rule, window: usize) -> Vec<Option<f64>> {
    let shown = &log.windows[window].shown;
    let counts = |d: &usize| !matches!(rest(log, rule, window, *d), Rest::Open | Rest::Stuck);
    let there: Vec<usize> = (0..shown.len()).filter(counts).collect();
    let values: Vec<f64> = there.iter().map(|&d| shown[d].mean).collect();
    let mut all = vec![None; shown.len()];
    // The spread only scales what is not used here.
    if let Some(off) = others::from_others(&values, 1.0) {
        for (display, deviation) in there.into_iter().zip(off) {
            all[display] = Some(deviation.amount);
        }
    }
    all
}

/// The page.
#[must_use]
pub fn log(page: &LogPage<'_>) -> Doc {
    let log = page.log;
    let count = words::count(log.windows.len(), "settled window", "settled windows");
    let mut doc = Doc::new(format!("Log {}: {count}", page.file));
    detected(&mut doc, page);
    findings(&mut doc, &log.findings);
    drawing(&mut doc, page);
    let guesses = points(&log.windows, &log.range);
    if !log.windows.is_empty() {
        windows(&mut doc, page, &guesses);
        displays(&mut doc, page, &guesses);
    }
    for unsettled in waiting(log) {
        not_settled(&mut doc, page, unsettled);
    }
    super::log_manner::manner(&mut doc, &log.manner, page.scale);
    if !log.windows.is_empty() {
        doc.para("To enter what has settled as readings of a job:");
        let file = super::shell_word(page.path);
        doc.blocks.push(Block::Command(format!("oddpot temps JOB --from {file}")));
    }
    doc
}

/// Holds to tell a wait for: the one that the log ends with, or all if nothing settled.
fn waiting(log: &Log) -> impl Iterator<Item = &Unsettled> {
    let none = log.windows.is_empty();
    log.unsettled.iter().filter(move |unsettled| none || unsettled.at_end).take(3)
}

fn detected(doc: &mut Doc, page: &LogPage<'_>) {
    let log = page.log;
    let form = &log.form;
    let name = |column: usize| format!("`{}`", form.names[column]);
    let optional = |column: Option<usize>| column.map_or_else(String::new, name);
    let (first, last) = (form.displays[0], form.displays[form.displays.len() - 1]);
    let sign = form.scales[0].sign();
    let delimiter = match form.delimiter {
        b'\t' => "tab".to_owned(),
        other => format!("`{}`", char::from(other)),
    };
    let decimal = if form.point == b',' { "decimal comma" } else { "decimal point" };
    let left_out = match log.skipped() {
        0 => String::new(),
        1 => ", 1 row left out".to_owned(),
        more => format!(", {more} rows left out"),
    };
    doc.fields([
        ("Rows", format!("{} in {}{left_out}", log.rows, seconds(log.seconds))),
        (
            "Written",
            format!(
                "{}, {delimiter}, {decimal} (--encoding, --delimiter, --decimal)",
                form.encoding
            ),
        ),
        ("Time", format!("{}, {} (--time, --time-in)", name(form.time), form.time_form.name())),
        (
            "Displays",
            format!(
                "{}, from {} to {}, {sign} (--display N=COLUMN, --scale)",
                form.displays.len(),
                name(first),
                name(last)
            ),
        ),
        (
            "Speed",
            form.speed
                .map_or_else(|| "none (--speed)".to_owned(), |c| format!("{} (--speed)", name(c))),
        ),
        (
            "Load",
            form.load
                .map_or_else(|| "none (--load)".to_owned(), |c| format!("{} (--load)", name(c))),
        ),
        ("Supply", optional(form.supply)),
        (
            "Settled",
            format!(
                "below {} in {:.0} s (--within, --for)",
                words::difference(page.rule.moves, page.scale).trim_start_matches('+'),
                page.rule.within
            ),
        ),
        ("SHA-256", log.hash.clone()),
    ]);
}

fn findings(doc: &mut Doc, findings: &[Finding]) {
    if findings.is_empty() {
        return;
    }
    doc.heading("Odd about the file");
    let items = findings.iter().map(|finding| {
        let place = match (finding.line, finding.column) {
            (0, 0) => String::new(),
            (0, column) => format!("column {column}: "),
            (line, 0) => format!("line {line}: "),
            (line, column) => format!("line {line}, column {column}: "),
        };
        let more = match finding.count {
            1 => String::new(),
            count => format!(" ({count} in all)"),
        };
        let help =
            if finding.help.is_empty() { String::new() } else { format!("; {}", finding.help) };
        format!("{place}{}{more}{help} [{}]", finding.text, finding.code)
    });
    doc.bullets(items.collect());
}

fn drawing(doc: &mut Doc, page: &LogPage<'_>) {
    let courses = &page.log.courses;
    let windows: Vec<(f64, f64)> = page.log.windows.iter().map(|w| (w.from, w.to)).collect();
    if page.picture {
        doc.heading("Course");
        doc.figures(vec![course(page, &windows)]);
        return;
    }
    let room = page.width.saturating_sub(2);
    let lines = plot::plot(&courses.times, &courses.values, &windows, room, page.scale);
    if !lines.is_empty() {
        doc.heading("Course (a mark for each display, * where two meet; = settled)");
        doc.blocks.push(Block::Drawing(lines));
    }
}

/// The courses of all displays as a picture.
fn course(page: &LogPage<'_>, windows: &[(f64, f64)]) -> Figure {
    let courses = &page.log.courses;
    let displays = courses.values.len().checked_div(courses.times.len()).unwrap_or(0);
    let line = |display: usize| TraceLine {
        label: (display + 1).to_string(),
        samples: (courses.times.iter().zip(courses.values.chunks(displays.max(1))))
            .map(|(&time, values)| (time, page.scale.from_celsius(values[display])))
            .collect(),
    };
    let settled: Vec<String> =
        windows.iter().map(|(from, to)| format!("{from:.0} to {to:.0} s")).collect();
    let settled = if settled.is_empty() { "nowhere".to_owned() } else { words::list(&settled) };
    Figure {
        title: "What each display showed".to_owned(),
        desc: format!("{displays} lines over time. Settled: {settled}."),
        chart: Chart::Trace(Trace {
            unit: page.scale.sign(),
            lines: (0..displays).map(line).collect(),
            windows: windows.to_vec(),
        }),
    }
}

fn windows(doc: &mut Doc, page: &LogPage<'_>, guesses: &[Guess]) {
    let log = page.log;
    doc.heading("Settled windows");
    let mut table = Table::new([
        ("no", Align::Right),
        ("from, s", Align::Right),
        ("to, s", Align::Right),
        ("point", Align::Left),
        ("speed", Align::Right),
        ("load", Align::Right),
        ("middle", Align::Right),
        ("odd one", Align::Left),
    ]);
    for (index, (window, guess)) in log.windows.iter().zip(guesses).enumerate().take(MOST) {
        let number = |value: Option<f64>| value.map_or_else(String::new, |v| format!("{v:.0}"));
        let means: Vec<f64> = (0..window.shown.len())
            .filter(|&d| !matches!(rest(log, page.rule, index, d), Rest::Open | Rest::Stuck))
            .map(|d| window.shown[d].mean)
            .collect();
        let point = guess.point.map_or("?", terms::regime);
        let doubt = if guess.point.is_some() && !guess.doubt.is_empty() { "?" } else { "" };
        let odd = odd_one(log, page.rule, index).map_or_else(String::new, |(display, off)| {
            format!("{}: {}", display + 1, words::bare_difference(off, page.scale))
        });
        table.rows.push(vec![
            (index + 1).to_string(),
            format!("{:.0}", window.from),
            format!("{:.0}", window.to),
            format!("{point}{doubt}"),
            number(window.speed),
            number(window.load),
            median(&means).map_or_else(String::new, |m| degrees(m, page.scale)),
            odd,
        ]);
    }
    doc.table(table);
    if log.windows.len() > MOST {
        doc.para(format!("{} more are in the document of --json.", log.windows.len() - MOST));
    }
    let mut doubts: Vec<&str> = guesses.iter().map(|g| g.doubt).filter(|d| !d.is_empty()).collect();
    doubts.sort_unstable();
    doubts.dedup();
    for doubt in doubts {
        doc.notice(
            NoticeKind::Doubt,
            format!("where a point has a question mark: {doubt}; `temps --at` says it."),
        );
    }
}

/// A column for each listed window.
fn displays(doc: &mut Doc, page: &LogPage<'_>, guesses: &[Guess]) {
    let log = page.log;
    let listed = listed(page, guesses);
    let names: Vec<(String, Align)> = listed
        .iter()
        .flat_map(|w| {
            [
                (format!("window {}", w + 1), Align::Right),
                ("sd".to_owned(), Align::Right),
                ("off".to_owned(), Align::Right),
            ]
        })
        .collect();
    let head = [("no".to_owned(), Align::Right)].into_iter().chain(names);
    let mut table = Table { columns: head.collect(), rows: Vec::new() };
    let off: Vec<Vec<Option<f64>>> =
        listed.iter().map(|&w| deviations(log, page.rule, w)).collect();
    for display in 0..log.form.displays.len() {
        let mut row = vec![(display + 1).to_string()];
        for (&window, off) in listed.iter().zip(&off) {
            let shown = &log.windows[window].shown[display];
            let stands = rest(log, page.rule, window, display);
            let value = || {
                format!(
                    "{} ±{:.1}",
                    degrees(shown.mean, page.scale),
                    page.scale.show_delta(TempDelta(shown.se)).max(0.05)
                )
            };
            row.push(match stands {
                Rest::Settled => value(),
                Rest::Moving | Rest::Scattering | Rest::Falling => {
                    format!("{} {stands}", degrees(shown.mean, page.scale))
                }
                Rest::Open | Rest::Stuck => stands.to_string(),
            });
            let known = stands != Rest::Open;
            let spread = page.scale.show_delta(TempDelta(shown.sd));
            row.push(if known { format!("{spread:.1}") } else { String::new() });
            row.push(
                off[display].map_or_else(String::new, |o| words::bare_difference(o, page.scale)),
            );
        }
        table.rows.push(row);
    }
    let note = "Value: mean with its standard error, ".to_owned()
        + page.scale.sign()
        + ". sd: of one number. off: from the median of the others.";
    doc.heading("Displays");
    doc.table(table);
    doc.para(note);
}

/// The chosen windows, or the longest of each running point.
fn listed(page: &LogPage<'_>, guesses: &[Guess]) -> Vec<usize> {
    let windows = &page.log.windows;
    if !page.chosen.is_empty() {
        let chosen = page.chosen.iter().filter_map(|n| n.checked_sub(1));
        return chosen.filter(|&w| w < windows.len()).take(LISTED).collect();
    }
    let length = |w: usize| windows[w].to - windows[w].from;
    let mut best: Vec<usize> = Vec::new();
    let mut order: Vec<usize> = (0..windows.len()).collect();
    order.sort_by(|&a, &b| length(b).total_cmp(&length(a)));
    for window in order {
        let same = |&known: &usize| {
            guesses[window].point.is_some() && guesses[known].point == guesses[window].point
        };
        if best.len() < LISTED && !best.iter().any(same) {
            best.push(window);
        }
    }
    best.sort_unstable();
    best
}

fn not_settled(doc: &mut Doc, page: &LogPage<'_>, unsettled: &Unsettled) {
    doc.heading(format!("Not settled, {:.0} to {:.0} s", unsettled.from, unsettled.to));
    let mut table = Table::new([
        ("display", Align::Right),
        ("shows", Align::Right),
        ("moved", Align::Right),
        ("", Align::Left),
        ("would end at", Align::Right),
        ("in", Align::Right),
    ]);
    for (number, settling) in (1..).zip(&unsettled.displays) {
        let Some(settling) = settling else {
            table.rows.push(vec![number.to_string(), "open".to_owned()]);
            continue;
        };
        let end = settling.fit.filter(|_| settling.more_seconds.is_some());
        let verdict = heading(settling);
        let moving = matches!(settling.verdict, Verdict::StillMoving | Verdict::Falling);
        let end = end.filter(|_| moving);
        table.rows.push(vec![
            number.to_string(),
            degrees(settling.level, page.scale),
            words::bare_difference(
                end.map_or(settling.movement, |fit| settling.movement.copysign(-fit.gap)),
                page.scale,
            ),
            verdict.to_owned(),
            end.map_or_else(String::new, |fit| {
                let se = page.scale.show_delta(TempDelta(fit.final_se));
                format!("{} ±{:.1}", degrees(fit.final_value, page.scale), se.max(0.05))
            }),
            settling.more_seconds.filter(|_| moving).map_or_else(String::new, seconds),
        ]);
    }
    doc.table(table);
    doc.para(wait(unsettled, page.rule));
}

/// How long to wait, and why.
fn wait(unsettled: &Unsettled, rule: &Rule) -> String {
    match unsettled.more_seconds() {
        Some(more) => format!(
            "Wait about {} more: by their courses so far all are then within {} °C of where they \
             end. Readings before that are of an engine still on \
             its way.",
            seconds(more.max(rule.within)),
            rule.moves
        ),
        None => "The courses so far do not tell where they end: hold the point for 3 min, for 8 \
                 min with probes on the heads, and log on."
            .to_owned(),
    }
}

/// A temperature with one decimal, without its sign.
fn degrees(celsius: f64, scale: Scale) -> String {
    let base = if scale == Scale::Fahrenheit { 32.0 } else { 0.0 };
    format!("{:.1}", base + scale.show_delta(TempDelta(celsius)))
}

/// A stretch of time: seconds below two minutes, else minutes and hours.
#[must_use]
pub fn seconds(seconds: f64) -> String {
    if seconds < 120.0 { format!("{seconds:.0} s") } else { words::minutes(seconds / 60.0) }
}
