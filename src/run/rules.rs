//! The diagnosis by rules of thumb.

use super::event::{Diagnosed, Diagnosis, Over};
use crate::judge::blame::{Facts, Finding, blame};
use crate::judge::reading::Quantity;
use crate::judge::summary::Summary;
use crate::judge::verdict::Side;

/// Blames by the table of [`crate::judge::blame`], and by most votes over a run.
#[derive(Clone, Copy, Debug, Default)]
pub struct Rules;

impl Diagnosis for Rules {
    fn of_reading(&mut self, quantity: Quantity, side: Side, facts: &Facts) -> Finding {
        blame(quantity, side, facts)
    }

    fn of_run(&mut self, over: &Over<'_>, _: &mut dyn FnMut(usize, usize)) -> Diagnosed {
        let mut summary = Summary::default();
        over.readings.iter().for_each(|reading| summary.add(reading));
        Diagnosed { blame: summary.blame(), suspects: None }
    }
}
