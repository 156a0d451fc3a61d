//! The probe's stem as a fin, solved along its length.
//!
//! Steady balance `kA·T″ = πd·[h(x)·(T − T_gas(x)) + ε·σ·(T⁴ − T_wall⁴)]`: boss temperature at the
//! inner wall, convection and radiation on the end face (or contact with the far wall) at the tip.
//! Finite differences, radiation linearised and iterated, each pass one tridiagonal solve. It must
//! not hold typical values.

use std::f64::consts::PI;

use super::case::{Case, ZERO};
use super::{Build, Fitting};

/// Stefan–Boltzmann constant, W/(m²·K⁴).
pub(super) const STEFAN_BOLTZMANN: f64 = 5.670_374e-8;

/// Points along the stem: half as many move a display by less than 0.1 °C.
const POINTS: u16 = 200;

/// What the tip meets.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Contact {
    /// Gas.
    Free,
    /// The far wall, with this conductance, W/K: about 0.02 touching lightly, 0.1 pressed on.
    Wall(f64),
}

/// Share of the difference between gas and base that an insulated tip still shows: `1/cosh(mL)`,
/// with `m = √(h·P/(k·A))` (Bird, Stewart & Lightfoot; any text on extended surfaces).
#[must_use]
pub fn insulated_tip_share(m_l: f64) -> f64 {
    1.0 / m_l.cosh()
}

/// What the probe shows, °C, with the default build and a free tip.
#[must_use]
pub fn display(fitting: Fitting, case: &Case) -> f64 {
    display_with(fitting, case, &Build::default(), Contact::Free)
}

/// What the probe shows, °C: the temperature of the junction, one sheath radius behind the tip.
#[must_use]
pub fn display_with(fitting: Fitting, case: &Case, build: &Build, contact: Contact) -> f64 {
    display_leaning(fitting, 0.0, case, build, contact)
}

/// The same for a probe that leans by so many degrees from square to the runner: its tip stands as
/// deep, on a stem that is longer for it. The film is that of a probe square to the flow.
#[must_use]
pub fn display_leaning(
    fitting: Fitting,
    lean: f64,
    case: &Case,
    build: &Build,
    contact: Contact,
) -> f64 {
    let (d, bore) = (fitting.diameter * 1e-3, fitting.bore * 1e-3);
    let across = lean.to_radians().cos();
    let length = fitting.depth * 1e-3 / across;
    let stem = Stem {
        length,
        diameter: d,
        conductance: build.conductance(d),
        emissivity: build.emissivity,
        base: case.boss + ZERO,
        wall: case.wall + ZERO,
        contact,
    };
    let temperatures = stem.solve(|along| case.local(along * across, bore, d));
    let last = f64::from(POINTS - 1);
    // A stem shorter than a few radii has its junction in the outer part all the same.
    let junction = (length - d / 2.0).max(0.6 * length) / length * last;
    let mut left = temperatures[0];
    for (i, &right) in (1..POINTS).zip(&temperatures[1..]) {
        if junction <= f64::from(i) {
            let part = junction - f64::from(i - 1);
            return left + part * (right - left) - ZERO;
        }
        left = right;
    }
    left - ZERO
}

/// How the display moves with depth, °C per mm deeper: a central difference over 2 mm, as a
/// mechanic's ruler would give.
#[must_use]
pub fn slope(fitting: Fitting, case: &Case) -> f64 {
    let deeper = fitting.at_depth(fitting.depth + 1.0);
    let shallower = fitting.at_depth(fitting.depth - 1.0);
    (display(deeper, case) - display(shallower, case)) / (deeper.depth - shallower.depth)
}

/// A stem to be solved, SI units and kelvin.
struct Stem {
    length: f64,
    diameter: f64,
    conductance: f64,
    emissivity: f64,
    base: f64,
    wall: f64,
    contact: Contact,
}

