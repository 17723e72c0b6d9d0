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
        scale(&mut site.parts.loads[c], left);
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
        scale(&mut site.parts.loads[c], times);
    }
}

/// Makes a load take `times` its current.
fn scale(load: &mut LoadModel, times: f64) {
    if times <= 1e-6 {
        *load = LoadModel::Open;
        return;
    }
    match load {
        LoadModel::Open => {}
        LoadModel::Resistor { ohm } => *ohm /= times,
        LoadModel::Led { at_a, series_ohm, .. } => {
            *at_a *= times;
            *series_ohm /= times;
        }
        LoadModel::Lamp { rated_a, .. } => *rated_a *= times,
        LoadModel::Coil { ohm, henry } => {
            *ohm /= times;
            *henry /= times;
        }
        LoadModel::Motor { start_a, run_a, .. } => {
            *start_a *= times;
            *run_a *= times;
        }
        LoadModel::Parallel(all) => all.iter_mut().for_each(|l| scale(l, times)),
    }
}
