//! Faults of the real loads.

use super::Site;
use crate::simulated_bench::kind::LoadModel;

/// A clamp that has a real load, by chance.
fn loaded(site: &mut Site<'_>) -> Option<usize> {
    let outputs = usize::from(site.parts.module.kind.outputs).min(4);
    let all: Vec<usize> =
        (0..2 * outputs).filter(|&c| site.parts.loads[c] != LoadModel::Open).collect();
    site.one_of(&all)
}

pub(super) fn open(site: &mut Site<'_>) {
    if let Some(c) = loaded(site) {
        let left = 1.0 - site.severity;
        site.parts.loads[c].scale(left);
    }
}

pub(super) fn shorted(site: &mut Site<'_>) {
    if let Some(c) = loaded(site) {
        let load = core::mem::replace(&mut site.parts.loads[c], LoadModel::Open);
        let short = LoadModel::Resistor { ohm: site.severity };
        site.parts.loads[c] = LoadModel::Parallel(vec![load, short]);
    }
}

pub(super) fn wrong_value(site: &mut Site<'_>) {
    if let Some(c) = loaded(site) {
        let times = 1.0 + site.severity;
        site.parts.loads[c].scale(times);
    }
}
