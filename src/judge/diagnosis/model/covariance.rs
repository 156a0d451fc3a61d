//! What readings have in common when no effect is counted: natural spread, banks, repeatability.
//!
//! A cylinder's offset is made of a part that lasts and a part that sits in the fit of its probe and is
//! drawn anew when that is re-seated. Hypotheses that imply the same pattern of who is shown where
//! share one prepared field. It must not know the effect of a fault.

use std::collections::BTreeMap;
use std::rc::Rc;

use super::display::{Renaming, active, shown};
use super::{Model, Part};
use crate::diagnosis::data::{correlation, repeatability};
use crate::diagnosis::gaussian::{
    Cells, Field, Group, Number, Ordinary, Reach, Scale, Stock, Variant, at_all, choose,
    even_points, three_points,
};
use crate::diagnosis::linalg::{Matrix, log_sum_exp};
use crate::diagnosis::path::Presence;
use crate::diagnosis::usual::{natural, refitted};
use measure::engine::Cylinder;

/// Share of what is likely under a reference below which a scale, a wide cylinder or a misread number
/// is left out of the sum.
const SHARE: f64 = 0.002;

/// Pairs of wide cylinders or misread numbers that are summed over, at the most.
const MOST_PAIRS: usize = 6;

/// Times that a probe was fitted anew in a job that are told apart; further ones count as the last.
const MOST_FITS: usize = 6;

/// A display free to show anything: standard deviation, °C, and its correlation between kinds.
const FREE: (f64, f64) = (120.0, 0.5);

/// Points of the repeatability to each side of its usual value, and how far they reach in its sd: six
/// tenths of an sd apart, so that quiet windows of a log and rough readings are both met.
const NOISE_POINTS: (i32, f64) = (5, 3.0);

/// Variance of a number that is hidden, °C²: so large that it says nothing.
const HIDDEN: f64 = 1e9;

/// What a number hangs on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Hung {
    /// The cylinder shown, by name.
    cylinder: Cylinder,
    bank: u8,
    /// How often its probe was fitted anew before.
    fits: usize,
}

