//! What the complaint says: factors on the priors.
//!
//! Mild, since most complaints come from the same displays that are read afterwards, and these say
//! it better. High and low have no factor at all where the readings show it; where they were taken and
//! do not, a sound engine is the less likely.

use facts::job::complaint::{Complaint, Does, NOTICED};
use facts::job::entry::Reading;
use facts::job::timeline::Timeline;
use facts::knowledge::{Cause, Knowledge, Lasting, Law, PlaceKind, Seat};
use measure::engine::{Cylinder, Engine, Place};
use measure::number::real;

use super::oddness::oddness;
use super::prior::Prior;
use super::result::{CauseRef, Oddness};

/// Causes that show on the display complained of: half of the customers name it rightly or do not
/// name it, and few name a wrong one (common practice, no source).
const NAMED: f64 = 2.0;
/// Complaints that name the right display, where nothing but memory says which it was: a number that was
/// gone, that jumped, or that stood off and does not when it is read (common practice, no source).
const REMEMBERED: f64 = 0.9;
/// Complaints of all displays together that are of all of them (common practice, no source): nobody counts
/// one odd display as all.
const OF_ALL: f64 = 0.9;
/// A misfire that is felt: causes of spark and fuel, causes of the measuring chain, and nothing
/// wrong. A chain that reads wrongly is not felt (common practice, no source).
const FELT: f64 = 3.0;
const NOT_FELT: f64 = 0.4;
/// Pinging and running on: causes by which a cylinder really runs hot (common practice, no source).
const HEARD: f64 = 2.5;
/// A display that jumps: causes that come and go, and others of the measuring chain (common
/// practice, no source).
const COMES_AND_GOES: f64 = 3.0;
const OF_THE_CHAIN: f64 = 1.5;
/// Nothing is complained of: a healthy engine is here only because a display stood out by chance, 12 %,
/// where with complaints of other kinds it is 30 % (`noticed_healthy`).
const NOTHING_SAID: f64 = 2.5;
/// A display that is dead: causes of the measuring chain (common practice, no source).
const DEAD: f64 = 2.0;
/// Nothing is wrong though a display is said to be dead, or to jump: no natural difference looks like
/// either, so that somebody mistook it, one in five and two in five (common practice, no source).
const MISTAKEN_DEAD: f64 = 0.2;
const MISTAKEN_JUMP: f64 = 0.4;
/// Nothing is wrong though a display is said to stand off where it was read and does not: what a sound
/// engine is complained of for is there at every look, give or take its noise (common practice, no source).
const UNSEEN: f64 = 0.3;

/// Natural standard deviations from which readings confirm that a display stands off as complained (common practice,
/// no source): one healthy display in forty does by chance.
const CONFIRMED: f64 = 2.0;

/// Factor on the prior of a cause at a place.
pub(super) fn factor(
    knowledge: &Knowledge,
    engine: &Engine,
    complaint: &Complaint,
    (index, place): (usize, Place),
) -> f64 {
    let remembered = matches!(complaint.does, Some(Does::Jumps | Does::Dead));
    let named = match complaint.display {
        Some(display) if remembered => by_memory(engine, display, place),
        Some(display) => beside(engine, display, place),
        None if complaint.all => of_all(knowledge, engine, index),
        None => 1.0,
    };
    let does = complaint.does.map_or(1.0, |does| of_its_doing(knowledge, does, index));
    named * does * of_its_coming(knowledge, complaint, index)
}

/// Factor where the words say that it comes and goes, by how often a cause does (`said_to_come`). A jumping display
/// has a factor of its own.
fn of_its_coming(knowledge: &Knowledge, complaint: &Complaint, index: usize) -> f64 {
    let cause = &knowledge.causes[index];
    let jumps = complaint.does == Some(Does::Jumps);
    if !complaint.comes_and_goes() || jumps || cause.passes() || cause.misnames() {
        return 1.0;
    }
    let [mostly, loose] = knowledge.constants.comes_and_goes;
    let comes = match cause.lasting {
        Lasting::Fixed => 0.0,
        Lasting::Mostly => mostly,
        Lasting::ComesAndGoes => loose,
    };
    knowledge.constants.said_to_come * comes + (1.0 - comes)
}

/// Factor for the display that was named, where the readings say which it is better than the name does.
fn beside(engine: &Engine, display: Cylinder, place: Place) -> f64 {
    if place.cylinders(engine).contains(&display) { NAMED } else { 1.0 }
}

