//! What each running point has shown, and which are still to be read.
//!
//! From reading sets and how odd they are. It must not look at probabilities.

use std::collections::BTreeSet;

use crate::diagnosis::Oddness;
use facts::job::complaint::{Does, NOTICED};
use facts::job::entry::Reading;
use facts::job::timeline::{Disturbance, ReadingSet, Timeline, Work};
use facts::knowledge::{RunningPoint, Seat};
use measure::engine::{Cylinder, ProbeSite, Regime};

/// Natural standard deviations beyond which a display is odd (common practice, no source).
pub(crate) const ODD: f64 = 3.0;

/// Natural standard deviations up to which a display is near the others.
const NEAR: f64 = 2.0;

/// Good sets that something which came and went must stay away for (common practice, no source).
const STAYS_AWAY: usize = 3;

/// Probes and a running point.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Spot {
    pub(crate) at: RunningPoint,
    pub(crate) site: ProbeSite,
}

/// The running points of a job by what they showed.
pub(crate) struct Points<'a> {
    timeline: &'a Timeline,
    /// Largest oddness of each set, in natural standard deviations.
    sizes: Vec<f64>,
    /// Cylinders whose display stands far off in each set, or shows no number.
    far: Vec<BTreeSet<Cylinder>>,
}

impl<'a> Points<'a> {
    pub(crate) fn new(timeline: &'a Timeline, oddness: &[Oddness]) -> Self {
        let sizes = (0..timeline.sets.len())
            .map(|set| {
                // What jumps shows no steady number either, wherever its middle lies.
                let steady = |r: &Reading| matches!(r, Reading::Degrees(_));
                if !timeline.sets[set].readings.iter().all(steady) {
                    return f64::INFINITY;
                }
                let own = oddness.iter().filter(|odd| odd.set == set);
                own.filter_map(|odd| odd.sigmas).map(f64::abs).fold(0.0, f64::max)
            })
            .collect();
        let far = |set: usize| {
            let arrangement = &timeline.sets[set].arrangement;
            let far = oddness.iter().filter(|odd| {
                odd.set == set && odd.sigmas.is_none_or(|sigmas| sigmas.abs() >= ODD)
            });
            far.map(|odd| arrangement.cylinder_shown(odd.display)).collect()
        };
        let far = (0..timeline.sets.len()).map(far).collect();
        Self { timeline, sizes, far }
    }

    fn spot(set: &ReadingSet) -> Spot {
        Spot { at: set.at, site: set.site }
    }

    /// Whether a set can be held against the natural spread: settled, or the point of the complaint.
    pub(super) fn counts(&self, set: &ReadingSet) -> bool {
        set.is_settled() || set.at.is_cold() || self.timeline.complaint.at == Some(set.at)
    }

    /// The newest set of each spot, by index.
    pub(crate) fn newest(&self) -> Vec<usize> {
        let sets = &self.timeline.sets;
        let last = |i: usize| sets[i + 1..].iter().all(|s| Self::spot(s) != Self::spot(&sets[i]));
        let speaks =
            |i: usize| self.counts(&sets[i]) && last(i) && !self.need_not_be_cold(&sets[i]);
        (0..sets.len()).filter(|&i| speaks(i)).collect()
    }

    /// Whether a cold set was taken before something was put right that was odd on a running engine too: then the
    /// running engine shows whether it is gone, and nobody waits a night to read it cold again.
    fn need_not_be_cold(&self, set: &ReadingSet) -> bool {
        let timeline = self.timeline;
        let cured = timeline.disturbances.iter().rposition(|d| d.remedied.is_some());
        let Some(cured) = cured.filter(|cured| set.after <= *cured) else { return false };
        let odd = |(s, size): (&ReadingSet, &f64)| {
            !s.at.is_cold() && s.after <= cured && *size >= ODD && self.counts(s)
        };
        set.at.is_cold()
            && timeline.complaint.at != Some(set.at)
            && timeline.sets.iter().zip(&self.sizes).any(odd)
    }

    /// Largest oddness in the newest sets, and where; `None` where nothing was read.
    pub(crate) fn worst_newest(&self) -> Option<(f64, Spot)> {
        let sizes =
            self.newest().into_iter().map(|i| (self.sizes[i], Self::spot(&self.timeline.sets[i])));
        sizes.max_by(|a, b| a.0.total_cmp(&b.0))
    }

