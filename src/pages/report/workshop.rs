//! The tables of the simulated workshop, and single jobs of it told act by act.

use std::fmt::Write;

use ::workshop::score::{Mean, Reliability, Share};
use ::workshop::{
    Act, Claimed, Ended, Outcome, Part, Played, Policy, Shown, Summary, Trouble, Verdict,
    VirtualEngine, Wrong, bars, fault, sentence, step,
};
use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use judge::plan::Step;

use super::doc::{Align, Doc, Table};
use super::{steps, terms, words};

/// The tables of one world after the other; the `worst` jobs of each are told below it.
#[must_use]
pub fn workshop(knowledge: &Knowledge, worlds: &[(Summary, Vec<Played>)], worst: usize) -> Doc {
    let jobs = worlds.first().map_or(0, |(summary, _)| summary.jobs);
    let seeds: Vec<String> = worlds
        .first()
        .map_or_else(Vec::new, |(summary, _)| summary.seeds.iter().map(u64::to_string).collect());
    let mut doc = Doc::new(format!(
        "Simulated workshop: {}, seed {}",
        words::count(jobs, "virtual job", "virtual jobs"),
        seeds.join(", ")
    ));
    doc.para(
        "Cost in minutes of labour from the door to the cure: hands-on, a quarter of waiting, parts. What \
         was left and comes back is charged with a long search. In brackets 95 % intervals.",
    );
    for (summary, played) in worlds {
        doc.heading(format!("The knowledge base {}", wrong(summary.wrong)));
        world(&mut doc, summary);
        told(&mut doc, knowledge, summary, played, worst);
    }
    doc
}

fn world(doc: &mut Doc, summary: &Summary) {
    let kinds: Vec<String> =
        summary.kinds.iter().map(|(kind, jobs)| format!("{kind} {jobs}")).collect();
    doc.para(format!("Jobs: {}.", kinds.join(", ")));
    doc.table(costs(summary));
    doc.table(ends(summary));
    doc.table(amiss(summary));
    let Some(trust) = &summary.trust else { return };
    let mut table = Table::new([
        ("bar", Align::Left),
        ("", Align::Left),
        ("measured", Align::Left),
        ("kept", Align::Left),
    ]);
    for bar in bars(summary) {
        let kept = if bar.kept { "yes" } else { "no" };
        table.rows.push(vec![
            bar.what.to_owned(),
            bar.bar.to_owned(),
            bar.measured,
            kept.to_owned(),
        ]);
    }
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
    let mut table = Table::new([
        ("calibration of whoever leads", Align::Left),
        ("at the door", Align::Right),
        ("all along", Align::Right),
    ]);
    let row =
        |of: fn(&Reliability) -> f64| [&trust.first, &trust.all].map(|r| format!("{:.3}", of(r)));
    for (name, [first, all]) in
        [("error", row(|r| r.error)), ("of which chance alone, about", row(|r| r.by_chance))]
    {
        table.rows.push(vec![name.to_owned(), first, all]);
    }
    doc.table(table);
    doc.table(bins(&trust.all));
    for (name, parts) in [("kind of engine", &summary.presets), ("seed", &summary.by_seed)] {
        if !parts.is_empty() {
            doc.table(by(name, parts));
        }
    }
}

fn wrong(wrong: Wrong) -> &'static str {
    match wrong {
        Wrong::Nothing => "right about how common causes are and what tests show",
        Wrong::Twice => "wrong by a factor of two, rows mixed",
        Wrong::Thrice => "wrong by a factor of three, rows mixed",
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
            with(line.cost, 0),
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
        ("listed cured", Align::Right),
        ("came back", Align::Right),
        ("fault not found", Align::Right),
        ("not found, sound", Align::Right),
        ("by search", Align::Right),
        ("no end", Align::Right),
        ("acts", Align::Right),
    ]);
    for line in &summary.lines {
        table.rows.push(vec![
            line.policy.what().to_owned(),
            per_cent(line.cured),
            per_cent(line.came_back),
            per_cent(line.not_found),
            per_cent(line.left_unsure),
            per_cent(line.searched),
            line.never_ended.of.0.to_string(),
            format!("{:.1}", line.steps),
        ]);
    }
    table
}

