//! The little linear algebra that a dozen rows need.
//!
//! Dense, row by row, no allocation tricks. It must stay small: anything beyond a
//! Cholesky factor is a reason to take a library.

/// A dense matrix, stored row by row.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Matrix {
    columns: usize,
    cells: Vec<f64>,
}

impl Matrix {
    /// All zeros.
    #[must_use]
    pub fn zeros(rows: usize, columns: usize) -> Self {
        Self { columns, cells: vec![0.0; rows * columns] }
    }

    /// Becomes all zeros, of a size; keeps its room.
    pub fn reset(&mut self, rows: usize, columns: usize) {
        self.columns = columns;
        self.cells.clear();
        self.cells.resize(rows * columns, 0.0);
    }

    /// Built cell by cell.
    pub fn from_fn(rows: usize, columns: usize, mut cell: impl FnMut(usize, usize) -> f64) -> Self {
        let mut matrix = Self::zeros(rows, columns);
        for i in 0..rows {
            for j in 0..columns {
                matrix[(i, j)] = cell(i, j);
            }
        }
        matrix
    }

    /// Number of rows.
    #[must_use]
    pub fn rows(&self) -> usize {
        self.cells.len().checked_div(self.columns).unwrap_or(0)
    }

    /// A row.
    #[must_use]
    pub fn row(&self, i: usize) -> &[f64] {
        &self.cells[i * self.columns..(i + 1) * self.columns]
    }

    /// A row to write to.
    pub fn row_mut(&mut self, i: usize) -> &mut [f64] {
        &mut self.cells[i * self.columns..(i + 1) * self.columns]
    }

    /// Replaces a symmetric positive definite matrix by its lower Cholesky factor.
    ///
    /// A pivot that rounding has driven to nought or below is taken as a tiny positive number, so
    /// that a covariance of less than full rank still gives a factor.
    pub fn cholesky(&mut self) {
        let n = self.columns;
        for j in 0..n {
            for i in j..n {
                let (upper, lower) = (self.row(j), self.row(i));
                let rest = lower[j] - dot(&lower[..j], &upper[..j]);
                let scale = if i == j { 1.0 } else { self[(j, j)] };
                self[(i, j)] = if i == j { rest.max(1e-12).sqrt() } else { rest / scale };
            }
            for i in 0..j {
                self[(i, j)] = 0.0;
            }
        }
    }

    /// Solves `L x = b` in place, `self` being a lower factor.
    pub fn forward(&self, b: &mut [f64]) {
        for i in 0..b.len() {
            let row = self.row(i);
            b[i] = (b[i] - dot(&row[..i], &b[..i])) / row[i];
        }
    }

    /// Solves `L X = B` in place for all columns of `B` at once: whole rows are added at a time.
    pub fn forward_rows(&self, b: &mut Self) {
        let n = b.columns;
        if n == 0 {
            return;
        }
        for i in 0..self.columns {
            let (done, rest) = b.cells.split_at_mut(i * n);
            let row = &mut rest[..n];
            for (k, above) in done.chunks_exact(n).enumerate() {
                add(row, -self[(i, k)], above);
            }
            let scale = 1.0 / self[(i, i)];
            for cell in row {
                *cell *= scale;
            }
        }
    }

    /// Solves `Lᵀ x = b` in place, `self` being a lower factor.
    pub fn backward(&self, b: &mut [f64]) {
        for i in (0..b.len()).rev() {
            let mut rest = b[i];
            for k in i + 1..b.len() {
                rest -= self[(k, i)] * b[k];
            }
            b[i] = rest / self[(i, i)];
        }
    }

    /// The inverse of the matrix of which `self` is the lower factor.
    ///
    /// Whole rows are added at a time, half the matrix only, which is several times as quick as
    /// solving for each column.
    #[must_use]
    pub fn inverse_from_factor(&self) -> Self {
        let n = self.columns;
        // Rows of the factor's inverse, lower as well.
        let mut lower = Self::zeros(n, n);
        for i in 0..n {
            let (done, rest) = lower.cells.split_at_mut(i * n);
            let row = &mut rest[..n];
            for (k, above) in done.chunks_exact(n).enumerate() {
                add(&mut row[..=k], -self[(i, k)], &above[..=k]);
            }
            let scale = 1.0 / self[(i, i)];
            for cell in &mut row[..i] {
                *cell *= scale;
            }
            row[i] = scale;
        }
        let mut inverse = Self::zeros(n, n);
        for row in lower.cells.chunks_exact(n).enumerate().map(|(i, row)| &row[..=i]) {
            for (a, &factor) in row.iter().enumerate() {
                add(&mut inverse.row_mut(a)[..=a], factor, &row[..=a]);
            }
        }
        inverse.mirror();
        inverse
    }

