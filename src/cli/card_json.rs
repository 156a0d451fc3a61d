//! A card as a JSON document: what it says to each of its readers.
//!
//! Pure. Fields may be added, never renamed or removed.

use serde_json::{Value, json};

use super::json::fault;
use facts::knowledge::Knowledge;
use measure::engine::Engine;
use pages::report::{Card, Field};

/// `sheet` of `card`.
pub(super) fn card(knowledge: &Knowledge, engine: &Engine, card: &Card) -> Value {
    let fields = |fields: &[Field]| -> Vec<Value> {
        let said = fields.iter().filter(|(_, text)| !text.trim().is_empty());
        said.map(|(name, text)| json!({"name": name, "text": text})).collect()
    };
    let causes = card.causes.iter().map(|cause| {
        let mut document = fault(knowledge, engine, cause.fault);
        document["said"] = json!(cause.name);
        document["probability"] = json!(cause.probability);
        document["done"] = json!((!cause.done.is_empty()).then_some(&cause.done));
        document
    });
    let depths = card.depths.as_ref().map(|depths| {
        let rows = depths.rows.iter().map(
            |row| json!({"cylinder": row.cylinder, "before_mm": row.before, "after_mm": row.after}),
        );
        json!({"of": depths.of, "probes": rows.collect::<Vec<_>>()})
    });
    json!({
        "end": card.end.as_str(),
        "title": card.title,
        "head": fields(&card.head),
        "customer": fields(&card.customer),
        "causes": causes.collect::<Vec<_>>(),
        "tests": card.tests,
        "displaced": card.displaced,
        "put_back": card.put_back,
        "depths": depths,
        "watch": card.watch,
    })
}
