//! What readings have in common when no effect is counted: natural spread, banks, repeatability.
//!
//! Hypotheses that imply the same pattern of who is shown where share one factorised covariance.
//! It must not know the effect of a fault.

use super::display::{Renaming, active, shown};
use super::{Model, Part};
use crate::diagnosis::data::{Row, correlation, repeatability};
use crate::diagnosis::gaussian::{Base, Tail};
use crate::diagnosis::linalg::Matrix;
use crate::diagnosis::path::Presence;
use crate::diagnosis::usual::{natural, refitted};

/// What is natural for one row.
struct RowNatural {
    /// Expected offset, °C.
    mean: f64,
    /// Standard deviation of what lasts through the job, °C.
    sd: f64,
    /// By the engine's own history.
    own: bool,
    /// How often the probe was fitted anew in this job, where that matters.
    fits: usize,
    /// Standard deviation that a fresh fit adds, °C.
    fresh: f64,
}

impl Model<'_> {
    /// The covariance of the readings under some parts, their own effect left out.
    pub(crate) fn covariance_of(&self, parts: &[Part]) -> Matrix {
        self.covariance(&self.chain_key(&self.renamings(parts)))
    }

    /// What the readings have in common under some parts; `None` where no number was read.
    pub(crate) fn base_of(&self, parts: &[Part]) -> Option<&Base> {
        (!self.data.rows.is_empty()).then(|| self.base_for(&self.renamings(parts)))
    }

    /// The base that goes with some misnaming.
    pub(super) fn base_for(&self, renamings: &[(Renaming, Presence)]) -> &Base {
        // Two misnamings at once are not among the hypotheses.
        let index = renamings.first().and_then(|r| self.renamed.get(r)).copied().unwrap_or(0);
        &self.bases[index]
    }

    /// Bases for every pattern of who is shown where that some hypothesis implies.
    pub(super) fn prepare_bases(&mut self, with_renamings: bool) {
        if self.data.rows.is_empty() {
            return;
        }
        let mut keys = vec![self.chain_key(&[])];
        self.bases.push(self.base(&keys[0]));
        if !with_renamings {
            return;
        }
        let misnamed: Vec<(Renaming, Presence)> = self
            .candidates
            .iter()
            .filter_map(|c| Some((c.renaming?, &c.paths)))
            .flat_map(|(renaming, paths)| paths.iter().map(move |path| (renaming, path.presence)))
            .collect();
        for renaming in misnamed {
            let key = self.chain_key(&[renaming]);
            let index = keys.iter().position(|k| *k == key).unwrap_or_else(|| {
                self.bases.push(self.base(&key));
                keys.push(key);
                keys.len() - 1
            });
            self.renamed.insert(renaming, index);
        }
    }

    /// Which cylinder and bank each row shows, numbered in order of first appearance: two
    /// patterns with the same key have the same covariance.
    fn chain_key(&self, renamings: &[(Renaming, Presence)]) -> Vec<u8> {
        let (mut cylinders, mut banks) = (Vec::new(), Vec::new());
        let mut key = Vec::with_capacity(2 * self.data.rows.len());
        for row in &self.data.rows {
            let set = &self.data.sets[row.set];
            let arrangement = &self.timeline.sets[set.index].arrangement;
            let cylinder = shown(arrangement, row.display, &active(renamings, set.slot));
            // With a history each cylinder has figures of its own, so that its name matters.
            key.push(if self.timeline.history.is_some() {
                cylinder
            } else {
                number_of(&mut cylinders, cylinder)
            });
            // What banks have in common is small, and misnaming across banks is left out of it.
            let named = arrangement.cylinder_shown(row.display);
            let bank = u8::try_from(self.timeline.engine.bank_of(named)).unwrap_or(0);
            key.push(number_of(&mut banks, bank));
        }
        key
    }

    /// The prepared readings of a pattern.
    fn base(&self, key: &[u8]) -> Base {
        let naturals = self.naturals(key);
        let rows = self.data.rows.iter().zip(&naturals);
        let y: Vec<f64> = rows.map(|(row, natural)| row.value - natural.mean).collect();
        let set: Vec<usize> = self.data.rows.iter().map(|row| row.set).collect();
        let tail = Tail::Student(self.knowledge.constants.t_freedom);
        Base::new(&y, &set, &self.covariance(key), tail)
    }

    /// What is natural for the cylinder that each row shows.
    ///
    /// Where a probe was fitted anew in this job, history no longer speaks of its offset: a fresh
    /// one is added to what is left, so that its spread is the layout's again.
    fn naturals(&self, key: &[u8]) -> Vec<RowNatural> {
        let of = |(i, row): (usize, &Row)| {
            let kind = self.data.kinds[row.kind];
            let natural = natural(self.knowledge, self.timeline, kind, key[2 * i]);
            let set = &self.timeline.sets[self.data.sets[row.set].index];
            let fits = if natural.own { refitted(self.timeline, key[2 * i], set.after) } else { 0 };
            let layout = self.knowledge.natural_sd(&self.timeline.engine, kind.site, kind.at);
            RowNatural {
                mean: if fits > 0 { 0.0 } else { natural.mean },
                sd: natural.sd,
                own: natural.own,
                fits,
                fresh: (layout * layout - natural.sd * natural.sd).max(0.0).sqrt(),
            }
        };
        self.data.rows.iter().enumerate().map(of).collect()
    }

    /// The covariance that hypotheses with a key share.
    fn covariance(&self, key: &[u8]) -> Matrix {
        let constants = &self.knowledge.constants;
        let kinds = &self.data.kinds;
        let naturals = self.naturals(key);
        let banks = self.timeline.engine.banks.len() > 1;
        let kinds_together = Matrix::from_fn(kinds.len(), kinds.len(), |a, b| {
            correlation(constants, kinds[a], kinds[b])
        });
        let bank_share = constants.bank_share * constants.bank_share;
        let rows = self.data.rows.len();
        let mut covariance = Matrix::from_fn(rows, rows, |i, j| {
            if j > i {
                return 0.0;
            }
            let (a, b) = (self.data.rows[i].kind, self.data.rows[j].kind);
            let (one, other) = (&naturals[i], &naturals[j]);
            let scale = one.sd * other.sd * kinds_together[(a, b)];
            let mut v = 0.0;
            if key[2 * i] == key[2 * j] {
                v += scale;
                // Fitted anew as often: the same fit, which history does not know.
                if one.fits > 0 && one.fits == other.fits {
                    v += one.fresh * other.fresh * kinds_together[(a, b)];
                }
            }
            // What its own banks differ by is in the history.
            if banks && !(one.own || other.own) && key[2 * i + 1] == key[2 * j + 1] {
                v += scale * bank_share;
            }
            if i == j {
                v += repeatability(self.knowledge, kinds[a]).powi(2) + self.data.rows[i].extra;
                // A hidden row is given so large a variance that it says nothing.
                if self.hidden == Some(self.data.rows[i].display) {
                    v += 1e9;
                }
            }
            v
        });
        covariance.mirror();
        covariance
    }
}

/// The place of a value among those seen so far.
fn number_of(seen: &mut Vec<u8>, value: u8) -> u8 {
    let at = seen.iter().position(|v| *v == value).unwrap_or_else(|| {
        seen.push(value);
        seen.len() - 1
    });
    u8::try_from(at).unwrap_or(u8::MAX)
}