    /// Takes the upper half from the lower.
    pub fn mirror(&mut self) {
        for i in 0..self.columns {
            for j in 0..i {
                self[(j, i)] = self[(i, j)];
            }
        }
    }

    /// Twice the sum of the logarithms of a factor's diagonal: the log determinant.
    #[must_use]
    pub fn log_determinant(&self) -> f64 {
        2.0 * (0..self.columns).map(|i| self[(i, i)].ln()).sum::<f64>()
    }
}

impl std::ops::Index<(usize, usize)> for Matrix {
    type Output = f64;
    fn index(&self, (i, j): (usize, usize)) -> &f64 {
        &self.cells[i * self.columns + j]
    }
}

impl std::ops::IndexMut<(usize, usize)> for Matrix {
    fn index_mut(&mut self, (i, j): (usize, usize)) -> &mut f64 {
        &mut self.cells[i * self.columns + j]
    }
}

/// Scalar product; four sums side by side, so that the processor need not wait for each.
#[must_use]
pub fn dot(a: &[f64], b: &[f64]) -> f64 {
    let mut sums = [0.0; 4];
    let (a4, b4) = (a.chunks_exact(4), b.chunks_exact(4));
    let rest: f64 = a4.remainder().iter().zip(b4.remainder()).map(|(x, y)| x * y).sum();
    for (x, y) in a4.zip(b4) {
        for k in 0..4 {
            sums[k] += x[k] * y[k];
        }
    }
    (sums[0] + sums[1]) + (sums[2] + sums[3]) + rest
}

/// Adds a multiple of a row to another.
pub fn add(to: &mut [f64], factor: f64, row: &[f64]) {
    for (t, r) in to.iter_mut().zip(row) {
        *t += factor * r;
    }
}

/// Logarithm of a sum of exponentials; minus infinity for nothing.
#[must_use]
pub fn log_sum_exp(logs: &[f64]) -> f64 {
    let top = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if top == f64::NEG_INFINITY {
        return top;
    }
    top + logs.iter().map(|l| (l - top).exp()).sum::<f64>().ln()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_factor_times_its_transpose_is_the_matrix() {
        let a = [[4.0, 2.0, 0.6], [2.0, 5.0, 1.5], [0.6, 1.5, 3.0]];
        let mut l = Matrix::from_fn(3, 3, |i, j| a[i][j]);
        l.cholesky();
        for i in 0..3 {
            for j in 0..3 {
                let back: f64 = (0..3).map(|k| l[(i, k)] * l[(j, k)]).sum();
                assert!((back - a[i][j]).abs() < 1e-12);
            }
        }
        let inverse = l.inverse_from_factor();
        for i in 0..3 {
            for (j, row) in a.iter().enumerate() {
                // Symmetric: the row is the column.
                let one: f64 = row.iter().enumerate().map(|(k, x)| inverse[(i, k)] * x).sum();
                assert!((one - f64::from(u8::from(i == j))).abs() < 1e-12);
            }
        }
        let mut x = [1.0, 2.0, 3.0];
        l.forward(&mut x);
        l.backward(&mut x);
        for i in 0..3 {
            let b: f64 = (0..3).map(|k| a[i][k] * x[k]).sum();
            assert!((b - [1.0, 2.0, 3.0][i]).abs() < 1e-12);
        }
    }

    #[test]
    fn a_scalar_product_takes_every_term_once() {
        let powers: Vec<f64> = (0..11).map(|i| f64::from(1 << i)).collect();
        for n in 0..=11 {
            assert_eq!(
                dot(&powers[..n], &[1.0; 11][..n]).to_bits(),
                f64::from((1 << n) - 1).to_bits()
            );
        }
    }

    #[test]
    fn summing_logs_survives_large_and_empty_input() {
        assert!((log_sum_exp(&[-1000.0, -1000.0]) - (-1000.0 + 2f64.ln())).abs() < 1e-12);
        assert!(log_sum_exp(&[]).is_infinite());
    }
}
