//! What is watched while an engine runs: each row of a live log held against heat and limits.
//!
//! The rules are those of [`crate::heat`] and [`crate::limits`]; here is only when an alarm begins and ends,
//! and what led to it. Memory is a ring of rows, however long it runs. It must not read, print, look at a
//! clock, or judge what is wrong with the engine.

mod record;
#[cfg(test)]
mod tests;

use std::collections::BTreeMap;

use crate::heat::{self, Heat, Reason, Verdict};
use crate::limits::Limit;
use facts::job::entry::Reading;
use facts::job::timeline::Timeline;
use facts::knowledge::{Knowledge, Points, RunningPoint};
use measure::engine::{Cylinder, ProbeSite, Regime};
use measure::readings::log::{Moment, point_at};
use measure::readings::outlier::{median, median_of_mates};
use measure::units::Celsius;

pub use record::Kept;
use record::Record;

/// Seconds without a reason for it after which an alarm has ended (common practice, no source: probes follow in
/// a few seconds, and a number about its limit must not ring at every row).
const CALM: f64 = 10.0;

/// Seconds for which a heavier point is remembered, in exhausts and on heads: until metal and probes have followed to a
/// lighter one its bounds mean nothing (common practice, no source: three time constants of sheath and boss, of a head).
const FOLLOWS: [f64; 2] = [60.0, 180.0];

/// What rows are held against.
#[derive(Debug, Clone, Copy)]
pub struct Bounds<'a> {
    /// The knowledge base, for the bounds of heat.
    pub knowledge: &'a Knowledge,
    /// The job, for the engine, its builder's limit and its record.
    pub timeline: &'a Timeline,
    /// The warning limits that were set.
    pub limits: &'a [Limit],
    /// Which probes the displays are of.
    pub site: ProbeSite,
}

/// What begins or ends with a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Event {
    /// Something must stop the engine.
    Stop(Heat),
    /// Something must be watched, or the numbers are none of a running engine.
    Watch(Heat),
    /// Nothing of the kind any more.
    Cool,
    /// A display has strayed from its usual place for as long as its limit allows, by so much, °C.
    Strayed {
        /// The display.
        display: Cylinder,
        /// From its usual place.
        by: f64,
        /// Its limit.
        limit: f64,
    },
    /// It is back.
    Back(Cylinder),
    /// What led to a stop and what came after it is complete.
    Recorded(Vec<Kept>),
}

impl Event {
    /// The word of JSON.
    #[must_use]
    pub fn as_str(&self) -> &'static str {
        match self {
            Self::Stop(heat) | Self::Watch(heat) => heat.verdict.as_str(),
            Self::Cool => "cool",
            Self::Strayed { .. } => "strayed",
            Self::Back(_) => "back",
            Self::Recorded(_) => "recorded",
        }
    }
}

/// One display at the last row.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Level {
    /// What it reads, °C; `None` where it shows no number.
    pub value: Option<f64>,
    /// From the median of the others, °C.
    pub off: Option<f64>,
    /// Where that usually is, and how far from there a healthy display strays, °C.
    pub band: Option<(f64, f64)>,
}

/// The displays at the last row.
#[derive(Debug, Clone, PartialEq)]
pub struct Levels {
    /// Seconds since the first row.
    pub seconds: f64,
    /// The running point, where it is known.
    pub at: Option<RunningPoint>,
    /// Speed, in the log's unit.
    pub speed: Option<f64>,
    /// Load, in the log's unit.
    pub load: Option<f64>,
    /// Each display, in order.
    pub displays: Vec<Level>,
}

/// An alarm that stands.
#[derive(Debug, Clone, Copy)]
struct Standing {
    verdict: Verdict,
    /// When there was last a reason for it.
    last: f64,
}

/// A row beside what it is held against.
#[derive(Clone, Copy)]
struct Held<'a> {
    bounds: Bounds<'a>,
    at: Option<RunningPoint>,
    seconds: f64,
    values: &'a [Option<f64>],
}

