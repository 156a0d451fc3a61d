//! A simple probe: what its tip shows of the gas, with the stem reaching into a colder wall.
//!
//! A rod in a stream, its root at the temperature of the wall. Lengths and rates are from memory, chosen
//! so that a few millimetres are worth what the trade sees. It must not know causes.

/// How deep a probe sits as it should, mm.
const DEPTH: f64 = 18.0;
/// Wall over gas, both above the surroundings.
const WALL: f64 = 0.55;
/// How fast the wall's influence falls off along the stem at idle, cruise, full load, 1/mm: a faster gas
/// holds the tip tighter.
const FALLS: [f64; 3] = [0.10, 0.12, 0.15];

/// Share of the way to the wall at which a tip at this depth stands, at a running point.
fn pulled(depth: f64, point: usize) -> f64 {
    1.0 / (FALLS[point] * depth.max(1.0)).cosh()
}

/// A probe sitting deeper by so many mm: share of the gas' rise at idle, cruise, full load.
pub(super) fn deeper(mm: f64) -> [f64; 3] {
    std::array::from_fn(|k| (1.0 - WALL) * (pulled(DEPTH, k) - pulled(DEPTH + mm, k)))
}

/// A tip pulled this share of the way to the wall.
pub(super) fn at_the_wall(share: f64) -> [f64; 3] {
    [1.0, 0.9, 0.8].map(|k| -(1.0 - WALL) * share * k)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn two_millimetres_are_worth_ten_to_twenty_degrees() {
        for (share, rise) in deeper(2.0).into_iter().zip([400.0, 620.0, 820.0]) {
            let degrees = share * rise;
            assert!((7.0..20.0).contains(&degrees), "{degrees}");
        }
        let out = deeper(-8.0);
        assert!(out.iter().all(|share| *share < -0.05) && deeper(-20.0)[0] < out[0]);
    }
}
