//! The tables of the simulated workshop, and single jobs of it told step by step.

use std::fmt::Write;

use crate::diagnosis::{CauseRef, Fault};
use crate::job::timeline::Timeline;
use crate::knowledge::Knowledge;
use crate::plan::Step;
use crate::workshop::score::{Mean, Reliability, Share};
use crate::workshop::{Ended, Outcome, Played, Policy, Said, Shown, Summary, VirtualEngine, Wrong};

use super::doc::{Align, Doc, Table};
use super::{steps, terms, words};

/// The tables; the `worst` jobs by the first policy's cost are told below.
#[must_use]
pub fn workshop(knowledge: &Knowledge, summary: &Summary, played: &[Played], worst: usize) -> Doc {
    let mut doc = Doc::new(format!(
        "Simulated workshop: {}, seed {}, the world wrong in {}",
        words::count(summary.jobs, "virtual job", "virtual jobs"),
        summary.seed,
        wrong(summary.wrong)
    ));
    doc.para(
        "Cost in minutes of labour from the door to the proven cause: hands-on, a quarter of waiting, \
         parts. What was left and came back is charged with a long search. ± is half a 95 % interval.",
    );
    doc.table(costs(summary));
    doc.table(ends(summary));
    if let Some(trust) = &summary.trust {
        doc.heading("How far the probabilities can be trusted");
        let mut table = Table::new([
            ("measure", Align::Left),
            ("at the door", Align::Right),
            ("all along", Align::Right),
        ]);
        let mut row = |name: &str, first: String, later: String| {
            table.rows.push(vec![name.to_owned(), first, later]);
        };
        let off = |r: &Reliability| format!("{:.3}", r.error);
        row("calibration error (top suspect)", off(&trust.first), off(&trust.all));
        let chance = |r: &Reliability| format!("{:.3}", r.by_chance);
        row("  of which chance alone, about", chance(&trust.first), chance(&trust.all));
        let brier = trust.brier.map(|m| with(m, 3));
        row("Brier score, all suspects", brier[0].clone(), brier[1].clone());
        let log = trust.log_score.map(|m| with(m, 2));
        row("log score (nats)", log[0].clone(), log[1].clone());
        doc.table(table);
        let mut sure = Table::new([("right when it", Align::Left), ("", Align::Right)]);
        for (name, share) in [
            ("first gave one cause 95 %", trust.sure),
            ("first gave the work on a cause 95 %", trust.sure_work),
            ("closed a job as proven", trust.closed),
        ] {
            sure.rows.push(vec![name.to_owned(), interval(share)]);
        }
        doc.table(sure);
        doc.table(bins(&trust.all));
    }
    if worst > 0 {
        told(&mut doc, knowledge, summary, played, worst);
    }
    doc
}

fn wrong(wrong: Wrong) -> &'static str {
    match wrong {
        Wrong::Nothing => "nothing",
        Wrong::Priors => "priors, by a factor of two",
        Wrong::Sensitivity => "sensitivities, by a factor of two in odds",
        Wrong::Spread => "natural spread, 1.5 times as wide",
        Wrong::Effects => "effects, by 40 %",
        Wrong::TwoFaults => "two faults in three of ten",
        Wrong::Unknown => "one fault in five in no list",
        Wrong::All => "priors, sensitivities, spread and effects",
    }
}

fn costs(summary: &Summary) -> Table {
    let mut table = Table::new([
        ("way of working", Align::Left),
        ("mean", Align::Right),
        ("median", Align::Right),
        ("p90", Align::Right),
        ("p99", Align::Right),
        ("program over it", Align::Right),
    ]);
    for line in &summary.lines {
        table.rows.push(vec![
            line.policy.what().to_owned(),
            with(line.cost, 1),
            format!("{:.0}", line.tail[0]),
            format!("{:.0}", line.tail[1]),
            format!("{:.0}", line.tail[2]),
            line.plan_share.map_or_else(String::new, |m| with(m, 2)),
        ]);
    }
    table
}

fn ends(summary: &Summary) -> Table {
    let mut table = Table::new([
        ("way of working", Align::Left),
        ("never proven", Align::Right),
        ("came back", Align::Right),
        ("by search", Align::Right),
        ("healthy parts in 100", Align::Right),
        ("steps", Align::Right),
    ]);
    for line in &summary.lines {
        table.rows.push(vec![
            line.policy.what().to_owned(),
            per_cent(line.never),
            per_cent(line.came_back),
            per_cent(line.searched),
            with(line.healthy_parts, 1),
            format!("{:.1}", line.steps),
        ]);
    }
    table
}

fn bins(reliability: &Reliability) -> Table {
    let mut table = Table::new([
        ("claims", Align::Right),
        ("said", Align::Right),
        ("was so", Align::Right),
        ("± error", Align::Right),
    ]);
    for bin in &reliability.bins {
        table.rows.push(vec![
            bin.claims.to_string(),
            format!("{:.3}", bin.said),
            format!("{:.3}", bin.so),
            format!("{:.3}", bin.error),
        ]);
    }
    table
}

