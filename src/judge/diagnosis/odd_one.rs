//! The odd display of the latest settled readings, by statistics alone.
//!
//! Beside the diagnosis, never instead of it. It must not look at causes.

use facts::job::timeline::{ReadingSet, Timeline};
use facts::knowledge::Knowledge;
use measure::engine::Cylinder;
use measure::readings::outlier::odd_one::{self, OddOne};

/// The odd display of a reading set.
#[derive(Debug, Clone, PartialEq)]
pub struct OddDisplay {
    /// Index into the timeline's reading sets.
    pub set: usize,
    /// The displays that showed a number, in order: what the indices of `found` point into.
    pub displays: Vec<Cylinder>,
    /// What was found.
    pub found: OddOne,
}

impl OddDisplay {
    /// The display that is furthest from the others.
    #[must_use]
    pub fn display(&self) -> Cylinder {
        self.displays[self.found.index]
    }
}

/// The odd display of the last settled set with three numbers or more, if there is one.
#[must_use]
pub fn odd_display_by_numbers(knowledge: &Knowledge, timeline: &Timeline) -> Option<OddDisplay> {
    let sets = timeline.sets.iter().enumerate().rev();
    sets.filter(|(_, set)| set.is_settled()).find_map(|(index, set)| {
        let sd = knowledge.natural_sd(&timeline.engine, set.site, set.at);
        let (displays, values): (Vec<Cylinder>, Vec<f64>) = numbers(set).unzip();
        let found = odd_one::odd_one(&values, sd)?;
        Some(OddDisplay { set: index, displays, found })
    })
}

fn numbers(set: &ReadingSet) -> impl Iterator<Item = (Cylinder, f64)> {
    (1..).zip(&set.readings).filter_map(|(display, reading)| Some((display, reading.middle()?)))
}

#[cfg(test)]
mod tests {
    use super::*;
    use facts::job::entry::Reading;
    use facts::job::read::read;
    use fixture::{degrees, entry, journal, knowledge, temps};

    fn found(sets: Vec<(&str, Vec<Reading>)>) -> Option<OddDisplay> {
        let knowledge = knowledge();
        let mut journal = journal();
        journal.entries = sets.into_iter().map(|(at, list)| entry(temps(at, list))).collect();
        odd_display_by_numbers(&knowledge, &read(&knowledge, &journal))
    }

    #[test]
    fn the_last_settled_set_with_three_numbers_is_judged() {
        let odd = degrees(&[600.0, 500.0, 604.0, 602.0]);
        let mut dark = degrees(&[610.0; 4]);
        dark[0] = Reading::Open;
        dark[3] = Reading::Stuck;
        let one = found(vec![("idle", odd), ("cold", degrees(&[18.0; 4])), ("cruise", dark)]);
        let one = one.expect("a set to judge");
        assert_eq!((one.set, one.display()), (0, 2));
        assert!((one.found.amount + 102.0).abs() < 1e-9);
    }

    #[test]
    fn a_display_without_a_number_keeps_the_names_of_the_others() {
        let mut list = degrees(&[600.0, 602.0, 604.0, 500.0]);
        list[0] = Reading::Open;
        let one = found(vec![("idle", list)]).expect("three numbers");
        assert_eq!((one.displays.clone(), one.display()), (vec![2, 3, 4], 4));
    }

    #[test]
    fn nothing_settled_nothing_judged() {
        assert_eq!(found(vec![("cold", degrees(&[18.0, 18.0, 90.0, 18.0]))]), None);
        assert_eq!(found(Vec::new()), None);
    }
}
