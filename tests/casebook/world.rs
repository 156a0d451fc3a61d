//! A small engine with a truth of its own: what its displays show and what its tests answer.
//!
//! Its arithmetic is its own. It must not use anything of the program: neither its effects, nor
//! its arrangement of parts, nor its chances.

use std::collections::BTreeMap;

use crate::case::{Case, Course, Fault, Reseat, Shows};

const ITEMS: [&str; 7] =
    ["probe", "lead-at-box", "lead-at-probe", "injector", "plug", "coil", "ht-lead"];

/// Tests that are seen on a display: whoever asks for them at a cylinder looks at the display that he takes
/// for that cylinder's. All others are done at the cylinder itself.
const ON_THE_DISPLAY: [&str; 14] = [
    "cold-compare",
    "settle-watch",
    "point-compare",
    "load-response",
    "warmup-trace",
    "scatter-speed",
    "ignition-off-hot",
    "load-electric",
    "mixture-sweep",
    "head-exh-pair",
    "jumper-lead",
    "spare-channel",
    "new-probe",
    "reseat-probe",
];

/// The engine at a moment of a job.
pub(crate) struct World<'a> {
    pub(crate) case: &'a Case,
    /// Original number of the item at each position, as they really are.
    at: BTreeMap<&'static str, Vec<u8>>,
    /// The same by what was exchanged in the job alone.
    moved: BTreeMap<&'static str, Vec<u8>>,
    pub(crate) cured: Vec<bool>,
    /// Cured by an exchange, a re-seat or a good part, and not yet entered as put right.
    in_passing: Vec<bool>,
    /// Reading sets so far.
    pub(crate) sets: usize,
    random: u64,
}

impl<'a> World<'a> {
    pub(crate) fn new(case: &'a Case, seed: u64) -> Self {
        let straight: Vec<u8> = (1..=case.cylinders).collect();
        let at: BTreeMap<&'static str, Vec<u8>> =
            ITEMS.iter().map(|item| (*item, straight.clone())).collect();
        let name = case.name.bytes().fold(seed, |sum, byte| {
            sum.wrapping_mul(0x0100_0000_01b3).wrapping_add(u64::from(byte))
        });
        let mut world = Self {
            case,
            moved: at.clone(),
            at,
            cured: vec![false; case.faults.len()],
            in_passing: vec![false; case.faults.len()],
            sets: 0,
            random: name,
        };
        for (item, a, b) in &case.crossed {
            if let Some(at) = world.at.get_mut(item.as_str()) {
                at.swap(usize::from(*a) - 1, usize::from(*b) - 1);
            }
        }
        world
    }

    /// A standard normal number (sum of twelve evenly spread ones).
    fn noise(&mut self) -> f64 {
        let mut sum = -6.0;
        for _ in 0..12 {
            self.random = self.random.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut z = self.random;
            z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            sum += f64::from(u32::try_from((z ^ (z >> 31)) >> 32).expect("32 bits"))
                / f64::from(u32::MAX);
        }
        sum
    }

    fn position(&self, item: &str, number: u8) -> u8 {
        let found = self.at[item].iter().position(|n| *n == number);
        u8::try_from(found.expect("a permutation") + 1).expect("few cylinders")
    }

    /// The cylinder that a display really shows.
    fn cylinder_shown(&self, display: u8) -> u8 {
        self.position("lead-at-probe", self.at["lead-at-box"][usize::from(display) - 1])
    }

    fn display_of(&self, cylinder: u8) -> u8 {
        self.position("lead-at-box", self.at["lead-at-probe"][usize::from(cylinder) - 1])
    }

    /// The cylinder at which a fault's part is now.
    fn cylinder_of(&self, fault: &Fault, number: u8) -> u8 {
        let with = |item: &str| {
            if fault.goes_with_part { self.position(item, number) } else { number }
        };
        match fault.seat.as_str() {
            "channel" | "settings" => self.cylinder_shown(number),
            "lead" => self.position("lead-at-probe", number),
            "probe" | "fit" => with("probe"),
            "injector" => with("injector"),
            "plug" => with("plug"),
            "coil" => with("coil"),
            "ht-lead" => with("ht-lead"),
            _ => number,
        }
    }

