//! A covariance from fewer runs than there are readings.
//!
//! The sample covariance is drawn towards a multiple of the identity by as much as its own scatter asks for
//! (O. Ledoit and M. Wolf, A well-conditioned estimator for large-dimensional covariance matrices, Journal of
//! Multivariate Analysis 88, 2004, pp. 365 to 411).

/// A symmetric matrix, row by row.
#[derive(Clone, Debug, PartialEq)]
pub struct Matrix {
    /// How many rows.
    pub size: usize,
    /// Its elements.
    pub cells: Vec<f64>,
}

impl Matrix {
    /// All zero.
    pub fn zero(size: usize) -> Self {
        Matrix { size, cells: vec![0.0; size * size] }
    }

    /// An element.
    pub fn at(&self, row: usize, column: usize) -> f64 {
        self.cells[row * self.size + column]
    }

    /// The same of some rows and columns only, with something added along the diagonal.
    pub fn part(&self, which: &[usize], added: &[f64]) -> Matrix {
        let mut part = Matrix::zero(which.len());
        for (i, &row) in which.iter().enumerate() {
            for (j, &column) in which.iter().enumerate() {
                part.cells[i * which.len() + j] = self.at(row, column);
            }
            part.cells[i * which.len() + i] += added[i];
        }
        part
    }

    /// Its lower triangular factor (Cholesky), in place. `None` where it is not positive definite.
    pub fn factor(mut self) -> Option<Factor> {
        let n = self.size;
        for j in 0..n {
            let (above, below) = self.cells.split_at_mut((j + 1) * n);
            let row_j = &mut above[j * n..];
            let left: f64 = row_j[..j].iter().map(|x| x * x).sum();
            let pivot = row_j[j] - left;
            if pivot <= 0.0 || !pivot.is_finite() {
                return None;
            }
            let root = pivot.sqrt();
            row_j[j] = root;
            for row_i in below.chunks_exact_mut(n) {
                let dot: f64 = row_i[..j].iter().zip(&row_j[..j]).map(|(a, b)| a * b).sum();
                row_i[j] = (row_i[j] - dot) / root;
            }
        }
        Some(Factor(self))
    }
}

/// The lower triangular factor of a covariance.
#[derive(Clone, Debug, PartialEq)]
pub struct Factor(Matrix);

impl Factor {
    /// The square of a vector's length in units of the covariance (Mahalanobis).
    pub fn distance_squared(&self, of: &[f64]) -> f64 {
        let n = self.0.size;
        let mut solved = vec![0.0; n];
        for i in 0..n {
            let row = &self.0.cells[i * n..i * n + i + 1];
            let dot: f64 = row[..i].iter().zip(&solved).map(|(a, b)| a * b).sum();
            solved[i] = (of[i] - dot) / row[i];
        }
        solved.iter().map(|x| x * x).sum()
    }

    /// Half of the logarithm of the covariance's determinant.
    pub fn half_log_determinant(&self) -> f64 {
        (0..self.0.size).map(|i| self.0.at(i, i).ln()).sum()
    }
}

/// The shrunk covariance of rows whose mean is zero, and how far it was drawn towards the identity, 0 to 1.
pub fn ledoit_wolf(rows: &[Vec<f64>]) -> (Matrix, f64) {
    let count = rows.len() as f64;
    let size = rows.first().map_or(0, Vec::len);
    let mut sample = Matrix::zero(size);
    let mut fourth = Matrix::zero(size);
    for row in rows {
        for i in 0..size {
            for j in 0..size {
                let product = row[i] * row[j];
                sample.cells[i * size + j] += product / count;
                fourth.cells[i * size + j] += product * product / count;
            }
        }
    }
    let p = size as f64;
    let mean: f64 = (0..size).map(|i| sample.at(i, i)).sum::<f64>() / p;
    let squares: f64 = sample.cells.iter().map(|s| s * s).sum();
    // The scatter of the sample covariance itself, and how far it lies from the target.
    let beta = (fourth.cells.iter().sum::<f64>() - squares) / (p * count);
    let delta = (squares - 2.0 * mean * mean * p + p * mean * mean) / p;
    let shrinkage = if delta > 0.0 { (beta / delta).clamp(0.0, 1.0) } else { 1.0 };
    for i in 0..size {
        for j in 0..size {
            let target = if i == j { mean } else { 0.0 };
            let cell = &mut sample.cells[i * size + j];
            *cell = (1.0 - shrinkage) * *cell + shrinkage * target;
        }
    }
    (sample, shrinkage)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rows made of integers, so that another program can make the very same; their mean is taken off.
    fn rows(count: usize, size: usize) -> Vec<Vec<f64>> {
        let cell = |i: usize, j: usize| {
            let whole = (7 * i * i + 13 * j * j * i + 5 * j + 3 * i * j) % 23;
            (whole as f64 - 11.0) / 7.0 + ((i % 5) as f64 - 2.0) * 0.8
        };
        let rows: Vec<Vec<f64>> =
            (0..count).map(|i| (0..size).map(|j| cell(i, j)).collect()).collect();
        let mean = |j: usize| rows.iter().map(|row| row[j]).sum::<f64>() / count as f64;
        let means: Vec<f64> = (0..size).map(mean).collect();
        rows.iter().map(|row| row.iter().zip(&means).map(|(x, m)| x - m).collect()).collect()
    }

    /// `sklearn.covariance.LedoitWolf(assume_centered=True)` of scikit-learn 1.9.1, and
    /// `numpy.linalg.solve` and `slogdet` of NumPy 2.4.6 on what it gives.
    #[test]
    fn covariance_distance_and_determinant_are_those_of_scikit_learn() {
        for (count, size, shrunk, cells, distance, determinant) in SCIKIT_LEARN {
            let (covariance, shrinkage) = ledoit_wolf(&rows(count, size));
            let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9 * b.abs().max(1.0), "{a} {b}");
            near(shrinkage, shrunk);
            for (at, cell) in [(0, 0), (0, 1), (3, 5)].into_iter().zip(cells) {
                near(covariance.at(at.0, at.1), cell);
            }
            let factor = covariance.factor().expect("it is positive definite");
            let of: Vec<f64> = (0..size).map(|i| i as f64 / size as f64 - 0.3).collect();
            near(factor.distance_squared(&of), distance);
            near(factor.half_log_determinant(), determinant);
        }
    }

    type Reference = (usize, usize, f64, [f64; 3], f64, f64);

    const SCIKIT_LEARN: [Reference; 2] = [
        (
            12,
            6,
            0.2080494543184792,
            [2.840481114790681, 1.3017978913151733, 1.2659940046835965],
            0.4293943365843199,
            1.1582181689683861,
        ),
        (
            8,
            20,
            0.3168489067761036,
            [2.991818376721945, 1.3530051383832566, 0.7307625418638884],
            1.7834240458710013,
            0.528302869981594,
        ),
    ];
}