impl Model<'_> {
    /// The covariance of the readings under some parts at scale one, their own effect left out.
    pub(crate) fn covariance_of(&self, parts: &[Part]) -> Matrix {
        let (numbers, groups, _) = self.made_of(&self.hung(&self.renamings(parts)));
        let n = numbers.len();
        Matrix::from_fn(n, n, |i, j| {
            let (a, b) = (&numbers[i], &numbers[j]);
            let mut v = if i == j { a.noise + a.jump * a.jump } else { 0.0 };
            for group in a.groups.iter().filter(|g| b.groups.contains(g)) {
                let factor = &groups[*group].factor;
                let both = factor.row(a.kind).iter().zip(factor.row(b.kind));
                v += both.map(|(x, y)| x * y).sum::<f64>();
            }
            v
        })
    }

    /// What the readings have in common under some parts; `None` where no number was read.
    pub(crate) fn base_of(&self, parts: &[Part]) -> Option<&Cells> {
        (!self.data.rows.is_empty()).then(|| self.base_for(&self.renamings(parts)))
    }

    /// The base that goes with some misnaming.
    pub(super) fn base_for(&self, renamings: &[(Renaming, Presence)]) -> &Cells {
        // Two misnamings at once are not among the hypotheses.
        let index = renamings.first().and_then(|r| self.renamed.get(r)).copied().unwrap_or(0);
        &self.bases[index]
    }

    /// Bases for every pattern of who is shown where that some hypothesis implies.
    pub(super) fn prepare_bases(&mut self, with_renamings: bool) {
        if self.data.rows.is_empty() {
            return;
        }
        let hung = self.hung(&[]);
        let mut keys = vec![self.key(&hung)];
        let first = self.first_base(&hung, with_renamings);
        self.bases.push(first);
        if !with_renamings {
            return;
        }
        let misnamed: Vec<(Renaming, Presence)> = self
            .candidates
            .iter()
            .filter_map(|c| Some((c.renaming?, &c.paths)))
            .flat_map(|(renaming, paths)| paths.iter().map(move |path| (renaming, path.presence)))
            .collect();
        let stock = Rc::new(Stock::default());
        for renaming in misnamed {
            let hung = self.hung(&[renaming]);
            let key = self.key(&hung);
            let index = keys.iter().position(|k| *k == key).unwrap_or_else(|| {
                // At the scales that matter without it.
                let weights = self.bases[0].weights().to_vec();
                let field = self.field(&hung).beside(&self.bases[0].field, &stock);
                self.bases.push(Cells::new(field, weights));
                keys.push(key);
                keys.len() - 1
            });
            self.renamed.insert(renaming, index);
        }
    }

    /// The base without a misnaming, and with it the scales, wide cylinders and misread numbers that
    /// matter.
    fn first_base(&self, hung: &[Hung], all: bool) -> Cells {
        if !all && !self.main.is_empty() {
            return Cells::new(self.field(hung), self.main.clone());
        }
        let constants = &self.knowledge.constants;
        let kinds = self.data.kinds.len();
        let spread = three_points(constants.spread_scale);
        // With no point read twice nothing tells the repeatability from the spread.
        let again = self.data.sets.len() > kinds;
        let (half, reach) = NOISE_POINTS;
        let noise = if again {
            even_points(constants.noise_scale, half, reach)
        } else {
            three_points(constants.noise_scale)
        };
        let ordinary = Ordinary {
            wide: if all { constants.wide_chance } else { 0.0 },
            wrong: if all { constants.misread_chance } else { 0.0 },
            share: SHARE,
            pairs: MOST_PAIRS,
        };
        let displays = self.timeline.engine.all();
        let free: Vec<Vec<(usize, usize)>> = displays
            .map(|display| {
                let sets = self.data.sets.iter();
                sets.filter_map(|set| {
                    set.row_of[usize::from(display) - 1].map(|row| (row, set.kind))
                })
                .collect()
            })
            .collect();
        let (sd, together) = FREE;
        let mut factor =
            Matrix::from_fn(kinds, kinds, |i, j| sd * sd * if i == j { 1.0 } else { together });
        factor.cholesky();
        let known =
            if again && all { self.told_without(hung, &spread, &noise) } else { Vec::new() };
        choose(self.field(hung), &spread, &noise, ordinary, &free, &factor, &known)
    }

    /// Log of the largest share of each scale where one display is left out: what a fault that begins or
    /// comes and goes on that display does to it must not be taken for poor repeatability.
    fn told_without(&self, hung: &[Hung], spread: &Scale, noise: &Scale) -> Vec<f64> {
        let (numbers, groups, kinds) = self.made_of(hung);
        let weights = at_all(&Variant::default(), 0.0, spread, noise);
        let constants = &self.knowledge.constants;
        let reach = Reach { wide: constants.wide_factor, wrong: constants.misread_sd };
        let mut known = vec![f64::NEG_INFINITY; weights.len()];
        for display in self.timeline.engine.all() {
            let rows = self.data.rows.iter().zip(&numbers);
            let left: Vec<Number> =
                rows.filter(|(row, _)| row.display != display).map(|(_, n)| n.clone()).collect();
            if left.is_empty() {
                continue;
            }
            let field = Field::new(kinds, left, groups.clone(), reach);
            let cells = Cells::new(field, weights.clone());
            let logs: Vec<f64> = (0..weights.len()).map(|n| cells.log_at(n, &[])).collect();
            let sum = log_sum_exp(&logs);
            for (known, log) in known.iter_mut().zip(logs) {
                *known = known.max(log - sum);
            }
        }
        known
    }

    /// What each number hangs on.
    fn hung(&self, renamings: &[(Renaming, Presence)]) -> Vec<Hung> {
        let of = |row: &crate::diagnosis::data::Row| {
            let set = &self.data.sets[row.set];
            let timeline_set = &self.timeline.sets[set.index];
            let arrangement = &timeline_set.arrangement;
            let cylinder = shown(arrangement, row.display, &active(renamings, set.slot));
            // What banks have in common is small, and misnaming across banks is left out of it.
            let named = arrangement.cylinder_shown(row.display);
            let bank = u8::try_from(self.timeline.engine.bank_of(named)).unwrap_or(0);
            let fits = refitted(self.timeline, cylinder, timeline_set.after).min(MOST_FITS);
            Hung { cylinder, bank, fits }
        };
        self.data.rows.iter().map(of).collect()
    }

    /// Numbered in order of first appearance: two patterns with the same key have the same covariance.
    fn key(&self, hung: &[Hung]) -> Vec<u8> {
        let (mut cylinders, mut banks) = (Vec::new(), Vec::new());
        // With a history each cylinder has figures of its own, so that its name matters.
        let named = self.timeline.history.is_some();
        let mut key = Vec::with_capacity(3 * hung.len());
        for one in hung {
            let cylinder = one.cylinder;
            key.push(if named { cylinder } else { number_of(&mut cylinders, cylinder) });
            key.push(number_of(&mut banks, one.bank));
            key.push(u8::try_from(one.fits).unwrap_or(u8::MAX));
        }
        key
    }

    fn field(&self, hung: &[Hung]) -> Field {
        let (numbers, groups, kinds) = self.made_of(hung);
        let constants = &self.knowledge.constants;
        let reach = Reach { wide: constants.wide_factor, wrong: constants.misread_sd };
        Field::new(kinds, numbers, groups, reach)
    }

    /// Numbers, the groups that they share offsets in, and how many kinds there are.
    fn made_of(&self, hung: &[Hung]) -> (Vec<Number>, Vec<Group>, usize) {
        let constants = &self.knowledge.constants;
        let (kinds, engine) = (&self.data.kinds, &self.timeline.engine);
        let count = kinds.len();
        let factor = |sd: &dyn Fn(usize) -> f64| {
            let mut factor = Matrix::from_fn(count, count, |a, b| {
                sd(a) * sd(b) * correlation(constants, kinds[a], kinds[b])
            });
            factor.cholesky();
            Rc::new(factor)
        };
        let layout = |k: usize| self.knowledge.natural_sd(engine, kinds[k].site, kinds[k].at);
        let mut groups: Vec<Group> = Vec::new();
        let mut lasting: BTreeMap<Cylinder, usize> = BTreeMap::new();
        let mut fitted: BTreeMap<(Cylinder, usize), usize> = BTreeMap::new();
        let mut banked: BTreeMap<u8, usize> = BTreeMap::new();
        let refit = |c: Cylinder| hung.iter().any(|h| h.cylinder == c && h.fits > 0);
        let share = constants.fit_share;
        let mut numbers = Vec::with_capacity(self.data.rows.len());
        let put = |groups: &mut Vec<Group>, factor: Rc<Matrix>, owner: Option<usize>| {
            groups.push(Group { factor, owner });
            groups.len() - 1
        };
        for (row, one) in self.data.rows.iter().zip(hung) {
            let of = |k: usize| natural(self.knowledge, self.timeline, kinds[k], one.cylinder);
            let own = of(row.kind).own;
            let touched = refit(one.cylinder);
            let owner = Some(usize::from(one.cylinder));
            let mut mine = Vec::with_capacity(3);
            mine.push(*lasting.entry(one.cylinder).or_insert_with(|| {
                let sd = |k: usize| {
                    let left = if touched { 1.0 - share } else { 1.0 };
                    left.sqrt() * of(k).sd
                };
                put(&mut groups, factor(&sd), owner)
            }));
            // Where a probe was fitted anew in this job, history no longer speaks of its offset: a fresh
            // one is added to what is left, so that its spread is the layout's again.
            if touched {
                mine.push(*fitted.entry((one.cylinder, one.fits)).or_insert_with(|| {
                    let sd = |k: usize| {
                        let natural = of(k);
                        let square = natural.sd * natural.sd;
                        if natural.own && one.fits > 0 {
                            (layout(k).powi(2) - (1.0 - share) * square).max(0.0).sqrt()
                        } else {
                            (share * square).sqrt()
                        }
                    };
                    put(&mut groups, factor(&sd), owner)
                }));
            }
            // What its own banks differ by is in the history.
            if engine.banks.len() > 1 && !own {
                mine.push(*banked.entry(one.bank).or_insert_with(|| {
                    put(&mut groups, factor(&|k| constants.bank_share * layout(k)), None)
                }));
            }
            let mean = if own && one.fits > 0 { 0.0 } else { of(row.kind).mean };
            let hidden = self.hidden == Some(row.display);
            numbers.push(Number {
                value: row.value - mean,
                set: row.set,
                kind: row.kind,
                noise: if hidden {
                    HIDDEN
                } else {
                    repeatability(self.knowledge, kinds[row.kind]).powi(2).max(1e-6)
                },
                jump: row.extra.sqrt(),
                groups: mine,
            });
        }
        (numbers, groups, count)
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
