//! A straight line through points that are uncertain in both directions.
//!
//! Method: D. York, N. M. Evensen, M. López Martínez and J. De Basabe Delgado, "Unified equations
//! for the slope, intercept, and standard errors of the best straight line", American Journal of
//! Physics 72 (2004) 367, with errors in x and y that do not depend on each other. It was chosen
//! because the jig's reading (noise, resolution, non-linearity) and the reference (its last digit)
//! are uncertain by similar amounts, so neither may be taken as exact. With exact x it is the
//! weighted least-squares line of the textbooks, and with equal uncertainties that of the GUM's
//! example H.3.

/// A point.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Point {
    /// Abscissa.
    pub x: f64,
    /// Its standard uncertainty.
    pub u_x: f64,
    /// Ordinate.
    pub y: f64,
    /// Its standard uncertainty.
    pub u_y: f64,
}

/// The line `y = offset + gain · x`.
#[derive(Clone, Debug, PartialEq)]
pub struct Line {
    /// Ordinate at zero.
    pub offset: f64,
    /// Slope.
    pub gain: f64,
    /// Standard uncertainty of the offset, by the uncertainties of the points.
    pub u_offset: f64,
    /// Standard uncertainty of the gain, by the uncertainties of the points.
    pub u_gain: f64,
    /// Covariance of offset and gain.
    pub covariance: f64,
    /// Weighted sum of the squared residuals: chi-square distributed with [`Line::dof`] degrees of
    /// freedom when the points lie on a line and their uncertainties are right.
    pub chi_square: f64,
    /// Points less two.
    pub dof: usize,
    /// Each point's y less that of the line at its x.
    pub residuals: Vec<f64>,
    /// By how much offset and gain move when the y of each point moves by one.
    pub influences: Vec<[f64; 2]>,
}

impl Line {
    /// The line at `x`.
    pub fn at(&self, x: f64) -> f64 {
        self.offset + self.gain * x
    }

    /// The line with uncertainties by the scatter of the points about it, in place of those that
    /// were stated: for points of which only the relative uncertainties are known. Without degrees
    /// of freedom left nothing changes.
    #[must_use]
    pub fn by_scatter(self) -> Line {
        let factor = if self.dof > 0 { self.chi_square / self.dof as f64 } else { 1.0 };
        self.widened(factor)
    }

    /// The line with all its variances multiplied.
    #[must_use]
    pub fn widened(self, factor: f64) -> Line {
        Line {
            u_offset: self.u_offset * factor.sqrt(),
            u_gain: self.u_gain * factor.sqrt(),
            covariance: self.covariance * factor,
            ..self
        }
    }
}

/// Why there is no line. Points count from 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NoLine {
    /// Fewer than two points.
    #[error("a line needs two points")]
    TooFew,
    /// A number that is none, or an uncertainty below zero.
    #[error("point {0} is not a number with an uncertainty")]
    NoNumber(usize),
    /// A point that claims to be exact.
    #[error("point {0} has no uncertainty: nothing is exact")]
    Exact(usize),
    /// All at one x.
    #[error("all points stand at the same place: no line can be told from them")]
    OnePlace,
    /// The equations of the method did not come to rest.
    #[error("no line fits these points")]
    NoRest,
}

/// Steps after which the method must have come to rest; it usually takes less than ten.
const STEPS: usize = 200;

/// Fits the line.
///
/// # Errors
/// When the points allow none.
pub fn fit(points: &[Point]) -> Result<Line, NoLine> {
    if points.len() < 2 {
        return Err(NoLine::TooFew);
    }
    for (at, p) in points.iter().enumerate() {
        let numbers = [p.x, p.y, p.u_x, p.u_y].iter().all(|n| n.is_finite());
        if !numbers || p.u_x < 0.0 || p.u_y < 0.0 {
            return Err(NoLine::NoNumber(at + 1));
        }
        if p.u_x == 0.0 && p.u_y == 0.0 {
            return Err(NoLine::Exact(at + 1));
        }
    }
    let mut gain = plain_gain(points).ok_or(NoLine::OnePlace)?;
    for _ in 0..STEPS {
        let about = About::new(points, gain);
        let next = about.next_gain(points).filter(|g| g.is_finite()).ok_or(NoLine::NoRest)?;
        let moved = (next - gain).abs();
        gain = next;
        if moved <= 1e-15 * gain.abs().max(f64::MIN_POSITIVE) {
            break;
        }
    }
    About::new(points, gain).line(points)
}