    /// Where a cylinder's display stands far off in the newest set, though something was undone and remade by the way
    /// since, after which it stands far off nowhere that it was read.
    pub(crate) fn odd_before_touched(&self, oddness: &[Oddness]) -> Option<Spot> {
        let set = |odd: &Oddness| &self.timeline.sets[odd.set];
        let shown = |odd: &Oddness| set(odd).arrangement.cylinder_shown(odd.display);
        let is_far = |odd: &Oddness| odd.sigmas.is_none_or(|s| s.abs() >= ODD);
        let newest = self.newest();
        let here = || oddness.iter().filter(|odd| newest.contains(&odd.set));
        let gone = |far: &&Oddness| {
            let later =
                |odd: &&Oddness| set(odd).after > set(far).after && shown(odd) == shown(far);
            let mut since = here().filter(later).peekable();
            since.peek().is_some() && !since.any(is_far)
        };
        here().filter(|odd| is_far(odd)).find(gone).map(|odd| Self::spot(set(odd)))
    }

    /// Whether no display but that of a cylinder stands far off, or shows no number, in the newest sets.
    pub(super) fn far_at_most_at(&self, cylinder: Cylinder, oddness: &[Oddness]) -> bool {
        let newest = self.newest();
        let shown =
            |odd: &Oddness| self.timeline.sets[odd.set].arrangement.cylinder_shown(odd.display);
        let here = oddness.iter().filter(|odd| newest.contains(&odd.set));
        let mut far = here.filter(|odd| odd.sigmas.is_none_or(|s| s.abs() >= ODD));
        far.all(|odd| shown(odd) == cylinder)
    }

    /// Largest oddness of a set, in natural standard deviations.
    pub(crate) fn size(&self, set: usize) -> f64 {
        self.sizes[set]
    }

    /// Whether the newest sets since the last work show what something was put right for as it should be, at every
    /// point that was read: no display of its place, nor one complained of, stands far off. What stands off
    /// elsewhere did so all along, or is news.
    pub(crate) fn good_since_remedy(&self, oddness: &[Oddness]) -> bool {
        let timeline = self.timeline;
        let from = self.last_work().map_or(0, |work| work + 1);
        let since: Vec<usize> =
            self.newest().into_iter().filter(|&set| timeline.sets[set].after >= from).collect();
        if since.is_empty() {
            return false;
        }
        // The whole box, or a complaint that names none, is about every display.
        let everywhere = |d: &Disturbance| {
            d.remedied.is_some_and(|(_, place)| place.cylinders(&timeline.engine).is_empty())
        };
        let all =
            timeline.complaint.display.is_none() || timeline.disturbances.iter().any(everywhere);
        // What goes along with a part that was exchanged stands off where that part is now.
        let mut concerned = timeline.concerned();
        let moved = timeline.arrangement.displaced().into_iter();
        let away = moved.filter(|(_, number, _)| concerned.contains(number));
        let away: Vec<Cylinder> = away.map(|(.., position)| position).collect();
        concerned.extend(away);
        let shown = |odd: &Oddness| timeline.sets[odd.set].arrangement.cylinder_shown(odd.display);
        let far =
            |odd: &&Oddness| since.contains(&odd.set) && odd.sigmas.is_none_or(|s| s.abs() >= ODD);
        !oddness.iter().filter(far).any(|odd| all || concerned.contains(&shown(odd)))
    }

    /// Whether in the last set a display stands far off whose cylinder never came near that before, and
    /// which nobody has worked on: a number that is read once more before anything is made of it.
    pub(crate) fn newly_far(&self, oddness: &[Oddness]) -> Option<(f64, Spot)> {
        let sets = &self.timeline.sets;
        let last = sets.len().checked_sub(1).filter(|&i| i > 0 && self.counts(&sets[i]))?;
        let set = &sets[last];
        let far = |odd: &&Oddness| odd.set == last && odd.sigmas.is_some_and(|s| s.abs() >= ODD);
        oddness
            .iter()
            .filter(far)
            .find(|odd| {
                let cylinder = set.arrangement.cylinder_shown(odd.display);
                let before = oddness.iter().filter(|o| {
                    o.set < last
                        && self.timeline.sets[o.set].arrangement.cylinder_shown(o.display)
                            == cylinder
                });
                let near = before.filter_map(|o| o.sigmas).all(|s| s.abs() < NEAR);
                let worked = self.timeline.disturbances[sets[last - 1].after..set.after].iter();
                let mut touched = worked.flat_map(|d| {
                    let work = d.work.map(|w| [Some(w.a), w.b]).unwrap_or_default();
                    let place = d.remedied.map(|(_, place)| place);
                    let cured = place.map_or_else(Vec::new, |p| p.cylinders(&self.timeline.engine));
                    work.into_iter().flatten().chain(cured).collect::<Vec<_>>()
                });
                near && !touched.any(|c| c == cylinder)
            })
            .map(|_| (self.sizes[last], Self::spot(set)))
    }

