//! A virtual job: an engine with something the matter or nothing, and how it came to the workshop.
//!
//! First the kind of job is drawn, then engines of that kind until one has a display that somebody
//! would notice on the road. It draws parameters; what a display shows later is for `reading`.

use facts::job::complaint::Does;
use facts::job::entry::{EngineState, Reading};
use facts::knowledge::{Knowledge, Preset, Seat};
use measure::engine::{Cylinder, Engine, Regime};
use measure::named_enum;

use super::act::{Trouble, places};
use super::chance::Chance;
use super::field::Field;
use super::harm::{Kind, harm};
use super::nature::Nature;
use super::parts::Parts;
use super::reading::{Look, off_its_mates};
use super::size::{Effect, drawn, strange};

/// Something that is the matter, with its size.
#[derive(Debug, Clone, PartialEq)]
pub struct TrueFault {
    /// Which.
    pub trouble: Trouble,
    /// What it is attached to.
    pub seat: Seat,
    /// First numbers of the seats it is on.
    pub numbers: Vec<Cylinder>,
    /// What it does to a display.
    pub effect: Effect,
    /// What the engine does that a driver feels.
    pub felt: Option<Does>,
    /// Where it is in no list: the chance by which it takes after causes that are in it.
    pub pieces: Chance,
}

named_enum! {
    /// What kind of job it is.
    JobKind, "kind of job" {
        /// Somebody noticed a harmless spread.
        Sound = "sound",
        /// One fault of the list.
        One = "one-fault",
        /// Two of them.
        Two = "two-faults",
        /// A fault that is in no list.
        Unlisted = "unlisted",
    }
}

/// Shares of the kinds of job, in their order (assumed).
pub(super) const KINDS: [f64; 4] = [0.15, 0.67, 0.08, 0.10];
/// Share of faulty jobs in which some work was done lately that has to do with it; share of all in which
/// some was that has not (assumed).
pub(super) const WORK_RIGHT: f64 = 0.5;
pub(super) const WORK_WRONG: f64 = 0.15;

/// What the customer says.
#[derive(Debug, Clone, PartialEq)]
pub struct Said {
    /// Running point at which it was noticed.
    pub at: Regime,
    /// The display.
    pub display: Cylinder,
    /// What it does.
    pub does: Does,
    /// How much of it is said: nothing, in a sentence, in full.
    pub told: Told,
    /// Since the recent work.
    pub since: bool,
}

/// How much of the complaint the customer says.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Told {
    /// That something is odd.
    Little,
    /// A sentence with all of it.
    Sentence,
    /// The same, asked after and written down one by one.
    Full,
}

/// An engine that came in, before anything was read.
#[derive(Debug, Clone, PartialEq)]
pub struct VirtualEngine {
    /// The chance everything about it is drawn from.
    pub chance: Chance,
    /// Id of the preset.
    pub preset: String,
    /// How it is built.
    pub engine: Engine,
    /// What kind of job it is.
    pub kind: JobKind,
    /// Flags of recent work.
    pub recent: Vec<String>,
    /// What is the matter.
    pub faults: Vec<TrueFault>,
    /// What is natural to it.
    pub nature: Nature,
    /// The first readings are taken too early, and this display has not settled: °C.
    pub early: Option<(Cylinder, f64)>,
    /// The complaint.
    pub said: Said,
    /// How it stands in the workshop.
    pub state: EngineState,
}

/// Engines of a kind that are drawn before the last is taken as it is.
const DRAWS: u32 = 3000;
/// Usual spreads from which somebody notices a fault, and a harmless difference (assumed).
const NOTICED: f64 = 2.5;
const NOTICED_HARMLESS: f64 = 2.0;
/// Share of what was noticed that must be owed to what is the matter (assumed).
const OWED: f64 = 0.5;
/// Where a driver looks: at idle, cruise, full load (assumed).
const LOOKED: [(Regime, f64); 3] =
    [(Regime::Idle, 0.35), (Regime::Cruise, 0.45), (Regime::Full, 0.2)];
/// Shares of customers who say little, a sentence, all; who name the wrong display; who tell what they
/// feel rather than what they read; who connect it with the work done (assumed).
const TOLD: [f64; 3] = [0.15, 0.25, 0.6];
const WRONG_DISPLAY: f64 = 0.03;
const FELT: f64 = 0.4;
const SINCE: f64 = 0.5;
/// Engines that stood overnight; sound ones that are read too early (assumed).
const OVERNIGHT: f64 = 0.3;
const EARLY: f64 = 0.3;

