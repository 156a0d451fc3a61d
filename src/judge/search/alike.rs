//! How unlike the readings of two jobs are.
//!
//! Of each job the two displays that stand out most are compared, at the running points that both
//! have, before anything was touched. A display's difference from the median of its mates is taken in
//! natural spreads of its engine at that point, `z`; what is within two of them is nothing, and of the
//! rest the inverse hyperbolic sine is taken:
//!
//! `u = asinh(sign(z) · max(|z| − 2, 0))`, `d² = mean over points and the two displays of (u − u′)²`
//!
//! Spreads make engines and points comparable. The sine's inverse is linear where the natural
//! spread rules and a logarithm where the fault does: the same fault on two engines shows as a ratio of
//! sizes, not as so many degrees. Which cylinder it is does not matter. A display without a number
//! is at a fixed distance from every one that shows something else. (The form is ours.)

use std::collections::BTreeMap;

use facts::job::brief::{Brief, Seen, Shown};
use facts::job::timeline::{Closing, Standing};
use facts::knowledge::Knowledge;
use measure::engine::{Kind, Regime};
use measure::number::real;

/// Distance up to which two jobs are called alike: a factor of two in size, ln 2 (common practice,
/// no source: as far as any figure of the trade is trusted).
pub const ALIKE: f64 = std::f64::consts::LN_2;

/// Natural spreads that say nothing: nineteen of twenty healthy displays stay within them.
const NOTHING: f64 = 2.0;

/// Distance between a display without a number and one that shows something else: as far as
/// between a healthy display and one five spreads off.
const OTHER: f64 = 1.818;

/// Displays that are compared.
const COMPARED: usize = 2;

/// What one display says.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Says {
    Number(f64),
    State(Shown),
}

impl Says {
    fn apart(self, other: Self) -> f64 {
        match (self, other) {
            (Self::Number(a), Self::Number(b)) => (a - b).abs(),
            (Self::State(a), Self::State(b)) if a == b => 0.0,
            _ => OTHER,
        }
    }

    fn size(self) -> f64 {
        match self {
            Self::Number(u) => u.abs(),
            Self::State(_) => f64::INFINITY,
        }
    }
}

fn says(knowledge: &Knowledge, kind: Kind, seen: &Seen) -> Vec<Says> {
    let at = knowledge.points.get(seen.at);
    let sd = at.map_or(1.0, |at| knowledge.natural_sd(&kind.engine(), seen.site, at));
    seen.shown
        .iter()
        .map(|shown| match *shown {
            Shown::Off(degrees) => {
                let z = degrees / sd;
                Says::Number((z.signum() * (z.abs() - NOTHING).max(0.0)).asinh())
            }
            Shown::Alone => Says::Number(0.0),
            state => Says::State(state),
        })
        .collect()
}

/// How unlike the readings of two jobs are; none where they cannot be compared: on engines of another
/// layout or fuel, or without a running point in common at which the engine ran.
#[must_use]
pub fn distance(knowledge: &Knowledge, a: &Brief, b: &Brief) -> Option<f64> {
    if (a.kind.layout, a.kind.fuel) != (b.kind.layout, b.kind.fuel) {
        return None;
    }
    let mut points: Vec<[Vec<Says>; 2]> = Vec::new();
    let mut running = false;
    // Points that this knowledge base has not tell nothing.
    let known = |seen: &&Seen| knowledge.points.get(seen.at).is_some();
    for seen in a.seen.iter().filter(known) {
        let same = |other: &&Seen| (other.at, other.site) == (seen.at, seen.site);
        if let Some(other) = b.seen.iter().find(same) {
            running |= seen.at != Regime::ColdSoak.into();
            points.push([says(knowledge, a.kind, seen), says(knowledge, b.kind, other)]);
        }
    }
    if !running {
        return None;
    }
    let ranked = |which: usize| {
        let displays = points.iter().map(|point| point[which].len()).min().unwrap_or(0);
        let most = |display: usize| {
            points.iter().map(|point| point[which][display].size()).fold(0.0, f64::max)
        };
        let mut order: Vec<usize> = (0..displays).collect();
        order.sort_by(|&x, &y| most(y).total_cmp(&most(x)).then(x.cmp(&y)));
        order.truncate(COMPARED);
        order
    };
    let (first, second) = (ranked(0), ranked(1));
    let mut squares = Vec::new();
    for point in &points {
        for (&x, &y) in first.iter().zip(&second) {
            squares.push(point[0][x].apart(point[1][y]).powi(2));
        }
    }
    (!squares.is_empty()).then(|| (squares.iter().sum::<f64>() / real(squares.len())).sqrt())
}

