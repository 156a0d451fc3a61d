//! The pictures of a job: what was read and worked out, put into words and numbers for
//! [`figure`](super::figure).

use std::collections::BTreeMap;

use facts::job::arrangement::Arrangement;
use facts::job::entry::{Journal, Reading, What};
use facts::job::fit::FitLine;
use facts::job::timeline::{ReadingSet, Timeline};
use facts::knowledge::{Item, Knowledge, RunningPoint};
use judge::diagnosis::{Assessment, Fault, Moment, by_chance};
use judge::plan::{Branch, Choice, Step};
use measure::engine::{Cylinder, ProbeSite};
use measure::readings::outlier::median;
use measure::units::Scale;

use super::figure::{
    BranchLine, Branches, Chart, Course, CourseRow, Figure, Level, LevelRow, LevelSet, Levels,
    Swap, SwapRow,
};
use super::{steps, terms, words};

/// Natural spreads on either side of the middle that healthy displays keep within, 19 of 20 times.
pub(super) const BAND: f64 = 2.0;
/// Suspects whose course is drawn.
const SUSPECTS: usize = 5;
/// An outcome that is rarer is left out of the plan's picture; the page of the step has all.
const WORTH_A_BRANCH: f64 = 0.02;
/// A suspect that never had a larger share is left out.
const WORTH_A_ROW: f64 = 0.05;
/// Exchanges that are drawn: the first ones; the list of work has all.
const EXCHANGES: usize = 2;

/// Where readings were taken: with which probes, at which running point.
pub(super) type Point = (ProbeSite, RunningPoint);

/// Temperatures at each running point, before the remedy and after it.
///
/// Before is the first set at a point, which is the complaint; after is the last. Without a
/// remedy the last one stands alone, or beside the first if parts were moved between them.
#[must_use]
pub(super) fn levels(
    knowledge: &Knowledge,
    timeline: &Timeline,
    scale: Scale,
) -> Vec<(Point, Figure)> {
    let mut points: BTreeMap<Point, Vec<&ReadingSet>> = BTreeMap::new();
    for set in &timeline.sets {
        points.entry((set.site, set.at)).or_default().push(set);
    }
    let remedy = timeline.disturbances.iter().rev().find(|d| d.remedied.is_some()).map(|d| d.entry);
    points
        .into_iter()
        .map(|((site, at), sets)| {
            let (first, last) = (sets[0], sets[sets.len() - 1]);
            let after_remedy = remedy.is_some_and(|entry| last.entry > entry);
            let shown: Vec<(&str, &ReadingSet)> = if first.entry == last.entry {
                let name = if after_remedy { "after" } else { "read" };
                vec![(name, last)]
            } else if after_remedy {
                vec![("before", first), ("after", last)]
            } else {
                vec![("first", first), ("last", last)]
            };
            let name = terms::point_and_site(at, site, timeline.engine.probes);
            let title = format!("Temperatures at {name}");
            let chart = level_chart(knowledge, timeline, &shown, scale);
            let figure = Figure { desc: level_words(&chart), title, chart: Chart::Levels(chart) };
            ((site, at), figure)
        })
        .collect()
}

fn level_chart(
    knowledge: &Knowledge,
    timeline: &Timeline,
    shown: &[(&str, &ReadingSet)],
    scale: Scale,
) -> Levels {
    let sets = shown
        .iter()
        .map(|&(name, set)| LevelSet {
            name: name.to_owned(),
            long: format!("{name}, entry {}", set.entry),
            band: band(knowledge, timeline, set)
                .map(|(lo, hi)| (scale.from_celsius(lo), scale.from_celsius(hi))),
        })
        .collect();
    let rows = timeline
        .engine
        .all()
        .map(|display| LevelRow {
            label: display.to_string(),
            values: shown.iter().map(|(_, set)| level(shows(set, display), scale)).collect(),
        })
        .collect();
    Levels { unit: scale.sign(), of: "display", within: "healthy ones keep in here", sets, rows }
}

/// A measure of a line.
type Of = fn(&FitLine) -> Option<f64>;