impl VirtualEngine {
    /// The job of a number.
    #[must_use]
    pub fn came_in(field: &Field, preset: Option<&str>, seed: u64, number: u64) -> Option<Self> {
        let chance = Chance::seeded(seed).of("job").nth(number);
        let kind = JobKind::ALL[chance.of("kind").weighted(KINDS)];
        let mut last = None;
        for k in 0..DRAWS {
            let (noticed, job) = Self::draw(field, preset, kind, chance.nth(k))?;
            if noticed {
                return Some(job);
            }
            last = Some(job);
        }
        last
    }

    fn draw(
        field: &Field,
        preset: Option<&str>,
        kind: JobKind,
        chance: Chance,
    ) -> Option<(bool, Self)> {
        let presets = &field.plain.presets;
        let wanted = preset.and_then(|id| presets.iter().find(|p| p.id == id));
        let any = || presets.get(chance.of("preset").below(presets.len()));
        let preset: &Preset = wanted.or_else(any)?;
        let engine = preset.engine.clone();
        let nature = Nature::draw(&engine, chance.of("nature"));
        let faults = faults(field, &engine, &nature, kind, chance.of("faults"));
        let at = LOOKED[chance.of("looked").weighted(LOOKED.map(|(_, share)| share))].0;
        let early = (kind == JobKind::Sound && chance.of("early").happens(EARLY)).then(|| {
            let display =
                1 + u8::try_from(chance.of("late one").below(engine.cylinders.into())).unwrap_or(0);
            (display, -chance.of("late by").between([10.0, 60.0]))
        });
        let overnight = chance.of("overnight").happens(OVERNIGHT);
        let mut job = Self {
            chance,
            preset: preset.id.clone(),
            recent: recent(&field.plain, &faults, chance.of("recent")),
            engine,
            kind,
            faults,
            nature,
            early,
            said: Said { at, display: 1, does: Does::Low, told: Told::Little, since: false },
            state: if overnight { EngineState::ColdSoaked } else { EngineState::Warm },
        };
        let noticed = job.noticed(&field.plain, chance.of("road"));
        Some((noticed, job))
    }

    /// Reads the displays on the road, with whatever comes and goes there, and makes the complaint of
    /// the oddest; whether anybody would have noticed.
    fn noticed(&mut self, known: &Knowledge, chance: Chance) -> bool {
        let parts = Parts::new(&self.engine);
        let there = vec![true; self.faults.len()];
        let look = Look {
            job: self,
            parts: &parts,
            there: &there,
            at: self.said.at,
            refitted: &[],
            early: false,
        };
        let readings = look.readings(chance.of("read"));
        let usual =
            known.natural_sd(&self.engine, self.engine.probes, known.points.of(self.said.at));
        let odd = (1..).zip(&readings).map(|(display, reading)| {
            let off = off_its_mates(&readings, display);
            (display, *reading, off, off.map_or(f64::INFINITY, |off| off.abs() / usual))
        });
        let Some((display, reading, off, size)) =
            odd.max_by(|a, b| a.3.total_cmp(&b.3).then(b.0.cmp(&a.0)))
        else {
            return false;
        };
        let acting: Vec<&TrueFault> =
            self.faults.iter().filter(|f| look.acts_on(f, display)).collect();
        let felt = acting.iter().find_map(|f| f.felt).filter(|_| chance.of("felt").happens(FELT));
        let does = match (reading, off, felt) {
            (_, _, Some(felt)) => felt,
            (Reading::Erratic { .. }, ..) => Does::Jumps,
            (_, None, _) => Does::Dead,
            (_, Some(off), _) => {
                if off < 0.0 {
                    Does::Low
                } else {
                    Does::High
                }
            }
        };
        // A fault that hides in a natural difference is nobody's complaint.
        let by_faults: f64 = acting.iter().map(|f| f.effect.shift[self.said.at as usize]).sum();
        let jumped = matches!(reading, Reading::Erratic { .. });
        let plain = |f: &&TrueFault| {
            f.effect.names || f.effect.silence.is_some() || jumped && f.effect.jumps > 0.0
        };
        let mine = self.faults.is_empty()
            || acting.iter().any(plain)
            || off.is_some_and(|off| by_faults * off.signum() >= OWED * off.abs());
        let least = if self.faults.is_empty() { NOTICED_HARMLESS } else { NOTICED };
        let wrong = chance.of("wrong display").happens(WRONG_DISPLAY);
        let named = if wrong { display % self.engine.cylinders + 1 } else { display };
        let told = [Told::Little, Told::Sentence, Told::Full][chance.of("told").weighted(TOLD)];
        let since = !self.recent.is_empty() && chance.of("since").happens(SINCE);
        self.said = Said { at: self.said.at, display: named, does, told, since };
        mine && size >= least
    }
}