fn with(mean: Mean, places: usize) -> String {
    format!("{:.places$} ± {:.places$}", mean.mean, mean.half)
}

fn per_cent(share: Share) -> String {
    format!("{:.1} %", 100.0 * share.share)
}

fn interval(share: Share) -> String {
    let (right, of) = share.of;
    format!("{:.3} ({:.3} to {:.3}), {right} of {of}", share.share, share.low, share.high)
}

/// The dearest jobs of the program's plan, or of the first policy where it was not asked for.
fn told(doc: &mut Doc, knowledge: &Knowledge, summary: &Summary, played: &[Played], worst: usize) {
    let own = summary.own();
    for played in summary.dearest(played).into_iter().take(worst) {
        let Some(outcome) = played.outcomes.get(own) else { continue };
        doc.heading(format!("Job {}: {:.0} min", played.number, outcome.total));
        doc.fields([
            ("Engine", played.job.preset.clone()),
            ("Recent work", played.job.recent.join(", ")),
            ("Truth", truth(knowledge, &played.job)),
            ("Ended", ended(outcome)),
            ("Leader", leaders(outcome)),
        ]);
        doc.numbered(outcome.steps.iter().map(|(s, o)| taken(knowledge, *s, o)).collect());
    }
}

/// What was the matter, with the ids of causes.
#[must_use]
pub fn truth(knowledge: &Knowledge, job: &VirtualEngine) -> String {
    matter(job, |fault| {
        format!("{} ({})", terms::fault(knowledge, fault), fault.cause.id(knowledge))
    })
}

fn matter(job: &VirtualEngine, name: impl Fn(Fault) -> String) -> String {
    let k = job.noticed_at as usize;
    let said: Vec<String> = job
        .faults
        .iter()
        .map(|f| {
            let shift = f.effect.shift[k];
            format!("{}, {shift:+.0} °C at {}", name(f.fault), terms::point(job.noticed_at))
        })
        .collect();
    if said.is_empty() { "nothing was wrong".to_owned() } else { said.join("; ") }
}

/// What the leading suspect was given before each step, and whether it was the case.
fn leaders(outcome: &Outcome) -> String {
    let one = |said: &Said| format!("{:.2}{}", said.top, if said.right { "" } else { " not" });
    outcome.said.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn ended(outcome: &Outcome) -> String {
    let how = match outcome.ended {
        Ended::Normal => "written down as normal",
        Ended::Proven => "closed as proven",
        Ended::Closed => "closed",
        Ended::Searched => "found by a long search",
        Ended::Never => "no end",
    };
    let really = match (outcome.proven, outcome.came_back) {
        (_, true) => "; it came back",
        (true, _) => "; rightly",
        (false, _) => "; not what was the matter",
    };
    format!("{how}{really}")
}

/// A step with what it showed, on one line.
#[must_use]
pub fn taken(knowledge: &Knowledge, step: Step, shown: &Shown) -> String {
    let what = match step {
        Step::Test { test, cylinder, partner } => {
            let mut text = knowledge.tests[test].id.clone();
            for place in [cylinder, partner].into_iter().flatten() {
                let _ = write!(text, " {place}");
            }
            text
        }
        Step::Remedy(fault) => match fault.cause {
            CauseRef::Listed(index) => {
                let id = knowledge.causes[index].remedy.as_ref().map_or("", |r| r.id.as_str());
                format!("remedy {} @{} ({id})", fault.cause.id(knowledge), fault.place.code())
            }
            CauseRef::Unlisted => "search".to_owned(),
        },
        Step::Readings { at, .. } => format!("read at {at}"),
        Step::Verify { .. } => "read to verify".to_owned(),
        Step::PutBack { .. } => "put back".to_owned(),
        Step::End(_) => "stop".to_owned(),
    };
    match (step, shown) {
        (Step::Test { test, .. }, Shown::Outcome(outcome)) => {
            format!("{what}: {}", knowledge.tests[test].outcomes[*outcome].id)
        }
        _ => what,
    }
}

/// The end of a drill: the truth, what the person spent and `said` to it, what others would have.
#[must_use]
pub fn drilled(
    knowledge: &Knowledge,
    timeline: &Timeline,
    job: &VirtualEngine,
    said: &str,
    others: &[(Policy, f64)],
    plan: &Outcome,
) -> Doc {
    let mut doc = Doc::new("The truth");
    doc.fields([
        ("Was the matter", matter(job, |fault| terms::fault(knowledge, fault))),
        ("You", said.to_owned()),
    ]);
    doc.fields(others.iter().map(|(p, cost)| (p.what(), format!("{cost:.0} min"))));
    doc.heading("What this program would have done");
    let told = |(step, shown): &(Step, Shown)| {
        let what = words::upper_first(&steps::step(knowledge, timeline, *step));
        match (step, shown) {
            (Step::Test { test, .. }, Shown::Outcome(outcome)) => {
                let seen = &knowledge.tests[*test].outcomes[*outcome].text;
                format!("{what}: {}", words::lower_first(seen.trim_end_matches('.')))
            }
            _ => what,
        }
    };
    doc.numbered(plan.steps.iter().map(told).collect());
    doc
}
