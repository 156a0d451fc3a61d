//! What every card keeps to, whatever the job came to.

use std::collections::{BTreeMap, BTreeSet};

use facts::job::entry::{Journal, What};
use facts::job::read::{minutes_spent, read};
use facts::job::timeline::Standing;
use facts::knowledge::Item;
use judge::diagnosis::{CauseRef, Fault, diagnose};
use judge::limits;
use judge::plan;
use measure::engine::{Cylinder, Engine, Layout, Place, Regime};
use measure::units::Scale;
use pages::report::{Block, Card, CardInput, Doc, End, Letterhead, LocalTime, card, terms};
use proptest::prelude::*;

use crate::support::{findings, inline, journal, knowledge, plans, temps};

/// How a job of the law goes on after its readings.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Goes {
    Open,
    Recorded,
    Remedied { verified: bool },
    Given,
}

fn engine(kind: usize) -> Engine {
    let vee = |cylinders| Engine {
        layout: Layout::V,
        banks: Engine::usual_banks(cylinders, Layout::V).expect("even"),
        ..inline(cylinders)
    };
    [inline(4), inline(5), vee(6), vee(8)][kind % 4].clone()
}

/// Readings with one display off, looks at it, perhaps an exchange, and the end.
fn job(kind: usize, off: f64, looks: &[usize], swap: bool, goes: Goes) -> Journal {
    let engine = engine(kind);
    let odd: Cylinder = 3;
    let set = |at, middle: f64, off: f64| {
        let value =
            |c: Cylinder| middle + f64::from(c % 3) * 2.0 + if c == odd { off } else { 0.0 };
        let values: Vec<f64> = engine.all().map(value).collect();
        temps(at, &values)
    };
    let mut entries = vec![set(Regime::Idle, 400.0, off), set(Regime::Cruise, 620.0, off * 0.8)];
    entries.extend(findings(&engine, odd, looks));
    if swap {
        entries.push(What::Exchange { item: Item::Probe, a: 2, b: odd });
        entries.push(set(Regime::Idle, 401.0, off));
    }
    match goes {
        Goes::Open => {}
        Goes::Recorded => {
            entries.push(What::Recorded);
            entries.push(What::Close { proven: false, reason: None });
        }
        Goes::Remedied { verified } => {
            let so_far = journal(&engine, entries.clone());
            let assessment = crate::support::assess(knowledge(), &so_far);
            // Two remedies: the likeliest that have one, the less likely first.
            let curable = |fault: &Fault| match fault.cause {
                CauseRef::Listed(index) => knowledge().causes[index].remedy.is_some(),
                CauseRef::Unlisted => false,
            };
            let faults = assessment.suspects.iter().map(|s| s.fault).filter(curable);
            let mut faults: Vec<Fault> = faults.take(2).collect();
            faults.reverse();
            for fault in faults {
                let cause = fault.cause.id(knowledge()).to_owned();
                entries.push(What::Remedy { cause, place: fault.place });
            }
            entries.push(set(Regime::Idle, 402.0, 1.0));
            entries.push(set(Regime::Cruise, 622.0, 1.0));
            let reason = (!verified).then(|| "no time".to_owned());
            entries.push(What::Close { proven: verified, reason });
        }
        Goes::Given => {
            entries.push(What::Close { proven: false, reason: Some("no time".to_owned()) });
        }
    }
    journal(&engine, entries)
}

fn carded(journal: &Journal) -> (Card, Doc) {
    let knowledge = knowledge();
    let timeline = read(knowledge, journal);
    let diagnosis = diagnose(knowledge, &timeline);
    let advice = (timeline.standing == Standing::Open).then(|| plan::advise(&diagnosis));
    let verification = plan::verify(&diagnosis);
    let limits = limits::as_set(knowledge, journal);
    let input = CardInput {
        knowledge,
        journal,
        timeline: &timeline,
        assessment: &diagnosis.assessment,
        advice: advice.as_ref(),
        verification: &verification,
        limits: limits.as_ref(),
        spent: minutes_spent(knowledge, journal),
        letterhead: &Letterhead { workshop: "Yard".to_owned(), currency: "EUR".to_owned() },
        local: &LocalTime::default(),
    };
    (Card::of(&input, Scale::Celsius), card(&input, Scale::Celsius))
}

/// Every piece of text that says one thing: a row, an item, a sentence.
fn pieces(doc: &Doc) -> Vec<String> {
    let mut list = vec![doc.title.clone()];
    for block in &doc.blocks {
        match block {
            Block::Part(text)
            | Block::Heading(text)
            | Block::Para(text)
            | Block::Foot(text)
            | Block::Command(text)
            | Block::Notice(_, text) => list.push(text.clone()),
            Block::List { items, .. } => list.extend(items.iter().cloned()),
            Block::Table(table) => list.extend(table.rows.iter().map(|row| row.join(" "))),
            Block::Fields(fields) => {
                list.extend(fields.iter().map(|(name, value)| format!("{name} {value}")));
            }
            Block::Bars(bars) => {
                list.extend(bars.iter().map(|bar| format!("{} {}", bar.label, bar.text)));
            }
            Block::Figures(figures) => {
                for figure in figures {
                    list.push(figure.title.clone());
                    list.push(figure.desc.clone());
                    list.extend(figure.terminal(200));
                }
            }
            Block::SignOff(names) => list.extend(names.iter().cloned()),
            Block::Photos(photos) => list.extend(photos.iter().map(|photo| photo.about.clone())),
            Block::Drawing(lines) => list.extend(lines.iter().cloned()),
        }
    }
    list.iter().flat_map(|text| text.split(['.', ';']).map(str::to_owned)).collect()
}