/// How deep each measured probe sits, against what counts as equal.
#[must_use]
pub(super) fn depths(timeline: &Timeline, equal: f64) -> Option<Figure> {
    let lines = timeline.sheet.lines();
    let kinds: [(&str, Of); 2] =
        [("depth past the inner wall", |l| l.depth), ("stem outside", |l| l.stem)];
    let (name, of) =
        kinds.into_iter().find(|(_, of)| lines.values().filter(|l| of(l).is_some()).count() > 1)?;
    let known: Vec<f64> = lines.values().filter_map(of).collect();
    let middle = median(&known)?;
    let rows = timeline
        .engine
        .all()
        .map(|cylinder| LevelRow {
            label: cylinder.to_string(),
            values: vec![
                lines
                    .get(&cylinder)
                    .and_then(of)
                    .map_or_else(|| Level::Word("–".to_owned()), Level::Number),
            ],
        })
        .collect();
    let set = LevelSet {
        name: "measured".to_owned(),
        long: name.to_owned(),
        band: Some((middle - equal, middle + equal)),
    };
    let within = "as good as equal";
    let chart = Levels { unit: "mm", of: "cylinder", within, sets: vec![set], rows };
    Some(Figure {
        title: "How the probes sit".to_owned(),
        desc: level_words(&chart)
            .replace("display", "cylinder")
            .replace("healthy ones keep", within),
        chart: Chart::Levels(chart),
    })
}

/// The band of healthy displays about the middle of a set, °C.
fn band(knowledge: &Knowledge, timeline: &Timeline, set: &ReadingSet) -> Option<(f64, f64)> {
    let numbers: Vec<f64> = set.readings.iter().filter_map(|r| r.middle()).collect();
    let middle = median(&numbers)?;
    let reach = reach(knowledge, timeline, set);
    Some((middle - reach, middle + reach))
}

/// How far from the middle of a set healthy displays keep, °C.
pub(super) fn reach(knowledge: &Knowledge, timeline: &Timeline, set: &ReadingSet) -> f64 {
    BAND * knowledge.natural_sd(&timeline.engine, set.site, set.at)
}

fn shows(set: &ReadingSet, display: Cylinder) -> Reading {
    set.readings[usize::from(display) - 1]
}

fn level(reading: Reading, scale: Scale) -> Level {
    match reading {
        Reading::Degrees(t) => Level::Number(scale.show(t)),
        Reading::Erratic { lo, hi } => Level::Range(scale.show(lo), scale.show(hi)),
        other => Level::Word(words::reading(other, scale)),
    }
}

/// What there is to see, for who cannot see it.
fn level_words(chart: &Levels) -> String {
    let mut parts = Vec::new();
    for (index, set) in chart.sets.iter().enumerate() {
        let values: Vec<String> = chart
            .rows
            .iter()
            .map(|row| {
                let text = match &row.values[index] {
                    Level::Number(value) => format!("{value:.0}"),
                    Level::Range(lo, hi) => format!("{lo:.0} to {hi:.0}"),
                    Level::Word(word) => word.clone(),
                };
                format!("display {} {text}", row.label)
            })
            .collect();
        let band = set.band.map_or_else(String::new, |(lo, hi)| {
            format!("; healthy ones keep between {lo:.0} and {hi:.0}")
        });
        parts.push(format!(
            "{} in {}: {}{band}.",
            words::upper_first(&set.long),
            chart.unit,
            values.join(", ")
        ));
    }
    parts.join(" ")
}

/// An exchange with what the numbers did, for those that have readings on both sides.
#[must_use]
pub(super) fn exchanges(
    journal: &Journal,
    timeline: &Timeline,
    assessment: &Assessment,
    scale: Scale,
) -> Vec<Figure> {
    let mut figures = Vec::new();
    each_exchange(journal, timeline, |moved, sets| {
        if figures.len() < EXCHANGES {
            figures.push(moved.figure(timeline, assessment, sets, scale));
        }
    });
    figures
}

/// What the numbers did in each exchange that has readings on both sides, by its entry.
#[must_use]
pub(super) fn outcomes(
    journal: &Journal,
    timeline: &Timeline,
    assessment: &Assessment,
) -> BTreeMap<usize, String> {
    let mut outcomes = BTreeMap::new();
    each_exchange(journal, timeline, |moved, (first, then)| {
        let odd = [standing_out(assessment, first), standing_out(assessment, then)];
        outcomes.insert(moved.entry, outcome(&odd));
    });
    outcomes
}

/// Every exchange with the reading sets before and after it.
fn each_exchange(
    journal: &Journal,
    timeline: &Timeline,
    mut tell: impl FnMut(&Moved<'_>, (usize, usize)),
) {
    let mut now = Arrangement::original(timeline.engine.cylinders);
    for (number, entry) in journal.standing() {
        let What::Exchange { item, a, b } = entry.what else { continue };
        let before = now.clone();
        now.exchange(&timeline.engine, item, a, b);
        let moved = Moved { entry: number, item, a, b, before: &before };
        if let Some(sets) = sets_about(timeline, &moved, &now) {
            tell(&moved, sets);
        }
    }
}

/// An exchange as it stands in the journal.
struct Moved<'a> {
    entry: usize,
    item: Item,
    a: Cylinder,
    b: Cylinder,
    before: &'a Arrangement,
}

