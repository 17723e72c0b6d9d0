//! The risk of a whole run: that something passed though it should not have.

use super::reading::{Quantity, Reading, Verdict};

/// Sums the risks of readings that pass.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct PassRisk {
    /// The largest, and whose it is.
    pub largest: Option<(f64, Quantity, String)>,
    /// Their sum. The chance that at least one pass is wrong is not larger, however much the readings
    /// depend on each other (the union bound, Boole's inequality).
    pub sum: f64,
}

impl PassRisk {
    /// Takes one more reading into account.
    pub fn add(&mut self, reading: &Reading) {
        let Some(risk) = reading.risk.filter(|_| reading.verdict == Verdict::Pass) else { return };
        self.sum += risk;
        if self.largest.as_ref().is_none_or(|(largest, ..)| risk > *largest) {
            self.largest = Some((risk, reading.quantity, reading.step.clone()));
        }
    }

    /// The bound for the run, at most 1.
    pub fn bound(&self) -> f64 {
        self.sum.min(1.0)
    }
}