/// The alarms of a log that is being written.
#[derive(Debug, Default)]
pub struct Watch {
    /// The running point, where it was said.
    at: Option<RunningPoint>,
    first: Option<f64>,
    heat: Option<Standing>,
    /// When each running point was last met.
    met: BTreeMap<RunningPoint, f64>,
    /// Since when a display is beyond its limit, and whether that was told.
    beyond: BTreeMap<Cylinder, (f64, bool)>,
    record: Record,
    last: Option<Last>,
}

/// The last row.
#[derive(Debug)]
struct Last {
    seconds: f64,
    at: Option<RunningPoint>,
    speed: Option<f64>,
    load: Option<f64>,
    values: Vec<Option<f64>>,
}

impl Watch {
    /// Watches an engine that is held at a point, if that was said.
    #[must_use]
    pub fn new(at: Option<RunningPoint>) -> Self {
        Self { at, ..Self::default() }
    }

    /// The displays at the last row, for whoever looks: far fewer do than there are rows.
    #[must_use]
    pub fn levels(&self, bounds: Option<Bounds<'_>>) -> Option<Levels> {
        let Last { seconds, at, speed, load, values } = self.last.as_ref()?;
        let displays = (0..values.len()).map(|index| level(bounds, *at, values, index)).collect();
        Some(Levels { seconds: *seconds, at: *at, speed: *speed, load: *load, displays })
    }

    /// Seconds from the first row to the last.
    #[must_use]
    pub fn seconds(&self) -> Option<f64> {
        self.last.as_ref().map(|last| last.seconds)
    }

    /// Whether something must stop the engine now.
    #[must_use]
    pub fn stops(&self) -> bool {
        self.heat.is_some_and(|standing| standing.verdict == Verdict::Stop)
    }

    /// What led to the stop that stands, and what came after it so far.
    #[must_use]
    pub fn led(&self) -> &[Kept] {
        self.record.led()
    }

    /// What is left to be kept when the log ends.
    #[must_use]
    pub fn end(&mut self) -> Option<Vec<Kept>> {
        self.record.end()
    }

    /// Takes a row in, and says what begins or ends with it.
    pub fn row(&mut self, bounds: Option<Bounds<'_>>, moment: &Moment<'_>) -> Vec<Event> {
        let first = *self.first.get_or_insert(moment.time);
        let seconds = moment.time - first;
        let values: Vec<Option<f64>> =
            moment.displays.iter().map(|v| (!v.is_nan()).then_some(*v)).collect();
        let numbers: Vec<f64> = values.iter().flatten().copied().collect();
        let points = bounds.as_ref().map_or(Points::built_in(), |bounds| &bounds.timeline.points);
        let guess = || point_at(moment.speed, moment.load, median(&numbers), &moment.range).point;
        let at = self.at.or_else(|| guess().map(|regime| points.of(regime)));
        let mut events = Vec::new();
        if let Some(bounds) = bounds {
            let held = Held { bounds, at, seconds, values: &values };
            self.hot(held, &mut events);
            self.strayed(held, &mut events);
        }
        let kept =
            || Kept { seconds, displays: values.clone(), speed: moment.speed, load: moment.load };
        events.extend(self.record.row(seconds, kept).map(Event::Recorded));
        let (speed, load) = (moment.speed, moment.load);
        self.last = Some(Last { seconds, at, speed, load, values });
        events
    }

