//! A balance as a page, and what a job's card says of it.

use facts::job::timeline::Timeline;
use facts::job::trim::{Foreseen, Lever};
use facts::knowledge::{Knowledge, RunningPoint};
use judge::balance::plan::{Left, Next, Outcome, Refused, lean_side};
use judge::balance::{Balance, Barrier, Now, Taken};
use measure::percent::percent;
use measure::units::Scale;

use super::doc::{Align, Doc, NoticeKind, Table};
use super::screen::{LINES, Screen};
use super::{terms, words};

/// What is always said: the displays are the means, not the end.
const NOT_EQUAL: &str = "Equal displays are not equal mixtures: depth, wall and timing move a display \
     too, and on both sides of the peak a cylinder reads colder. Nothing is levelled without a sign \
     that does not hang on the display: plug colour, an exhaust sample of that runner, a cut-out test.";

/// The test whose cautions hold for every trim.
const TRIM_TEST: &str = "trim-rich";

/// What a page of a balance is for.
#[derive(Debug, Clone, Copy)]
pub struct BalancePage<'a> {
    /// What the next step is expected to do.
    pub foreseen: Option<Foreseen>,
    /// The job's name for commands; nothing where none are typed.
    pub job: Option<&'a str>,
    /// Cautions were read before, and once is enough.
    pub again: bool,
}

/// The page.
#[must_use]
pub fn balance(
    knowledge: &Knowledge,
    timeline: &Timeline,
    balance: &Balance,
    BalancePage { foreseen, job, again }: BalancePage<'_>,
    scale: Scale,
) -> Doc {
    let what = terms::lever(balance.lever);
    let mut doc = Doc::new(format!("Balance by {what} at {}", terms::point(balance.at)));
    if !balance.barriers.is_empty() {
        doc.heading("Nothing is trimmed now");
        doc.bullets(balance.barriers.iter().map(|b| words::sentence(&barrier(b))).collect());
    }
    pots(&mut doc, balance, scale);
    doc.heading("Next");
    doc.para(words::sentence(&now(balance, foreseen, scale)));
    if let Some(line) = job.and_then(|job| command(balance, job)) {
        doc.blocks.push(super::doc::Block::Command(line));
    }
    if let Now::Next(Next::Done { left }) = &balance.now {
        doc.bullets(
            left.iter()
                .map(|(c, why)| format!("Cylinder {c} is left: {}.", reason(*why)))
                .collect(),
        );
    }
    add(&mut doc, &balance.taken, scale);
    if balance.barriers != [Barrier::Diesel] && !again {
        doc.notice(NoticeKind::Doubt, NOT_EQUAL);
    }
    if let Some(test) = knowledge.test(TRIM_TEST).filter(|_| !again) {
        let cautions = &knowledge.tests[test].cautions;
        for caution in knowledge.cautions_on(&timeline.engine, cautions) {
            doc.notice(NoticeKind::Caution, words::sentence(&knowledge.cautions[caution].text));
        }
    }
    if !timeline.trimming.now.is_empty() {
        let back = job.map_or_else(String::new, |job| {
            format!("; `oddpot balance {job} --back` enters that all were put back")
        });
        doc.para(format!(
            "Trims are not where they stood at first. Readings now are kept for the balance and say \
             nothing about faults{back}."
        ));
    }
    doc
}

