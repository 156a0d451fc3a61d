//! The page of what can be told apart on an engine.

use facts::knowledge::Knowledge;
use judge::testability::Testability;

use super::doc::{Align, Doc, Table};
use super::words;

/// The page.
#[must_use]
pub fn testability(knowledge: &Knowledge, engine: &str, found: &Testability) -> Doc {
    let mut doc = Doc::new(format!("What can be told apart: {engine}"));
    let name = |id: &str| {
        knowledge.cause(id).map_or(id.to_owned(), |index| knowledge.causes[index].name.clone())
    };
    doc.para(format!(
        "{} and {} apply. Of {} pairs of causes at one place that different work cures, {} can be told apart \
         by readings or by some test.",
        words::count(found.causes, "cause", "causes"),
        words::count(found.tests, "test", "tests"),
        found.pairs.0,
        found.pairs.1
    ));
    doc.heading("Causes that nothing tells apart");
    if found.ambiguities.is_empty() {
        doc.para("None.");
    }
    for group in &found.ambiguities {
        let names: Vec<String> = group.causes.iter().map(|id| name(id)).collect();
        let then = if group.same_work {
            "the same work cures all, so it does not matter".to_owned()
        } else if group.new_test > 0.0 {
            format!(
                "a sure test of five minutes would save {:.0} min in 100 faulty engines",
                group.new_test
            )
        } else {
            "a test of five minutes would not pay".to_owned()
        };
        doc.bullets(vec![format!(
            "{} ({} of faults): {then}.",
            words::list(&names),
            measure::percent::percent(group.share)
        )]);
    }
    doc.heading("Causes that only expensive tests reach");
    let mut table = Table::new([
        ("cause", Align::Left),
        ("of faults", Align::Right),
        ("cheapest test that shows it", Align::Left),
        ("readings", Align::Left),
    ]);
    for remote in &found.remote {
        table.rows.push(vec![
            name(&remote.cause),
            measure::percent::percent(remote.share),
            match &remote.cheapest {
                Some((test, price)) => format!("{test}, {price:.0} min"),
                None => "none".to_owned(),
            },
            if remote.by_readings { "tell" } else { "do not tell" }.to_owned(),
        ]);
    }
    if table.rows.is_empty() {
        doc.para("None.");
    }
    doc.table(table);
    doc.heading("Tests that never pay");
    if found.idle.is_empty() {
        doc.para("None.");
    }
    doc.bullets(
        found
            .idle
            .iter()
            .map(|idle| match &idle.by {
                Some(by) => {
                    format!(
                        "{} ({:.0} min): {by} separates all it does for no more",
                        idle.test, idle.price
                    )
                }
                None => format!("{} ({:.0} min): separates nothing here", idle.test, idle.price),
            })
            .collect(),
    );
    doc
}