    /// The display on which a fault shows now.
    fn display_showing(&self, fault: &Fault, number: u8) -> u8 {
        match fault.seat.as_str() {
            "channel" | "settings" => number,
            "lead" => self.position("lead-at-box", number),
            _ => self.display_of(self.cylinder_of(fault, number)),
        }
    }

    /// Whether a fault is there in the reading set that is about to be taken, or was just taken.
    fn there(&self, index: usize, set: usize) -> bool {
        !self.cured[index]
            && match &self.case.faults[index].course {
                Course::Always => true,
                Course::Begins(first) => set >= *first,
                Course::Comes(pattern) => pattern[set % pattern.len()],
            }
    }

    /// One value for each display, as it would be typed.
    pub(crate) fn read(&mut self, at: &str, head: bool) -> Vec<String> {
        let set = self.sets;
        self.sets += 1;
        let case = self.case;
        let levels = if head { &case.head_levels } else { &case.levels };
        let level = levels.get(at).copied().unwrap_or(20.0);
        let noise = if at == "cold" { 0.4 } else { case.noise };
        let mut values = Vec::new();
        for display in 1..=case.cylinders {
            let cylinder = self.cylinder_shown(display);
            let own = case.natural.get(at).and_then(|n| n.get(usize::from(cylinder) - 1));
            let mut value = level + own.copied().unwrap_or(0.0) + noise * self.noise();
            let mut word = None;
            let mut jumps = None;
            for (index, fault) in case.faults.iter().enumerate() {
                let chain =
                    ["probe", "fit", "lead", "channel", "settings"].contains(&fault.seat.as_str());
                let main = if case.levels.is_empty() { head } else { !head };
                let shows = if head {
                    fault
                        .head_shows
                        .get(at)
                        .or_else(|| if case.levels.is_empty() { fault.shows.get(at) } else { None })
                } else {
                    fault.shows.get(at)
                };
                let here = fault.numbers.iter().any(|n| self.display_showing(fault, *n) == display);
                if !here || !self.there(index, set) || chain && !main {
                    continue;
                }
                match shows {
                    None => {}
                    Some(Shows::By(by)) => value += by,
                    Some(Shows::Reads(reads)) => value = reads + 0.3 * (value - level),
                    Some(Shows::Open) => word = Some("open"),
                    Some(Shows::Stuck(_)) => word = Some("stuck"),
                    Some(Shows::Falling) => word = Some("falling"),
                    Some(Shows::Jumps(low, high)) => jumps = Some((*low, *high)),
                }
            }
            values.push(match (word, jumps) {
                (Some(word), _) => word.to_owned(),
                (None, Some((low, high))) => {
                    format!("{:.0}..{:.0}", (value + low).max(0.0), value + high)
                }
                (None, None) => format!("{:.0}", value.max(0.0)),
            });
        }
        values
    }

    /// What a test shows: outcome and, where one is named, the other cylinder.
    pub(crate) fn answer(
        &self,
        test: &str,
        cylinder: Option<u8>,
        at: &str,
        outcomes: &[String],
        healthy: &str,
    ) -> (String, Option<u8>) {
        let known = |outcome: &str| outcomes.iter().any(|o| o == outcome);
        let crossed = cylinder.and_then(|cylinder| self.crossed_answer(test, cylinder));
        if let Some(found) = crossed.filter(|found| known(found.0)) {
            return (found.0.to_owned(), Some(found.1));
        }
        // What is there now, or was in the last set.
        let set = self.sets.saturating_sub(1);
        for (index, fault) in self.case.faults.iter().enumerate() {
            if !self.there(index, set) {
                continue;
            }
            let own = |c: Option<u8>| {
                c.is_none_or(|c| self.is_met(fault, c, ON_THE_DISPLAY.contains(&test)))
            };
            let found = fault
                .elsewhere
                .iter()
                .find(|(t, c, _)| t == test && (c.is_none() || *c == cylinder))
                .map(|(_, _, outcome)| outcome)
                .filter(|_| !own(cylinder) || cylinder.is_none())
                .or_else(|| {
                    let at_point = |(t, _, points): &&(String, String, Vec<String>)| {
                        t == test && points.iter().any(|p| p == at)
                    };
                    fault
                        .answers_at
                        .iter()
                        .find(at_point)
                        .map(|(_, o, _)| o)
                        .filter(|_| own(cylinder))
                })
                .or_else(|| {
                    let same = |(t, _): &&(String, String)| t == test;
                    fault.answers.iter().find(same).map(|(_, o)| o).filter(|_| own(cylinder))
                });
            if let Some(outcome) = found.filter(|o| known(o)) {
                return (outcome.clone(), None);
            }
        }
        let always =
            self.case.answers.iter().find(|(t, c, outcome)| {
                t == test && (c.is_none() || *c == cylinder) && known(outcome)
            });
        (always.map_or(healthy, |(_, _, outcome)| outcome).to_owned(), None)
    }

