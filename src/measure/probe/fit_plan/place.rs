//! One distance from the flange for all runners.
//!
//! Every runner has a window in which a boss keeps clear of bends; the common distance is the one
//! that most windows hold, as near as can be to the usual one, or the one asked for. It must not compute temperatures.

use serde::Serialize;

use super::Runner;

/// Distance from the flange that is wanted where nobody says another, mm: out of the bend of the
/// port, still before the runners join (common practice, no source).
pub const USUAL_DISTANCE: f64 = 50.0;
/// Nearest to the flange that a boss leaves room for nuts and a spanner, mm (common practice, no
/// source).
pub const NEAREST: f64 = 25.0;
/// Bores to stay after a bend of 90 degrees, and before one (common practice, no source). A lesser
/// bend asks for less in proportion.
const AFTER_BEND: f64 = 2.0;
const BEFORE_BEND: f64 = 0.5;
/// The angle of a full bend.
const FULL_BEND: f64 = 90.0;
/// Where a straight is too short for either, this share of it lies before the boss: what comes
/// after a bend is worse than what goes before one.
const SHORT_SHARE: f64 = 0.7;

/// The places along a runner that keep clear of its bends, mm from the flange.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Window {
    /// Nearest.
    pub from_mm: f64,
    /// Furthest; nothing where no bend was measured.
    pub to_mm: Option<f64>,
}

impl Window {
    fn holds(&self, mm: f64) -> bool {
        self.from_mm <= mm + 1e-9 && self.to_mm.is_none_or(|to| mm <= to + 1e-9)
    }

    /// The place in it nearest to one outside, on a whole millimetre where it has one.
    fn nearest(&self, mm: f64) -> f64 {
        let end = mm.min(self.to_mm.unwrap_or(mm)).max(self.from_mm);
        let whole = if mm < end { end.ceil() } else { end.floor() };
        if self.holds(whole) { whole } else { end }
    }
}

/// Where one boss goes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Place {
    pub(super) distance: f64,
    pub(super) window: Option<Window>,
    pub(super) common: bool,
}

/// Where all go.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Places {
    pub(super) common: f64,
    pub(super) each: Vec<Place>,
}

/// The common distance and each runner's own.
pub(super) fn places(runners: &[Runner], asked: Option<f64>) -> Places {
    let windows: Vec<Option<Window>> = runners.iter().map(window).collect();
    let common = asked.unwrap_or_else(|| most_held(&windows, USUAL_DISTANCE));
    let each = runners.iter().zip(windows).map(|(runner, window)| place(runner, window, common));
    let each = each.collect();
    Places { common, each }
}

/// The distance that most windows hold, as near as can be to what is wanted.
fn most_held(windows: &[Option<Window>], wanted: f64) -> f64 {
    let open = || windows.iter().flatten();
    let mut candidates = vec![wanted];
    candidates.extend(open().map(|window| window.from_mm.ceil()));
    candidates.extend(open().filter_map(|window| window.to_mm.map(f64::floor)));
    let held = |mm: f64| open().filter(|window| window.holds(mm)).count();
    let mut common = wanted;
    for mm in candidates {
        let better = held(mm) > held(common)
            || held(mm) == held(common) && (mm - wanted).abs() < (common - wanted).abs();
        if better {
            common = mm;
        }
    }
    common
}

/// Where one boss goes, given its window and the common distance.
fn place(runner: &Runner, window: Option<Window>, common: f64) -> Place {
    if let Some(window) = window {
        let is_common = window.holds(common);
        let distance = if is_common { common } else { window.nearest(common) };
        return Place { distance, window: Some(window), common: is_common };
    }
    let (from, to) = (runner.straight_from_mm, runner.straight_to_mm.unwrap_or(common));
    // Whole millimetres are what a rule is read to.
    let distance = (from + SHORT_SHARE * (to - from)).round();
    Place { distance, window: None, common: (distance - common).abs() < 1e-9 }
}

/// The window of a runner, unless its straight is too short to have one.
fn window(runner: &Runner) -> Option<Window> {
    let share = |degrees: f64| (degrees / FULL_BEND).min(1.0);
    let clear_of_bend = if runner.straight_from_mm > 0.0 {
        runner.straight_from_mm + AFTER_BEND * share(runner.bend_before_deg) * runner.bore_mm
    } else {
        0.0
    };
    let from_mm = clear_of_bend.max(NEAREST);
    let to_mm = runner
        .straight_to_mm
        .map(|to| to - BEFORE_BEND * share(runner.bend_after_deg) * runner.bore_mm);
    to_mm.is_none_or(|to| from_mm <= to).then_some(Window { from_mm, to_mm })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn runner(from: f64, to: f64) -> Runner {
        Runner { straight_from_mm: from, straight_to_mm: Some(to), ..Runner::straight(40.0) }
    }

    #[test]
    fn the_wanted_distance_is_taken_where_all_can_have_it() {
        let free = Runner::straight(40.0);
        let all = places(&[free, runner(0.0, 90.0)], None);
        assert!((all.common - USUAL_DISTANCE).abs() < 1e-9);
        assert!(all.each.iter().all(|place| place.common));
        // Half a bore before the bend: 20 mm of 60.
        let all = places(&[free, runner(0.0, 60.0)], None);
        assert!((all.common - 40.0).abs() < 1e-9);
        assert!(all.each.iter().all(|place| place.common));
    }

    #[test]
    fn where_windows_do_not_meet_the_most_runners_have_it() {
        // 25 to 40, 25 to 40, and from 40 + 80 on.
        let all = places(&[runner(0.0, 60.0), runner(0.0, 60.0), runner(40.0, 200.0)], None);
        assert!((all.common - 40.0).abs() < 1e-9);
        let common: Vec<bool> = all.each.iter().map(|place| place.common).collect();
        assert_eq!(common, [true, true, false]);
        assert!((all.each[2].distance - 120.0).abs() < 1e-9);
    }

    #[test]
    fn a_distance_that_is_asked_for_stays_for_those_that_can_have_it() {
        let long = runner(0.0, 300.0);
        let late = runner(60.0, 300.0);
        assert!((places(&[long, long, late], None).common - 140.0).abs() < 1e-9);
        let asked = places(&[long, long, late], Some(50.0));
        let each: Vec<f64> = asked.each.iter().map(|place| place.distance.round()).collect();
        assert_eq!(each.iter().map(|mm| format!("{mm}")).collect::<Vec<_>>(), ["50", "50", "140"]);
    }

    #[test]
    fn an_own_distance_is_on_a_whole_millimetre_where_it_can_be() {
        let window = |from_mm, to_mm| Window { from_mm, to_mm: Some(to_mm) };
        for (window, expected) in
            [(window(60.3, 90.0), 61.0), (window(20.0, 40.7), 40.0), (window(60.3, 60.8), 60.3)]
        {
            assert!((window.nearest(50.0) - expected).abs() < 1e-9, "{window:?}");
        }
    }

    #[test]
    fn a_lesser_bend_asks_for_less_and_a_short_straight_has_no_window() {
        let slight = Runner { bend_after_deg: 45.0, ..runner(0.0, 60.0) };
        assert_eq!(window(&slight), Some(Window { from_mm: 25.0, to_mm: Some(50.0) }));
        assert_eq!(window(&runner(0.0, 40.0)), None);
        let all = places(&[runner(0.0, 40.0), Runner::straight(40.0)], None);
        assert!((all.each[0].distance - 28.0).abs() < 1e-9 && !all.each[0].common);
    }
}
