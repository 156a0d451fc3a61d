//! An axis: from values to places, and round numbers to label it with.

use measure::number::real;
/// Values along a stretch of the picture.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Axis {
    lo: f64,
    hi: f64,
    from: f64,
    to: f64,
}

impl Axis {
    /// Makes room for all values and a little beyond them, between two places.
    ///
    /// Values that are not finite are left out; without any the axis runs from 0 to 1.
    pub(super) fn over(values: impl IntoIterator<Item = f64>, from: f64, to: f64) -> Self {
        let finite = values.into_iter().filter(|v| v.is_finite());
        let (lo, hi) =
            finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), v| (lo.min(v), hi.max(v)));
        if lo > hi {
            return Self { lo: 0.0, hi: 1.0, from, to };
        }
        let room = ((hi - lo) * 0.05).max(1.0);
        Self { lo: lo - room, hi: hi + room, from, to }
    }

    /// The same without room beyond the values.
    pub(super) fn tight(values: impl IntoIterator<Item = f64>, from: f64, to: f64) -> Self {
        let finite = values.into_iter().filter(|v| v.is_finite());
        let (lo, hi) =
            finite.fold((f64::INFINITY, f64::NEG_INFINITY), |(lo, hi), v| (lo.min(v), hi.max(v)));
        if lo < hi { Self { lo, hi, from, to } } else { Self::over([lo, hi], from, to) }
    }

    /// The place of a value; one beyond the axis stands at its end.
    pub(super) fn at(&self, value: f64) -> f64 {
        let share = ((value - self.lo) / (self.hi - self.lo)).clamp(0.0, 1.0);
        self.from + share * (self.to - self.from)
    }

    /// Round values, at most `most` of them, at equal steps of 1, 2 or 5.
    pub(super) fn ticks(&self, most: usize) -> Vec<f64> {
        let span = self.hi - self.lo;
        let mut step = 10f64.powf((span / 100.0).log10().floor());
        let count = |step: f64| ((self.hi / step).floor() - (self.lo / step).ceil()).max(0.0);
        let most = real(most);
        let mut factors = [2.0, 2.5, 2.0].into_iter().cycle();
        while count(step) + 1.0 > most {
            step *= factors.next().unwrap_or(10.0);
        }
        let mut tick = (self.lo / step).ceil() * step;
        let mut ticks = Vec::new();
        while tick <= self.hi + step * 1e-9 {
            // Zero without a sign.
            ticks.push((tick / step).round() * step + 0.0);
            tick += step;
        }
        ticks
    }
}

/// A round number as short as it goes.
pub(super) fn number(value: f64) -> String {
    if (value - value.round()).abs() < 1e-6 { format!("{value:.0}") } else { format!("{value:.1}") }
}

/// Moves places apart so that neighbours are at least `gap` from each other, within bounds where
/// there is room for that; the order stays.
pub(super) fn apart(places: &[f64], gap: f64, lo: f64, hi: f64) -> Vec<f64> {
    let mut order: Vec<usize> = (0..places.len()).collect();
    order.sort_by(|&a, &b| places[a].total_cmp(&places[b]).then(a.cmp(&b)));
    let mut out = places.to_vec();
    let mut floor = lo;
    for &i in &order {
        out[i] = out[i].max(floor);
        floor = out[i] + gap;
    }
    let mut ceiling = hi;
    for &i in order.iter().rev() {
        out[i] = out[i].min(ceiling);
        ceiling = out[i] - gap;
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn ticks_are_round_and_few() {
        let ticks = |values: &[f64], most| Axis::over(values.iter().copied(), 0.0, 1.0).ticks(most);
        assert_eq!(ticks(&[288.0, 391.0], 6), [300.0, 320.0, 340.0, 360.0, 380.0]);
        assert_eq!(ticks(&[288.0, 391.0], 4), [300.0, 350.0]);
        assert_eq!(ticks(&[-3.0, 3.0], 5), [-4.0, -2.0, 0.0, 2.0, 4.0]);
        assert_eq!(ticks(&[20.0, 20.0], 5), [19.0, 19.5, 20.0, 20.5, 21.0]);
        assert!(!ticks(&[], 5).is_empty());
    }

    #[test]
    fn places_that_clash_move_apart_in_order() {
        assert_eq!(apart(&[1.0, 1.0, 5.0], 2.0, 0.0, 10.0), [1.0, 3.0, 5.0]);
        assert_eq!(apart(&[9.0, 10.0], 3.0, 0.0, 10.0), [7.0, 10.0]);
        assert_eq!(apart(&[4.0, 2.0], 3.0, 0.0, 10.0), [5.0, 2.0]);
    }
}