/// Factor for the display that was named where only the name says which it is: on a sound engine, or with
/// a fault of them all, any is named as often, which is the measure of the factor.
fn by_memory(engine: &Engine, display: Cylinder, place: Place) -> f64 {
    let own = place.cylinders(engine);
    let (all, here) = (f64::from(engine.cylinders), real(own.len()));
    if own.is_empty() || own.len() == usize::from(engine.cylinders) {
        1.0
    } else if own.contains(&display) {
        REMEMBERED * all / here
    } else {
        (1.0 - REMEMBERED) * all / (all - here)
    }
}

/// Factor where all displays are named: of one display, any is named as often, and all together as often
/// as one, with nothing wrong.
fn of_all(knowledge: &Knowledge, engine: &Engine, index: usize) -> f64 {
    if is_common(&knowledge.causes[index]) {
        OF_ALL * (f64::from(engine.cylinders) + 1.0)
    } else {
        of_one(engine)
    }
}

/// The same for a fault of a single display.
fn of_one(engine: &Engine) -> f64 {
    let cylinders = f64::from(engine.cylinders);
    (1.0 - OF_ALL) * (cylinders + 1.0) / cylinders
}

/// Factor on the prior of a cause in no list, which is at one cylinder.
pub(super) fn unlisted(engine: &Engine, complaint: &Complaint) -> f64 {
    if complaint.all && complaint.display.is_none() { of_one(engine) } else { 1.0 }
}

/// Whether a fault acts on all displays alike, so that none stands off from the others.
pub(crate) fn is_common(cause: &Cause) -> bool {
    cause.place == PlaceKind::Nowhere && cause.seat != Seat::Nothing
}

/// Factor on "nothing is wrong".
pub(super) fn healthy(complaint: &Complaint) -> f64 {
    let said = complaint.does.map_or(1.0, said_of_a_sound_one);
    if complaint.names_something() { said } else { said * NOTHING_SAID }
}

/// How much rarer a sound engine is complained of like this than of other things.
fn said_of_a_sound_one(does: Does) -> f64 {
    match does {
        Does::Misses => NOT_FELT,
        Does::Dead => MISTAKEN_DEAD,
        Does::Jumps => MISTAKEN_JUMP,
        Does::Low | Does::High | Does::Pings | Does::RunsOn => 1.0,
    }
}

/// What readings make of the complaint. Where they do not show it, which display it was is known from the
/// name alone; and a sound engine is the rarer, steady or not yet, where they were taken where it is
/// complained of. Where they do, a fault elsewhere is one that nobody came for. The others share what that leaves,
/// since only ratios count.
pub(super) fn once_read(prior: &mut Prior, knowledge: &Knowledge, timeline: &Timeline) {
    if let Some(display) = confirmed(knowledge, timeline) {
        let two = knowledge.constants.two_faults;
        let sound = prior.healthy;
        // A fault elsewhere alone: that nothing is wrong with what is complained of, and something besides.
        let factor = sound * two / ((1.0 - sound) * (1.0 - two)).max(f64::MIN_POSITIVE);
        prior.besides = Some((display, factor.min(1.0)));
    }
    let said = matches!(timeline.complaint.does, Some(Does::Low | Does::High));
    if let Some(display) = timeline.complaint.display
        && said
        && never_seen(knowledge, timeline)
    {
        let engine = &timeline.engine;
        for single in &mut prior.singles {
            let place = single.fault.place;
            let factor = by_memory(engine, display, place) / beside(engine, display, place);
            single.prior *= factor;
            single.said *= factor;
        }
    }
    if !said || !unseen(knowledge, timeline) {
        return;
    }
    prior.healthy *= UNSEEN;
    // Nor is anything else wrong where displays only bear each other's names.
    let sound = |cause: CauseRef| cause.passes(knowledge) || cause.misnames(knowledge);
    for single in prior.singles.iter_mut().filter(|single| sound(single.fault.cause)) {
        single.prior *= UNSEEN;
    }
}

/// The display that is complained of, where it stood off as complained before anything was put right or moved. Of two
/// displays either stands off from the other, so that neither is known to be the one.
fn confirmed(knowledge: &Knowledge, timeline: &Timeline) -> Option<Cylinder> {
    let complaint = &timeline.complaint;
    let display = complaint.display.filter(|_| timeline.engine.cylinders > 2)?;
    if !matches!(complaint.does, Some(Does::Low | Does::High)) {
        return None;
    }
    let first = timeline.disturbances.iter().position(|d| d.remedied.is_some());
    let first = first.unwrap_or(usize::MAX);
    let stands = |odd: &Oddness| {
        let set = &timeline.sets[odd.set];
        odd.display == display
            && set.after <= first
            && set.arrangement.is_original()
            && odd.sigmas.is_some_and(|sigmas| complaint.shown_by(display, sigmas) >= CONFIRMED)
    };
    oddness(knowledge, timeline).iter().any(stands).then_some(display)
}