/// The page of one screen: what stands in the way or is next, and the main caution.
#[must_use]
pub fn balance_at_a_glance(
    knowledge: &Knowledge,
    balance: &Balance,
    BalancePage { foreseen, job, .. }: BalancePage<'_>,
    scale: Scale,
    foot: &str,
) -> Doc {
    let what = terms::lever(balance.lever);
    let mut screen = Screen::new(format!("Balance by {what} at {}", terms::point(balance.at)));
    screen.must(|doc| {
        if !balance.barriers.is_empty() {
            doc.heading("Nothing is trimmed now");
            doc.bullets(balance.barriers.iter().map(|b| words::sentence(&barrier(b))).collect());
        }
    });
    screen.must(|doc| {
        doc.heading("Next");
        doc.para(words::sentence(&now(balance, foreseen, scale)));
        if let Some(line) = job.and_then(|job| command(balance, job)) {
            doc.blocks.push(super::doc::Block::Command(line));
        }
    });
    if balance.barriers.is_empty() {
        screen.may(1, |doc| pots(doc, balance, scale));
        screen.must(|doc| doc.notice(NoticeKind::Doubt, words::first_sentence(NOT_EQUAL)));
        let cautions = knowledge.test(TRIM_TEST).map(|test| &knowledge.tests[test].cautions);
        for &caution in cautions.into_iter().flatten() {
            let heart = words::first_sentence(&knowledge.cautions[caution].text);
            screen.must(|doc| doc.notice(NoticeKind::Caution, heart));
        }
    }
    screen.page(LINES, foot)
}

fn pots(doc: &mut Doc, balance: &Balance, scale: Scale) {
    let unit = match balance.lever {
        Lever::Fuel => "for 1 % richer",
        Lever::Spark => "for 1° later",
    };
    let mut table = Table::new([
        ("cylinder", Align::Right),
        ("off", Align::Right),
        ("trim", Align::Left),
        (unit, Align::Right),
        ("side of the peak", Align::Left),
        ("independent sign", Align::Left),
    ]);
    for pot in &balance.pots {
        let side = match (balance.lever, pot.slope.map(lean_side)) {
            (Lever::Fuel, Some(Some(true))) => "lean",
            (Lever::Fuel, Some(Some(false))) => "rich",
            (Lever::Fuel, Some(None)) => "not told yet",
            _ => "",
        };
        table.rows.push(vec![
            pot.cylinder.to_string(),
            words::bare_difference(pot.off, scale),
            terms::trim(balance.lever, pot.stands),
            pot.slope.map_or_else(String::new, |slope| {
                format!(
                    "{} ±{}",
                    tenth(slope.value, scale),
                    tenth(slope.se, scale).trim_start_matches('+')
                )
            }),
            side.to_owned(),
            pot.sign
                .map_or_else(|| "none yet".to_owned(), |sign| terms::mixture_sign(sign).to_owned()),
        ]);
    }
    if table.rows.is_empty() {
        return;
    }
    doc.table(table);
    doc.para(format!(
        "Off: from the mean of all, {}; within {} it counts as level.",
        scale.sign(),
        words::difference(balance.scene.level, scale).trim_start_matches('+')
    ));
}

/// A small difference to a tenth, signed.
fn tenth(kelvin: f64, scale: Scale) -> String {
    format!("{:+.1}", scale.show_delta(measure::units::TempDelta(kelvin))).replace('-', "−")
}

/// Why nothing is trimmed.
#[must_use]
pub fn barrier(barrier: &Barrier) -> String {
    match barrier {
        Barrier::Diesel => {
            "a diesel's readings are recorded and compared with its own history, not \
                            levelled: what each cylinder is given is the engine builder's"
                .to_owned()
        }
        Barrier::NoTrims => {
            "the engine was opened without a fuel trim for each cylinder (`--trims`)".to_owned()
        }
        Barrier::NoSpark => "the engine has no spark to trim".to_owned(),
        Barrier::HeadProbes => "only exhaust probes show a mixture".to_owned(),
        Barrier::NotDone => "the job is neither verified nor recorded as normal".to_owned(),
        Barrier::Chain(share, below) => format!(
            "the sensor side is still suspected with {}, and below {} is asked for: no mixture is \
             changed on a number that may be wrong",
            percent(*share),
            percent(*below)
        ),
        Barrier::Mechanical(share, below) => format!(
            "faults that no mixture cures are suspected with {}, and below {} is asked for: a trim would \
             only hide them",
            percent(*share),
            percent(*below)
        ),
        Barrier::Depth(cylinder, mm) => format!(
            "the probe of cylinder {cylinder} was measured {:.1} mm {} than the others: set the depth, not \
             the fuel",
            mm.abs(),
            if *mm > 0.0 { "deeper" } else { "less deep" }
        ),
        Barrier::NoReadings => "nothing was read there since anything was last touched".to_owned(),
        Barrier::NoNumber(cylinder) => format!("display {cylinder} shows no steady number"),
        Barrier::Load => {
            "running at full load was not confirmed to be safe (`oddpot confirm-load`)".to_owned()
        }
        Barrier::TooHot(cylinder) => {
            format!("display {cylinder} is at the engine builder's limit: take the load off now")
        }
    }
}

