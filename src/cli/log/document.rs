//! A log as the document of `--json`: how it is written, its windows, how its displays behave.
//!
//! Temperatures are °C. It must not read a log, nor say what a behaviour means.

use serde::Serialize;

use measure::engine::Regime;
use measure::readings::log::{
    Finding, Follow, Form, Log, Manner, Noise, Options, Rest, Rise, Unsettled, heading, points,
    rest,
};
use measure::readings::outlier::others;

/// `log`.
#[derive(Debug, Serialize)]
pub(super) struct LogDocument<'a> {
    file: &'a str,
    sha256: &'a str,
    bytes: u64,
    rows: u64,
    rows_left_out: u64,
    seconds: f64,
    form: FormDocument<'a>,
    rule: RuleDocument,
    findings: Vec<FindingDocument<'a>>,
    windows: Vec<WindowDocument>,
    unsettled: Vec<UnsettledDocument>,
    behaviour: BehaviourDocument,
}

impl<'a> LogDocument<'a> {
    pub(super) fn of(file: &'a str, log: &'a Log, options: &Options) -> Self {
        let guesses = points(&log.windows, &log.range);
        let windows = log.windows.iter().zip(&guesses).enumerate();
        let windows = windows.map(|(index, (window, guess))| WindowDocument {
            window: index + 1,
            from_s: window.from,
            to_s: window.to,
            point: guess.point.map(Regime::as_str),
            doubt: guess.doubt,
            speed: window.speed,
            load: window.load,
            displays: shown(log, options, index),
        });
        Self {
            file,
            sha256: &log.hash,
            bytes: log.bytes,
            rows: log.rows,
            rows_left_out: log.skipped(),
            seconds: log.seconds,
            form: FormDocument::of(&log.form),
            rule: RuleDocument { moves_c: options.rule.moves, within_s: options.rule.within },
            findings: log.findings.iter().map(FindingDocument::of).collect(),
            windows: windows.collect(),
            unsettled: log.unsettled.iter().map(UnsettledDocument::of).collect(),
            behaviour: BehaviourDocument::of(&log.manner),
        }
    }
}

/// How it is written.
#[derive(Debug, Serialize)]
struct FormDocument<'a> {
    encoding: &'static str,
    delimiter: char,
    decimal: char,
    columns: &'a [String],
    header_line: Option<u64>,
    time: TimeDocument<'a>,
    displays: Vec<DisplayDocument<'a>>,
    speed: Option<&'a str>,
    load: Option<&'a str>,
    supply: Option<&'a str>,
}

#[derive(Debug, Serialize)]
struct TimeDocument<'a> {
    column: &'a str,
    form: &'static str,
}

#[derive(Debug, Serialize)]
struct DisplayDocument<'a> {
    column: &'a str,
    scale: &'static str,
}

impl<'a> FormDocument<'a> {
    fn of(form: &'a Form) -> Self {
        let name = |column: usize| form.names[column].as_str();
        let displays = form.displays.iter().zip(&form.scales);
        Self {
            encoding: form.encoding.as_str(),
            delimiter: char::from(form.delimiter),
            decimal: char::from(form.point),
            columns: &form.names,
            header_line: (form.header_line > 0).then_some(form.header_line),
            time: TimeDocument { column: name(form.time), form: form.time_form.name() },
            displays: displays
                .map(|(&column, scale)| DisplayDocument {
                    column: name(column),
                    scale: scale.as_str(),
                })
                .collect(),
            speed: form.speed.map(name),
            load: form.load.map(name),
            supply: form.supply.map(name),
        }
    }
}

/// When a display counts as settled.
#[derive(Debug, Serialize)]
struct RuleDocument {
    moves_c: f64,
    within_s: f64,
}

#[derive(Debug, Serialize)]
struct FindingDocument<'a> {
    code: &'static str,
    severity: &'static str,
    line: Option<u64>,
    column: Option<usize>,
    count: u64,
    text: &'a str,
    help: &'a str,
}

impl<'a> FindingDocument<'a> {
    fn of(finding: &'a Finding) -> Self {
        Self {
            code: finding.code.as_str(),
            severity: if finding.code.is_warning() { "warning" } else { "note" },
            line: (finding.line > 0).then_some(finding.line),
            column: (finding.column > 0).then_some(finding.column),
            count: finding.count,
            text: &finding.text,
            help: &finding.help,
        }
    }
}

#[derive(Debug, Serialize)]
struct WindowDocument {
    window: usize,
    from_s: f64,
    to_s: f64,
    point: Option<&'static str>,
    doubt: &'static str,
    speed: Option<f64>,
    load: Option<f64>,
    displays: Vec<ShownDocument>,
}

/// What a display shows in a window.
#[derive(Debug, Serialize)]
struct ShownDocument {
    display: usize,
    state: &'static str,
    count: u64,
    missing: u64,
    mean: Option<f64>,
    standard_error: Option<f64>,
    sd: Option<f64>,
    median: Option<f64>,
    scatter: Option<f64>,
    movement: Option<f64>,
    difference: Option<f64>,
}

fn shown(log: &Log, options: &Options, window: usize) -> Vec<ShownDocument> {
    let all = &log.windows[window].shown;
    let stands: Vec<Rest> =
        (0..all.len()).map(|display| rest(log, &options.rule, window, display)).collect();
    let counted: Vec<usize> = (0..all.len())
        .filter(|&display| !matches!(stands[display], Rest::Open | Rest::Stuck))
        .collect();
    let means: Vec<f64> = counted.iter().map(|&display| all[display].mean).collect();
    let off = others::from_others(&means, 1.0).unwrap_or_default();
    let each = all.iter().zip(&stands).enumerate();
    each.map(|(display, (shown, stands))| {
        let any = shown.count > 0;
        let place = counted.iter().position(|&counted| counted == display);
        ShownDocument {
            display: display + 1,
            state: stands.as_str(),
            count: shown.count,
            missing: shown.missing,
            mean: any.then_some(shown.mean),
            standard_error: any.then_some(shown.se),
            sd: any.then_some(shown.sd),
            median: shown.median,
            scatter: any.then_some(shown.scatter.sd),
            movement: any.then_some(shown.movement),
            difference: place.and_then(|place| off.get(place)).map(|off| off.amount),
        }
    })
    .collect()
}