/// Whether the display that is complained of was read where it is complained of, before anything was
/// put right, and never stood off as complained.
pub(crate) fn unseen(knowledge: &Knowledge, timeline: &Timeline) -> bool {
    timeline.complaint.at.is_some() && never_seen(knowledge, timeline)
}

/// The same where no running point is named: it was read at some steady point, and showed at none.
fn never_seen(knowledge: &Knowledge, timeline: &Timeline) -> bool {
    let complaint = &timeline.complaint;
    let Some(display) = complaint.display else { return false };
    let first = timeline.disturbances.iter().position(|d| d.remedied.is_some());
    let first = first.unwrap_or(usize::MAX);
    let asked = |odd: &&Oddness| {
        let set = &timeline.sets[odd.set];
        let there = complaint.at.map_or(set.is_settled(), |at| set.at == at);
        odd.display == display && there && set.after <= first
    };
    let oddness = oddness(knowledge, timeline);
    let mut seen = oddness.iter().filter(asked).peekable();
    let near = |odd: &Oddness| {
        let number = matches!(
            timeline.sets[odd.set].readings[usize::from(display) - 1],
            Reading::Degrees(_)
        );
        number && odd.sigmas.is_some_and(|s| complaint.shown_by(display, s) < NOTICED)
    };
    complaint.does.is_some() && seen.peek().is_some() && seen.all(near)
}

/// Whether a cause does what is complained of, where that is more than a number that stands off: what misses,
/// jumps or pings is no natural difference, and none is seen of what moves all displays together.
pub(crate) fn does_it(knowledge: &Knowledge, complaint: &Complaint, cause: CauseRef) -> bool {
    let CauseRef::Listed(index) = cause else { return false };
    if complaint.speaks_of_all() && is_common(&knowledge.causes[index]) {
        return true;
    }
    let Some(does) = complaint.does else { return false };
    !knowledge.causes[index].passes() && of_its_doing(knowledge, does, index) > 1.0
}

fn of_its_doing(knowledge: &Knowledge, does: Does, index: usize) -> f64 {
    let cause = &knowledge.causes[index];
    let chain = CauseRef::Listed(index).is_measuring(knowledge);
    if cause.passes() {
        return said_of_a_sound_one(does);
    }
    // What it does is done by whatever is wrong besides.
    if cause.misnames() {
        return 1.0;
    }
    match does {
        Does::Misses if chain => NOT_FELT,
        Does::Misses if is_felt(cause) => FELT,
        Does::Pings | Does::RunsOn => {
            if cause.heat {
                HEARD
            } else {
                1.0
            }
        }
        Does::Jumps | Does::Dead if cause.is_intermittent() => COMES_AND_GOES,
        Does::Jumps if chain => OF_THE_CHAIN,
        Does::Dead if chain => DEAD,
        Does::Low | Does::High | Does::Misses | Does::Jumps | Does::Dead => 1.0,
    }
}