/// Figures in per cent.
fn shares(text: &str) -> Vec<String> {
    text.match_indices(" %")
        .map(|(at, _)| {
            let number = |c: char| c.is_ascii_digit();
            let start = text[..at].rfind(|c| !number(c)).map_or(0, |from| from + 1);
            text[start..at].to_owned()
        })
        .filter(|number| !number.is_empty())
        .collect()
}

/// Per cents that stand beside each cause of a card.
fn figures(card: &Card, doc: &Doc) -> BTreeMap<String, BTreeSet<String>> {
    let mut found: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    let pieces = pieces(doc);
    for cause in &card.causes {
        let name = terms::fault(knowledge(), cause.fault).to_lowercase();
        // The limit of a rule of the trade is no figure of the cause that it names.
        let about = |piece: &&String| {
            let piece = piece.to_lowercase();
            piece.contains(&name) && !piece.contains("on less than")
        };
        for piece in pieces.iter().filter(about) {
            found.entry(name.clone()).or_default().extend(shares(piece));
        }
    }
    found
}

fn goes() -> impl Strategy<Value = Goes> {
    prop_oneof![
        Just(Goes::Open),
        Just(Goes::Recorded),
        any::<bool>().prop_map(|verified| Goes::Remedied { verified }),
        Just(Goes::Given),
    ]
}

proptest! {
    #![proptest_config(plans(16))]

    #[test]
    fn no_cause_has_two_figures_on_a_card(
        kind in 0usize..4,
        off in -120.0..120.0_f64,
        looks in proptest::collection::vec(0usize..4, 0..3),
        swap in any::<bool>(),
        goes in goes(),
    ) {
        let (card, doc) = carded(&job(kind, off, &looks, swap, goes));
        for (cause, shares) in figures(&card, &doc) {
            prop_assert!(shares.len() <= 1, "{cause}: {shares:?} on {doc:#?}");
        }
        let places = card.causes.iter().all(|cause| cause.fault.place != Place::Nowhere
            || !cause.name.contains("cylinder"));
        prop_assert!(places);
    }
}

/// Page one: everything before the first part.
fn page_one(doc: &Doc) -> String {
    let one = doc.blocks.iter().take_while(|block| !matches!(block, Block::Part(_)));
    let mut page = Doc::new(doc.title.clone());
    page.blocks = one.cloned().collect();
    pieces(&page).join(".").to_lowercase()
}

#[test]
fn each_end_has_words_of_its_own() {
    let healthy = 3.0;
    for (goes, off, end, wanted, unwanted) in [
        (
            Goes::Recorded,
            healthy,
            End::Normal,
            &["nothing is wrong", "run it as it is", "yard", "eur"][..],
            &["proven", "missing", "fault", "failed", "remedy", "unlikely", " %"][..],
        ),
        (
            Goes::Given,
            -90.0,
            End::NotFound,
            &["the cause was not found", "watch it", "no time"],
            &["nothing is wrong", "proven", " %"],
        ),
        (
            Goes::Remedied { verified: true },
            -90.0,
            End::Proven,
            &["what was wrong", "what was done", "how it was proven", "since"],
            &["missing", "not proven", " %"],
        ),
        (
            Goes::Open,
            -90.0,
            End::HandedOver,
            &["to do next", "so far", "handed over by"],
            &["what was wrong"],
        ),
    ] {
        let (card, doc) = carded(&job(0, off, &[], false, goes));
        let one = page_one(&doc);
        assert_eq!(card.end, end);
        for word in wanted {
            // A page without parts costs nothing, and none is named.
            let parts = *word != "eur" || one.contains("parts ") && !one.contains("no parts");
            assert!(!parts || one.contains(word), "{word}: {one}");
        }
        for word in unwanted {
            assert!(!one.contains(word), "{word}: {one}");
        }
    }
}

#[test]
fn page_one_fits_a_page_and_says_its_thing_in_about_ten_lines() {
    for goes in [Goes::Recorded, Goes::Given, Goes::Remedied { verified: true }] {
        let (card, _) = carded(&job(2, -90.0, &[], true, goes));
        let words: usize =
            card.customer.iter().map(|(name, text)| name.len() + text.len() + 3).sum();
        // Ten lines of a page of 110 characters, or so.
        assert!(words < 1300, "{words}: {:?}", card.customer);
    }
}