    fn hot(&mut self, held: Held<'_>, events: &mut Vec<Event>) {
        let Held { bounds, at, seconds, values } = held;
        // Where nothing tells the point the bounds of full load hold: they are the highest, and what is above
        // them is too hot anywhere.
        let point = at.map_or_else(
            || bounds.timeline.points.of(Regime::Full),
            |at| self.heaviest(bounds.site, at, seconds),
        );
        let reading = |value: &Option<f64>| {
            let degrees = value.and_then(|value| Celsius::new(value).ok());
            degrees.map_or(Reading::Open, Reading::Degrees)
        };
        let readings: Vec<Reading> = values.iter().map(reading).collect();
        let (knowledge, timeline) = (bounds.knowledge, bounds.timeline);
        let heat = heat::of_readings(knowledge, timeline, bounds.site, point, &readings)
            .filter(|heat| at.is_some() || heat.verdict == Verdict::Stop)
            // An engine that has just started is cold everywhere.
            .filter(|heat| !heat.why.iter().any(|why| matches!(why, Reason::TooCold(_))));
        let stood = self.heat.map(|standing| standing.verdict);
        match (heat, stood) {
            (Some(heat), stood) => {
                let verdict = stood.map_or(heat.verdict, |stood| stood.max(heat.verdict));
                self.heat = Some(Standing { verdict, last: seconds });
                if stood.is_none_or(|stood| heat.verdict > stood) {
                    if heat.verdict == Verdict::Stop {
                        self.record.begin(seconds);
                        events.push(Event::Stop(heat));
                    } else {
                        events.push(Event::Watch(heat));
                    }
                }
            }
            (None, Some(_)) => {
                let over = |standing: &Standing| {
                    seconds >= standing.last + CALM || seconds < standing.last
                };
                if self.heat.as_ref().is_some_and(over) {
                    self.heat = None;
                    events.push(Event::Cool);
                }
            }
            (None, None) => {}
        }
    }

    /// The heaviest of the running points that the displays may still show something of.
    fn heaviest(&mut self, site: ProbeSite, at: RunningPoint, seconds: f64) -> RunningPoint {
        let follows = FOLLOWS[usize::from(site == ProbeSite::Head)];
        self.met.insert(at, seconds);
        self.met.retain(|_, last| (seconds - follows..=seconds).contains(last));
        self.met.keys().copied().max().unwrap_or(at)
    }

    fn strayed(&mut self, held: Held<'_>, events: &mut Vec<Event>) {
        let Held { bounds, at, seconds, values } = held;
        let all: Vec<f64> = values.iter().flatten().copied().collect();
        // Without all displays the mean is another.
        let count = if all.len() == values.len() { u32::try_from(all.len()).ok() } else { None };
        let Some(count) = count.filter(|count| *count > 1) else { return };
        let mean = all.iter().sum::<f64>() / f64::from(count);
        // A log that was begun anew has other times.
        self.beyond.retain(|_, (since, _)| *since <= seconds);
        for limit in bounds.limits {
            let own = usize::from(limit.display).checked_sub(1).and_then(|i| all.get(i));
            let Some(value) = own.filter(|_| Some(limit.kind.at) == at) else { continue };
            if limit.kind.site != bounds.site {
                continue;
            }
            let by = value - mean - limit.usual;
            if by.abs() < limit.rule.limit {
                if self.beyond.remove(&limit.display).is_some_and(|(_, told)| told) {
                    events.push(Event::Back(limit.display));
                }
                continue;
            }
            let beyond = self.beyond.get(&limit.display).copied();
            let (since, told) = beyond.unwrap_or((seconds, false));
            let due = !told && seconds - since >= limit.rule.delay;
            self.beyond.insert(limit.display, (since, told || due));
            if due {
                let (display, limit) = (limit.display, limit.rule.limit);
                events.push(Event::Strayed { display, by, limit });
            }
        }
    }
}

/// One display beside its mates.
fn level(
    bounds: Option<Bounds<'_>>,
    at: Option<RunningPoint>,
    values: &[Option<f64>],
    index: usize,
) -> Level {
    let value = values[index];
    let off = value.and_then(|value| Some(value - median_of_mates(values, index)?));
    let band = bounds.zip(at).map(|(bounds, at)| {
        let display = Cylinder::try_from(index + 1).unwrap_or(Cylinder::MAX);
        let history = bounds.timeline.history.as_ref();
        let usual = history.and_then(|history| history.at(bounds.site, at)?.of(display));
        let sd = bounds.knowledge.natural_sd(&bounds.timeline.engine, bounds.site, at);
        let (usual, sd) = usual.unwrap_or((0.0, sd));
        (usual, heat::SPREADS * sd)
    });
    Level { value, off, band }
}