/// The last set with parts as they were before, and the first one after, at one running point.
fn sets_about(timeline: &Timeline, moved: &Moved<'_>, now: &Arrangement) -> Option<(usize, usize)> {
    let next = timeline.disturbances.iter().map(|d| d.entry).find(|&entry| entry > moved.entry);
    let (then, after) = timeline.sets.iter().enumerate().find(|(_, set)| {
        let soon = next.is_none_or(|next| set.entry < next);
        set.entry > moved.entry && soon && set.is_settled() && set.arrangement == *now
    })?;
    let first = timeline.sets[..then].iter().rposition(|set| {
        set.entry < moved.entry
            && set.at == after.at
            && set.site == after.site
            && set.arrangement == *moved.before
    })?;
    Some((first, then))
}

impl Moved<'_> {
    fn figure(
        &self,
        timeline: &Timeline,
        assessment: &Assessment,
        sets: (usize, usize),
        scale: Scale,
    ) -> Figure {
        let (first, then) = (&timeline.sets[sets.0], &timeline.sets[sets.1]);
        let odd = [standing_out(assessment, sets.0), standing_out(assessment, sets.1)];
        let involved: Vec<Cylinder> = [self.a, self.b]
            .into_iter()
            .map(|position| match self.item {
                Item::LeadAtBox => position,
                _ => self.before.display_of(position),
            })
            .collect();
        let rows: Vec<SwapRow> = timeline
            .engine
            .all()
            .map(|display| {
                let read = [shows(first, display), shows(then, display)];
                SwapRow {
                    label: display.to_string(),
                    texts: read.map(|r| words::reading(r, scale)),
                    values: read.map(|r| r.middle().map(|v| scale.from_celsius(v))),
                    odd: [odd[0].contains(&display), odd[1].contains(&display)],
                    involved: involved.contains(&display),
                }
            })
            .collect();
        let name = |position| {
            let number = self.before.item_at(self.item, position);
            format!("{} {number}", terms::kind(self.item))
        };
        let outcome = outcome(&odd);
        let chart = Swap {
            unit: scale.sign(),
            places: [self.a, self.b].map(|p| terms::position(self.item, p)),
            items: [name(self.a), name(self.b)],
            when: [first.entry, then.entry].map(|entry| format!("entry {entry}")),
            rows,
            outcome: outcome.clone(),
        };
        let about = terms::two_items(self.item, self.a, self.b);
        let title = format!("Entry {}: {about} exchanged", self.entry);
        let changes: Vec<String> = chart
            .rows
            .iter()
            .map(|row| format!("display {} {} then {}", row.label, row.texts[0], row.texts[1]))
            .collect();
        let desc = format!(
            "Before and after the exchange, in {}: {}. {outcome}",
            chart.unit,
            changes.join(", ")
        );
        Figure { title: words::upper_first(&title), desc, chart: Chart::Swap(chart) }
    }
}

/// Displays that stand out of a set: beyond the band, or without a steady number.
pub(super) fn standing_out(assessment: &Assessment, set: usize) -> Vec<Cylinder> {
    let of_set = assessment.oddness.iter().filter(|odd| odd.set == set);
    of_set
        .filter(|odd| odd.sigmas.is_none_or(|sigmas| sigmas.abs() >= BAND))
        .map(|odd| odd.display)
        .collect()
}

/// What the numbers did, without saying what that proves.
fn outcome([before, after]: &[Vec<Cylinder>; 2]) -> String {
    let named = |list: &[Cylinder]| {
        let numbers: Vec<String> = list.iter().map(ToString::to_string).collect();
        let (noun, verb) =
            if list.len() == 1 { ("Display", "stands") } else { ("Displays", "stand") };
        (format!("{noun} {}", words::list(&numbers)), verb)
    };
    match (before.as_slice(), after.as_slice()) {
        ([], []) => "No display stood out, and none does.".to_owned(),
        ([], after) => {
            let (who, verb) = named(after);
            format!("None stood out before; {} {verb} out now.", words::lower_first(&who))
        }
        (before, []) => format!("{} stood out before; none does now.", named(before).0),
        ([one], [other]) if one != other => {
            format!("What stood out on display {one} stands out on display {other} now.")
        }
        (before, after) if before == after => {
            let (who, verb) = named(after);
            format!("{who} still {verb} out.")
        }
        (before, after) => {
            let (who, verb) = named(after);
            format!(
                "{} stood out before, {} {verb} out now.",
                named(before).0,
                words::lower_first(&who)
            )
        }
    }
}

