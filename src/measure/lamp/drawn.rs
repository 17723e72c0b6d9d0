//! What the lamp draws: the mean while it is lit less the mean while it is dark.

use super::levels::{Levels, NEAR};
use crate::measure::budget::Budget;
use crate::measure::component::Component;
use crate::measure::source::Source;
use crate::measure::uncertainty::Estimate;
use std::ops::Range;

/// The current in the unit of `values`, with what their scatter leaves open. Points count that lie at a level like
/// both their neighbours, where nothing else draws current (`suspect`).
pub(super) fn drawn(values: &[f32], levels: &Levels, suspect: &[Range<usize>]) -> Estimate {
    let noise = levels.share_noise * (levels.high - levels.low);
    let mean_at = |level: f64| {
        let is_near = |i: usize| {
            (f64::from(values[i]) - level).abs() <= NEAR * noise
                && !suspect.iter().any(|s| s.contains(&i))
        };
        let points = (1..values.len().saturating_sub(1)).filter(|&i| (i - 1..=i + 1).all(is_near));
        let points: Vec<f64> = points.map(|i| f64::from(values[i])).collect();
        // A level where no point stands among others is a mean of a few all the same.
        let mean = points.iter().sum::<f64>() / points.len() as f64;
        if points.is_empty() { (level, 1.0) } else { (mean, points.len() as f64) }
    };
    let ((dark, of_dark), (lit, of_lit)) = (mean_at(levels.low), mean_at(levels.high));
    let scatter = noise * (1.0 / of_dark + 1.0 / of_lit).sqrt();
    let scatter = Component::type_a(scatter, (of_dark + of_lit - 2.0).max(1.0));
    Estimate::of(lit - dark, Budget::of(&[scatter.from(Source::Noise)]))
}