    /// How often a spot was read.
    pub(crate) fn times(&self, spot: Spot) -> usize {
        self.timeline.sets.iter().filter(|s| Self::spot(s) == spot).count()
    }

    /// Work after which things may have changed: the last remedy, exchange or re-seat. Looks that
    /// disturb a joint by the way are not.
    pub(crate) fn last_work(&self) -> Option<usize> {
        self.timeline.disturbances.iter().rposition(|d| d.remedied.is_some() || d.work.is_some())
    }

    /// Whether a spot was read since the last work.
    pub(crate) fn read_since_work(&self, spot: Spot) -> bool {
        let from = self.last_work().map_or(0, |work| work + 1);
        self.timeline.sets.iter().any(|s| s.after >= from && Self::spot(s) == spot)
    }

    /// Spots that showed something odd at any time, by load.
    pub(crate) fn odd(&self) -> Vec<Spot> {
        let sets = self.timeline.sets.iter().zip(&self.sizes);
        let odd = sets
            .filter(|(set, size)| **size >= ODD && self.counts(set))
            .map(|(s, _)| Self::spot(s));
        sorted(odd.collect())
    }

    /// Spots at which a cure must show: where it was odd, where it was complained of, and, of a cause that was
    /// not `seen` itself, what was never read of idle and cruise.
    fn to_prove(&self, seen: bool) -> Vec<Spot> {
        let main = self.timeline.engine.probes;
        let mut spots = self.odd();
        let night = |spot: &Spot| {
            let mut sets = self.timeline.sets.iter().filter(|set| Self::spot(set) == *spot);
            sets.all(|set| self.need_not_be_cold(set))
        };
        spots.retain(|spot| !spot.at.is_cold() || !night(spot));
        let hard = |at: &RunningPoint| !at.is_warming();
        spots.extend(self.timeline.complaint.at.filter(hard).map(|at| Spot { at, site: main }));
        if spots.is_empty() {
            let settled = |s: &&ReadingSet| s.is_settled() && s.site == main;
            let at = self.timeline.sets.iter().rev().find(settled).map(|s| s.at);
            spots.push(Spot {
                at: at.unwrap_or_else(|| self.timeline.points.of(Regime::Idle)),
                site: main,
            });
        }
        // Another fault may show at the one of them that nobody has read.
        let safe = |spot: &Spot| spot.at.routine;
        if !seen {
            spots.extend(self.never_read().into_iter().filter(safe));
        }
        sorted(spots)
    }

    /// Of those the first that was not read since the last work on what the job is about, or, where it comes and goes,
    /// not often enough. Other work undoes no cure: one set at any of them shows that.
    pub(super) fn owed(&self, seen: bool) -> Option<Spot> {
        let times = |spot: &Spot, work: Option<usize>| {
            let from = work.map_or(0, |work| work + 1);
            let sets = self.timeline.sets.iter();
            sets.filter(|s| s.after >= from && Self::spot(s) == *spot).count()
        };
        let spots = self.to_prove(seen);
        let due = spots.iter().find(|spot| {
            let wanted = if self.comes_and_goes(**spot) { STAYS_AWAY } else { 1 };
            times(spot, self.last_work_for(**spot)) < wanted
        });
        let any = self.last_work();
        let unread = || spots.first().filter(|_| spots.iter().all(|spot| times(spot, any) < 1));
        due.or_else(unread).copied()
    }

    /// The last work on a cylinder whose display stood far off at a spot, or that is complained of there; on any that the
    /// job is about where there is none.
    fn last_work_for(&self, spot: Spot) -> Option<usize> {
        let sets = self.timeline.sets.iter().zip(&self.far);
        let far = sets.filter(|(set, _)| Self::spot(set) == spot).flat_map(|(_, far)| far);
        let mut concerned: BTreeSet<Cylinder> = far.copied().collect();
        if self.timeline.complaint.at == Some(spot.at) {
            concerned.extend(self.timeline.complaint.display);
        }
        if concerned.is_empty() {
            concerned = self.timeline.concerned();
        }
        let on_it = |work: Work| {
            concerned.is_empty()
                || concerned.contains(&work.a)
                || work.b.is_some_and(|b| concerned.contains(&b))
        };
        let done = &self.timeline.disturbances;
        done.iter().rposition(|d| d.remedied.is_some() || d.work.is_some_and(on_it))
    }