/// The suspects over the course of a job; nothing before there is a course.
#[must_use]
pub fn course(knowledge: &Knowledge, timeline: &Timeline, moments: &[Moment]) -> Option<Figure> {
    let now = moments.last().filter(|_| moments.len() > 2)?;
    let share = |moment: &Moment, fault: Fault| {
        let found = moment.suspects.iter().find(|suspect| suspect.fault == fault);
        found.map_or(0.0, |suspect| suspect.probability)
    };
    // Who led at some moment is part of the story, even if long cleared.
    let mut shown: Vec<Fault> = Vec::new();
    let led = moments.iter().skip(1).filter_map(|moment| moment.suspects.first());
    let leading = now.suspects.iter().take(SUSPECTS - 2);
    for suspect in leading.chain(led).chain(&now.suspects) {
        if shown.len() < SUSPECTS && !shown.contains(&suspect.fault) {
            shown.push(suspect.fault);
        }
    }
    // Nor is a row worth its place that never was more than a line.
    shown.retain(|&fault| moments.iter().any(|moment| share(moment, fault) >= WORTH_A_ROW));
    shown.sort_by(|&a, &b| by_chance(share(now, b), share(now, a)));
    let rows: Vec<CourseRow> = shown
        .into_iter()
        .map(|fault| CourseRow {
            label: terms::fault_now(knowledge, timeline, fault),
            shares: moments.iter().map(|moment| share(moment, fault)).collect(),
        })
        .collect();
    if rows.is_empty() {
        return None;
    }
    let columns = moments.iter().map(|moment| moment.entry.to_string()).collect();
    let told: Vec<String> = rows
        .iter()
        .map(|row| {
            let shares: Vec<String> = row.shares.iter().map(|&p| words::percent(p)).collect();
            format!("{}: {}", row.label, shares.join(", "))
        })
        .collect();
    Some(Figure {
        title: "How the suspects stood after each entry".to_owned(),
        desc: format!("From the start to now. {}.", told.join(". ")),
        chart: Chart::Course(Course { columns, rows }),
    })
}

/// What to do and what then, as far as it was thought through.
#[must_use]
pub(super) fn plan(knowledge: &Knowledge, timeline: &Timeline, best: &Choice) -> Option<Figure> {
    if best.branches.is_empty() || matches!(best.step, Step::End(_)) {
        return None;
    }
    let chart = branches(knowledge, timeline, best);
    let told: Vec<String> = chart
        .lines
        .iter()
        .map(|line| {
            let then = line.then.as_ref().map_or("", |then| &then.step);
            format!("If {} ({}): {}.", line.seen, line.chance, words::lower_first(then))
        })
        .collect();
    Some(Figure {
        title: "The plan".to_owned(),
        desc: format!("First: {}. {}", words::lower_first(&chart.step), told.join(" ")),
        chart: Chart::Branches(chart),
    })
}

/// A step with its outcomes, the most probable first.
pub(super) fn branches(knowledge: &Knowledge, timeline: &Timeline, choice: &Choice) -> Branches {
    let mut sorted: Vec<&Branch> = choice.branches.iter().collect();
    sorted.sort_by(|a, b| by_chance(b.probability, a.probability));
    let step = |step| words::upper_first(&steps::step(knowledge, timeline, step));
    let lines = sorted
        .into_iter()
        .filter(|branch| branch.probability >= WORTH_A_BRANCH)
        .map(|branch| BranchLine {
            seen: if branch.text.is_empty() {
                branch.id.clone()
            } else {
                words::lower_first(branch.text.trim_end_matches('.'))
            },
            chance: words::percent(branch.probability),
            // Only the cause: what it will be worth then is not what it is worth now.
            leads: branch.leads.map_or_else(String::new, |(fault, _)| {
                format!("then leads: {}", words::lower_first(&terms::fault(knowledge, fault)))
            }),
            then: branch.then.map(|then| {
                Box::new(Branches { step: step(then), takes: String::new(), lines: Vec::new() })
            }),
        })
        .collect();
    Branches { step: step(choice.step), takes: words::cost(choice.cost), lines }
}
