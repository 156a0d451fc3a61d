//! Running points: where the engine is held while readings are taken, what each is called and what it asks for.
//!
//! A handle is a word long and says all about its point, so that whoever has one asks its attributes and no id.
//! It must not know what a cause does there.

use std::fmt;
use std::ops::Deref;
use std::sync::{LazyLock, Mutex, PoisonError};

use measure::engine::{PointId, Regime};
use measure::named_enum;

use super::Thermal;

named_enum! {
    /// How much the engine works at a point: guards ask this, and no id.
    Load, "load" {
        /// It stands, or turns without work.
        None = "none",
        /// Part load: held where what reads hot there is not run.
        Part = "part",
        /// Full load, or what harms a hot cylinder as much: worked up to, and held back while one is possible.
        Full = "full",
    }
}

/// What is known of a running point.
#[derive(Debug, PartialEq)]
pub struct Point {
    /// Stable id.
    pub id: PointId,
    /// Its name, as "warm idle".
    pub name: String,
    /// How the session offers it, as "steady cruise, part load".
    pub asked: String,
    /// Words by which a complaint names it.
    pub words: Vec<String>,
    /// The engine's state there.
    pub thermal: Thermal,
    /// Its position in the order in which points are asked for, by what they ask of the engine.
    pub place: usize,
    /// The engine is warm and held there, so that readings can be judged.
    pub settled: bool,
    /// How much the engine works there.
    pub load: Load,
    /// It is run only once that was said to be safe.
    pub confirm: bool,
    /// Readings there belong to every job.
    pub routine: bool,
    /// The point whose figures it has where it has none of its own; none of those that physics knows.
    pub like: Option<RunningPoint>,
    /// The one that physics knows and that it is like.
    pub regime: Regime,
    /// How many times as much a fault does there as at the point it is like.
    pub factor: f64,
}

/// A running point of a knowledge base.
///
/// Rows are kept for as long as the program runs, each once however often a knowledge base is loaded.
#[derive(Clone, Copy)]
pub struct RunningPoint(&'static Point);

impl RunningPoint {
    /// Keeps a row.
    pub(crate) fn keep(point: Point) -> Self {
        static KEPT: Mutex<Vec<&'static Point>> = Mutex::new(Vec::new());
        let mut kept = KEPT.lock().unwrap_or_else(PoisonError::into_inner);
        let like = |of: &Point| of.like.map(|like| std::ptr::from_ref(like.0));
        if let Some(known) =
            kept.iter().find(|known| ***known == point && like(known) == like(&point))
        {
            return Self(known);
        }
        let row: &'static Point = Box::leak(Box::new(point));
        kept.push(row);
        Self(row)
    }

    /// Its id, as files and command lines name it.
    #[must_use]
    pub fn as_str(self) -> &'static str {
        self.0.id.as_str()
    }

    /// Its name.
    #[must_use]
    pub fn name(self) -> &'static str {
        &self.0.name
    }

    /// Whether the engine works as hard there as a hot cylinder must not.
    #[must_use]
    pub fn is_full_load(self) -> bool {
        self.0.load == Load::Full
    }

    /// Whether the engine works there at all.
    #[must_use]
    pub fn is_load(self) -> bool {
        self.0.load > Load::None
    }

    /// Whether the engine stands there, soaked cold.
    #[must_use]
    pub fn is_cold(self) -> bool {
        self.0.regime == Regime::ColdSoak
    }

    /// Whether the engine warms up there, so that nothing is steady.
    #[must_use]
    pub fn is_warming(self) -> bool {
        self.0.regime == Regime::Warming
    }

    /// How many times as much as at the point that physics knows a fault does here.
    #[must_use]
    pub fn times_regime(self) -> f64 {
        self.line().map(|of| of.factor).product()
    }

    /// Itself, and each point it has figures of, the nearest first.
    fn line(self) -> impl Iterator<Item = Self> {
        std::iter::successors(Some(self), |point| point.0.like)
    }
}

impl Deref for RunningPoint {
    type Target = Point;
    fn deref(&self) -> &Point {
        self.0
    }
}

impl PartialEq for RunningPoint {
    fn eq(&self, other: &Self) -> bool {
        std::ptr::eq(self.0, other.0) || (self.0.place, self.0.id) == (other.0.place, other.0.id)
    }
}

impl Eq for RunningPoint {}

impl std::hash::Hash for RunningPoint {
    fn hash<H: std::hash::Hasher>(&self, state: &mut H) {
        (self.0.place, self.0.id).hash(state);
    }
}

impl Ord for RunningPoint {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        (self.0.place, self.0.id).cmp(&(other.0.place, other.0.id))
    }
}

