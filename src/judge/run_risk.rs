//! The risks of a whole run: that it passes though the module is bad, or fails though it is good.

use super::reading::{Reading, Verdict};

/// Puts the risks of readings together.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RunRisk {
    /// The largest of a reading that passes, and whose it is.
    pub largest: Option<(f64, String, String)>,
    /// The sum over those that pass.
    sum: f64,
    /// The smallest of a reading that fails; what failed by a count or was not there is certain.
    surest_fail: Option<f64>,
}

impl RunRisk {
    /// Takes one more reading into account.
    pub fn add(&mut self, reading: &Reading) {
        self.take(reading.verdict, reading.risk, reading.quantity.name(), &reading.step);
    }

    /// The same of a reading of which only this is known.
    pub fn take(&mut self, verdict: Verdict, risk: Option<f64>, quantity: &str, step: &str) {
        match (verdict, risk) {
            (Verdict::Pass, Some(risk)) => {
                self.sum += risk;
                if self.largest.as_ref().is_none_or(|(largest, ..)| risk > *largest) {
                    self.largest = Some((risk, quantity.to_owned(), step.to_owned()));
                }
            }
            (Verdict::Fail, risk) => {
                let (risk, surest) = (risk.unwrap_or(0.0), self.surest_fail.unwrap_or(1.0));
                self.surest_fail = Some(risk.min(surest));
            }
            _ => {}
        }
    }

    /// The chance that at least one pass is wrong is not larger, however much the readings depend on
    /// each other (the union bound, Boole's inequality); at most 1. `None` where nothing passed that
    /// could have been wrong.
    pub fn of_accepting(&self) -> Option<f64> {
        self.largest.as_ref().map(|_| self.sum.min(1.0))
    }

    /// The chance that every fail is wrong, so that nothing is amiss, is not larger: all of them are
    /// wrong only if the surest is. `None` where nothing failed.
    pub fn of_rejecting(&self) -> Option<f64> {
        self.surest_fail
    }
}
