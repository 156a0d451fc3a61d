//! When a fault that is there shows: always, from some moment on, or now and then.
//!
//! A reading set is a look. Between two looks a fault may have begun; one that comes and goes shows at
//! some looks and rests at others, and at two looks soon after each other it mostly does the same. It
//! must not know what is read.

/// Looks at which a fault shows, bit 0 the first.
pub type Shows = u128;

/// Looks that are told apart; later ones go with the last.
pub const MOST_LOOKS: usize = 120;

/// Looks up to which every pattern of coming and going is followed.
const EVERY: usize = 6;

/// Changes between showing and resting that are followed where there are more looks than that.
const MOST_CHANGES: usize = 2;

/// How a fault behaves over the looks of a job.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// It shows at every look.
    Always,
    /// It began between two looks and shows from then on.
    Begun,
    /// It shows at some looks and rests at the others.
    ComesAndGoes,
}

/// Chances of the courses of a fault.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chances {
    /// That it began during the job.
    pub begun: f64,
    /// That it comes and goes.
    pub comes_and_goes: f64,
    /// Share of the time for which it then shows.
    pub on: f64,
    /// Chance that the next look finds it as the one before did, beyond what `on` says.
    pub again: f64,
}

/// A course and its prior probability.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Course {
    /// How it behaves.
    pub kind: Kind,
    /// The looks at which it shows.
    pub shows: Shows,
    /// How probable that is.
    pub probability: f64,
}

/// All courses over some looks; `gaps` says how likely, relative to each other, the gaps between looks
/// are to be where it began.
///
/// Patterns of coming and going are followed one by one for few looks. For many only those with few
/// changes are, and those that are `suggested`, each with its own probability. That of all others is put on
/// the one that shows at every look: where the fault cannot be seen all fit alike, and where it can, none of
/// the others would, for what was seen has been suggested. Shared out among those with few changes it would
/// lend itself to long rests.
#[must_use]
pub fn courses(looks: usize, gaps: &[f64], chances: Chances, suggested: &[Shows]) -> Vec<Course> {
    let looks = looks.min(MOST_LOOKS);
    let all: Shows = if looks == 0 { 0 } else { Shows::MAX >> (128 - looks) };
    let Chances { mut begun, mut comes_and_goes, .. } = chances;
    let weight: f64 = gaps.iter().take(looks.saturating_sub(1)).sum();
    if looks < 2 || weight <= 0.0 {
        begun = 0.0;
    }
    if looks == 0 {
        comes_and_goes = 0.0;
    }
    let mut list = vec![Course {
        kind: Kind::Always,
        shows: all,
        probability: 1.0 - chances.begun - comes_and_goes,
    }];
    // What cannot have begun was always there.
    list[0].probability += chances.begun - begun;
    if begun > 0.0 {
        for (gap, share) in gaps.iter().take(looks - 1).enumerate().filter(|(_, s)| **s > 0.0) {
            let before: Shows = (1 << (gap + 1)) - 1;
            let probability = begun * share / weight;
            list.push(Course { kind: Kind::Begun, shows: all & !before, probability });
        }
    }
    if comes_and_goes > 0.0 {
        let mut followed = patterns(looks);
        followed.extend(suggested.iter().map(|shows| shows & all));
        followed.sort_unstable();
        followed.dedup();
        let mut rest = comes_and_goes;
        let from = list.len();
        for shows in followed {
            let probability = comes_and_goes * chance_of(shows, looks, chances);
            rest -= probability;
            list.push(Course { kind: Kind::ComesAndGoes, shows, probability });
        }
        if let Some(always) = list[from..].iter_mut().find(|course| course.shows == all) {
            always.probability += rest.max(0.0);
        }
    }
    list
}

/// Patterns of showing and resting that are followed.
fn patterns(looks: usize) -> Vec<Shows> {
    if looks <= EVERY {
        return (0..1_u128 << looks).collect();
    }
    let all: Shows = Shows::MAX >> (128 - looks);
    let mut list = vec![0, all];
    let mut edges: Vec<Shows> = vec![0];
    for _ in 0..MOST_CHANGES {
        let mut next = Vec::new();
        for &pattern in &edges {
            let lowest = if pattern == 0 { looks } else { pattern.trailing_zeros() as usize };
            for change in 1..lowest {
                next.push(pattern ^ ((1 << change) - 1));
            }
        }
        for &pattern in &next {
            list.push(pattern);
            list.push(all & !pattern);
        }
        edges = next;
    }
    list.sort_unstable();
    list.dedup();
    list
}

/// Chance of a pattern: a chain that stays as it was with the chance `again`, else is drawn anew.
fn chance_of(shows: Shows, looks: usize, chances: Chances) -> f64 {
    let fresh = |on: bool| if on { chances.on } else { 1.0 - chances.on };
    let at = |look: usize| shows >> look & 1 == 1;
    let mut chance = fresh(at(0));
    for look in 1..looks {
        let same = if at(look) == at(look - 1) { chances.again } else { 0.0 };
        chance *= same + (1.0 - chances.again) * fresh(at(look));
    }
    chance
}

/// Goes through the edges of the runs of a choice of looks, in order: the first look of each, and the one after its last,
/// with whether it ends there.
pub fn edges(choice: Shows, looks: usize, mut take: impl FnMut(usize, bool)) {
    let all: Shows = if looks == 0 { 0 } else { Shows::MAX >> (128 - looks) };
    let chosen = choice & all;
    let mut changes = chosen ^ chosen << 1;
    let mut ends = false;
    while changes != 0 {
        take(changes.trailing_zeros() as usize, ends);
        changes &= changes - 1;
        ends = !ends;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    const HALF: Chances = Chances { begun: 0.2, comes_and_goes: 0.1, on: 0.5, again: 0.0 };

    #[test]
    fn probabilities_sum_to_one() {
        for looks in 0..12 {
            let gaps = vec![1.0; looks];
            let list = courses(looks, &gaps, HALF, &[0b101]);
            let sum: f64 = list.iter().map(|course| course.probability).sum();
            assert!((sum - 1.0).abs() < 1e-12, "{looks}: {sum}");
        }
    }

    #[test]
    fn a_single_look_knows_no_beginning() {
        let list = courses(1, &[], HALF, &[]);
        assert_eq!(list.len(), 3);
        assert!((list[0].probability - 0.9).abs() < 1e-12);
    }

    #[test]
    fn a_long_rest_is_as_rare_among_many_looks_as_the_chain_says() {
        let chances = Chances { again: 0.5, ..HALF };
        let list = courses(12, &[1.0; 11], chances, &[0b1]);
        let rest = list.iter().find(|c| c.kind == Kind::ComesAndGoes && c.shows == 0b1);
        // Shows once, goes, and rests for ten looks more.
        let chain = 0.1 * 0.5 * 0.25 * 0.75_f64.powi(10);
        assert!((rest.expect("followed").probability - chain).abs() < 1e-12);
    }

    #[test]
    fn looks_soon_after_each_other_mostly_find_the_same() {
        let chances = Chances { again: 0.8, ..HALF };
        let list = courses(4, &[1.0; 3], chances, &[]);
        let of = |shows: Shows| {
            let found = list.iter().find(|c| c.kind == Kind::ComesAndGoes && c.shows == shows);
            found.expect("followed").probability
        };
        assert!(of(0b1111) > 10.0 * of(0b0101), "{} {}", of(0b1111), of(0b0101));
        assert!((of(0b1111) - 0.1 * 0.5 * 0.9_f64.powi(3)).abs() < 1e-12);
    }
}
