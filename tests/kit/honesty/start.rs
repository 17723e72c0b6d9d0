//! How a load truly started when it was switched on at rest, past the module.

use super::truth::Bench;
use super::window::Window;
use musterbench::judge::reading::{Quantity, Reading};
use musterbench::load::Fed;
use musterbench::load::jig::PATH_OHM;
use musterbench::load::start::{Start, start};
use musterbench::quantity::range::Toleranced;
use musterbench::quantity::unit::{Units, duration};
use musterbench::script::timing::settle_at;
use musterbench::signal::target::Clamp;
use musterbench::wire::channel::CLAMP_CURRENT;
use uom::si::f64::ElectricPotential;

/// The settled current is the mean over so long.
const READ_OVER_US: u64 = 20_000;

/// The true value of what was read of a start. What is compared with limits that go with the measured
/// voltage is moved by as much as these would be at the true one.
pub fn of_start(bench: &Bench<'_>, reading: &Reading, windows: &[Window]) -> Option<f64> {
    let clamp = reading.output.zip(reading.position);
    let clamp = clamp.map(|(output, position)| Clamp { output, position })?;
    let window = windows.iter().rfind(|w| w.channels.contains(&clamp.channel(CLAMP_CURRENT)))?;
    let course = &bench.truth.clamp_a[clamp.index()];
    // It may have been switched on up to an interval before the first scan.
    let (from, to) = (window.first_us.saturating_sub(2 * window.interval_us), window.whole().1);
    let settle = duration(settle_at(bench.plan.loads.as_ref(), clamp)).as_micros() as u64;
    let settled = course.mean(to + settle, to + settle + READ_OVER_US);
    let passes = |level, is_rising| Some(1e-6 * course.passes(level, is_rising, from, to)?);
    let peak = course.highest(from, to);
    let began = passes(0.5 * peak.min(settled), true);
    let at = |volt: f64| {
        let volt = ElectricPotential::from_si(volt);
        let fed = Fed::behind(Toleranced { nominal: volt, lower: volt, upper: volt }, PATH_OHM);
        let loads = bench.plan.loads.as_ref()?;
        start(&loads.clamps[clamp.index()].as_ref()?.circuit, &fed)
    };
    let measured = window.supply?[0];
    let moved = |of: fn(&Start) -> Option<f64>| {
        Some(of(&at(bench.truth.load_v.mean(from, to))?)? - of(&at(measured)?)?)
    };
    match reading.quantity {
        Quantity::InrushCurrent => Some(peak - moved(|s| Some(s.peak?.value.upper.si()))?),
        Quantity::InrushDecay => {
            let half_gone = 0.5 * (peak + settled);
            let from = (1e6 * began?) as u64;
            let fell = 1e-6 * course.passes(half_gone, false, from + 1, to)?;
            Some(fell - began? - moved(|s| Some(s.decay?.value.upper.si()))?)
        }
        Quantity::RiseTime => Some(passes(0.9 * settled, true)? - passes(0.1 * settled, true)?),
        _ => None,
    }
}
