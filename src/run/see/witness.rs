//! What tells whether the contact at a clamp is closed.

use crate::measure::record::Record;
use crate::measure::uncertainty::Estimate;
use crate::measure::witness::Witness;
use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_CURRENT, CLAMP_VOLTAGE};

/// Share of the supply that a clamp's voltage must reach to count as closed.
const CLOSED_VOLTAGE: f64 = 0.3;

/// The current at a clamp, where it was captured.
pub fn by_current(record: &Record, clamp: Clamp, least_a: f64) -> Option<Witness<'_>> {
    Some(Witness { trace: record.trace(clamp.channel(CLAMP_CURRENT))?, least: least_a })
}

/// The voltage at a clamp, where it was captured.
pub fn by_voltage(record: &Record, clamp: Clamp, supply: Estimate) -> Option<Witness<'_>> {
    let trace = record.trace(clamp.channel(CLAMP_VOLTAGE))?;
    Some(Witness { trace, least: CLOSED_VOLTAGE * supply.value })
}