fn amiss(summary: &Summary) -> Table {
    let mut table = Table::new([
        ("way of working", Align::Left),
        ("called normal with a fault", Align::Right),
        ("false proof", Align::Right),
        ("sound parts in 100", Align::Right),
    ]);
    for line in &summary.lines {
        let (wrongly, of) = line.false_proof.of;
        table.rows.push(vec![
            line.policy.what().to_owned(),
            per_cent(line.missed),
            format!("{wrongly} of {of}"),
            with(line.healthy_parts, 1),
        ]);
    }
    table
}

fn by(name: &str, parts: &[Part]) -> Table {
    // The others stand in the tables above.
    let shown = |policy: Policy| policy != Policy::Cheapest;
    let others: Vec<Policy> = parts.first().map_or_else(Vec::new, |part| {
        part.shares.iter().map(|(policy, _)| *policy).filter(|policy| shown(*policy)).collect()
    });
    let mut columns = vec![(name, Align::Left), ("jobs", Align::Right), ("mean", Align::Right)];
    columns.extend(others.iter().map(|policy| (policy.as_str(), Align::Right)));
    columns.extend([("cured", Align::Right), ("at 95 %", Align::Right)]);
    let mut table = Table::new(columns);
    for part in parts {
        let cost = format!("{:.0}", part.cost.mean);
        let mut row = vec![part.name.clone(), part.jobs.to_string(), cost];
        let shares = part.shares.iter().filter(|(policy, _)| shown(*policy));
        row.extend(shares.map(|(_, share)| format!("{:.2}", share.mean)));
        row.extend(
            [part.cured, part.sure_work].map(|share| format!("{}/{}", share.of.0, share.of.1)),
        );
        table.rows.push(row);
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
    format!("{:.places$} ({:.places$}–{:.places$})", mean.mean, mean.low, mean.high)
}

fn per_cent(share: Share) -> String {
    format!("{:.1} %", 100.0 * share.share)
}

fn interval(share: Share) -> String {
    let (right, of) = share.of;
    format!("{:.3} ({:.3} to {:.3}), {right} of {of}", share.share, share.low, share.high)
}

/// The dearest jobs of the program, or of the first way of working where it was not asked for.
fn told(doc: &mut Doc, knowledge: &Knowledge, summary: &Summary, played: &[Played], worst: usize) {
    let own = summary.own();
    for played in summary.dearest(played).into_iter().take(worst) {
        let Some(outcome) = played.outcomes.get(own) else { continue };
        doc.heading(format!(
            "Seed {}, job {}: {:.0} min",
            played.seed, played.number, outcome.total
        ));
        let job = &played.job;
        doc.fields([
            ("Engine", job.preset.clone()),
            ("Recent work", job.recent.join(", ")),
            ("Complaint", sentence(&job.said)),
            ("Truth", truth(knowledge, job)),
            ("Ended", ended(job, outcome)),
            ("Leader", leaders(outcome)),
        ]);
        doc.numbered(
            outcome.acts.iter().map(|(act, shown)| taken(knowledge, *act, shown)).collect(),
        );
    }
}

/// What was the matter, with the ids of causes.
#[must_use]
pub fn truth(knowledge: &Knowledge, job: &VirtualEngine) -> String {
    let id =
        |trouble: Trouble| trouble.cause.map_or("unlisted", |cause| &knowledge.causes[cause].id);
    matter(job, |trouble| format!("{} ({})", terms::fault(knowledge, fault(trouble)), id(trouble)))
}

fn matter(job: &VirtualEngine, name: impl Fn(Trouble) -> String) -> String {
    let at = job.said.at;
    let said: Vec<String> = job
        .faults
        .iter()
        .map(|f| {
            let goes = if f.effect.comes_and_goes.is_some() { ", comes and goes" } else { "" };
            let does = match f.effect.silence {
                Some(_) => "no number".to_owned(),
                None if f.effect.names => "another cylinder's number".to_owned(),
                None => format!("{:+.0} °C at {}", at.of_five(f.effect.shift), terms::regime(at)),
            };
            format!("{}, {does}{goes}", name(f.trouble))
        })
        .collect();
    if said.is_empty() { "nothing was wrong".to_owned() } else { said.join("; ") }
}

/// What the leading suspect was given before each act, and whether it was the case.
fn leaders(outcome: &Outcome) -> String {
    let one = |said: &Claimed| format!("{:.2}{}", said.top, if said.right { "" } else { " not" });
    outcome.claims.iter().map(one).collect::<Vec<_>>().join(", ")
}

fn ended(job: &VirtualEngine, outcome: &Outcome) -> String {
    let how = match outcome.ended {
        Ended::Said(Verdict::Normal) => "called normal",
        Ended::Said(Verdict::Proven) => "closed as proven",
        Ended::Said(Verdict::Unproven) => "closed, it was gone",
        Ended::Said(Verdict::NotFound) => "called not found",
        Ended::Searched => "found by a long search",
        Ended::Never => "no end",
    };
    let really = match outcome {
        o if o.left => "; it came back",
        o if o.false_proof => "; not what was the matter",
        o if o.cured => "; put right",
        _ if job.faults.is_empty() => "; nothing was wrong",
        _ => "; nothing noticeable was left",
    };
    format!("{how}{really}")
}

/// An act with what it showed, on one line, by ids.
#[must_use]
pub fn taken(knowledge: &Knowledge, act: Act, shown: &Shown) -> String {
    let what = match act {
        Act::Test { test, cylinder, partner, .. } => {
            let mut text = knowledge.tests[test].id.clone();
            for place in [cylinder, partner].into_iter().flatten() {
                let _ = write!(text, " {place}");
            }
            text
        }
        Act::Remedy { cause, place } => {
            let cause = &knowledge.causes[cause];
            let id = cause.remedy.as_ref().map_or("", |r| r.id.as_str());
            format!("remedy {} @{} ({id})", cause.id, place.code())
        }
        Act::Search => "long search".to_owned(),
        Act::Read { at } => format!("read at {at}"),
        Act::PutBack { item, a, b } => format!("put back {item} {a} {b}"),
        Act::Stop(verdict) => format!("stop: {verdict}"),
    };
    match (act, shown) {
        (Act::Test { test, .. }, Shown::Outcome(outcome)) => {
            format!("{what}: {}", knowledge.tests[test].outcomes[*outcome].id)
        }
        _ => what,
    }
}

/// An act with what it showed, in words.
#[must_use]
pub fn in_words(knowledge: &Knowledge, timeline: &Timeline, act: Act, shown: &Shown) -> String {
    let what = match step(act, timeline.engine.probes) {
        Step::Remedy(_) if act == Act::Search => "go over everything until it is found".to_owned(),
        step => steps::step(knowledge, timeline, step),
    };
    let what = words::upper_first(&what);
    match (act, shown) {
        (Act::Test { test, .. }, Shown::Outcome(outcome)) => {
            let seen = &knowledge.tests[test].outcomes[*outcome].text;
            format!("{what}: {}", words::lower_first(seen.trim_end_matches('.')))
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
        ("Was the matter", matter(job, |trouble| terms::fault(knowledge, fault(trouble)))),
        ("You", said.to_owned()),
    ]);
    doc.fields(others.iter().map(|(p, cost)| (p.what(), format!("{cost:.0} min"))));
    doc.heading("What this program would have done");
    let told = |(act, shown): &(Act, Shown)| in_words(knowledge, timeline, *act, shown);
    doc.numbered(plan.acts.iter().map(told).collect());
    doc.para(format!("With that it {}.", ended(job, plan).replace("; ", ": ")));
    doc
}
