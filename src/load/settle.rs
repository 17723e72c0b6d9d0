//! When a load's current may be judged as steady.

use super::filament::Filament;
use super::model::coil_ohm;
use super::sheet::Circuit;
use crate::quantity::unit::Units;
use uom::si::f64::Time;

/// A load counts as settled once its current is within this share of its final value.
pub const SETTLED_WITHIN: f64 = 0.002;

/// How long after switching on the current stays away from its final value by more than
/// [`SETTLED_WITHIN`], at the voltage that its sheet states.
pub fn settle_time(circuit: &Circuit) -> Time {
    Time::from_si(settle_s(circuit))
}

fn settle_s(circuit: &Circuit) -> f64 {
    match circuit {
        Circuit::Resistor { .. } | Circuit::Led { .. } => 0.0,
        Circuit::Lamp { inrush_ratio, warm_up, .. } => {
            Filament::new(inrush_ratio.upper.si(), warm_up.upper.si()).settle(SETTLED_WITHIN)
        }
        // exp(−t R / L) = share: the lowest resistance is the slowest.
        Circuit::Coil { resistance, inductance, temperature } => {
            let ohm = coil_ohm(resistance.lower.si(), temperature.lower.si());
            -SETTLED_WITHIN.ln() * inductance.upper.si() / ohm
        }
        // (start / run − 1) · 2^(−t / run_up) = share
        Circuit::Motor { start_current, run_current, run_up, .. } => {
            let excess = start_current.upper.si() / run_current.lower.si() - 1.0;
            halvings(excess) * run_up.upper.si()
        }
        Circuit::Measured { settled_after, .. } => settled_after.si(),
        Circuit::Parallel(parts) => parts.iter().map(settle_s).fold(0.0, f64::max),
    }
}

/// How often an excess must be halved until it is within the share.
fn halvings(excess: f64) -> f64 {
    (excess / SETTLED_WITHIN).log2().max(0.0)
}