/// Whether a cylinder with this cause fires unevenly.
fn is_felt(cause: &Cause) -> bool {
    let seats = [Seat::Plug, Seat::HtLead, Seat::Coil, Seat::Injector, Seat::InjectorWiring];
    seats.contains(&cause.seat) || cause.effects.iter().any(|e| e.law == Law::Misfire)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::prior::prior;
    use facts::job::fit::Sheet;
    use facts::knowledge::embedded::embedded;
    use facts::knowledge::load;
    use measure::engine::Regime;

    fn base() -> Knowledge {
        load(embedded(), &[]).0.expect("the built-in knowledge base")
    }

    fn with(knowledge: &Knowledge, complaint: &Complaint) -> Prior {
        let engine = &knowledge.presets[0].engine;
        prior(knowledge, engine, &[], (&Sheet::default(), None), complaint)
    }

    /// Probability of single causes that satisfy something.
    fn share(prior: &Prior, of: impl Fn(usize, Place) -> bool) -> f64 {
        let counts = |s: &&crate::diagnosis::prior::Single| match s.fault.cause {
            CauseRef::Listed(index) => of(index, s.fault.place),
            CauseRef::Unlisted => false,
        };
        prior.singles.iter().filter(counts).map(|s| s.prior).sum()
    }

    /// Who says that it comes and goes makes what does so by nature the likelier, and no more than once.
    #[test]
    fn words_that_it_comes_and_goes_speak_for_what_does() {
        let knowledge = base();
        let with_words = |comes: bool, does: Does| {
            let mut complaint = Complaint { does: Some(does), ..Complaint::default() };
            complaint.heard.comes = comes;
            let prior = with(&knowledge, &complaint);
            let [loose, fixed] = ["inj-wiring", "inj-odd-flow"].map(|id| {
                let cause = knowledge.cause(id).expect("a cause");
                share(&prior, |index, _| index == cause)
            });
            loose / fixed
        };
        let times = with_words(true, Does::Low) / with_words(false, Does::Low);
        assert!((2.0..6.0).contains(&times), "{times}");
        let jumps = with_words(true, Does::Jumps) / with_words(false, Does::Jumps);
        assert!((jumps - 1.0).abs() < 1e-9, "{jumps}");
    }

    #[test]
    fn what_it_does_moves_what_it_can_come_from() {
        let knowledge = base();
        let idle = Complaint { at: Some(fixture::at(Regime::Idle)), ..Complaint::default() };
        let plain = with(&knowledge, &idle);
        let does = |does| with(&knowledge, &Complaint { does: Some(does), ..Complaint::default() });
        // Who complains of nothing comes with a display that stood out by chance.
        assert!(with(&knowledge, &Complaint::default()).healthy > 1.2 * plain.healthy);
        let chain = |i: usize, _: Place| CauseRef::Listed(i).is_measuring(&knowledge);
        let felt = |i: usize, _: Place| is_felt(&knowledge.causes[i]);
        let hot = |i: usize, _: Place| knowledge.causes[i].heat;
        let loose = |i: usize, _: Place| knowledge.causes[i].is_intermittent();
        let misses = does(Does::Misses);
        assert!(misses.healthy < plain.healthy);
        assert!(share(&misses, chain) < share(&plain, chain));
        assert!(share(&misses, felt) > 1.5 * share(&plain, felt));
        for sign in [Does::Pings, Does::RunsOn] {
            assert!(share(&does(sign), hot) > share(&plain, hot), "{sign}");
        }
        assert!(share(&does(Does::Jumps), loose) > share(&plain, loose));
        assert!(share(&does(Does::Dead), chain) > share(&plain, chain));
        assert_eq!(does(Does::High), plain);
    }

    /// What of all displays speaks for, and that no single one of them is left out of it, in a list or not.
    #[test]
    fn all_displays_speak_for_what_acts_on_all() {
        let knowledge = base();
        let plain = with(&knowledge, &Complaint::default());
        let all = with(&knowledge, &Complaint { all: true, ..Complaint::default() });
        let ratio = |of: &dyn Fn(&crate::diagnosis::prior::Single) -> bool| {
            let sum = |prior: &Prior| -> f64 {
                prior.singles.iter().filter(|single| of(single)).map(|single| single.prior).sum()
            };
            sum(&all) / sum(&plain)
        };
        let listed = |cause: CauseRef| match cause {
            CauseRef::Listed(index) => Some(&knowledge.causes[index]),
            CauseRef::Unlisted => None,
        };
        let common = ratio(&|single| listed(single.fault.cause).is_some_and(is_common));
        // Names are no fault that is complained of.
        let own = |cause: &Cause| !is_common(cause) && !cause.misnames();
        let known = ratio(&|single| listed(single.fault.cause).is_some_and(own));
        let unlisted = ratio(&|single| single.fault.cause == CauseRef::Unlisted);
        assert!(common > 10.0 * known, "{common} {known}");
        assert!((unlisted / known - 1.0).abs() < 1e-9, "{unlisted} {known}");
    }

    #[test]
    fn the_display_that_is_named_is_likelier_and_no_other_is_ruled_out() {
        let knowledge = base();
        let plain = with(&knowledge, &Complaint::default());
        let named = with(&knowledge, &Complaint { display: Some(2), ..Complaint::default() });
        let at = |prior: &Prior, c| share(prior, |_, place| place == Place::Cylinder(c));
        assert!((at(&plain, 1) - at(&plain, 2)).abs() < 1e-9);
        let ratio = at(&named, 2) / at(&named, 1);
        assert!((ratio - NAMED).abs() < 1e-9, "{ratio}");
        // Of a display that was gone nobody is in doubt which it was.
        let dead = Complaint { display: Some(2), does: Some(Does::Dead), ..Complaint::default() };
        let dead = with(&knowledge, &dead);
        let ratio = at(&dead, 2) / at(&dead, 1);
        let others = f64::from(knowledge.presets[0].engine.cylinders) - 1.0;
        assert!((ratio - others * REMEMBERED / (1.0 - REMEMBERED)).abs() < 1e-9, "{ratio}");
        let sum = |p: &Prior| {
            p.healthy + p.pairs + p.misnamed + p.singles.iter().map(|s| s.prior).sum::<f64>()
        };
        assert!((sum(&named) - 1.0).abs() < 1e-9);
    }
}
