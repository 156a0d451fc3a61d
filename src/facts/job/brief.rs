//! What can be said of a job in a line or two, without knowledge and without judging it.
//!
//! Enough to list jobs, to search them, to hold their readings against each other's and to learn
//! from those that are proven. It must not hold a probability.

use jiff::Timestamp;
use sha2::{Digest, Sha256};

use super::entry::{Head, Journal, Reading, What};
use super::read::standing;
use super::timeline::{Closing, Standing, test_for};
use measure::engine::{Kind, Place, PointId, ProbeSite};
use measure::hexadecimal::hexadecimal;
use measure::readings::outlier::median;

/// A job in brief.
#[derive(Debug, Clone, PartialEq)]
pub struct Brief {
    /// By which it is known again; see [`key`].
    pub key: String,
    /// When it was opened.
    pub opened: Timestamp,
    /// When something was last entered.
    pub entered: Timestamp,
    /// The vehicle, in the customer's words.
    pub vehicle: String,
    /// The complaint, in the customer's words.
    pub complaint: String,
    /// Kind of engine.
    pub kind: Kind,
    /// Flags of recent work.
    pub recent: Vec<String>,
    /// Number of entries.
    pub entries: usize,
    /// Open or closed.
    pub standing: Standing,
    /// The last remedy: cause id and place.
    pub remedied: Option<(String, Place)>,
    /// Ids of all causes that were remedied, each once: a job may have had two.
    pub put_right: Vec<String>,
    /// Tests of which it was told how many hands-on minutes they took.
    pub took: Vec<(String, f64)>,
    /// Parts that were exchanged, remade or renewed, plate, what was noted of probes and mixtures, and why it
    /// was closed as it was: to be found by.
    pub said: Vec<String>,
    /// What the displays showed before anything was touched, the first time at each point.
    pub seen: Vec<Seen>,
}

/// What the displays showed at a running point.
#[derive(Debug, Clone, PartialEq)]
pub struct Seen {
    /// Where.
    pub at: PointId,
    /// Which probes.
    pub site: ProbeSite,
    /// One per display.
    pub shown: Vec<Shown>,
}

/// What one display showed beside its mates.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Shown {
    /// A number: its difference from the median of the others, °C.
    Off(f64),
    /// A number, and none to hold it against.
    Alone,
    /// Jumped about.
    Erratic,
    /// Open circuit.
    Open,
    /// Did not move.
    Stuck,
    /// Fell while the others rose.
    Falling,
}

/// Hexadecimal digits of a key: 64 bits, so that among a million jobs two of one key are one chance
/// in thirty million.
const DIGITS: usize = 16;

/// By which a job is known again, whatever its file is called and however far it has come.
///
/// A hash of its head, which no entry changes; from it nobody learns what the head says.
#[must_use]
pub fn key(head: &Head) -> String {
    let mut hash = Sha256::new();
    for part in [
        &head.opened.to_string(),
        &head.typed,
        &head.vehicle,
        &head.complaint,
        &head.engine_name,
        &Kind::of(&head.engine).to_string(),
    ] {
        hash.update(part);
        hash.update([0]);
    }
    hexadecimal(&hash.finalize()[..DIGITS / 2])
}

/// A vehicle's name as it is compared: small letters, one space between words.
#[must_use]
pub fn vehicle(name: &str) -> String {
    name.split_whitespace().map(str::to_lowercase).collect::<Vec<_>>().join(" ")
}

impl Brief {
    /// Sums up a job.
    #[must_use]
    pub fn of(journal: &Journal) -> Self {
        let head = &journal.head;
        let mut brief = Self {
            key: key(head),
            opened: head.opened,
            entered: journal.entries.last().map_or(head.opened, |entry| entry.time),
            vehicle: head.vehicle.clone(),
            complaint: head.complaint.clone(),
            kind: Kind::of(&head.engine),
            recent: head.recent.clone(),
            entries: journal.entries.len(),
            standing: standing(journal),
            remedied: None,
            put_right: Vec::new(),
            took: Vec::new(),
            said: head.details.plate.iter().cloned().collect(),
            seen: Vec::new(),
        };
        brief.recent.sort();
        brief.recent.dedup();
        let mut touched = false;
        for (_, entry) in journal.standing() {
            let mut test = None;
            match &entry.what {
                What::Temps { at, site, readings, .. } => {
                    let again = brief.seen.iter().any(|s| (s.at, s.site) == (*at, *site));
                    if !touched && !again {
                        brief.seen.push(Seen { at: *at, site: *site, shown: shown(readings) });
                    }
                }
                What::Found { test: id, .. } => test = Some(id.as_str()),
                What::Exchange { item, .. } => {
                    touched = true;
                    brief.said.push(item.to_string());
                    test = Some(test_for(*item, true, false));
                }
                What::Remake { item, new, .. } => {
                    touched = true;
                    brief.said.push(item.to_string());
                    test = Some(test_for(*item, false, *new));
                }
                What::Remedy { cause, place } => {
                    touched = true;
                    brief.remedied = Some((cause.clone(), *place));
                    if !brief.put_right.contains(cause) {
                        brief.put_right.push(cause.clone());
                    }
                }
                What::Close { reason: Some(reason), .. } => brief.said.push(reason.clone()),
                What::Sign { by, .. } => brief.said.push(by.clone()),
                What::Fitted { lines } => {
                    for (_, line) in lines {
                        let noted = [&line.probe, &line.serial, &line.lead, &line.channel];
                        brief.said.extend(noted.into_iter().flatten().cloned());
                    }
                }
                _ => {}
            }
            if let (Some(test), Some(minutes)) = (test, entry.minutes) {
                brief.took.push((test.to_owned(), minutes));
            }
        }
        brief
    }