fn now(balance: &Balance, foreseen: Option<Foreseen>, scale: Scale) -> String {
    match &balance.now {
        Now::Barred => "nothing is trimmed until the above is cleared".to_owned(),
        Now::Read => {
            format!("hold {} until it settles and read all displays", terms::point(balance.at))
        }
        Now::PutBack { cylinder, to } => format!(
            "the last step came out otherwise than foreseen: put cylinder {cylinder} back to {}, and leave \
             it alone",
            terms::trim(balance.lever, *to)
        ),
        Now::Next(Next::ReadAgain) => format!(
            "read all displays at {} once more with nothing changed: one set says too little",
            terms::point(balance.at)
        ),
        Now::Next(Next::AskSign { cylinder }) => format!(
            "display {cylinder} is off: look for a sign of that cylinder's mixture that does not hang on \
             its display, and enter what it says (lean, rich or even)"
        ),
        Now::Next(Next::Step { cylinder, to, measures }) => {
            let why = if *measures { ", to measure what it does" } else { "" };
            let seen = foreseen
                .map_or_else(String::new, |f| format!("; {}", foreseeing(balance.at, f, scale)));
            format!("set cylinder {cylinder} to {}{why}{seen}", terms::trim(balance.lever, *to))
        }
        Now::Next(Next::Done { left }) if left.is_empty() => {
            "nothing: all displays are level".to_owned()
        }
        Now::Next(Next::Done { .. }) => "nothing more is to be trimmed".to_owned(),
    }
}

/// What a step is expected to do.
#[must_use]
pub fn foreseeing(at: RunningPoint, foreseen: Foreseen, scale: Scale) -> String {
    format!(
        "expected at {}: {} ±{} against the others",
        terms::point(at),
        words::difference(foreseen.change, scale),
        words::difference(foreseen.sd, scale).trim_start_matches('+')
    )
}

/// The line that enters what is to be done.
fn command(balance: &Balance, job: &str) -> Option<String> {
    let spark = if balance.lever == Lever::Spark { " --spark" } else { "" };
    let set = |cylinder: u8, to: f64| {
        Some(format!("oddpot balance {job}{spark} --at {} --trim {cylinder}={to}", balance.at))
    };
    match &balance.now {
        Now::Read | Now::Next(Next::ReadAgain) => {
            Some(format!("oddpot temps {job} --at {} VALUE...", balance.at))
        }
        Now::PutBack { cylinder, to } | Now::Next(Next::Step { cylinder, to, .. }) => {
            set(*cylinder, *to)
        }
        Now::Next(Next::AskSign { cylinder }) => {
            Some(format!("oddpot balance {job} --sign {cylinder}=lean --by 'plug colour'"))
        }
        Now::Barred | Now::Next(Next::Done { .. }) => None,
    }
}

/// Why a cylinder is left as it is.
#[must_use]
pub fn reason(left: Left) -> &'static str {
    match left {
        Left::SignEven => {
            "its mixture is like the others' by the sign, so that its display is off for another reason"
        }
        Left::SignAgainst => "display and sign disagree about the way: that is no case for a trim",
        Left::Leaner => {
            "it would have to be leaner than it stood, which may melt a piston at load; with trims by load \
             `--by-load` allows it at light load"
        }
        Left::Bound => "its trim is as far from where it stood as it may go",
        Left::Flat => "its display hardly answers to the trim: it stands at the peak",
        Left::Otherwise => "a step on it came out otherwise than foreseen",
        Left::Steps => "so many steps were taken that something else must be wrong",
    }
}

