//! What became of entries that did not count.
//!
//! It must not decide which count: the model and the timeline have done that.

use crate::diagnosis::model::Model;
use crate::diagnosis::result::Note;

/// Notes in order of entry.
pub(super) fn notes(model: &Model<'_>) -> Vec<Note> {
    let timeline = model.timeline;
    let mut notes: Vec<Note> = timeline
        .unknown
        .iter()
        .map(|(entry, id)| Note {
            entry: *entry,
            text: format!("`{id}` is not in this knowledge base; the entry is kept but not used"),
        })
        .collect();
    for (index, finding) in timeline.findings.iter().enumerate() {
        if !model.looks.iter().any(|looks| looks.findings.contains(&index)) {
            let name = &model.knowledge.tests[finding.test].name;
            notes.push(Note {
                entry: finding.entry,
                text: format!(
                    "{name}: not counted, since temperatures or depths entered say the same"
                ),
            });
        }
    }
    for disturbance in &timeline.disturbances {
        if let Some(verdict) = disturbance.verdict.as_ref().filter(|v| v.superseded) {
            let name = &model.knowledge.tests[verdict.test].name;
            notes.push(Note {
                entry: verdict.entry,
                text: format!(
                    "{name}: judged from the temperatures before and after, not from the words"
                ),
            });
        }
    }
    notes.sort_by_key(|note| note.entry);
    notes
}
