//! Loads that draw so little that their current could be nothing.

use crate::load::settled_current;
use crate::load::sheet::LoadSheet;
use crate::load::told::least_told;
use crate::quantity::unit::Units;
use crate::quantity::write;
use crate::script::terms::listed;
use crate::signal::target::Clamp;
use uom::si::f64::ElectricCurrent;

/// A sentence for all of these clamps whose load may draw less than a jig tells from nothing, by the limit
/// of the offset of its channel there.
pub(super) fn small_loads(
    sheet: &LoadSheet,
    clamps: &[Clamp],
    offset_a: impl Fn(Clamp) -> Option<f64>,
) -> Vec<String> {
    let mut small = Vec::new();
    let [mut least, mut told] = [f64::INFINITY, 0.0f64];
    for &clamp in clamps {
        let Some(load) = &sheet.clamps[clamp.index()] else { continue };
        let Some(from) = offset_a(clamp).map(least_told) else { continue };
        let lowest = settled_current(&load.circuit, sheet.supply).lower.si();
        if lowest < from {
            small.push(clamp.to_string());
            (least, told) = (least.min(lowest), told.max(from));
        }
    }
    if small.is_empty() {
        return Vec::new();
    }
    let [least, told] = [least, told].map(|a| write::brief(ElectricCurrent::from_si(a)));
    let clamps = listed("clamp", &small);
    vec![format!(
        "what hangs at {clamps} may draw as little as {least}, and below {told} the jig cannot tell a current from nothing: \
         the voltage at the clamp tells where an output stands, and such a current is not judged"
    )]
}