/// Why a trim is refused.
#[must_use]
pub fn refused(why: Refused, lever: Lever) -> String {
    let unit = match lever {
        Lever::Fuel => "%",
        Lever::Spark => "°",
    };
    match why {
        Refused::NoSign => "there is no independent sign of its mixture yet".to_owned(),
        Refused::Left(left) => reason(left).to_owned(),
        Refused::Level => "its display is level".to_owned(),
        Refused::Step(step) => format!("a step is at most {step} {unit}"),
        Refused::Total(total) => format!("a trim is at most {total} {unit} from where it stood"),
        Refused::RicherFirst => match lever {
            Lever::Fuel => "the first step is a richer one: it melts nothing".to_owned(),
            Lever::Spark => "the first step is a later one: it does not knock".to_owned(),
        },
        Refused::ReadAgain => "read once more first: one set says too little".to_owned(),
        Refused::OtherWay => "by what was measured the other way levels it".to_owned(),
    }
}

/// Every step with what was foreseen and how it came out; also on the card.
pub(super) fn add(doc: &mut Doc, taken: &[Taken], scale: Scale) {
    let mut table = Table::new([
        ("no", Align::Right),
        ("cylinder", Align::Right),
        ("trim", Align::Left),
        ("from", Align::Left),
        ("to", Align::Left),
        ("foreseen", Align::Right),
        ("came", Align::Right),
        ("", Align::Left),
    ]);
    for Taken { step, came, outcome } in taken {
        table.rows.push(vec![
            step.entry.to_string(),
            step.cylinder.to_string(),
            terms::lever(step.lever).to_owned(),
            terms::trim(step.lever, step.from),
            terms::trim(step.lever, step.to),
            step.foreseen.map_or_else(String::new, |f| {
                let sd = words::bare_difference(f.sd, scale);
                format!(
                    "{} ±{}",
                    words::bare_difference(f.change, scale),
                    sd.trim_start_matches('+')
                )
            }),
            came.map_or_else(String::new, |came| words::bare_difference(came, scale)),
            match outcome {
                Some(Outcome::AsForeseen) => "as foreseen",
                Some(Outcome::Otherwise) => "otherwise",
                None => "",
            }
            .to_owned(),
        ]);
    }
    if !table.rows.is_empty() {
        doc.heading(format!("Steps, {}", scale.sign()));
        doc.table(table);
    }
}

/// What a card says of trims.
pub(super) fn on_card(doc: &mut Doc, timeline: &Timeline, scale: Scale) {
    let trimming = &timeline.trimming;
    if trimming.steps.is_empty() {
        return;
    }
    doc.heading("Balance");
    let mut stand: Vec<String> = trimming
        .now
        .iter()
        .map(|((lever, cylinder), to)| {
            format!("{} of cylinder {cylinder}: {}", terms::lever(*lever), terms::trim(*lever, *to))
        })
        .collect();
    if stand.is_empty() {
        stand.push("All trims are where they stood.".to_owned());
    }
    doc.bullets(stand);
    let signs: Vec<String> = trimming
        .signs
        .iter()
        .map(|(cylinder, (_, sign, by))| {
            format!("cylinder {cylinder} {} by {by}", terms::mixture_sign(*sign))
        })
        .collect();
    if !signs.is_empty() {
        doc.para(words::sentence(&format!("independent signs: {}", signs.join("; "))));
    }
    add(doc, &judge::balance::taken(timeline), scale);
    for set in &trimming.sets {
        let values: Vec<String> = set.readings.iter().map(|&r| words::reading(r, scale)).collect();
        doc.para(format!("Entry {}, {}: {}", set.entry, terms::point(set.at), values.join(", ")));
    }
    doc.notice(NoticeKind::Doubt, NOT_EQUAL);
}
