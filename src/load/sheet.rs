//! What hangs on each clamp.

mod read;

use crate::quantity::range::Toleranced;
use uom::si::f64::{
    ElectricCurrent, ElectricPotential, ElectricalResistance, Inductance, Ratio,
    ThermodynamicTemperature, Time,
};

/// The circuit of one load.
#[derive(Clone, Debug, PartialEq)]
pub enum Circuit {
    /// A resistor.
    Resistor {
        /// Its resistance.
        resistance: Toleranced<ElectricalResistance>,
    },
    /// Light-emitting diode (or several in series) with a series resistor.
    Led {
        /// Forward voltage of the whole chain at `at_current`.
        forward: Toleranced<ElectricPotential>,
        /// The current at which the forward voltage is stated.
        at_current: ElectricCurrent,
        /// Series resistor.
        series: Toleranced<ElectricalResistance>,
    },
    /// Filament lamp.
    Lamp {
        /// Rated voltage.
        rated_voltage: ElectricPotential,
        /// Current at the rated voltage.
        rated_current: Toleranced<ElectricCurrent>,
        /// Cold inrush over rated current.
        inrush_ratio: Toleranced<Ratio>,
        /// Time in which the inrush decays to the middle.
        warm_up: Toleranced<Time>,
    },
    /// Relay or solenoid coil.
    Coil {
        /// Resistance at 20 °C.
        resistance: Toleranced<ElectricalResistance>,
        /// Inductance.
        inductance: Toleranced<Inductance>,
        /// How warm it may be; nominal where its resistance is stated, or next to it.
        temperature: Toleranced<ThermodynamicTemperature>,
    },
    /// Small motor.
    Motor {
        /// Current at standstill.
        start_current: Toleranced<ElectricCurrent>,
        /// Current when running.
        run_current: Toleranced<ElectricCurrent>,
        /// Voltage at which both are stated.
        at_voltage: ElectricPotential,
        /// Time in which the current falls half-way from start to run.
        run_up: Toleranced<Time>,
    },
    /// Anything of which only a sample was measured.
    Measured {
        /// What it draws once it has settled.
        current: Toleranced<ElectricCurrent>,
        /// The voltage at which it was measured.
        at_voltage: ElectricPotential,
        /// How long after switching on it was measured.
        settled_after: Time,
    },
    /// Several on one clamp.
    Parallel(Vec<Circuit>),
}

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
    /// What it describes.
    pub title: String,
    /// The supply of the loads (direct current).
    pub supply: Toleranced<ElectricPotential>,
    /// The sample that it was made from, if it was.
    pub sample: Option<Sample>,
    /// The loads in clamp order, 1a 1b 2a … 4b; `None` where nothing hangs.
    pub clamps: [Option<Load>; 8],
}
