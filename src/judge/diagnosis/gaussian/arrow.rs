//! The covariance of many readings as an arrow: blocks side by side, and what all have in common.
//!
//! Readings of one cylinder have offsets that no other has; with the others they have only the level of
//! their set and the offsets of banks in common. So the precision of all that is unknown,
//!
//! ```text
//! X = (B M)     S = XᵀD⁻¹X + 1/σ² (nought for levels) = | S_c      S_cd |   c: a block for each cylinder
//!                                                       | S_dc     S_d  |   d: banks and levels
//! P = D⁻¹ − D⁻¹X S⁻¹ XᵀD⁻¹         log|V| + log|MᵀV⁻¹M| = log|D| + log|S| − log|1/σ²|
//! ```
//!
//! has a factor that costs the cube of a block for each cylinder, and once that of what is common, where one
//! of all columns would cost the cube of their number. What is out of the ordinary needs no column: a wide
//! cylinder has a larger variance, a misread number a larger noise. It must not know what a column stands for.

use super::super::linalg::{Matrix, add, dot};
use super::field::{Group, Number, Reach, Variant};

/// Where the columns of each reading stand.
#[derive(Debug)]
pub(super) struct Layout {
    /// First column of each block, and the end of the last.
    starts: Vec<usize>,
    /// Columns that all have in common: banks, then levels.
    common: usize,
    /// Of these those that are levels, about which nothing is assumed.
    levels_from: usize,
    /// What owns each column of a block.
    owners: Vec<Option<usize>>,
    /// Block of each reading.
    blocks: Vec<u32>,
    /// Where its entries end, in its block and in what is common.
    ends: Vec<(u32, u32)>,
    own: Vec<Entry>,
    far: Vec<Entry>,
}

/// A column and what stands in it.
type Entry = (u32, f64);

impl Layout {
    /// Arranges readings by what they have in common. `levels` says how many readings a set has.
    pub(super) fn new(kinds: usize, numbers: &[Number], groups: &[Group], levels: &[f64]) -> Self {
        let columns = columns(kinds, numbers, groups);
        let owned = |g: &&usize| groups[**g].owner.is_some();
        let mut joined: Vec<usize> = (0..groups.len()).collect();
        for number in numbers {
            let mut mine = number.groups.iter().filter(owned).map(|&g| first(&joined, g));
            let Some(one) = mine.next() else { continue };
            for other in mine.collect::<Vec<_>>() {
                joined[other.max(one)] = other.min(one);
            }
        }
        // Blocks in order of their first group; groups without an owner are everybody's.
        let mut starts = vec![0];
        let mut owners = Vec::new();
        let mut places = vec![(0, 0); groups.len()];
        for root in (0..groups.len()).filter(|g| groups[*g].owner.is_some() && joined[*g] == *g) {
            let from = starts[starts.len() - 1];
            for group in (root..groups.len()).filter(|g| groups[*g].owner.is_some()) {
                if first(&joined, group) == root {
                    places[group] = (starts.len() - 1, owners.len() - from);
                    owners.extend(vec![groups[group].owner; columns[group].kinds.len()]);
                }
            }
            starts.push(owners.len());
        }
        if starts.len() == 1 {
            starts.push(0);
        }
        let mut common = 0;
        for group in (0..groups.len()).filter(|g| groups[*g].owner.is_none()) {
            places[group] = (0, common);
            common += columns[group].kinds.len();
        }
        let levels_from = common;
        let mut level = vec![0; levels.len()];
        for (set, _) in levels.iter().enumerate().filter(|(_, count)| **count > 0.0) {
            level[set] = common;
            common += 1;
        }
        let mut layout = Self {
            starts,
            common,
            levels_from,
            owners,
            blocks: Vec::with_capacity(numbers.len()),
            ends: Vec::with_capacity(numbers.len()),
            own: Vec::new(),
            far: Vec::new(),
        };
        for number in numbers {
            let mut block = 0;
            for &group in &number.groups {
                let (in_block, from) = places[group];
                let (kinds, factor) = (&columns[group].kinds, &columns[group].factor);
                let Some(row) = kinds.iter().position(|k| *k == number.kind) else { continue };
                let entries = factor.row(row)[..=row].iter().enumerate();
                let entries = entries.map(|(k, &value)| (short(from + k), value));
                if groups[group].owner.is_some() {
                    block = in_block;
                    layout.own.extend(entries);
                } else {
                    layout.far.extend(entries);
                }
            }
            layout.far.push((short(level[number.set]), 1.0));
            layout.blocks.push(short(block));
            layout.ends.push((short(layout.own.len()), short(layout.far.len())));
        }
        layout.own.shrink_to_fit();
        layout.far.shrink_to_fit();
        layout
    }