    /// Whether what is odd at a spot comes and goes: it was odd and not odd with no work between, or is said to
    /// jump there.
    fn comes_and_goes(&self, spot: Spot) -> bool {
        let complaint = &self.timeline.complaint;
        let said =
            complaint.does == Some(Does::Jumps) && complaint.at.is_none_or(|at| at == spot.at);
        // What jumps while it is read is there at every look.
        let mut sets = self.timeline.sets.iter().filter(|set| Self::spot(set) == spot);
        let jumping = |set: &ReadingSet| {
            set.readings.iter().any(|reading| matches!(reading, Reading::Erratic { .. }))
        };
        said && !sets.any(jumping) || self.came_and_went(spot)
    }

    /// Whether a spot was odd and not odd with no work between. What stands at the edge is now on this side of it,
    /// now on that, and comes and goes no more than any number does.
    pub(crate) fn came_and_went(&self, spot: Spot) -> bool {
        let work = |after: usize| {
            let done = self.timeline.disturbances[..after].iter();
            done.filter(|d| d.remedied.is_some() || d.work.is_some()).count()
        };
        let sets: Vec<(usize, f64)> = self
            .timeline
            .sets
            .iter()
            .zip(&self.sizes)
            .filter(|(set, _)| Self::spot(set) == spot)
            .map(|(set, size)| (work(set.after), *size))
            .collect();
        sets.windows(2).any(|pair| {
            let (low, high) = (pair[0].1.min(pair[1].1), pair[0].1.max(pair[1].1));
            pair[0].0 == pair[1].0 && high >= ODD && low < ODD / 2.0
        })
    }

    /// Where something stood far off and, with nothing done between, does not in the sets since, which are fewer
    /// than it must stay away for.
    pub(crate) fn rests(&self) -> Option<Spot> {
        let from = self.last_work().map_or(0, |work| work + 1);
        self.odd().into_iter().find(|spot| {
            let sets = self.timeline.sets.iter().zip(&self.sizes);
            let own = sets.filter(|(set, _)| set.after >= from && Self::spot(set) == *spot);
            let far: Vec<bool> = own.map(|(_, size)| *size >= ODD).collect();
            let good = far.iter().rev().take_while(|far| !**far).count();
            good < far.len() && (1..STAYS_AWAY).contains(&good)
        })
    }

    /// Where an exchange is to be read: the easiest spot that the oddness shows at, else the spot
    /// where it was largest.
    pub(crate) fn to_read_work(&self, may: impl Fn(RunningPoint) -> bool) -> Option<Spot> {
        let sets = self.timeline.sets.iter().zip(&self.sizes);
        let seen: Vec<(Spot, f64)> = sets
            .filter(|(set, _)| self.counts(set) && !set.at.is_cold() && may(set.at))
            .map(|(set, size)| (Self::spot(set), *size))
            .collect();
        let largest = |spot: Spot| {
            let own = seen.iter().filter(|(s, _)| *s == spot).map(|(_, size)| *size);
            own.fold(0.0, f64::max)
        };
        let mut spots: Vec<Spot> = seen.iter().map(|(spot, _)| *spot).collect();
        spots = sorted(spots);
        let odd = spots.iter().copied().find(|spot| largest(*spot) >= ODD);
        odd.or_else(|| spots.into_iter().max_by(|a, b| largest(*a).total_cmp(&largest(*b))))
    }

    /// The spots that a running engine is safely read at, or that the complaint names, and that have
    /// never been.
    pub(crate) fn never_read(&self) -> Vec<Spot> {
        let main = self.timeline.engine.probes;
        let complaint = self.timeline.complaint.at;
        let mut list: Vec<RunningPoint> = self.timeline.points.routine().collect();
        list.extend(complaint);
        list.extend(&self.timeline.complaint.heard.points);
        list.sort_unstable();
        list.dedup();
        list.into_iter()
            .map(|at| Spot { at, site: main })
            .filter(|spot| self.timeline.sets.iter().all(|s| Self::spot(s) != *spot))
            .collect()
    }

    /// Where what is complained of was read once and did not show: what comes and goes may come yet. Where no
    /// display is named, any that does not stand near the others shows it; where no point is, it may show at any.
    pub(super) fn unseen(&self, oddness: &[Oddness]) -> Option<Spot> {
        let complaint = &self.timeline.complaint;
        let number = matches!(complaint.does, Some(Does::Low | Does::High));
        let anywhere = complaint.at.is_none() && complaint.display.is_some() && number;
        let last = || self.timeline.sets.iter().rfind(|set| set.is_settled()).map(|set| set.at);
        let at = complaint.at.or_else(|| last().filter(|_| anywhere))?;
        // What moves all displays together is seen on none of them.
        let said = complaint.display.is_some() || complaint.does.is_some();
        if !said || complaint.speaks_of_all() {
            return None;
        }
        let spot = Spot { at, site: self.timeline.engine.probes };
        let shown = oddness.iter().any(|odd| {
            let set = &self.timeline.sets[odd.set];
            (Self::spot(set) == spot || anywhere && set.is_settled())
                && odd.sigmas.is_none_or(|s| match complaint.display {
                    Some(display) => complaint.shown_by(display, s) >= NOTICED,
                    None => s.abs() >= NEAR,
                })
                && complaint.display.is_none_or(|display| may_show(self.timeline, odd, display))
        });
        (!shown && self.times(spot) == 1).then_some(spot)
    }

