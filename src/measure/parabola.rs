//! A parabola through neighbouring samples, by least squares.
//!
//! Source: A. Savitzky and M. J. E. Golay, *Analytical Chemistry* 36 (1964) 1627; with polynomials that are
//! orthogonal on the samples, so that each coefficient comes by itself (P. G. Guest, *Numerical Methods of
//! Curve Fitting*, 1961, chapter 7; from memory).

/// The fewest samples that a parabola has something to say of.
pub const LEAST: usize = 3;

/// The parabola; places are in samples from the first one.
#[derive(Clone, Copy, Debug)]
pub struct Parabola {
    count: f64,
    /// Mean, slope and bend about the middle.
    mean: f64,
    slope: f64,
    bend: f64,
    /// Mean and sum of the squared places about the middle, and the sum of squares of the bend's polynomial.
    mean_square: f64,
    squares: f64,
    fourth: f64,
}

impl Parabola {
    /// Through all values; `None` for fewer than [`LEAST`].
    pub fn through(values: impl ExactSizeIterator<Item = f64>) -> Option<Self> {
        if values.len() < LEAST {
            return None;
        }
        let count = values.len() as f64;
        let middle = (count - 1.0) / 2.0;
        let mean_square = (count * count - 1.0) / 12.0;
        let [mut sum, mut tilt, mut bow, mut squares, mut fourth] = [0.0; 5];
        for (i, y) in values.enumerate() {
            let x = i as f64 - middle;
            let p = x * x - mean_square;
            sum += y;
            tilt += x * y;
            bow += p * y;
            squares += x * x;
            fourth += p * p;
        }
        let (mean, slope, bend) = (sum / count, tilt / squares, bow / fourth);
        Some(Parabola { count, mean, slope, bend, mean_square, squares, fourth })
    }

    fn about(&self, at: f64) -> f64 {
        at - (self.count - 1.0) / 2.0
    }

    /// Its value at a place.
    pub fn at(&self, at: f64) -> f64 {
        let x = self.about(at);
        self.mean + self.slope * x + self.bend * (x * x - self.mean_square)
    }

    /// How steep it is there, a sample.
    pub fn slope_at(&self, at: f64) -> f64 {
        self.slope + 2.0 * self.bend * self.about(at)
    }

    /// Standard deviation of its value there, in those of a sample: each has its own noise.
    pub fn noise_at(&self, at: f64) -> f64 {
        let x = self.about(at);
        let p = x * x - self.mean_square;
        (1.0 / self.count + x * x / self.squares + p * p / self.fourth).sqrt()
    }

    /// Where it passes a level among the samples; `None` where it does not.
    pub fn passes(&self, level: f64) -> Option<f64> {
        let c = self.mean - self.bend * self.mean_square - level;
        let root = self.slope * self.slope - 4.0 * self.bend * c;
        if root < 0.0 || self.slope == 0.0 {
            return None;
        }
        // The root near the middle, in the form that loses no digits.
        let x = -2.0 * c / (self.slope + root.sqrt().copysign(self.slope));
        let at = x + (self.count - 1.0) / 2.0;
        (-0.5..=self.count - 0.5).contains(&at).then_some(at)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Savitzky and Golay's table I: the weights of five samples are (−3, 12, 17, 12, −3) / 35 in the
    /// middle.
    #[test]
    fn five_samples_are_smoothed_with_the_published_weights() {
        for (k, weight) in [-3.0, 12.0, 17.0, 12.0, -3.0].into_iter().enumerate() {
            let one = (0..5).map(|i| f64::from(u8::from(i == k)));
            let found = Parabola::through(one.collect::<Vec<_>>().into_iter()).unwrap();
            assert!((found.at(2.0) - weight / 35.0).abs() < 1e-12, "{k}");
        }
        let flat = Parabola::through([0.0; 5].into_iter()).unwrap();
        assert!((flat.noise_at(2.0) - (17.0 / 35.0f64).sqrt()).abs() < 1e-12);
    }

    #[test]
    fn a_parabola_is_found_again_with_its_slope_and_its_root() {
        let of = |x: f64| 0.3 * x * x - 4.0 * x + 1.0;
        let fit = Parabola::through((0..7).map(|i| of(f64::from(i)))).unwrap();
        assert!((fit.at(-0.5) - of(-0.5)).abs() < 1e-9);
        assert!((fit.slope_at(2.0) - (0.6 * 2.0 - 4.0)).abs() < 1e-9);
        assert!((fit.passes(of(4.25)).unwrap() - 4.25).abs() < 1e-9);
        assert_eq!(fit.passes(100.0), None);
        assert!(Parabola::through([1.0, 2.0].into_iter()).is_none());
    }
}