    /// Columns of all blocks together.
    pub(super) fn owned(&self) -> usize {
        self.owners.len()
    }

    /// Columns that all have in common.
    pub(super) fn common(&self) -> usize {
        self.common
    }

    /// Where the columns of a reading's block are.
    pub(super) fn block_of(&self, reading: usize) -> std::ops::Range<usize> {
        self.range(self.blocks[reading] as usize)
    }

    fn range(&self, block: usize) -> std::ops::Range<usize> {
        self.starts[block]..self.starts[block + 1]
    }

    /// Entries of a reading, by column of its block and by column of what is common.
    fn entries(&self, reading: usize) -> (&[Entry], &[Entry]) {
        let (from, before) = match reading.checked_sub(1) {
            Some(last) => self.ends[last],
            None => (0, 0),
        };
        let (to, end) = self.ends[reading];
        (&self.own[from as usize..to as usize], &self.far[before as usize..end as usize])
    }
}

/// Columns of a group: only for kinds that were read of it.
struct Columns {
    kinds: Vec<usize>,
    factor: Matrix,
}

/// The columns of each group. Of kinds that were not read of it the offsets are nothing that readings hang on.
fn columns(kinds: usize, numbers: &[Number], groups: &[Group]) -> Vec<Columns> {
    let mut read = vec![vec![false; kinds]; groups.len()];
    for number in numbers {
        for &group in &number.groups {
            read[group][number.kind] = true;
        }
    }
    let of = |(group, read): (&Group, &Vec<bool>)| {
        let kinds: Vec<usize> = (0..kinds).filter(|k| read[*k]).collect();
        let full = &group.factor;
        if kinds.len() == read.len() {
            return Columns { kinds, factor: Matrix::clone(full) };
        }
        let mut factor = Matrix::from_fn(kinds.len(), kinds.len(), |a, b| {
            dot(full.row(kinds[a]), full.row(kinds[b]))
        });
        factor.cholesky();
        Columns { kinds, factor }
    };
    groups.iter().zip(&read).map(of).collect()
}

/// The first of the groups that one is joined with.
fn first(joined: &[usize], mut group: usize) -> usize {
    while joined[group] != group {
        group = joined[group];
    }
    group
}

/// Columns and readings are few.
fn short(number: usize) -> u32 {
    u32::try_from(number).unwrap_or(u32::MAX)
}

/// Scales, and what is out of the ordinary.
pub(super) struct At<'a> {
    pub(super) variant: &'a Variant,
    /// Factor on all offsets' variance.
    pub(super) spread: f64,
    /// Factor on the variance of the noise.
    pub(super) noise: f64,
    pub(super) reach: Reach,
}

/// A factor of the arrow at some scales.
pub(super) struct Factored {
    /// `1/D`
    precision: Vec<f64>,
    /// Factors of the blocks.
    blocks: Vec<Matrix>,
    /// `L_c⁻¹ S_cd`, a row for each column of a block.
    across: Vec<Matrix>,
    /// Factor of what is common.
    common: Matrix,
    /// `L⁻¹ XᵀD⁻¹ y`: blocks, then what is common.
    told: Vec<f64>,
    /// `yᵀP y`
    pub(super) quadratic: f64,
    /// `log|V| + log|MᵀV⁻¹M|`
    pub(super) log_determinant: f64,
}