    /// Whether somebody meets a fault who looks at a cylinder, or at the display that is taken for its own.
    fn is_met(&self, fault: &Fault, cylinder: u8, on_display: bool) -> bool {
        let believed = self.believed_display(cylinder);
        fault.numbers.iter().any(|n| {
            if on_display || ["channel", "settings"].contains(&fault.seat.as_str()) {
                self.display_showing(fault, *n) == believed
            } else {
                self.cylinder_of(fault, *n) == cylinder
            }
        })
    }

    /// The display that belongs to a cylinder by what was exchanged in the job.
    fn believed_display(&self, cylinder: u8) -> u8 {
        let lead = self.moved["lead-at-probe"][usize::from(cylinder) - 1];
        let at = self.moved["lead-at-box"].iter().position(|n| *n == lead);
        u8::try_from(at.expect("a permutation") + 1).expect("few cylinders")
    }

    /// Tests by which crossed probe leads are seen, done on a cylinder: its display is the one that belongs to it as
    /// parts were exchanged, and who sees another one names the cylinder that that belongs to.
    fn crossed_answer(&self, test: &str, cylinder: u8) -> Option<(&'static str, u8)> {
        let shown = self.cylinder_shown(self.believed_display(cylinder));
        if shown == cylinder {
            return None;
        }
        let moves = self.display_of(cylinder);
        let other = (1..=self.case.cylinders).find(|c| self.believed_display(*c) == moves)?;
        match test {
            "map-check" => Some(("lead-elsewhere", shown)),
            "polarity" => Some(("another-rises", other)),
            "cut-out" => Some(("other-falls", other)),
            // The display is odd with another cylinder's fault, the probe here is not.
            "second-thermometer"
                if self.case.faults.iter().zip(&self.cured).any(|(fault, cured)| {
                    !cured
                        && self.is_met(fault, cylinder, true)
                        && !self.is_met(fault, cylinder, false)
                }) =>
            {
                Some(("normal", shown))
            }
            _ => None,
        }
    }

    /// Two like items change places.
    pub(crate) fn exchange(&mut self, item: &str, a: u8, b: u8) {
        self.undo(&format!("exchange {item}"), &[a, b], item);
        for at in [&mut self.at, &mut self.moved] {
            if let Some(at) = at.get_mut(item) {
                at.swap(usize::from(a) - 1, usize::from(b) - 1);
            }
        }
    }

    /// A joint is undone and remade, or its part replaced by a known good one.
    pub(crate) fn remake(&mut self, item: &str, number: u8, new: bool) {
        self.undo(&format!("remake {item}"), &[number], item);
        if new {
            let seat = match item {
                "lead-at-box" | "lead-at-probe" => "lead",
                item => item,
            };
            for index in 0..self.case.faults.len() {
                let fault = &self.case.faults[index];
                let here = fault.numbers.iter().any(|n| self.cylinder_of(fault, *n) == number);
                if fault.seat == seat && fault.goes_with_part && here {
                    self.in_passing[index] |= !self.cured[index];
                    self.cured[index] = true;
                }
            }
        }
    }

    /// A test was done, which may have undone something.
    pub(crate) fn tested(&mut self, test: &str, cylinder: Option<u8>) {
        let all: Vec<u8> = (1..=self.case.cylinders).collect();
        let here = cylinder.map_or(all, |c| vec![c]);
        self.undo(test, &here, "");
    }