/// The slope without weights, to begin with.
fn plain_gain(points: &[Point]) -> Option<f64> {
    let n = points.len() as f64;
    let x_mean = points.iter().map(|p| p.x).sum::<f64>() / n;
    let y_mean = points.iter().map(|p| p.y).sum::<f64>() / n;
    let sxx: f64 = points.iter().map(|p| (p.x - x_mean).powi(2)).sum();
    let sxy: f64 = points.iter().map(|p| (p.x - x_mean) * (p.y - y_mean)).sum();
    (sxx > 0.0).then(|| sxy / sxx)
}

/// Weights and centre for a slope.
struct About {
    gain: f64,
    weights: Vec<f64>,
    total: f64,
    x_mean: f64,
    y_mean: f64,
}

impl About {
    fn new(points: &[Point], gain: f64) -> About {
        let weight = |p: &Point| 1.0 / (p.u_y * p.u_y + gain * gain * p.u_x * p.u_x);
        let weights: Vec<f64> = points.iter().map(weight).collect();
        let total: f64 = weights.iter().sum();
        let mean = |of: fn(&Point) -> f64| {
            points.iter().zip(&weights).map(|(p, w)| w * of(p)).sum::<f64>() / total
        };
        let (x_mean, y_mean) = (mean(|p| p.x), mean(|p| p.y));
        About { gain, weights, total, x_mean, y_mean }
    }

    /// How far each point's x lies from the mean once it is moved onto the line: β of the paper.
    fn moved(&self, p: &Point, weight: f64) -> f64 {
        let (u, v) = (p.x - self.x_mean, p.y - self.y_mean);
        weight * (u * p.u_y * p.u_y + self.gain * v * p.u_x * p.u_x)
    }

    fn next_gain(&self, points: &[Point]) -> Option<f64> {
        let (mut up, mut down) = (0.0, 0.0);
        for (p, &w) in points.iter().zip(&self.weights) {
            let moved = self.moved(p, w);
            up += w * moved * (p.y - self.y_mean);
            down += w * moved * (p.x - self.x_mean);
        }
        (down != 0.0).then(|| up / down)
    }

    fn line(&self, points: &[Point]) -> Result<Line, NoLine> {
        let moved: Vec<f64> =
            points.iter().zip(&self.weights).map(|(p, &w)| self.moved(p, w)).collect();
        let centre = moved.iter().zip(&self.weights).map(|(m, w)| w * m).sum::<f64>() / self.total;
        let spread: f64 =
            moved.iter().zip(&self.weights).map(|(m, w)| w * (m - centre).powi(2)).sum();
        if spread.is_nan() || spread <= 0.0 {
            return Err(NoLine::OnePlace);
        }
        let gain = self.gain;
        let offset = self.y_mean - gain * self.x_mean;
        let middle = self.x_mean + centre;
        let (var_gain, var_mean) = (1.0 / spread, 1.0 / self.total);
        let residuals: Vec<f64> = points.iter().map(|p| p.y - offset - gain * p.x).collect();
        let chi_square = residuals.iter().zip(&self.weights).map(|(r, w)| w * r * r).sum();
        let influences = moved
            .iter()
            .zip(&self.weights)
            .map(|(m, w)| {
                let on_gain = w * (m - centre) / spread;
                [w / self.total - middle * on_gain, on_gain]
            })
            .collect();
        Ok(Line {
            offset,
            gain,
            u_offset: (var_mean + middle * middle * var_gain).sqrt(),
            u_gain: var_gain.sqrt(),
            covariance: -middle * var_gain,
            chi_square,
            dof: points.len() - 2,
            residuals,
            influences,
        })
    }
}

#[cfg(test)]
mod tests;
