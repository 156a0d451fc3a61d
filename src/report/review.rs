//! What a change to the knowledge base would have changed on past jobs.

use crate::knowledge::Knowledge;
use crate::number::real;
use crate::review::{Decision, Reviewed, Said};

use super::doc::Doc;
use super::words;

/// The page: the sum, then each job on which something was said otherwise.
#[must_use]
pub fn review(knowledge: &Knowledge, jobs: &[(String, Reviewed)], (of, all): (usize, bool)) -> Doc {
    let mut doc = Doc::new("Review of past jobs");
    let changed: Vec<_> = jobs.iter().filter(|(_, job)| job.changed()).collect();
    let decisions = || jobs.iter().flat_map(|(_, job)| &job.decisions);
    let first = decisions().filter(|d| !d.before.same_first(&d.after)).count();
    let steps = decisions().filter(|d| !d.before.same_step(&d.after)).count();
    let left = of.saturating_sub(jobs.len());
    let left = if left > 0 {
        format!(
            " Left out, for being older: {}; `--last` takes more.",
            words::count(left, "job", "jobs")
        )
    } else {
        String::new()
    };
    doc.para(format!(
        "{} with {}: another first suspect {}, another next step {}, in {}.{left}",
        words::count(jobs.len(), "job", "jobs"),
        words::count(decisions().count(), "decision", "decisions"),
        words::count(first, "time", "times"),
        words::count(steps, "time", "times"),
        words::count(changed.len(), "job", "jobs"),
    ));
    scores(&mut doc, jobs);
    for (name, job) in jobs.iter().filter(|(_, job)| all || job.changed()) {
        doc.heading(name.clone());
        let lines: Vec<String> = job
            .decisions
            .iter()
            .filter(|d| all || !d.before.same_step(&d.after) || !d.before.same_first(&d.after))
            .map(|decision| line(knowledge, decision))
            .collect();
        doc.bullets(lines);
        if let Some((id, place)) = &job.proven
            && let Some(last) = job.decisions.last()
            && let (Some(before), Some(after)) = (last.before.truth, last.after.truth)
        {
            doc.para(format!(
                "Proven was {} at {place}: {} → {} when its remedy was chosen.",
                words::lower_first(&name_of(knowledge, id)),
                words::percent(before),
                words::percent(after)
            ));
        }
    }
    doc
}

fn scores(doc: &mut Doc, jobs: &[(String, Reviewed)]) {
    let scores: Vec<(f64, f64)> = jobs.iter().filter_map(|(_, job)| job.score()).collect();
    if scores.is_empty() {
        doc.para("None of them is proven, so that nothing says which advice was better.");
        return;
    }
    let n = real(scores.len());
    let up = scores.iter().filter(|(before, after)| after - before > 0.01).count();
    let down = scores.iter().filter(|(before, after)| before - after > 0.01).count();
    let mean = |which: fn(&(f64, f64)) -> f64| scores.iter().map(which).sum::<f64>() / n;
    let (before, after) = (mean(|s| s.0), mean(|s| s.1));
    doc.para(format!(
        "Of {} the true cause went up in {up} and down in {down} when its remedy was chosen. Mean \
         log score {before:.3} → {after:.3}: its probability is multiplied by {:.2} on average.",
        words::count(scores.len(), "proven job", "proven jobs"),
        (after - before).exp()
    ));
}

fn line(knowledge: &Knowledge, decision: &Decision) -> String {
    let Decision { entry, before, after } = decision;
    let mut parts = Vec::new();
    if !before.same_first(after) {
        parts.push(format!(
            "first suspect {} → {}",
            first(knowledge, before),
            first(knowledge, after)
        ));
    }
    if !before.same_step(after) {
        let step = |said: &Said| words::lower_first(&said.step);
        parts.push(format!("next: {} → {}", step(before), step(after)));
    }
    if parts.is_empty() {
        parts.push(format!(
            "{}; next: {}",
            first(knowledge, before),
            words::lower_first(&before.step)
        ));
    }
    format!("After entry {entry}: {}.", parts.join("; "))
}

fn first(knowledge: &Knowledge, said: &Said) -> String {
    match &said.first {
        Some((id, place, p)) => {
            let name = words::lower_first(&name_of(knowledge, id));
            format!("{name} at {place} ({})", words::percent(*p))
        }
        None => "nothing wrong".to_owned(),
    }
}

fn name_of(knowledge: &Knowledge, id: &str) -> String {
    knowledge.cause(id).map_or_else(|| id.to_owned(), |index| knowledge.causes[index].name.clone())
}
