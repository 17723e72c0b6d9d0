//! What a given jig can do, as plain data: a script knows no wire.

use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use crate::quantity::write;
use uom::si::f64::ElectricPotential;

/// What a jig can do.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JigAbilities {
    /// The highest feed voltage that it reads, in volts; `None`: not at all.
    pub feed_voltage_v: Option<f64>,
    /// Whether it measures the feed current.
    pub feed_current: bool,
    /// Whether it measures the resistance between the feed wires.
    pub feed_resistance: bool,
    /// The highest voltage of the load supply that it reads, in volts; `None`: not at all.
    pub load_voltage_v: Option<f64>,
    /// The highest voltage that it reads at each clamp, in volts; `None`: not at all.
    pub clamp_voltage_v: [Option<f64>; 8],
    /// Whether it measures the total current of the load supply.
    pub load_total: bool,
    /// The highest load current that it reads at each clamp, in amperes; `None`: not at all.
    pub clamp_current_a: [Option<f64>; 8],
    /// The limit of that channel's offset, in amperes.
    pub clamp_offset_a: [Option<f64>; 8],
    /// Which contact inputs it can close.
    pub contact_closers: [bool; 8],
    /// Which real loads it can switch.
    pub load_switches: [bool; 8],
    /// At which clamps it has a load of its own.
    pub jig_loads: [bool; 8],
}

/// Says so when a jig cannot measure something.
pub(super) fn measures(can: bool, quantity: &str) -> Vec<String> {
    if can { Vec::new() } else { vec![format!("this jig cannot measure {quantity}")] }
}

/// A voltage that goes beyond what a channel reads; a channel that is missing is another matter.
pub(super) fn beyond(
    what: &str,
    voltage: Toleranced<ElectricPotential>,
    highest_v: Option<f64>,
) -> Option<String> {
    let highest_v = highest_v.filter(|highest_v| voltage.upper.si() > *highest_v)?;
    let most = write::brief(voltage.upper);
    Some(format!("{what} may have up to {most}, but this jig reads up to {highest_v} V"))
}
