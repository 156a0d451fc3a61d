//! Whether a fault was there at each stretch of the job.
//!
//! Between two disturbances lies a slot; a path says in which slots the symptom was present.
//! A fault starts present, may be cured at a disturbance and may come back at a later one.
//! It knows chances, not what was disturbed.

/// Slots in which a fault is present, bit 0 before the first disturbance.
pub type Presence = u128;

/// Chances at one disturbance.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Chances {
    /// That a present symptom goes away.
    pub cure: f64,
    /// That one which went away is back.
    pub back: f64,
}

/// A path and its prior probability.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Path {
    /// When it was present.
    pub presence: Presence,
    /// How probable that is.
    pub probability: f64,
}

/// Paths less probable than this before any reading are left out.
const NEGLIGIBLE: f64 = 1e-5;

/// Longest journal that is followed slot by slot; later disturbances are taken as one.
pub const MOST: usize = 120;

/// Chance from which a disturbance is meant to cure, as a remedy or a new part, and not a cure in
/// passing.
const MEANT: f64 = 0.5;

/// All paths through disturbances with the given chances.
///
/// One cure, one return and then one more cure by work that is meant to cure are followed; what is
/// left out is below 1e-3 for the chances in use of faults that are not intermittent, and the rest is
/// rescaled to sum to one. Paths that agree in the slots of `seen` cannot
/// be told apart and are merged, with the presence of the likeliest of them; the last slot (now) is always told apart.
#[must_use]
pub fn paths(chances: &[Chances], seen: Presence) -> Vec<Path> {
    let n = chances.len().min(MOST);
    let all: Presence = (1 << (n + 1)) - 1;
    let told = (seen | 1 << n) & all;
    let mut list = Vec::new();
    let mut present = 1.0;
    for (k, here) in chances[..n].iter().enumerate() {
        // Cured at k: present in slots 0..=k.
        let before: Presence = (1 << (k + 1)) - 1;
        let mut away = present * here.cure;
        for (l, later) in chances[..n].iter().enumerate().skip(k + 1) {
            // Back at l: present in slots l+1..=n too.
            let after = all & !((1 << (l + 1)) - 1);
            let mut again = away * later.back;
            for (m, last) in chances[..n].iter().enumerate().skip(l + 1) {
                if last.cure >= MEANT {
                    let until = (1 << (m + 1)) - 1;
                    push(&mut list, before | (after & until), again * last.cure, told);
                    again *= 1.0 - last.cure;
                }
            }
            push(&mut list, before | after, again, told);
            away *= 1.0 - later.back;
        }
        push(&mut list, before, away, told);
        present *= 1.0 - here.cure;
    }
    push(&mut list, all, present, told);
    let sum: f64 = list.iter().map(|merged| merged.path.probability).sum();
    let share = |Path { presence, probability }| Path { presence, probability: probability / sum };
    list.into_iter().map(|merged| share(merged.path)).collect()
}

/// Paths that cannot be told apart: the presence of the likeliest, the probability of all.
struct Merged {
    path: Path,
    /// Probability of the likeliest.
    most: f64,
}

fn push(list: &mut Vec<Merged>, presence: Presence, probability: f64, told: Presence) {
    if probability < NEGLIGIBLE {
        return;
    }
    match list.iter_mut().find(|merged| (merged.path.presence ^ presence) & told == 0) {
        Some(merged) => {
            merged.path.probability += probability;
            if probability > merged.most {
                merged.most = probability;
                merged.path.presence = presence;
            }
        }
        None => list.push(Merged { path: Path { presence, probability }, most: probability }),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn without_disturbance_there_is_one_path() {
        assert_eq!(paths(&[], 1), [Path { presence: 1, probability: 1.0 }]);
    }

    #[test]
    fn a_re_seat_splits_the_paths() {
        let list = paths(&[Chances { cure: 0.8, back: 0.0 }], 0b11);
        assert_eq!(list.len(), 2);
        assert!((list[0].probability - 0.8).abs() < 1e-12 && list[0].presence == 0b01);
        assert!((list[1].probability - 0.2).abs() < 1e-12 && list[1].presence == 0b11);
    }

    #[test]
    fn slots_that_nothing_was_seen_in_merge() {
        let chances = [Chances { cure: 0.1, back: 0.0 }; 5];
        let list = paths(&chances, 1);
        assert_eq!(list.len(), 2);
        let kept: f64 = 0.9_f64.powi(5);
        assert!(
            (list.iter().find(|p| p.presence >> 5 & 1 == 1).expect("kept").probability - kept)
                .abs()
                < 1e-9
        );
    }

    /// What nobody looked at between two disturbances was as it was before and after, not cured and back.
    #[test]
    fn paths_that_merge_have_the_likeliest_presence() {
        let chances = [Chances { cure: 0.02, back: 0.02 }; 3];
        let list = paths(&chances, 0b1101);
        let likeliest = list.iter().max_by(|a, b| a.probability.total_cmp(&b.probability));
        assert_eq!(likeliest.expect("a path").presence, 0b1111, "{list:?}");
    }

    #[test]
    fn what_came_back_is_cured_by_a_remedy() {
        // Cured by a new part, back by itself, then remedied: seen there, gone, there and gone.
        let chances = [
            Chances { cure: 0.96, back: 0.2 },
            Chances { cure: 0.2, back: 0.2 },
            Chances { cure: 0.97, back: 0.2 },
        ];
        let list = paths(&chances, 0b1111);
        let of = |presence| list.iter().find(|p| p.presence == presence).map(|p| p.probability);
        let (gone, there) = (of(0b0101).expect("followed"), of(0b1101).expect("followed"));
        assert!((gone / (gone + there) - 0.97).abs() < 1e-9, "{gone} {there}");
    }

    #[test]
    fn the_chance_that_it_is_still_there_is_that_of_the_whole_chain() {
        // Slow and obvious: the chain slot by slot, as many cures and returns as there may be.
        let small = Chances { cure: 0.02, back: 0.02 };
        for remedy in 0..6 {
            let mut chances = [small; 6];
            chances[remedy].cure = 0.97;
            chances[(remedy + 3) % 6].cure = 0.96;
            let mut there: f64 = 1.0;
            for here in chances {
                there = there * (1.0 - here.cure) + (1.0 - there) * here.back;
            }
            let list = paths(&chances, Presence::MAX);
            let still: f64 =
                list.iter().filter(|p| p.presence >> 6 & 1 == 1).map(|p| p.probability).sum();
            assert!((still - there).abs() < 5e-3, "{remedy}: {still} against {there}");
        }
    }

    #[test]
    fn probabilities_sum_to_one() {
        let chances: Vec<Chances> =
            (0..130).map(|k| Chances { cure: f64::from(k % 7) / 20.0, back: 0.1 }).collect();
        let list = paths(&chances, Presence::MAX);
        assert!((list.iter().map(|p| p.probability).sum::<f64>() - 1.0).abs() < 1e-9);
    }
}