/// What is the matter, by the world's own frequencies.
fn faults(
    field: &Field,
    engine: &Engine,
    nature: &Nature,
    kind: JobKind,
    chance: Chance,
) -> Vec<TrueFault> {
    match kind {
        JobKind::Sound => Vec::new(),
        JobKind::One => {
            listed(field, engine, nature, None, chance.of("first")).into_iter().collect()
        }
        JobKind::Two => {
            let first = listed(field, engine, nature, None, chance.of("first"));
            let other = first.as_ref().map(|fault| fault.trouble);
            let second = listed(field, engine, nature, other, chance.of("second"));
            first.into_iter().chain(second).collect()
        }
        JobKind::Unlisted => {
            let cylinder =
                1 + u8::try_from(chance.of("where").below(engine.cylinders.into())).unwrap_or(0);
            vec![TrueFault {
                trouble: Trouble { cause: None, place: measure::engine::Place::Cylinder(cylinder) },
                seat: Seat::Cylinder,
                numbers: vec![cylinder],
                effect: strange(nature, chance.of("effect")),
                felt: None,
                pieces: chance.of("pieces"),
            }]
        }
    }
}

fn listed(
    field: &Field,
    engine: &Engine,
    nature: &Nature,
    but: Option<Trouble>,
    chance: Chance,
) -> Option<TrueFault> {
    let known = &field.plain;
    let weights: Vec<f64> = known
        .causes
        .iter()
        .zip(&field.tables.weights)
        .map(|(cause, weight)| {
            let possible = cause.applies.holds(engine)
                && harm(cause).kind != Kind::None
                && cause.remedy.is_some();
            let build: f64 = cause
                .weight_if
                .iter()
                .filter(|(when, _)| when.holds(engine))
                .map(|(_, f)| f)
                .product();
            if possible { weight * build } else { 0.0 }
        })
        .collect();
    let index = chance.of("cause").weighted(weights.iter().copied());
    let cause = &known.causes[index];
    let places = places(cause, engine);
    let place = *places.get(chance.of("place").below(places.len()))?;
    let trouble = Trouble { cause: Some(index), place };
    if but == Some(trouble) {
        return None;
    }
    let effect = drawn(cause, engine, nature, chance.of("effect"));
    let felt = match harm(cause).kind {
        Kind::Missing => Some(Does::Misses),
        Kind::Knock => Some(Does::Pings),
        _ => None,
    };
    let (seat, numbers) = (cause.seat, place.cylinders(engine));
    Some(TrueFault { trouble, seat, numbers, effect, felt, pieces: chance.of("pieces") })
}

/// Work done lately: some that makes what is the matter likelier, or some that has nothing to do with it.
fn recent(known: &Knowledge, faults: &[TrueFault], chance: Chance) -> Vec<String> {
    let speaks = |flag: &str| {
        let causes = faults.iter().filter_map(|fault| fault.trouble.cause);
        causes.filter_map(|cause| known.causes[cause].recent.get(flag)).any(|factor| *factor > 1.0)
    };
    let (right, wrong): (Vec<&str>, Vec<&str>) =
        known.recent.iter().map(|work| work.id.as_str()).partition(|flag| speaks(flag));
    let share = chance.of("share").uniform();
    let right_share = if faults.is_empty() { 0.0 } else { WORK_RIGHT };
    let list = if share < right_share {
        right
    } else if share < right_share + WORK_WRONG {
        wrong
    } else {
        return Vec::new();
    };
    let one = list.get(chance.of("which").below(list.len()));
    one.map(|flag| (*flag).to_owned()).into_iter().collect()
}