/// What past jobs with readings like these came to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Before {
    /// Cause ids with how many jobs they were proven in, most first.
    pub causes: Vec<(String, usize)>,
    /// Jobs in which the difference was this engine's normal.
    pub normal: usize,
}

impl Before {
    /// How many jobs there were.
    #[must_use]
    pub fn jobs(&self) -> usize {
        self.normal + self.causes.iter().map(|(_, count)| count).sum::<usize>()
    }
}

/// Looks among past jobs for those with readings like a job's own; only what came to a proven cause or
/// was recorded as normal counts, and the job itself does not.
#[must_use]
pub fn before(knowledge: &Knowledge, job: &Brief, past: &[Brief]) -> Before {
    let mut causes: BTreeMap<&str, usize> = BTreeMap::new();
    let mut normal = 0;
    for other in past.iter().filter(|other| other.key != job.key) {
        let is_normal = other.standing == Standing::Closed(Closing::Normal);
        if other.proven().is_none() && !is_normal {
            continue;
        }
        if distance(knowledge, job, other).is_none_or(|far| far > ALIKE) {
            continue;
        }
        match other.proven() {
            Some(cause) => *causes.entry(cause).or_default() += 1,
            None => normal += 1,
        }
    }
    let mut causes: Vec<(String, usize)> =
        causes.into_iter().map(|(id, count)| (id.to_owned(), count)).collect();
    causes.sort_by(|a, b| b.1.cmp(&a.1).then_with(|| a.0.cmp(&b.0)));
    Before { causes, normal }
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use facts::job::entry::{Reading, What};
    use measure::engine::{Layout, Place};

    fn job(sets: &[(&str, &[f64])]) -> Brief {
        let mut journal = fixture::journal();
        let read = |(at, values): &(&str, &[f64])| {
            fixture::entry(fixture::temps(at, fixture::degrees(values)))
        };
        journal.entries = sets.iter().map(read).collect();
        Brief::of(&journal)
    }

    fn apart(a: &[f64], b: &[f64]) -> f64 {
        let knowledge = fixture::knowledge();
        distance(&knowledge, &job(&[("idle", a)]), &job(&[("idle", b)])).expect("comparable")
    }

    #[test]
    fn the_formula_by_hand() {
        // One spread of the fixture is its default of 25 °C: 5 and 8 spreads off, 3 and 6 above 2.
        let knowledge = fixture::knowledge();
        let engine = fixture::engine();
        let sd = knowledge.natural_sd(&engine, engine.probes, knowledge.points.of(Regime::Idle));
        let off = |z: f64| [600.0, 600.0 + z * sd, 600.0, 600.0];
        let expected = (6f64.asinh() - 3f64.asinh()) / 2f64.sqrt();
        assert!((apart(&off(5.0), &off(8.0)) - expected).abs() < 1e-3);
        // What is within two spreads is nothing.
        assert!(apart(&off(1.9), &off(-1.9)) < 1e-12);
        assert!(apart(&off(5.0), &off(-5.0)) > ALIKE);
    }

    #[test]
    fn two_faults_of_a_size_are_alike_on_whatever_cylinder() {
        assert!(apart(&[600.0, 600.0, 480.0, 600.0], &[455.0, 601.0, 598.0, 600.0]) < ALIKE);
        assert!(apart(&[600.0, 600.0, 480.0, 600.0], &[600.0; 4]) > ALIKE);
        // Two that stand out are not one that does.
        assert!(apart(&[600.0, 750.0, 450.0, 600.0], &[600.0, 750.0, 600.0, 600.0]) > ALIKE);
    }

    #[test]
    fn only_like_points_and_layouts_are_compared() {
        let knowledge = fixture::knowledge();
        let idle = job(&[("idle", &[600.0, 500.0, 600.0, 600.0])]);
        let cruise = job(&[("cruise", &[600.0, 500.0, 600.0, 600.0])]);
        let cold = job(&[("cold", &[20.0, 28.0, 20.0, 20.0])]);
        assert_eq!(distance(&knowledge, &idle, &cruise), None);
        assert_eq!(distance(&knowledge, &cold, &cold.clone()), None);
        let mut other = idle.clone();
        other.kind.layout = Layout::V;
        assert_eq!(distance(&knowledge, &idle, &other), None);
    }

    #[test]
    fn a_display_without_a_number_is_like_its_kind_only() {
        let knowledge = fixture::knowledge();
        let state = |reading: Reading| {
            let mut readings = fixture::degrees(&[600.0; 4]);
            readings[1] = reading;
            let mut journal = fixture::journal();
            journal.entries = vec![fixture::entry(fixture::temps("idle", readings))];
            Brief::of(&journal)
        };
        let far = |a: &Brief, b: &Brief| distance(&knowledge, a, b).expect("comparable");
        let (open, stuck) = (state(Reading::Open), state(Reading::Stuck));
        assert!(far(&open, &open.clone()) < 1e-12);
        assert!(far(&open, &stuck) > ALIKE);
        assert!(far(&open, &job(&[("idle", &[600.0; 4])])) > ALIKE);
    }

    #[test]
    fn only_what_came_to_something_is_offered_and_never_the_job_itself() {
        let knowledge = fixture::knowledge();
        let values: &[f64] = &[600.0, 480.0, 600.0, 600.0];
        let past = |vehicle: &str, ends: &[What]| {
            let mut journal = fixture::journal();
            journal.head.vehicle = vehicle.to_owned();
            let read = fixture::temps("idle", fixture::degrees(values));
            journal.entries =
                std::iter::once(read).chain(ends.iter().cloned()).map(fixture::entry).collect();
            Brief::of(&journal)
        };
        let remedy =
            |cause: &str| What::Remedy { cause: cause.to_owned(), place: Place::Cylinder(2) };
        let close = |proven| What::Close { proven, reason: None };
        let list = [
            past("a", &[remedy("fit-shallow"), close(true)]),
            past("b", &[remedy("fit-shallow"), close(true)]),
            past("c", &[remedy("probe-drift"), close(true)]),
            past("d", &[remedy("probe-drift"), close(false)]),
            past("e", &[What::Recorded, close(false)]),
            past("f", &[]),
        ];
        let found = before(&knowledge, &list[5], &list);
        let causes = [("fit-shallow".to_owned(), 2), ("probe-drift".to_owned(), 1)];
        assert_eq!(found, Before { causes: causes.to_vec(), normal: 1 });
        assert_eq!(before(&knowledge, &list[0], &list).jobs(), 3);
    }

    proptest! {
        #[test]
        fn a_distance_is_one_whichever_job_is_named_first(
            a in prop::collection::vec(300.0..900.0f64, 4),
            b in prop::collection::vec(300.0..900.0f64, 4),
        ) {
            prop_assert!((apart(&a, &b) - apart(&b, &a)).abs() < 1e-12);
            prop_assert!(apart(&a, &a) < 1e-12);
        }
    }
}