    fn undo(&mut self, act: &str, here: &[u8], item: &str) {
        for index in 0..self.case.faults.len() {
            let fault = &self.case.faults[index];
            let at_box = item == "lead-at-box";
            let touched = fault.numbers.iter().any(|n| {
                here.contains(&self.cylinder_of(fault, *n))
                    || at_box && here.contains(&self.display_showing(fault, *n))
            });
            if touched && fault.reseat == Reseat::Cures && fault.undone_by.iter().any(|u| u == act)
            {
                self.in_passing[index] |= !self.cured[index];
                self.cured[index] = true;
            }
        }
    }

    /// A cure was carried out; whether it ended anything.
    pub(crate) fn remedy(&mut self, causes: &[String], places: &[u8]) -> bool {
        let mut ended = false;
        let crossing = ["lead-crossed", "cfg-order", "probes-exchanged"];
        if causes.iter().any(|cause| crossing.contains(&cause.as_str()))
            && let &[a, b] = places
        {
            let crossed = self.cylinder_shown(a) == b && self.cylinder_shown(b) == a;
            for item in ["lead-at-box", "lead-at-probe"] {
                if crossed && self.at[item] != self.moved[item] {
                    self.at
                        .get_mut(item)
                        .expect("an item")
                        .swap(usize::from(a) - 1, usize::from(b) - 1);
                    ended = true;
                    break;
                }
            }
        }
        for index in 0..self.case.faults.len() {
            let fault = &self.case.faults[index];
            let here = places.is_empty()
                || fault.numbers.is_empty()
                || fault.seat == "engine"
                || fault.numbers.iter().any(|n| places.contains(n));
            if here && fault.cured_by.iter().any(|c| causes.contains(c)) {
                // Who enters as put right what a good part ended has cured it.
                ended |= !self.cured[index] || self.in_passing[index];
                self.cured[index] = true;
                self.in_passing[index] = false;
            }
        }
        let own: Vec<u8> = places.to_vec();
        for cause in causes {
            self.undo(&format!("remedy {cause}"), &own, "");
        }
        ended
    }

    /// Whether parts stand exchanged by what was done in the job.
    pub(crate) fn left_exchanged(&self) -> bool {
        self.moved.values().any(|at| !at.iter().copied().eq(1..=self.case.cylinders))
    }

    /// Whether displays bear the wrong cylinder's name, or did not, contrary to what was done.
    pub(crate) fn crossed(&self) -> bool {
        self.at["lead-at-box"] != self.moved["lead-at-box"]
            || self.at["lead-at-probe"] != self.moved["lead-at-probe"]
    }

    /// Largest shift of a fault that is not cured, °C; infinite where it shows no number.
    pub(crate) fn worst_left(&self) -> f64 {
        let size = |shows: &Shows| match shows {
            Shows::By(by) => by.abs(),
            Shows::Jumps(low, high) => low.abs().max(high.abs()),
            Shows::Reads(_) | Shows::Open | Shows::Stuck(_) | Shows::Falling => f64::INFINITY,
        };
        let faults = self.case.faults.iter().zip(&self.cured).filter(|(_, cured)| !**cured);
        let worst = faults
            .flat_map(|(fault, _)| fault.shows.values().chain(fault.head_shows.values()))
            .map(size)
            .fold(0.0, f64::max);
        if self.crossed() { worst.max(0.1) } else { worst }
    }

    /// Whether a cylinder that really runs hot showed it in a set at this point.
    pub(crate) fn shows_hot(&self, at: &str, head: bool) -> bool {
        self.case.faults.iter().zip(&self.cured).any(|(fault, cured)| {
            let shows = if head { &fault.head_shows } else { &fault.shows };
            let far = if head { 25.0 } else { 60.0 };
            fault.hot && !cured && matches!(shows.get(at), Some(Shows::By(by)) if *by >= far)
        })
    }

    /// Whether a really hot cylinder is left.
    pub(crate) fn hot_left(&self) -> bool {
        self.case.faults.iter().zip(&self.cured).any(|(fault, cured)| fault.hot && !cured)
    }
}