impl Factored {
    /// Works the factor out; `y` are the values, near nought in each set.
    pub(super) fn new(layout: &Layout, numbers: &[Number], y: &[f64], at: &At<'_>) -> Self {
        let precision: Vec<f64> = numbers
            .iter()
            .enumerate()
            .map(|(i, number)| {
                let mut variance = at.noise * number.noise + at.spread * number.jump * number.jump;
                if at.variant.wrong.contains(&i) {
                    variance += at.spread * at.reach.wrong * at.reach.wrong;
                }
                1.0 / variance
            })
            .collect();
        let mut log_determinant = -precision.iter().map(|p| p.ln()).sum::<f64>();
        let count = layout.starts.len() - 1;
        let size = |block: usize| layout.range(block).len();
        let mut blocks: Vec<Matrix> =
            (0..count).map(|block| Matrix::zeros(size(block), size(block))).collect();
        let mut across: Vec<Matrix> =
            (0..count).map(|block| Matrix::zeros(size(block), layout.common)).collect();
        let mut common = Matrix::zeros(layout.common, layout.common);
        for (column, owner) in layout.owners.iter().enumerate() {
            let wide = owner.is_some_and(|owner| at.variant.wide.contains(&owner));
            let variance = at.spread * if wide { at.reach.wide * at.reach.wide } else { 1.0 };
            log_determinant += variance.ln();
            let block = layout.starts.partition_point(|start| *start <= column) - 1;
            let own = column - layout.starts[block];
            blocks[block][(own, own)] = 1.0 / variance;
        }
        for column in 0..layout.levels_from {
            log_determinant += at.spread.ln();
            common[(column, column)] = 1.0 / at.spread;
        }
        let mut told = vec![0.0; layout.owned() + layout.common];
        let mut quadratic = 0.0;
        for (i, (&precision, &y)) in precision.iter().zip(y).enumerate() {
            let (own, far) = layout.entries(i);
            let block = layout.blocks[i] as usize;
            let start = layout.starts[block];
            quadratic += y * y * precision;
            for &(a, value) in own {
                let share = value * precision;
                told[start + a as usize] += share * y;
                let row = blocks[block].row_mut(a as usize);
                put(row, share, own);
                let row = across[block].row_mut(a as usize);
                put(row, share, far);
            }
            for &(a, value) in far {
                let share = value * precision;
                told[layout.owned() + a as usize] += share * y;
                let row = common.row_mut(a as usize);
                put(row, share, far);
            }
        }
        let (own_told, far_told) = told.split_at_mut(layout.owned());
        for (block, (factor, across)) in blocks.iter_mut().zip(&mut across).enumerate() {
            factor.cholesky();
            log_determinant += factor.log_determinant();
            factor.forward_rows(across);
            let told = &mut own_told[layout.range(block)];
            factor.forward(told);
            for (row, &told) in (0..told.len()).map(|row| across.row(row)).zip(&*told) {
                add(far_told, -told, row);
                for (a, &value) in row.iter().enumerate().filter(|(_, value)| **value != 0.0) {
                    add(&mut common.row_mut(a)[..=a], -value, &row[..=a]);
                }
            }
        }
        common.cholesky();
        log_determinant += common.log_determinant();
        common.forward(far_told);
        quadratic -= dot(&told, &told);
        Self {
            precision,
            blocks,
            across,
            common,
            told,
            quadratic: quadratic.max(0.0),
            log_determinant,
        }
    }

    /// What every hypothesis about some readings is put together from.
    pub(super) fn rows(&self, layout: &Layout, y: &[f64]) -> Turned {
        let n = self.precision.len();
        let widest = layout.starts.windows(2).map(|pair| pair[1] - pair[0]).max().unwrap_or(0);
        let mut own = Matrix::zeros(n, widest);
        // A column for each reading, so that whole rows are worked on.
        let mut far = Matrix::zeros(layout.common, n);
        let mut common = vec![0.0; layout.common];
        for i in 0..n {
            let (entries, others) = layout.entries(i);
            let block = layout.blocks[i] as usize;
            let row = &mut own.row_mut(i)[..layout.range(block).len()];
            for &(a, value) in entries {
                row[a as usize] += value * self.precision[i];
            }
            self.blocks[block].forward(row);
            common.fill(0.0);
            for &(a, value) in others {
                common[a as usize] += value * self.precision[i];
            }
            for (k, &value) in row.iter().enumerate() {
                add(&mut common, -value, self.across[block].row(k));
            }
            for (a, &value) in common.iter().enumerate() {
                far[(a, i)] = value;
            }
        }
        self.common.forward_rows(&mut far);
        let far = Matrix::from_fn(n, layout.common, |i, a| far[(a, i)]);
        let weighted = (0..n)
            .map(|i| {
                let range = layout.block_of(i);
                let own = dot(&own.row(i)[..range.len()], &self.told[range]);
                let far = dot(far.row(i), &self.told[layout.owned()..]);
                self.precision[i] * y[i] - own - far
            })
            .collect();
        Turned { own, far, precision: self.precision.clone(), weighted }
    }
}

/// Adds a multiple of some entries to a row.
fn put(row: &mut [f64], factor: f64, entries: &[Entry]) {
    for &(column, value) in entries {
        row[column as usize] += factor * value;
    }
}

/// `P = D⁻¹ − v vᵀ` by the rows of `v = D⁻¹X L⁻ᵀ`, and `P y`.
#[derive(Debug)]
pub(super) struct Turned {
    /// Columns of each reading's block.
    pub(super) own: Matrix,
    /// Columns that all have in common.
    pub(super) far: Matrix,
    /// `1/D`
    pub(super) precision: Vec<f64>,
    /// `P y`
    pub(super) weighted: Vec<f64>,
}
