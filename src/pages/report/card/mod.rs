//! The card of a job: one sheet for the customer, one for the next mechanic, the record behind them.
//!
//! [`Card`] is the model: what is said, as data; [`card`] lays it out as a page, and JSON shows the
//! same. How a job came out ([`End`]) chooses the words: a job that was normal, not found or handed
//! over is no failed proof. A cause has one probability, wherever on the card it stands: `odds` alone
//! gives it. It must not judge.

mod customer;
mod mechanic;
mod model;
mod odds;
mod record;

use facts::job::entry::Journal;
use facts::job::timeline::Timeline;
use facts::knowledge::Knowledge;
use judge::diagnosis::{Assessment, Verification};
use judge::limits::Limits;
use judge::plan::Advice;
use measure::units::{Cost, Scale};

use super::doc::{Block, Doc};
use super::{LocalTime, heat, pictures};

pub use model::{Card, Cause, Depth, Depths, End, Field};

/// What the workshop prints on every card, as it was said.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Letterhead {
    /// Its name; empty where none was said.
    pub workshop: String,
    /// The currency of prices, as `EUR`; empty where none was said.
    pub currency: String,
}

/// All that a card is made from.
#[derive(Debug, Clone, Copy)]
pub struct CardInput<'a> {
    /// The knowledge base.
    pub knowledge: &'a Knowledge,
    /// The job as it was typed.
    pub journal: &'a Journal,
    /// What follows from it.
    pub timeline: &'a Timeline,
    /// The diagnosis.
    pub assessment: &'a Assessment,
    /// What to do next, for an open job.
    pub advice: Option<&'a Advice>,
    /// What the readings after a remedy say.
    pub verification: &'a Verification,
    /// Warning limits, where they were set.
    pub limits: Option<&'a Limits>,
    /// What the work done so far costs.
    pub spent: Cost,
    /// What stands on every card of the workshop.
    pub letterhead: &'a Letterhead,
    /// The clock by which times are shown.
    pub local: &'a LocalTime,
}

/// The card of a closed job, the handover sheet of an open one.
#[must_use]
pub fn card(input: &CardInput<'_>, scale: Scale) -> Doc {
    let card = Card::of(input, scale);
    let mut doc = Doc::new(card.title.clone());
    doc.foot.clone_from(&card.foot);
    if !matches!(card.end, End::Proven | End::Normal) {
        doc.first(heat::heat_notice(input.knowledge, input.timeline, scale));
    }
    doc.fields(card.head.clone());
    doc.fields(card.customer.clone());
    let mut levels = pictures::levels(input.knowledge, input.timeline, scale);
    let main = main_point(input);
    let main = levels.iter().position(|(point, _)| Some(*point) == main);
    doc.figures(main.map(|at| levels.remove(at).1).into_iter().collect());
    doc.blocks.push(Block::SignOff(
        if card.end == End::HandedOver {
            ["Handed over by", "Taken over by"].as_slice()
        } else {
            ["Mechanic", "Checked by", "Customer"].as_slice()
        }
        .iter()
        .map(|name| (*name).to_owned())
        .collect(),
    ));
    mechanic::add(&mut doc, input, &card, scale);
    let mut figures: Vec<_> = levels.into_iter().map(|(_, figure)| figure).collect();
    figures.extend(pictures::exchanges(input.journal, input.timeline, input.assessment, scale));
    if !figures.is_empty() {
        doc.heading("Other readings and exchanges");
        doc.figures(figures);
    }
    record::add(&mut doc, input, scale);
    doc
}

/// The point whose temperatures show best what it was about: that of the complaint where it was read,
/// else where a display was furthest off.
fn main_point(input: &CardInput<'_>) -> Option<pictures::Point> {
    let sets = &input.timeline.sets;
    let asked = input.timeline.complaint.at;
    let asked = asked.and_then(|at| sets.iter().find(|set| set.at == at));
    let furthest = || {
        let oddness = input.assessment.oddness.iter();
        let off = |sigmas: Option<f64>| sigmas.map_or(f64::INFINITY, f64::abs);
        let furthest = oddness.max_by(|a, b| off(a.sigmas).total_cmp(&off(b.sigmas)));
        furthest.and_then(|odd| sets.get(odd.set))
    };
    asked.or_else(furthest).or(sets.first()).map(|set| (set.site, set.at))
}
