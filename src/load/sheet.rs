//! What hangs on each clamp.

mod read;

use super::circuit::Circuit;
use crate::quantity::origin::Origin;
use crate::quantity::range::Toleranced;
use uom::si::f64::{ElectricPotential, Ratio, Time};

/// What hangs on one clamp.
#[derive(Clone, Debug, PartialEq)]
pub struct Load {
    /// Its name on the layout.
    pub name: String,
    /// Its circuit.
    pub circuit: Circuit,
    /// Longest time it may be on.
    pub on_time: Option<Time>,
    /// Rest that it then needs.
    pub rest: Option<Time>,
}

/// The sample that a load sheet was made from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Sample {
    /// Measured on a simulated bench: it says nothing of a real load.
    pub simulated: bool,
    /// How many specimens were measured.
    pub specimens: u32,
    /// How often each of them was.
    pub times: u32,
    /// The share of readings that the limits hold.
    pub coverage: Ratio,
    /// How sure that is.
    pub confidence: Ratio,
}

/// A load sheet that was made from a simulated sample says nothing of real loads.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error(
    "the load sheet is SIMULATED: it was made from a sample on a simulated bench and says nothing of \
     real loads; measure a real one with `musterbench load from-sample`"
)]
pub struct SimulatedSample;

impl LoadSheet {
    /// Whether it may be used with a jig, by whether that is a simulated one.
    ///
    /// # Errors
    /// A simulated sample does not go with a real jig.
    pub fn check_jig(&self, simulated: bool) -> Result<(), SimulatedSample> {
        let is_simulated = self.sample.is_some_and(|sample| sample.simulated);
        if is_simulated && !simulated { Err(SimulatedSample) } else { Ok(()) }
    }
}

/// A load sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct LoadSheet {
    /// Which sheet it is.
    pub origin: Origin,
    /// What it describes.
    pub title: String,
    /// The supply of the loads (direct current).
    pub supply: Toleranced<ElectricPotential>,
    /// The sample that it was made from, if it was.
    pub sample: Option<Sample>,
    /// The loads in clamp order, 1a 1b 2a … 4b; `None` where nothing hangs.
    pub clamps: [Option<Load>; 8],
}
