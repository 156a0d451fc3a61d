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

use std::cell::OnceCell;
use std::rc::Rc;

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
    /// Block of each reading, and the readings of each block.
    blocks: Vec<u32>,
    members: Vec<Vec<u32>>,
    /// Where its entries end, in its block and in what is common.
    ends: Vec<(u32, u32)>,
    own: Vec<Entry>,
    far: Rc<[Entry]>,
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
            members: Vec::new(),
            ends: Vec::with_capacity(numbers.len()),
            own: Vec::new(),
            far: Rc::from([]),
        };
        let mut far = Vec::new();
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
                    far.extend(entries);
                }
            }
            far.push((short(level[number.set]), 1.0));
            layout.blocks.push(short(block));
            layout.ends.push((short(layout.own.len()), short(far.len())));
        }
        layout.members = vec![Vec::new(); layout.starts.len() - 1];
        for (reading, &block) in layout.blocks.iter().enumerate() {
            layout.members[block as usize].push(short(reading));
        }
        layout.own.shrink_to_fit();
        layout.far = far.into();
        layout
    }

    /// How many blocks there are.
    pub(super) fn blocks(&self) -> usize {
        self.members.len()
    }

    /// Whether what all have in common is as in another arrangement.
    pub(super) fn same_trunk(&self, other: &Self) -> bool {
        let of = |layout: &Self| (layout.common, layout.levels_from, layout.blocks.len());
        of(self) == of(other)
            && self.far == other.far
            && self.ends.iter().zip(&other.ends).all(|(mine, theirs)| mine.1 == theirs.1)
    }

    /// Keeps what all have in common in the place where another arrangement does that has the same.
    pub(super) fn share_trunk(&mut self, other: &Self) {
        self.far = Rc::clone(&other.far);
    }

    /// Whether one has the same block in this place.
    pub(super) fn same_block(&self, other: &Self, block: usize) -> bool {
        block < other.blocks()
            && self.members[block] == other.members[block]
            && self.owners[self.range(block)] == other.owners[other.range(block)]
            && self.members[block].iter().all(|&reading| {
                self.entries(reading as usize).0 == other.entries(reading as usize).0
            })
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

/// What all blocks hang on, before any of them is taken in.
#[derive(Debug)]
pub(super) struct Trunk {
    /// `1/D`
    precision: Vec<f64>,
    /// `S_d`
    common: Matrix,
    /// `X_dᵀD⁻¹ y`
    told: Vec<f64>,
    /// `yᵀD⁻¹y`
    quadratic: f64,
    /// Of `D`, and of the variances of what is common.
    log_determinant: f64,
}

impl Trunk {
    pub(super) fn new(layout: &Layout, numbers: &[Number], y: &[f64], at: &At<'_>) -> Self {
        let of = |(i, number): (usize, &Number)| {
            let mut variance = at.noise * number.noise + at.spread * number.jump * number.jump;
            if at.variant.wrong.contains(&i) {
                variance += at.spread * at.reach.wrong * at.reach.wrong;
            }
            1.0 / variance
        };
        let precision: Vec<f64> = numbers.iter().enumerate().map(of).collect();
        let mut log_determinant = -precision.iter().map(|p| p.ln()).sum::<f64>();
        let mut common = Matrix::zeros(layout.common, layout.common);
        for column in 0..layout.levels_from {
            log_determinant += at.spread.ln();
            common[(column, column)] = 1.0 / at.spread;
        }
        let mut told = vec![0.0; layout.common];
        let mut quadratic = 0.0;
        for (i, (&precision, &y)) in precision.iter().zip(y).enumerate() {
            quadratic += y * y * precision;
            let far = layout.entries(i).1;
            for &(a, value) in far {
                let share = value * precision;
                told[a as usize] += share * y;
                put(common.row_mut(a as usize), share, far);
            }
        }
        Self { precision, common, told, quadratic, log_determinant }
    }
}

/// A block at some scales, ready to be taken in.
#[derive(Debug)]
pub(super) struct Block {
    /// Its factor.
    factor: Matrix,
    /// `L_c⁻¹ S_cd`
    across: Matrix,
    /// `L_c⁻¹ X_cᵀD⁻¹ y`
    told: Vec<f64>,
    /// Of it, and of the variances of its columns.
    log_determinant: f64,
    /// What it takes off what is common: the lower half, row by row.
    off: Vec<f64>,
    /// And off what that is told.
    off_told: Vec<f64>,
}

impl Block {
    pub(super) fn new(
        layout: &Layout,
        y: &[f64],
        at: &At<'_>,
        trunk: &Trunk,
        block: usize,
    ) -> Self {
        let range = layout.range(block);
        let size = range.len();
        let mut factor = Matrix::zeros(size, size);
        let mut across = Matrix::zeros(size, layout.common);
        let mut told = vec![0.0; size];
        let mut log_determinant = 0.0;
        for (own, owner) in layout.owners[range].iter().enumerate() {
            let wide = owner.is_some_and(|owner| at.variant.wide.contains(&owner));
            let variance = at.spread * if wide { at.reach.wide * at.reach.wide } else { 1.0 };
            log_determinant += variance.ln();
            factor[(own, own)] = 1.0 / variance;
        }
        for i in layout.members[block].iter().map(|&reading| reading as usize) {
            let (own, far) = layout.entries(i);
            for &(a, value) in own {
                let share = value * trunk.precision[i];
                told[a as usize] += share * y[i];
                put(factor.row_mut(a as usize), share, own);
                put(across.row_mut(a as usize), share, far);
            }
        }
        factor.cholesky();
        log_determinant += factor.log_determinant();
        factor.forward_rows(&mut across);
        factor.forward(&mut told);
        let mut off = vec![0.0; layout.common * (layout.common + 1) / 2];
        let mut off_told = vec![0.0; layout.common];
        for (row, &told) in (0..size).map(|row| across.row(row)).zip(&told) {
            add(&mut off_told, told, row);
            let mut from = 0;
            for (a, &value) in row.iter().enumerate() {
                if value != 0.0 {
                    add(&mut off[from..=from + a], value, &row[..=a]);
                }
                from += a + 1;
            }
        }
        Self { factor, across, told, log_determinant, off, off_told }
    }
}

/// A factor of the arrow at some scales.
#[derive(Debug)]
pub(super) struct Factored {
    trunk: Rc<Trunk>,
    blocks: Vec<Rc<Block>>,
    /// Factor of what is common.
    common: Matrix,
    /// `L⁻¹ XᵀD⁻¹ y` of what is common.
    told: Vec<f64>,
    /// `yᵀP y`
    pub(super) quadratic: f64,
    /// `log|V| + log|MᵀV⁻¹M|`
    pub(super) log_determinant: f64,
}

impl Factored {
    /// Takes the blocks in.
    pub(super) fn new(trunk: Rc<Trunk>, blocks: Vec<Rc<Block>>) -> Self {
        let mut common = trunk.common.clone();
        let mut told = trunk.told.clone();
        let (mut quadratic, mut log_determinant) = (trunk.quadratic, trunk.log_determinant);
        for block in &blocks {
            let mut from = 0;
            for a in 0..common.rows() {
                add(&mut common.row_mut(a)[..=a], -1.0, &block.off[from..=from + a]);
                from += a + 1;
            }
            add(&mut told, -1.0, &block.off_told);
            quadratic -= dot(&block.told, &block.told);
            log_determinant += block.log_determinant;
        }
        common.cholesky();
        log_determinant += common.log_determinant();
        common.forward(&mut told);
        quadratic -= dot(&told, &told);
        Self { trunk, blocks, common, told, quadratic: quadratic.max(0.0), log_determinant }
    }

    /// A row of `v = D⁻¹X L⁻ᵀ`: columns that all have in common, then those of the reading's block; and `P y` there.
    fn row(&self, layout: &Layout, y: &[f64], reading: usize) -> Row {
        let (entries, others) = layout.entries(reading);
        let block = layout.blocks[reading] as usize;
        let range = layout.range(block);
        let mut figures = vec![0.0; layout.common + range.len()].into_boxed_slice();
        let (far, own) = figures.split_at_mut(layout.common);
        let precision = self.trunk.precision[reading];
        for &(a, value) in entries {
            own[a as usize] += value * precision;
        }
        let block = &self.blocks[block];
        block.factor.forward(own);
        for &(a, value) in others {
            far[a as usize] += value * precision;
        }
        for (k, &value) in own.iter().enumerate() {
            add(far, -value, block.across.row(k));
        }
        self.common.forward(far);
        let known = dot(own, &block.told) + dot(far, &self.told);
        let weighted = precision * y[reading] - known;
        Row { figures, common: layout.common, weighted }
    }
}

/// Adds a multiple of some entries to a row.
fn put(row: &mut [f64], factor: f64, entries: &[Entry]) {
    for &(column, value) in entries {
        row[column as usize] += factor * value;
    }
}

/// `P = D⁻¹ − v vᵀ` by the rows of `v = D⁻¹X L⁻ᵀ`, and `P y`, by reading as they are asked for: of a field with misnamed
/// displays few are.
#[derive(Debug)]
pub(super) struct Turned {
    factored: Factored,
    rows: Vec<OnceCell<Row>>,
}

/// A row of `v`.
#[derive(Debug)]
pub(super) struct Row {
    figures: Box<[f64]>,
    common: usize,
    /// `P y`
    pub(super) weighted: f64,
}

impl Row {
    /// Columns that all have in common.
    pub(super) fn far(&self) -> &[f64] {
        &self.figures[..self.common]
    }

    /// Columns of the reading's block.
    pub(super) fn own(&self) -> &[f64] {
        &self.figures[self.common..]
    }
}

impl Turned {
    /// Of a factor.
    pub(super) fn new(factored: Factored) -> Self {
        let rows =
            std::iter::repeat_with(OnceCell::new).take(factored.trunk.precision.len()).collect();
        Self { factored, rows }
    }

    /// `1/D` of a reading.
    pub(super) fn precision(&self, reading: usize) -> f64 {
        self.factored.trunk.precision[reading]
    }

    /// What belongs to a reading; `y` are the values.
    pub(super) fn row(&self, layout: &Layout, y: &[f64], reading: usize) -> &Row {
        self.rows[reading].get_or_init(|| self.factored.row(layout, y, reading))
    }
}