    /// How often something stood far off at a spot since something was put right.
    pub(crate) fn far_since_remedy(&self, spot: Spot) -> usize {
        let from = self.timeline.remedied_by();
        let sets = self.timeline.sets.iter().zip(&self.sizes);
        sets.filter(|(s, size)| s.after >= from && Self::spot(s) == spot && **size >= ODD).count()
    }

    /// Running points at which displays were read before something was put right, and not since.
    pub(crate) fn only_before_remedy(&self) -> Vec<Spot> {
        let from = self.timeline.remedied_by();
        let hot = |s: &&ReadingSet| self.counts(s) && !s.at.is_cold();
        let sets = || self.timeline.sets.iter().filter(hot);
        let since = |spot: Spot| sets().any(|s| s.after >= from && Self::spot(s) == spot);
        let mut spots: Vec<Spot> = Vec::new();
        for spot in sets().filter(|s| s.after < from).map(Self::spot) {
            if !since(spot) && !spots.contains(&spot) {
                spots.push(spot);
            }
        }
        spots.sort_by_key(|spot| spot.at);
        spots
    }

    /// Running points at which a display was odd, and that were read once since something was put right.
    pub(crate) fn odd_and_good_once(&self) -> Vec<Spot> {
        let from = self.timeline.remedied_by();
        let sets = || self.timeline.sets.iter();
        let since =
            |spot: Spot| sets().filter(|s| s.after >= from && Self::spot(s) == spot).count();
        self.odd().into_iter().filter(|spot| since(*spot) == 1).collect()
    }

    /// How often a spot was read since the last work.
    pub(crate) fn times_since_work(&self, spot: Spot) -> usize {
        let from = self.last_work().map_or(0, |work| work + 1);
        self.timeline.sets.iter().filter(|s| s.after >= from && Self::spot(s) == spot).count()
    }
}

/// Whether a display may show what was complained of by a number: whatever part carries it, parts were at
/// home then.
pub(super) fn may_show(timeline: &Timeline, odd: &Oddness, number: Cylinder) -> bool {
    let arrangement = &timeline.sets[odd.set].arrangement;
    let travels = timeline.engine.depth_travels();
    let mut seats = [Seat::Channel, Seat::Lead, Seat::Probe, Seat::Cylinder].into_iter();
    seats.any(|seat| arrangement.display_showing(seat, number, travels) == odd.display)
}

fn sorted(mut spots: Vec<Spot>) -> Vec<Spot> {
    spots.sort_unstable_by_key(|s| (s.at, s.site as usize));
    spots.dedup();
    spots
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::diagnosis::diagnose;
    use facts::job::read::read;
    use facts::knowledge::embedded::embedded;
    use facts::knowledge::load;

    /// A number at the edge of odd is now on this side, now on that, and no more comes and goes than any other.
    #[test]
    fn what_stands_at_the_edge_does_not_come_and_go() {
        let knowledge = load(embedded(), &[]).0.expect("the built-in knowledge base is sound");
        let spot = Spot { at: fixture::at(Regime::Cruise), site: ProbeSite::Exhaust };
        let comes = |own: [f64; 2]| {
            let mut journal = fixture::journal();
            let cruise =
                |own: f64| fixture::temps("cruise", fixture::degrees(&[650.0, own, 652.0, 648.0]));
            journal.entries = own.map(|own| fixture::entry(cruise(own))).to_vec();
            let timeline = read(&knowledge, &journal);
            let oddness = diagnose(&knowledge, &timeline).assessment.oddness;
            let points = Points::new(&timeline, &oddness);
            let sizes: Vec<f64> = (0..2).map(|set| points.size(set)).collect();
            (points.came_and_went(spot), sizes)
        };
        // From three and a half spreads to under three, and to none.
        let (edge, sizes) = comes([607.0, 617.0]);
        assert!(sizes[0] >= ODD && sizes[1] < ODD && sizes[1] > ODD / 2.0, "{sizes:?}");
        assert!(!edge);
        assert!(comes([607.0, 648.0]).0);
    }
}