impl Stem {
    /// Temperatures at even steps from base to tip, K, for a film coefficient and gas temperature
    /// given at each place.
    fn solve(&self, local: impl Fn(f64) -> (f64, f64)) -> Vec<f64> {
        let last = usize::from(POINTS) - 1;
        let dx = self.length / f64::from(POINTS - 1);
        let films: Vec<(f64, f64)> =
            (0..POINTS).map(|i| local((f64::from(i) * dx).min(self.length))).collect();
        let tip_gas = films[last].1;
        let mut kelvin: Vec<f64> = (0..POINTS)
            .map(|i| self.base + (tip_gas - self.base) * f64::from(i) / f64::from(POINTS - 1))
            .collect();
        let (round, face) = (PI * self.diameter, PI * self.diameter * self.diameter / 4.0);
        let (ka, wall) = (self.conductance, self.wall);
        // Converges in about ten passes; the limit is never what stops it.
        for _ in 0..60 {
            let mut rows = Vec::with_capacity(last + 1);
            rows.push(Row { below: 0.0, own: 1.0, above: 0.0, right: self.base });
            for (i, (&(film, gas), &t)) in films.iter().zip(&kelvin).enumerate().skip(1) {
                let glow = self.emissivity * STEFAN_BOLTZMANN * (t * t + wall * wall) * (t + wall);
                let (loss, gain) = (film + glow, film * gas + glow * wall);
                rows.push(if i < last {
                    let along = ka / (dx * dx);
                    let own = 2.0 * along + round * loss;
                    Row { below: -along, own, above: -along, right: round * gain }
                } else {
                    // The last point owns half a cell of the side, and the end face.
                    let (end_loss, end_gain) = match self.contact {
                        Contact::Free => (face * loss, face * gain),
                        Contact::Wall(conductance) => (conductance, conductance * wall),
                    };
                    let side = round * dx / 2.0;
                    let own = ka / dx + end_loss + side * loss;
                    Row { below: -ka / dx, own, above: 0.0, right: end_gain + side * gain }
                });
            }
            let next = thomas(&rows);
            let moved = next.iter().zip(&kelvin).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            kelvin = next;
            if moved < 1e-4 {
                break;
            }
        }
        kelvin
    }
}

/// A row of a tridiagonal system.
struct Row {
    below: f64,
    own: f64,
    above: f64,
    right: f64,
}

/// Solves a tridiagonal system by Thomas's algorithm; stable here, as every row is diagonally
/// dominant.
fn thomas(rows: &[Row]) -> Vec<f64> {
    let mut swept: Vec<(f64, f64)> = Vec::with_capacity(rows.len());
    let (mut ratio, mut value) = (0.0, 0.0);
    for row in rows {
        let pivot = row.own - row.below * ratio;
        value = (row.right - row.below * value) / pivot;
        ratio = row.above / pivot;
        swept.push((ratio, value));
    }
    let mut above = 0.0;
    let mut solved: Vec<f64> = swept
        .iter()
        .rev()
        .map(|&(ratio, value)| {
            above = value - ratio * above;
            above
        })
        .collect();
    solved.reverse();
    solved
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Uniform film, no radiation: closed forms exist.
    fn tip(contact: Contact) -> f64 {
        let d = 3e-3;
        let stem = Stem {
            length: 15e-3,
            diameter: d,
            conductance: 15.0 * PI / 4.0 * d * d,
            emissivity: 0.0,
            base: 200.0 + ZERO,
            wall: 200.0 + ZERO,
            contact,
        };
        *stem.solve(|_| (100.0, 500.0 + ZERO)).last().expect("has points") - ZERO
    }

    #[test]
    fn the_solver_gives_the_closed_form_of_a_convecting_tip() {
        let (k, h, d, length) = (15.0_f64, 100.0, 3e-3, 15e-3);
        let m = (4.0 * h / (k * d)).sqrt();
        let (sinh, cosh) = ((m * length).sinh(), (m * length).cosh());
        let share = 1.0 / (cosh + h / (m * k) * sinh);
        let exact = 500.0 - 300.0 * share;
        assert!((exact - 370.41).abs() < 0.01);
        assert!((tip(Contact::Free) - exact).abs() < 0.02);
    }

    #[test]
    fn the_solver_gives_the_closed_form_of_an_insulated_tip() {
        let m: f64 = (4.0 * 100.0 / (15.0 * 3e-3_f64)).sqrt();
        let exact = 500.0 - 300.0 * insulated_tip_share(m * 15e-3);
        assert!((tip(Contact::Wall(0.0)) - exact).abs() < 0.02);
    }

    #[test]
    fn a_tridiagonal_system_is_solved() {
        let row = |below, own, above, right| Row { below, own, above, right };
        let rows = [row(0.0, 2.0, -1.0, 0.0), row(-1.0, 3.0, -1.0, 2.0), row(-1.0, 2.0, 0.0, 4.0)];
        let found = thomas(&rows);
        for (found, expected) in found.iter().zip([1.0, 2.0, 3.0]) {
            assert!((found - expected).abs() < 1e-12, "{found} for {expected}");
        }
    }
}
