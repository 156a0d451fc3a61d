//! What the numbers of a sound engine differ by: natural offsets, banks, repeatability, misread numbers.

use facts::knowledge::Knowledge;
use measure::engine::Engine;

use super::dice::Dice;
use crate::diagnosis::data::{Kind, correlation, repeatability};
use crate::diagnosis::linalg::Matrix;

/// The natural differences of one engine and how well this job's sets repeat.
pub(super) struct Nature {
    /// By cylinder, then by kind, °C.
    offsets: Vec<Vec<f64>>,
    /// By bank, then by kind, °C.
    banks: Vec<Vec<f64>>,
    /// Factor on the natural spread.
    pub(super) spread: f64,
    /// Factor on the repeatability.
    noise: f64,
}

impl Nature {
    pub(super) fn draw(
        knowledge: &Knowledge,
        engine: &Engine,
        kinds: &[Kind],
        dice: &mut Dice,
    ) -> Self {
        let constants = &knowledge.constants;
        let spread = (constants.spread_scale * dice.normal()).exp();
        let noise = (constants.noise_scale * dice.normal()).exp();
        let sd = |k: usize| knowledge.natural_sd(engine, kinds[k].site, kinds[k].at);
        let mut factor = Matrix::from_fn(kinds.len(), kinds.len(), |a, b| {
            sd(a) * sd(b) * correlation(constants, kinds[a], kinds[b])
        });
        factor.cholesky();
        let offset = |times: f64, dice: &mut Dice| -> Vec<f64> {
            let normal = dice.normals(kinds.len());
            let row = |k: usize| factor.row(k).iter().zip(&normal).map(|(f, z)| f * z).sum::<f64>();
            (0..kinds.len()).map(|k| times * row(k)).collect()
        };
        let offsets = engine
            .all()
            .map(|_| {
                let wide = dice.chance(constants.wide_chance);
                offset(spread * if wide { constants.wide_factor } else { 1.0 }, dice)
            })
            .collect();
        let several = engine.banks.len() > 1;
        let bank = spread * if several { constants.bank_share } else { 0.0 };
        let banks = (0..=engine.banks.len()).map(|_| offset(bank, dice)).collect();
        Self { offsets, banks, spread, noise }
    }

    /// What a number of a kind differs by from its level: the display of a cylinder, on the bank that it
    /// is named for.
    pub(super) fn number(
        &self,
        knowledge: &Knowledge,
        (kind, of): (usize, Kind),
        (cylinder, bank): (usize, usize),
        dice: &mut Dice,
    ) -> f64 {
        let constants = &knowledge.constants;
        let noise = self.noise * repeatability(knowledge, of) * dice.normal();
        // As wrong as natural differences are wide: the sums scale both alike.
        let misread = if dice.chance(constants.misread_chance) {
            self.spread * constants.misread_sd * dice.normal()
        } else {
            0.0
        };
        self.offsets[cylinder - 1][kind] + self.banks[bank][kind] + noise + misread
    }
}
