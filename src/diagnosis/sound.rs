//! How sound modules on sound benches scatter: the scale that everything is measured by.

use super::seen::{Key, SeenRun};
use super::shrinkage::{Factor, Matrix, ledoit_wolf};
use std::sync::Arc;

/// A reading has a value in at least this share of sound runs, or it is none to measure by.
const MOSTLY: f64 = 0.8;

/// How sound modules scatter.
#[derive(Clone, Debug)]
pub struct Sound {
    /// The runs, by draw.
    pub runs: Vec<Arc<SeenRun>>,
    /// The readings that have values, in order.
    pub keys: Vec<Key>,
    /// Their means.
    pub mean: Vec<f64>,
    /// Their standard deviations.
    pub scatter: Vec<f64>,
    /// How they go together: the covariance in units of the standard deviations.
    together: Matrix,
}

impl Sound {
    /// From runs of sound modules.
    pub fn of(runs: Vec<Arc<SeenRun>>) -> Self {
        let mut keys: Vec<Key> = runs.iter().flat_map(|run| run.keys()).collect();
        keys.sort_unstable();
        keys.dedup();
        let values =
            |key: &Key| -> Vec<f64> { runs.iter().filter_map(|run| run.value(key)).collect() };
        keys.retain(|key| values(key).len() as f64 >= MOSTLY * runs.len() as f64);
        let mean: Vec<f64> = keys.iter().map(|key| average(&values(key))).collect();
        let scatter: Vec<f64> = keys
            .iter()
            .zip(&mean)
            .map(|(key, mean)| {
                let all: Vec<f64> = values(key).iter().map(|v| (v - mean).powi(2)).collect();
                average(&all).sqrt().max(1e-9 * mean.abs()).max(1e-12)
            })
            .collect();
        let row = |run: &Arc<SeenRun>| -> Vec<f64> {
            let value = |key: &Key| run.value(key);
            let one = |j: usize| value(&keys[j]).map_or(0.0, |v| (v - mean[j]) / scatter[j]);
            (0..keys.len()).map(one).collect()
        };
        let (together, _) = ledoit_wolf(&runs.iter().map(row).collect::<Vec<_>>());
        Sound { runs, keys, mean, scatter, together }
    }

    /// The covariance of some of the readings, in units of their standard deviations, each with some
    /// variance of its own besides.
    pub fn factor(&self, which: &[usize], added: &[f64]) -> Option<Factor> {
        self.together.part(which, added).factor()
    }
}

fn average(all: &[f64]) -> f64 {
    all.iter().sum::<f64>() / (all.len() as f64).max(1.0)
}