    /// The cause that was proven, if the job is closed as proven.
    #[must_use]
    pub fn proven(&self) -> Option<&str> {
        let proven = self.standing == Standing::Closed(Closing::Proven);
        self.remedied.as_ref().filter(|_| proven).map(|(cause, _)| cause.as_str())
    }
}

fn shown(readings: &[Reading]) -> Vec<Shown> {
    let numbers: Vec<Option<f64>> = readings.iter().map(|reading| reading.middle()).collect();
    readings
        .iter()
        .enumerate()
        .map(|(own, reading)| match reading {
            Reading::Erratic { .. } => Shown::Erratic,
            Reading::Open => Shown::Open,
            Reading::Stuck => Shown::Stuck,
            Reading::Falling => Shown::Falling,
            Reading::Degrees(_) => {
                let others = numbers.iter().enumerate().filter(|(other, _)| *other != own);
                let others: Vec<f64> = others.filter_map(|(_, number)| *number).collect();
                match (numbers[own], median(&others)) {
                    // A tenth of a degree is more than is ever read.
                    (Some(number), Some(usual)) => {
                        Shown::Off(((number - usual) * 10.0).round() / 10.0)
                    }
                    _ => Shown::Alone,
                }
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::fixture;
    use crate::job::entry::Entry;
    use crate::knowledge::Item;
    use measure::engine::Regime;

    fn remedy(cause: &str) -> What {
        What::Remedy { cause: cause.to_owned(), place: Place::Cylinder(2) }
    }

    fn brief(list: &[What]) -> Brief {
        let mut journal = fixture::journal();
        journal.entries = list.iter().cloned().map(fixture::entry).collect();
        Brief::of(&journal)
    }

    #[test]
    fn only_a_job_that_stands_closed_and_proven_has_a_proven_cause() {
        let (close, bare) = (
            What::Close { proven: true, reason: None },
            What::Close { proven: false, reason: None },
        );
        let (first, last) = (remedy("fit-shallow"), remedy("fit-deep"));
        let cases: [(&[What], Option<&str>); 8] = [
            (&[], None),
            (std::slice::from_ref(&close), None),
            (&[first.clone(), bare], None),
            (std::slice::from_ref(&first), None),
            (&[first.clone(), close.clone()], Some("fit-shallow")),
            (&[first.clone(), last.clone(), close.clone()], Some("fit-deep")),
            (&[first.clone(), close.clone(), What::Reopen], None),
            (&[first.clone(), last, What::Undo { entry: 2 }, close.clone()], Some("fit-shallow")),
        ];
        for (list, proven) in cases {
            assert_eq!(brief(list).proven(), proven, "{list:?}");
        }
    }

    #[test]
    fn readings_count_until_something_is_touched_and_once_at_a_point() {
        let set = |at, t| fixture::temps(at, fixture::degrees(&[650.0, t, 655.0, 648.0]));
        let brief = brief(&[
            set("idle", 590.0),
            set("idle", 610.0),
            fixture::temps(
                "cold",
                vec![Reading::Open, Reading::Stuck, Reading::Falling, Reading::Open],
            ),
            What::Exchange { item: Item::Probe, a: 2, b: 3 },
            set("cruise", 650.0),
        ]);
        let points: Vec<PointId> = brief.seen.iter().map(|seen| seen.at).collect();
        assert_eq!(points, [Regime::Idle.into(), Regime::ColdSoak.into()]);
        assert_eq!(brief.seen[0].shown[1], Shown::Off(-60.0));
        assert_eq!(brief.seen[0].shown[0], Shown::Off(2.0));
        assert_eq!(brief.seen[1].shown[2], Shown::Falling);
    }

    #[test]
    fn minutes_go_to_the_test_that_the_work_was() {
        let mut journal = fixture::journal();
        let timed = |what, minutes| Entry { minutes: Some(minutes), ..fixture::entry(what) };
        let found = What::Found {
            test: "look-fit".to_owned(),
            outcome: "alike".to_owned(),
            cylinder: Some(2),
            partner: None,
        };
        journal.entries = vec![
            timed(found.clone(), 9.0),
            timed(What::Exchange { item: Item::Probe, a: 2, b: 3 }, 31.0),
            timed(What::Remake { item: Item::Plug, cylinder: 1, new: true }, 12.0),
            timed(found, 4.0),
            fixture::entry(What::Undo { entry: 4 }),
        ];
        let took = Brief::of(&journal).took;
        let took: Vec<(&str, f64)> = took.iter().map(|(id, m)| (id.as_str(), *m)).collect();
        let plug = test_for(Item::Plug, false, true);
        assert_eq!(took, [("look-fit", 9.0), ("swap-probe", 31.0), (plug, 12.0)]);
    }

    #[test]
    fn a_job_is_known_again_however_far_it_has_come() {
        let (empty, far) =
            (brief(&[]), brief(&[remedy("fit-deep"), What::Close { proven: true, reason: None }]));
        assert_eq!(empty.key, far.key);
        assert_eq!(empty.key.len(), DIGITS);
        let mut other = fixture::journal();
        other.head.vehicle += "2";
        assert_ne!(Brief::of(&other).key, empty.key);
        assert_eq!(vehicle("  Blue\tESTATE  2 "), "blue estate 2");
    }
}
