//! A question for past jobs in words.

use facts::job::brief::{Brief, Shown, vehicle};
use facts::knowledge::Knowledge;
use measure::named_enum;

named_enum! {
    /// What a display can show that is not as it should be.
    Symptom, "symptom" {
        /// Above its mates.
        High = "high",
        /// Below its mates.
        Low = "low",
        /// Open circuit.
        Open = "open",
        /// Does not move.
        Stuck = "stuck",
        /// Goes down while the others go up.
        Falling = "falling",
        /// Jumps about.
        Erratic = "erratic",
    }
}

/// Natural spreads beyond which a display is high or low.
const ODD: f64 = 3.0;

/// What is asked; all of it must be so.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Wanted {
    /// Words that must stand in the job's name, its vehicle or plate, its complaint, a cause or remedy of
    /// it, the parts that were touched, what was noted of them, or why it was closed. More than one of a
    /// thing finds the one.
    pub words: Vec<String>,
    /// Part of the vehicle's name.
    pub vehicle: Option<String>,
    /// Id of the cause that was remedied, or of a group above it.
    pub cause: Option<String>,
    /// What a display showed, or else words of the complaint.
    pub symptom: Option<String>,
}

impl Wanted {
    /// Whether a job is wanted.
    #[must_use]
    pub fn finds(&self, knowledge: &Knowledge, name: &str, job: &Brief) -> bool {
        let (cured, said) = (cured(knowledge, job), job.said.join(" "));
        let text = vehicle(&format!("{name} {} {} {cured} {said}", job.vehicle, job.complaint));
        self.words.iter().all(|word| stands_in(&text, &vehicle(word)))
            && self.vehicle.as_ref().is_none_or(|v| vehicle(&job.vehicle).contains(&vehicle(v)))
            && self.cause.as_ref().is_none_or(|cause| of_cause(knowledge, cause, job))
            && self.symptom.as_ref().is_none_or(|symptom| shows(knowledge, symptom, job))
    }
}

/// Whether a word stands in a text; of a plural the single one is enough.
fn stands_in(text: &str, word: &str) -> bool {
    let one = word.strip_suffix('s').filter(|one| one.len() > 2);
    text.contains(word) || one.is_some_and(|one| text.contains(one))
}

/// The causes that were remedied, the parts they sit in and what was done, in words.
fn cured(knowledge: &Knowledge, job: &Brief) -> String {
    let told = job.put_right.iter().map(|id| {
        let Some(cause) = knowledge.cause(id).map(|index| &knowledge.causes[index]) else {
            return id.clone();
        };
        let remedy = cause.remedy.as_ref().map_or("", |remedy| remedy.what.as_str());
        format!("{id} {} {} {remedy}", cause.name, cause.seat)
    });
    told.collect::<Vec<_>>().join(" ")
}

fn of_cause(knowledge: &Knowledge, wanted: &str, job: &Brief) -> bool {
    job.put_right.iter().any(|cause| {
        if cause == wanted {
            return true;
        }
        let mut group = knowledge.cause(cause).map(|index| knowledge.causes[index].group);
        while let Some(index) = group {
            if knowledge.groups[index].id == wanted {
                return true;
            }
            group = knowledge.groups[index].parent;
        }
        false
    })
}

fn shows(knowledge: &Knowledge, wanted: &str, job: &Brief) -> bool {
    if vehicle(&job.complaint).contains(&vehicle(wanted)) {
        return true;
    }
    let Ok(symptom) = wanted.to_lowercase().parse::<Symptom>() else { return false };
    let engine = job.kind.engine();
    job.seen.iter().any(|seen| {
        let Some(at) = knowledge.points.get(seen.at) else { return false };
        let odd = ODD * knowledge.natural_sd(&engine, seen.site, at);
        seen.shown.iter().any(|shown| match (symptom, *shown) {
            (Symptom::High, Shown::Off(off)) => off >= odd,
            (Symptom::Low, Shown::Off(off)) => off <= -odd,
            (Symptom::Open, Shown::Open)
            | (Symptom::Stuck, Shown::Stuck)
            | (Symptom::Falling, Shown::Falling)
            | (Symptom::Erratic, Shown::Erratic) => true,
            _ => false,
        })
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use facts::job::entry::{Reading, What};
    use facts::job::fit::FitLine;
    use facts::knowledge::Item;
    use measure::engine::Place;

    #[test]
    fn all_that_is_asked_must_be_so() {
        let knowledge = fixture::knowledge();
        let mut journal = fixture::journal();
        journal.head.details.plate = Some("INV 12".to_owned());
        let mut readings = fixture::degrees(&[600.0, 300.0, 600.0, 600.0]);
        readings[3] = Reading::Stuck;
        journal.entries = vec![
            fixture::entry(fixture::temps("idle", readings)),
            fixture::entry(What::Exchange { item: Item::Injector, a: 1, b: 2 }),
            fixture::entry(What::Remedy {
                cause: "fit-shallow".to_owned(),
                place: Place::Cylinder(2),
            }),
            fixture::entry(What::Remedy {
                cause: "no-longer-known".to_owned(),
                place: Place::Cylinder(3),
            }),
            fixture::entry(What::Fitted {
                lines: vec![(
                    1,
                    FitLine { serial: Some("AX-77".to_owned()), ..FitLine::default() },
                )],
            }),
            fixture::entry(What::Close {
                proven: false,
                reason: Some("customer in a hurry".to_owned()),
            }),
        ];
        let job = Brief::of(&journal);
        let finds = |words: &str, name: &str, cause: &str, symptom: &str| {
            let given = |text: &str| (!text.is_empty()).then(|| text.to_owned());
            let wanted = Wanted {
                words: words.split_whitespace().map(str::to_owned).collect(),
                vehicle: given(name),
                cause: given(cause),
                symptom: given(symptom),
            };
            wanted.finds(&knowledge, "yard-3", &job)
        };
        let cases = [
            (["", "", "", ""], true),
            (["VAN yard", "", "", ""], true),
            (["van bus", "", "", ""], false),
            (["shallow", "", "", ""], true),
            (["injector", "", "", ""], true),
            (["injectors", "", "", ""], true),
            (["coil", "", "", ""], false),
            (["s", "", "", ""], true),
            // The earlier remedy, a cause of another knowledge base, notes, the plate.
            (["mark", "", "", ""], true),
            (["no-longer", "", "", ""], true),
            (["ax-77", "", "", ""], true),
            (["hurry", "", "", ""], true),
            (["INV 12", "", "", ""], true),
            (["", "  Invented   VAN", "", ""], true),
            (["", "reads low", "", ""], false),
            (["", "", "fit-shallow", ""], true),
            (["", "", "measurement", ""], true),
            (["", "", "probe-drift", ""], false),
            (["", "", "", "low"], true),
            (["", "", "", "Stuck"], true),
            (["", "", "", "open"], false),
            (["", "", "", "reads LOW"], true),
            (["van", "van", "fit-shallow", "open"], false),
        ];
        for ([words, name, cause, symptom], expected) in cases {
            let found = finds(words, name, cause, symptom);
            assert_eq!(found, expected, "{words:?} {name:?} {cause:?} {symptom:?}");
        }
    }
}
