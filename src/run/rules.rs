//! The diagnosis by rules of thumb.

use super::event::Diagnosis;
use crate::judge::blame::{Facts, Finding, blame};
use crate::judge::reading::{Blame, Quantity, Reading};
use crate::judge::summary::Summary;
use crate::judge::verdict::Side;

/// Blames by the table of [`crate::judge::blame`], and by most votes over a run.
#[derive(Clone, Copy, Debug, Default)]
pub struct Rules;

impl Diagnosis for Rules {
    fn of_reading(&mut self, quantity: Quantity, side: Side, facts: &Facts) -> Finding {
        blame(quantity, side, facts)
    }

    fn of_run(&mut self, readings: &[Reading]) -> Option<Blame> {
        let mut summary = Summary::default();
        readings.iter().for_each(|reading| summary.add(reading));
        summary.blame()
    }
}
