//! A card as a JSON document: what it says to each of its readers.
//!
//! Pure. Fields may be added, never renamed or removed.

use serde::Serialize;

use super::json::{FaultDocument, fault};
use facts::knowledge::Knowledge;
use measure::engine::{Cylinder, Engine};
use pages::report::{Card, Field};

/// `sheet` of `card`.
#[derive(Debug, Serialize)]
pub(super) struct CardDocument<'a> {
    end: &'static str,
    title: &'a str,
    head: Vec<FieldDocument<'a>>,
    customer: Vec<FieldDocument<'a>>,
    causes: Vec<CauseDocument<'a>>,
    tests: &'a [String],
    displaced: &'a [String],
    put_back: &'a [String],
    depths: Option<DepthsDocument<'a>>,
    watch: &'a [String],
}

#[derive(Debug, Serialize)]
struct FieldDocument<'a> {
    name: &'a str,
    text: &'a str,
}

#[derive(Debug, Serialize)]
struct CauseDocument<'a> {
    #[serde(flatten)]
    fault: FaultDocument<'a>,
    said: &'a str,
    probability: f64,
    done: Option<&'a str>,
}

#[derive(Debug, Serialize)]
struct DepthsDocument<'a> {
    of: &'a str,
    probes: Vec<DepthDocument>,
}

#[derive(Debug, Serialize)]
struct DepthDocument {
    cylinder: Cylinder,
    before_mm: Option<f64>,
    after_mm: Option<f64>,
}

/// `sheet` of `card`.
pub(super) fn card<'a>(
    knowledge: &'a Knowledge,
    engine: &Engine,
    card: &'a Card,
) -> CardDocument<'a> {
    let causes = card.causes.iter().map(|cause| CauseDocument {
        fault: fault(knowledge, engine, cause.fault),
        said: &cause.name,
        probability: cause.probability,
        done: (!cause.done.is_empty()).then_some(&cause.done),
    });
    let depths = card.depths.as_ref().map(|depths| {
        let probes = depths.rows.iter().map(|row| DepthDocument {
            cylinder: row.cylinder,
            before_mm: row.before,
            after_mm: row.after,
        });
        DepthsDocument { of: depths.of, probes: probes.collect() }
    });
    CardDocument {
        end: card.end.as_str(),
        title: &card.title,
        head: fields(&card.head),
        customer: fields(&card.customer),
        causes: causes.collect(),
        tests: &card.tests,
        displaced: &card.displaced,
        put_back: &card.put_back,
        depths,
        watch: &card.watch,
    }
}

/// Those that say something.
fn fields(fields: &[Field]) -> Vec<FieldDocument<'_>> {
    let said = fields.iter().filter(|(_, text)| !text.trim().is_empty());
    said.map(|(name, text)| FieldDocument { name, text }).collect()
}
