//! `oddpot log`: what a data log shows.

use std::path::PathBuf;

use serde_json::{Value, json};

use super::answer::Answer;
use super::card::{Form, Format, put};
use super::context::Context;
use super::failure::Failure;
use super::log_args::{self, LogArgs};
use measure::engine::Regime;
use measure::readings::log::{
    Follow, Log, Noise, Options, Rest, Rise, Unsettled, heading, points, rest,
};
use measure::readings::outlier::others;
use pages::report;

/// Show what a data log of the displays holds
///
/// FILE is a CSV file of any logger; how it is written is detected and shown with the option that
/// says otherwise. Where nothing has settled it says how long to wait, and why. Nothing is
/// entered: `oddpot temps JOB --from FILE` does that.
#[derive(Debug, clap::Args)]
#[command(after_long_help = "\
Examples:
  oddpot log run.csv
  oddpot log run.csv --window 2
  oddpot log run.csv --format html -o run.html")]
pub(super) struct Args {
    /// The log; `-` for standard input
    file: PathBuf,
    /// Windows whose displays are listed, up to three
    #[arg(long, value_name = "N", value_delimiter = ',')]
    window: Vec<usize>,
    /// Of head and exhaust probes take the former
    #[arg(long)]
    head: bool,
    #[command(flatten)]
    log: LogArgs,
    #[command(flatten)]
    form: Form,
}

pub(super) fn run(context: &Context, args: &Args) -> Result<Answer, Failure> {
    if let Some(output) = args.form.output() {
        super::output::not_itself(&args.file, output)?;
    }
    let options = args.log.options(args.head)?;
    let log = log_args::read(&args.file, &options)?;
    let file = log_args::name(&args.file);
    let page = report::LogPage {
        file: &file,
        path: &args.file.display().to_string(),
        log: &log,
        rule: &options.rule,
        chosen: &args.window,
        scale: context.scale(),
        width: context.width,
        picture: matches!(args.form.format()?, Format::Html | Format::Pdf),
    };
    let doc = report::log(&page);
    if !args.form.is_plain() {
        return put(context, &doc, &args.form);
    }
    Ok(Answer::new(context.page(&doc), document(&file, &log, &options)))
}

/// The document of `--json`; temperatures in °C.
fn document(file: &str, log: &Log, options: &Options) -> Value {
    let form = &log.form;
    let name = |column: Option<usize>| column.map(|column| form.names[column].as_str());
    let displays = form
        .displays
        .iter()
        .zip(&form.scales)
        .map(|(&column, scale)| json!({"column": form.names[column], "scale": scale.as_str()}));
    let findings = log.findings.iter().map(|finding| {
        json!({
            "code": finding.code.as_str(),
            "severity": if finding.code.is_warning() { "warning" } else { "note" },
            "line": (finding.line > 0).then_some(finding.line),
            "column": (finding.column > 0).then_some(finding.column),
            "count": finding.count,
            "text": finding.text,
            "help": finding.help,
        })
    });
    let guesses = points(&log.windows, &log.range);
    let windows = (0..log.windows.len()).map(|index| {
        let window = &log.windows[index];
        let guess = &guesses[index];
        json!({
            "window": index + 1,
            "from_s": window.from,
            "to_s": window.to,
            "point": guess.point.map(Regime::as_str),
            "doubt": guess.doubt,
            "speed": window.speed,
            "load": window.load,
            "displays": shown(log, options, index),
        })
    });
    json!({
        "file": file,
        "sha256": log.hash,
        "bytes": log.bytes,
        "rows": log.rows,
        "rows_left_out": log.skipped(),
        "seconds": log.seconds,
        "form": {
            "encoding": form.encoding.as_str(),
            "delimiter": char::from(form.delimiter).to_string(),
            "decimal": char::from(form.point).to_string(),
            "columns": form.names,
            "header_line": (form.header_line > 0).then_some(form.header_line),
            "time": {"column": form.names[form.time], "form": form.time_form.name()},
            "displays": displays.collect::<Vec<_>>(),
            "speed": name(form.speed),
            "load": name(form.load),
            "supply": name(form.supply),
        },
        "rule": {"moves_c": options.rule.moves, "within_s": options.rule.within},
        "findings": findings.collect::<Vec<_>>(),
        "windows": windows.collect::<Vec<_>>(),
        "unsettled": log.unsettled.iter().map(unsettled).collect::<Vec<_>>(),
        "behaviour": behaviour(log),
    })
}

