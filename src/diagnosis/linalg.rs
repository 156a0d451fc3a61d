//! The little linear algebra that a dozen rows need.
//!
//! Dense, row by row, no allocation tricks. It must stay small: anything beyond a
//! Cholesky factor is a reason to take a library.

/// A dense matrix, stored row by row.
#[derive(Debug, Clone, PartialEq)]
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
                let dot: f64 = lower[..j].iter().zip(&upper[..j]).map(|(a, b)| a * b).sum();
                let rest = lower[j] - dot;
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
            let dot: f64 = row[..i].iter().zip(&b[..i]).map(|(a, x)| a * x).sum();
            b[i] = (b[i] - dot) / row[i];
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
        let mut x = [1.0, 2.0, 3.0];
        l.forward(&mut x);
        l.backward(&mut x);
        for i in 0..3 {
            let b: f64 = (0..3).map(|k| a[i][k] * x[k]).sum();
            assert!((b - [1.0, 2.0, 3.0][i]).abs() < 1e-12);
        }
    }

    #[test]
    fn summing_logs_survives_large_and_empty_input() {
        assert!((log_sum_exp(&[-1000.0, -1000.0]) - (-1000.0 + 2f64.ln())).abs() < 1e-12);
        assert!(log_sum_exp(&[]).is_infinite());
    }
}