/// A stretch of steady speed in which nothing came to rest.
#[derive(Debug, Serialize)]
struct UnsettledDocument {
    from_s: f64,
    to_s: f64,
    speed: Option<f64>,
    at_end: bool,
    more_s: Option<f64>,
    displays: Vec<UnsettledDisplay>,
}

#[derive(Debug, Serialize)]
struct UnsettledDisplay {
    display: u8,
    state: String,
    #[serde(flatten)]
    settling: Option<SettlingDocument>,
}

#[derive(Debug, Serialize)]
struct SettlingDocument {
    level: f64,
    movement: f64,
    r#final: Option<f64>,
    final_se: Option<f64>,
    time_constant_s: Option<f64>,
    more_s: Option<f64>,
}

impl UnsettledDocument {
    fn of(unsettled: &Unsettled) -> Self {
        let displays = (1..).zip(&unsettled.displays).map(|(display, settling)| {
            let Some(settling) = settling else {
                return UnsettledDisplay { display, state: "open".to_owned(), settling: None };
            };
            let document = SettlingDocument {
                level: settling.level,
                movement: settling.movement,
                r#final: settling.fit.map(|fit| fit.final_value),
                final_se: settling.fit.map(|fit| fit.final_se),
                time_constant_s: settling.fit.map(|fit| fit.time_constant),
                more_s: settling.more_seconds,
            };
            let state = heading(settling).replace(' ', "-");
            UnsettledDisplay { display, state, settling: Some(document) }
        });
        Self {
            from_s: unsettled.from,
            to_s: unsettled.to,
            speed: unsettled.speed,
            at_end: unsettled.at_end,
            more_s: unsettled.more_seconds(),
            displays: displays.collect(),
        }
    }
}

/// How displays behave beside each other; null where the log has no occasion for it.
#[derive(Debug, Serialize)]
struct BehaviourDocument {
    cold_start: Option<SeenDocument<&'static str>>,
    step_of_speed: Option<SeenDocument<FollowDocument>>,
    scatter: Option<ScatterDocument>,
    electric_load: Option<ElectricDocument>,
    stuck: Vec<u8>,
}

#[derive(Debug, Serialize)]
struct SeenDocument<T> {
    from_s: f64,
    displays: Vec<T>,
}

#[derive(Debug, Serialize)]
struct FollowDocument {
    state: &'static str,
    #[serde(skip_serializing_if = "Option::is_none")]
    time_ratio: Option<f64>,
}

#[derive(Debug, Serialize)]
struct ScatterDocument {
    /// The slowest and the fastest.
    speeds: [f64; 2],
    displays: Vec<NoiseDocument>,
}

#[derive(Debug, Serialize)]
struct NoiseDocument {
    state: &'static str,
    slow: f64,
    fast: f64,
}

#[derive(Debug, Serialize)]
struct ElectricDocument {
    switchings: u32,
    displays: Vec<ElectricStep>,
}

#[derive(Debug, Serialize)]
struct ElectricStep {
    step: f64,
    counts: bool,
}

impl BehaviourDocument {
    fn of(manner: &Manner) -> Self {
        let start = manner.start.as_ref();
        let step = manner.step.as_ref();
        Self {
            cold_start: start.map(|seen| SeenDocument {
                from_s: seen.from,
                displays: seen.each.iter().copied().map(rise).collect(),
            }),
            step_of_speed: step.map(|seen| SeenDocument {
                from_s: seen.from,
                displays: seen.each.iter().map(follow).collect(),
            }),
            scatter: manner.noise.as_ref().map(|seen| ScatterDocument {
                speeds: [seen.speeds.0, seen.speeds.1],
                displays: seen.each.iter().map(noise).collect(),
            }),
            electric_load: manner.switched.as_ref().map(|(switchings, each)| {
                let steps = each.iter().map(|&(step, counts)| ElectricStep { step, counts });
                ElectricDocument { switchings: *switchings, displays: steps.collect() }
            }),
            stuck: (1..).zip(&manner.stuck).filter(|(_, s)| **s).map(|(n, _)| n).collect(),
        }
    }
}

fn rise(rise: Rise) -> &'static str {
    match rise {
        Rise::Rises => "rises",
        Rise::Flat => "flat",
        Rise::Falls => "falls",
        Rise::Late => "late",
        Rise::DropsOut => "drops-out",
        Rise::Unseen => "unseen",
    }
}

fn follow(follow: &Follow) -> FollowDocument {
    let (state, time_ratio) = match *follow {
        Follow::Together(ratio) => ("together", Some(ratio)),
        Follow::Slower(ratio) => ("slower", Some(ratio)),
        Follow::Faster(ratio) => ("faster", Some(ratio)),
        Follow::Still => ("none", None),
        Follow::Unclear => ("unclear", None),
    };
    FollowDocument { state, time_ratio }
}

fn noise(&(noise, slow, fast): &(Noise, f64, f64)) -> NoiseDocument {
    let state = match noise {
        Noise::WithSpeed => "with-speed",
        Noise::AllSpeeds => "all-speeds",
        Noise::LikeOthers => "like-others",
        Noise::Unseen => "unseen",
    };
    NoiseDocument { state, slow, fast }
}
