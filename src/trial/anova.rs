//! Analysis of variance of balanced data, random effects.
//!
//! Source: NIST/SEMATECH e-Handbook of Statistical Methods, 7.4.3 (one way) and 7.4.6 (two ways
//! crossed); the estimates of variance components by equating mean squares with what they are
//! expected to be (D. C. Montgomery, *Design and Analysis of Experiments*, random models).

use statrs::distribution::{ContinuousCDF, FisherSnedecor};

/// A source of variation.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Source {
    /// Degrees of freedom.
    pub dof: f64,
    /// Sum of squares.
    pub sum: f64,
}

impl Source {
    /// Mean square.
    pub fn mean(&self) -> f64 {
        self.sum / self.dof
    }

    /// F against another line, and the chance of one as large where there is no effect. `None`
    /// where the other does not vary at all.
    pub fn against(&self, other: &Source) -> Option<(f64, f64)> {
        let f = self.mean() / other.mean();
        let distribution = FisherSnedecor::new(self.dof, other.dof).ok()?;
        f.is_finite().then(|| (f, distribution.sf(f)))
    }
}

/// One factor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct OneWay {
    /// Between the levels of the factor.
    pub between: Source,
    /// Within them.
    pub within: Source,
}

/// Two factors, crossed, with interaction.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct TwoWay {
    /// Between the levels of the first factor.
    pub first: Source,
    /// Between those of the second.
    pub second: Source,
    /// What the first does differently at each level of the second.
    pub interaction: Source,
    /// Within the cells.
    pub within: Source,
}

impl Source {
    /// This line together with another one.
    pub fn pooled(&self, other: &Source) -> Source {
        Source { dof: self.dof + other.dof, sum: self.sum + other.sum }
    }

    /// Whether an effect is no larger, set against this line of the error, than it is with this chance
    /// where there is none.
    fn may_be_nothing(&self, error: &Source, chance: f64) -> bool {
        self.against(error).map_or(self.sum <= 0.0, |(_, by_chance)| by_chance > chance)
    }
}

/// What is left of a crossed study when what may be nothing is pooled with the error.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pooled {
    /// Within the cells, with all that was pooled.
    pub error: Source,
    /// The interaction, unless it may be nothing.
    pub interaction: Option<Source>,
    /// The second factor, unless it may be nothing as well.
    pub second: Option<Source>,
}

impl TwoWay {
    /// Pools the interaction, and then the second factor, where an F-test that errs with this chance finds
    /// nothing of them.
    pub fn pooled(&self, chance: f64) -> Pooled {
        let kept = Pooled {
            error: self.within,
            interaction: Some(self.interaction),
            second: Some(self.second),
        };
        if !self.interaction.may_be_nothing(&self.within, chance) {
            return kept;
        }
        let error = self.within.pooled(&self.interaction);
        if !self.second.may_be_nothing(&error, chance) {
            return Pooled { error, interaction: None, ..kept };
        }
        Pooled { error: error.pooled(&self.second), interaction: None, second: None }
    }
}

/// One factor with at least two levels; each level has the same number of values, at least two.
/// `None` for anything else.
pub fn one_way(levels: &[Vec<f64>]) -> Option<OneWay> {
    let n = levels.first()?.len();
    if levels.len() < 2 || n < 2 || levels.iter().any(|level| level.len() != n) {
        return None;
    }
    let grand = mean(levels.iter().flatten().copied());
    let means: Vec<f64> = levels.iter().map(|level| mean(level.iter().copied())).collect();
    let between = n as f64 * squares(&means, grand);
    let within = levels.iter().zip(&means).map(|(level, &m)| squares(level, m)).sum();
    let a = levels.len() as f64;
    Some(OneWay {
        between: Source { dof: a - 1.0, sum: between },
        within: Source { dof: a * (n as f64 - 1.0), sum: within },
    })
}

/// Two factors: `cells[i][j]` are the values at level `i` of the first and `j` of the second. At
/// least two levels of each, the same number of values in every cell, at least two. `None` for
/// anything else.
pub fn two_way(cells: &[Vec<Vec<f64>>]) -> Option<TwoWay> {
    let (a, b) = (cells.len(), cells.first()?.len());
    let n = cells.first()?.first()?.len();
    let uneven = cells.iter().any(|row| row.len() != b || row.iter().any(|c| c.len() != n));
    if a < 2 || b < 2 || n < 2 || uneven {
        return None;
    }
    let grand = mean(cells.iter().flatten().flatten().copied());
    let firsts: Vec<f64> = cells.iter().map(|row| mean(row.iter().flatten().copied())).collect();
    let seconds: Vec<f64> =
        (0..b).map(|j| mean(cells.iter().flat_map(|row| &row[j]).copied())).collect();
    let (mut interaction, mut within) = (0.0, 0.0);
    for (row, first) in cells.iter().zip(&firsts) {
        for (cell, second) in row.iter().zip(&seconds) {
            let here = mean(cell.iter().copied());
            interaction += (here - first - (second - grand)).powi(2);
            within += squares(cell, here);
        }
    }
    let [a, b, n] = [a, b, n].map(|count| count as f64);
    Some(TwoWay {
        first: Source { dof: a - 1.0, sum: b * n * squares(&firsts, grand) },
        second: Source { dof: b - 1.0, sum: a * n * squares(&seconds, grand) },
        interaction: Source { dof: (a - 1.0) * (b - 1.0), sum: n * interaction },
        within: Source { dof: a * b * (n - 1.0), sum: within },
    })
}

/// The mean, from what the values differ by from one of them: large leading digits that all have in
/// common cost nothing then.
fn mean(values: impl Iterator<Item = f64> + Clone) -> f64 {
    let Some(origin) = values.clone().next() else { return f64::NAN };
    let (mut sum, mut count) = (0.0, 0.0);
    for value in values {
        sum += value - origin;
        count += 1.0;
    }
    origin + sum / count
}

/// Sum of squares about a centre, corrected for what the centre is off by.
fn squares(values: &[f64], centre: f64) -> f64 {
    let squares: f64 = values.iter().map(|v| (v - centre).powi(2)).sum();
    let rest: f64 = values.iter().map(|v| v - centre).sum();
    squares - rest * rest / values.len() as f64
}

#[cfg(test)]
pub(super) mod tests;