impl PartialOrd for RunningPoint {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl fmt::Display for RunningPoint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

impl fmt::Debug for RunningPoint {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(self.as_str())
    }
}

/// The running points of a knowledge base, in the order in which they are asked for.
#[derive(Debug, Clone, PartialEq)]
pub struct Points {
    all: Vec<RunningPoint>,
    /// Those that physics knows, in the order of [`Regime::ALL`].
    regimes: [RunningPoint; 5],
}

impl Points {
    /// Of rows in their order; the loader sees to it that those of physics are among them.
    pub(crate) fn new(all: Vec<RunningPoint>, regimes: [RunningPoint; 5]) -> Self {
        Self { all, regimes }
    }

    /// Those of the built-in knowledge base: for what knows no job, as questions about a probe, and for tests.
    #[must_use]
    pub fn built_in() -> &'static Self {
        static BUILT_IN: LazyLock<Points> = LazyLock::new(crate::knowledge::built_in_points);
        &BUILT_IN
    }

    /// All of them.
    #[must_use]
    pub fn iter(&self) -> impl DoubleEndedIterator<Item = RunningPoint> + '_ {
        self.all.iter().copied()
    }

    /// The one of an id.
    #[must_use]
    pub fn get(&self, id: PointId) -> Option<RunningPoint> {
        self.iter().find(|point| point.id == id)
    }

    /// The one that a word names.
    #[must_use]
    pub fn named(&self, word: &str) -> Option<RunningPoint> {
        self.iter().find(|point| point.as_str() == word)
    }

    /// The one that physics knows by a regime.
    #[must_use]
    pub fn of(&self, regime: Regime) -> RunningPoint {
        regime.of_five(self.regimes)
    }

    /// Those at which a warm engine is held, so that readings can be judged.
    #[must_use]
    pub fn settled(&self) -> impl DoubleEndedIterator<Item = RunningPoint> + '_ {
        self.iter().filter(|point| point.settled)
    }

    /// Those at which readings are kept for later jobs: not while it warms up, when nothing is steady.
    #[must_use]
    pub fn kept(&self) -> impl DoubleEndedIterator<Item = RunningPoint> + '_ {
        self.iter().filter(|point| point.settled || point.is_cold())
    }

    /// Those that physics knows and at which a warm engine is held: idle, cruise, full load.
    #[must_use]
    pub fn steady(&self) -> [RunningPoint; 3] {
        Regime::STEADY.map(|regime| self.of(regime))
    }

    /// Those at which every job has readings, by what they ask of the engine.
    #[must_use]
    pub fn routine(&self) -> impl DoubleEndedIterator<Item = RunningPoint> + '_ {
        self.iter().filter(|point| point.routine)
    }

    /// Their ids.
    #[must_use]
    pub fn ids(&self) -> Vec<&'static str> {
        self.iter().map(RunningPoint::as_str).collect()
    }
}

/// A figure for each running point: one for each that physics knows, and others' own.
#[derive(Debug, Clone, PartialEq)]
pub struct PerPoint<T> {
    /// At cold soak, warming up, idle, cruise, full load.
    regimes: [T; 5],
    /// Of points that have their own.
    own: Vec<(PointId, T)>,
}

impl<T: Copy> PerPoint<T> {
    /// With figures of points of their own.
    #[must_use]
    pub fn new(regimes: [T; 5], own: Vec<(PointId, T)>) -> Self {
        Self { regimes, own }
    }

    /// The figure at a point: its own, or that of the point it is like.
    #[must_use]
    pub fn at(&self, point: RunningPoint) -> T {
        own(&self.own, point).unwrap_or_else(|| point.regime.of_five(self.regimes))
    }

    /// What a point has beside the figures of those that physics knows.
    #[must_use]
    pub fn own(&self, point: RunningPoint) -> Option<T> {
        own(&self.own, point)
    }
}

impl<T: Copy> From<[T; 5]> for PerPoint<T> {
    fn from(regimes: [T; 5]) -> Self {
        Self::new(regimes, Vec::new())
    }
}

/// What a point has of its own, or the nearest that it is like.
pub(super) fn own<T: Copy>(own: &[(PointId, T)], point: RunningPoint) -> Option<T> {
    if own.is_empty() {
        return None;
    }
    point.line().find_map(|of| own.iter().find(|(id, _)| *id == of.id).map(|(_, figure)| *figure))
}

/// The factor on what a fault does at a point whose figures are those of another: from the one that has its own,
/// or from the one that physics knows.
pub(super) fn factor<T>(own: &[(PointId, T)], point: RunningPoint) -> f64 {
    let has_none = |of: &RunningPoint| own.iter().all(|(id, _)| *id != of.id);
    point.line().take_while(has_none).map(|of| of.factor).product()
}
