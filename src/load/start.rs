//! How a load begins: what its current does when it is switched on at rest.

use super::expected::{Fed, rise_time, window};
use super::filament::Filament;
use super::sheet::Circuit;
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use uom::si::f64::{ElectricCurrent, Time};

/// A lamp counts as cold when its inrush falls short of a cold one by no more than this share.
pub const COLD_WITHIN: f64 = 0.1;

/// A motor counts as standing when it turns at no more than this share of its speed.
const STANDS_WITHIN: f64 = 0.02;

/// What is to be expected of a load that is switched on at rest.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Start {
    /// The first current, where it is larger than the settled one: the inrush of a cold lamp, the
    /// start current of a motor that stands.
    pub peak: Option<Limited<ElectricCurrent>>,
    /// Time in which half of that excess is gone.
    pub decay: Option<Limited<Time>>,
    /// 10 % to 90 % of the final current of a coil.
    pub rise: Option<Limited<Time>>,
    /// How long it must have been off, to be at rest.
    pub rest: Time,
}

/// A value to expect.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Limited<Q> {
    /// With its window.
    pub value: Toleranced<Q>,
    /// Whether the sheet states a tolerance for it: of a value that is stated without one nobody
    /// knows how far it may be off.
    pub stated: bool,
}

/// How a circuit starts; `None` where there is nothing to see: resistors and diodes draw their
/// settled current at once, of a sample nothing is known, and of several moving loads on one clamp
/// the courses cannot be told apart.
pub fn start(circuit: &Circuit, fed: &Fed) -> Option<Start> {
    if let Circuit::Coil { inductance, .. } = circuit {
        let value = rise_time(circuit)?;
        let rise = Some(Limited { value, stated: inductance.lower < inductance.upper });
        // Its field is gone as soon as its current is.
        return Some(Start { peak: None, decay: None, rise, rest: value.upper });
    }
    let mut moving = parts(circuit).into_iter().filter(|part| !is_instant(part));
    let only = moving.next().filter(|_| moving.next().is_none())?;
    let first = window(circuit, fed, Time::from_si(0.0));
    let settled = window(circuit, fed, Time::from_si(f64::INFINITY));
    if first.nominal <= settled.nominal {
        return None;
    }
    let (decay, rest, stated) = match only {
        Circuit::Lamp { rated_voltage, inrush_ratio, warm_up, .. } => {
            // What flows takes the voltage down on the way.
            let lowest = fed.voltage.lower.si() - first.upper.si() * fed.way.upper.si();
            let volts = [fed.voltage.nominal.si(), lowest, fed.voltage.upper.si()];
            let at = |volt: f64, ratio: f64, warm_up: Time| {
                let share = volt.max(0.0) / rated_voltage.si();
                Filament::new(ratio, warm_up.si()).at_voltage(share)
            };
            let mut all = vec![at(volts[0], inrush_ratio.nominal.si(), warm_up.nominal)];
            for volt in volts {
                for ratio in [inrush_ratio.lower, inrush_ratio.upper] {
                    all.extend([warm_up.lower, warm_up.upper].map(|w| at(volt, ratio.si(), w)));
                }
            }
            let cool = all.iter().map(|lamp| lamp.cool(COLD_WITHIN)).fold(0.0, f64::max);
            let times: Vec<f64> = all.iter().map(|lamp| lamp.half_gone()).collect();
            let stated = inrush_ratio.lower < inrush_ratio.upper;
            (spanned(&times), cool, [stated, warm_up.lower < warm_up.upper])
        }
        Circuit::Motor { start_current, run_current, run_up, .. } => {
            // Coasting, the friction that takes the run current brakes what the excess had driven:
            // the time constant is that of the run-up, as much longer as the run current is smaller
            // than the excess.
            let excess = start_current.upper.si() / run_current.lower.si() - 1.0;
            let coasts = run_up.upper.si() / core::f64::consts::LN_2 * excess;
            let stated = start_current.lower < start_current.upper;
            let rest = coasts * -STANDS_WITHIN.ln();
            (*run_up, rest, [stated, run_up.lower < run_up.upper])
        }
        _ => return None,
    };
    let mut peak = first;
    if matches!(only, Circuit::Lamp { .. }) {
        peak.lower = (1.0 - COLD_WITHIN) * first.lower;
    }
    Some(Start {
        peak: Some(Limited { value: peak, stated: stated[0] }),
        decay: Some(Limited { value: decay, stated: stated[1] }),
        rise: None,
        rest: Time::from_si(rest),
    })
}

/// The single circuits of a circuit.
fn parts(circuit: &Circuit) -> Vec<&Circuit> {
    match circuit {
        Circuit::Parallel(all) => all.iter().flat_map(parts).collect(),
        one => vec![one],
    }
}

/// Whether a circuit draws its settled current at once.
fn is_instant(circuit: &Circuit) -> bool {
    matches!(circuit, Circuit::Resistor { .. } | Circuit::Led { .. })
}

/// The first value, and the range of all.
fn spanned(seconds: &[f64]) -> Toleranced<Time> {
    let lower = seconds.iter().copied().fold(f64::INFINITY, f64::min);
    let upper = seconds.iter().copied().fold(0.0, f64::max);
    let [nominal, lower, upper] = [seconds[0], lower, upper].map(Time::from_si);
    Toleranced { nominal, lower, upper }
}

#[cfg(test)]
mod tests;