fn shown(log: &Log, options: &Options, window: usize) -> Vec<Value> {
    let all = &log.windows[window].shown;
    let stands: Vec<Rest> =
        (0..all.len()).map(|display| rest(log, &options.rule, window, display)).collect();
    let counted: Vec<usize> = (0..all.len())
        .filter(|&display| !matches!(stands[display], Rest::Open | Rest::Stuck))
        .collect();
    let means: Vec<f64> = counted.iter().map(|&display| all[display].mean).collect();
    let off = others::from_others(&means, 1.0).unwrap_or_default();
    (0..all.len())
        .map(|display| {
            let shown = &all[display];
            let any = shown.count > 0;
            let place = counted.iter().position(|&d| d == display);
            json!({
                "display": display + 1,
                "state": stands[display].as_str(),
                "count": shown.count,
                "missing": shown.missing,
                "mean": any.then_some(shown.mean),
                "standard_error": any.then_some(shown.se),
                "sd": any.then_some(shown.sd),
                "median": shown.median,
                "scatter": any.then_some(shown.scatter.sd),
                "movement": any.then_some(shown.movement),
                "difference": place.and_then(|place| off.get(place)).map(|d| d.amount),
            })
        })
        .collect()
}

fn unsettled(unsettled: &Unsettled) -> Value {
    let displays = (1..).zip(&unsettled.displays).map(|(display, settling)| {
        let Some(settling) = settling else {
            return json!({"display": display, "state": "open"});
        };
        let state = heading(settling).replace(' ', "-");
        json!({
            "display": display,
            "state": state,
            "level": settling.level,
            "movement": settling.movement,
            "final": settling.fit.map(|fit| fit.final_value),
            "final_se": settling.fit.map(|fit| fit.final_se),
            "time_constant_s": settling.fit.map(|fit| fit.time_constant),
            "more_s": settling.more_seconds,
        })
    });
    json!({
        "from_s": unsettled.from,
        "to_s": unsettled.to,
        "speed": unsettled.speed,
        "at_end": unsettled.at_end,
        "more_s": unsettled.more_seconds(),
        "displays": displays.collect::<Vec<_>>(),
    })
}

fn behaviour(log: &Log) -> Value {
    let manner = &log.manner;
    let rise = |rise: &Rise| match rise {
        Rise::Rises => "rises",
        Rise::Flat => "flat",
        Rise::Falls => "falls",
        Rise::Late => "late",
        Rise::DropsOut => "drops-out",
        Rise::Unseen => "unseen",
    };
    let follow = |follow: &Follow| match *follow {
        Follow::Together(ratio) => json!({"state": "together", "time_ratio": ratio}),
        Follow::Slower(ratio) => json!({"state": "slower", "time_ratio": ratio}),
        Follow::Faster(ratio) => json!({"state": "faster", "time_ratio": ratio}),
        Follow::Still => json!({"state": "none"}),
        Follow::Unclear => json!({"state": "unclear"}),
    };
    let noise = |&(noise, slow, fast): &(Noise, f64, f64)| {
        let state = match noise {
            Noise::WithSpeed => "with-speed",
            Noise::AllSpeeds => "all-speeds",
            Noise::LikeOthers => "like-others",
            Noise::Unseen => "unseen",
        };
        json!({"state": state, "slow": slow, "fast": fast})
    };
    json!({
        "cold_start": manner.start.as_ref().map(|seen| {
            json!({
                "from_s": seen.from,
                "displays": seen.each.iter().map(rise).collect::<Vec<_>>(),
            })
        }),
        "step_of_speed": manner.step.as_ref().map(|seen| {
            json!({
                "from_s": seen.from,
                "displays": seen.each.iter().map(follow).collect::<Vec<_>>(),
            })
        }),
        "scatter": manner.noise.as_ref().map(|seen| {
            json!({
                "speeds": [seen.speeds.0, seen.speeds.1],
                "displays": seen.each.iter().map(noise).collect::<Vec<_>>(),
            })
        }),
        "electric_load": manner.switched.as_ref().map(|(times, each)| {
            let each = each.iter().map(|(step, counts)| json!({"step": step, "counts": counts}));
            json!({"switchings": times, "displays": each.collect::<Vec<_>>()})
        }),
        "stuck": (1..).zip(&manner.stuck).filter(|(_, s)| **s).map(|(n, _)| n).collect::<Vec<u8>>(),
    })
}
