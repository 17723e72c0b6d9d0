//! What must be found: benches with a fault on which the given script finds it, and sound ones that it
//! passes.

use super::tried::Tried;
use crate::finds::severities::{FoundFrom, Searched};
use crate::finds::spread::on_all_processors;
use crate::finds::trial_run::CameOut;
use crate::simulated_bench::faults::{Course, Fault};
use core::sync::atomic::{AtomicBool, Ordering};
use rand::{Rng, SeedableRng};
use rand_xoshiro::SplitMix64;

/// A fault that is found only where it is so many times as bad is lost.
pub const TIMES: f64 = 2.0;

/// A fault of a kind at a severity at which it must be found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Kept {
    /// The kind of module, an index.
    pub kind: usize,
    /// The fault.
    pub fault: &'static Fault,
    /// The severity.
    pub severity: f64,
}

/// A bench: with a fault that must be found, or a sound one that must pass.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Case {
    /// The kind of module, an index.
    pub kind: usize,
    /// The fault with its severity; `None`: none.
    pub fault: Option<(&'static Fault, f64)>,
    /// What it is drawn from.
    pub seed: u64,
}

/// At which severities a fault must be found that is found from one on: the usual one and the worst, and
/// somewhat beyond where the given script begins to find nearly all.
pub fn severities(searched: &Searched) -> Vec<f64> {
    let fault = searched.fault;
    let (from, until) = match searched.found_from() {
        FoundFrom::Never => return Vec::new(),
        FoundFrom::TheMildest(severity) => (severity, None),
        FoundFrom::Severity { worst, until, .. } => (worst, until),
    };
    let (least, most, falls) = match &searched.course {
        Course::Counts(counts) => (from, counts.iter().copied().fold(from, f64::max), false),
        Course::Values { mild, worst } if mild.abs() > worst.abs() => (from, *worst, true),
        Course::Values { worst, .. } => (from, *worst, false),
    };
    let most = until.unwrap_or(most);
    let is_beyond = |a: f64, b: f64| if falls { a <= b } else { a.abs() >= b.abs() };
    let further = if falls { least / TIMES } else { TIMES * least };
    let further = match &searched.course {
        Course::Counts(_) => least,
        Course::Values { .. } => further,
    };
    let mut all = vec![most];
    for severity in [further, fault.default] {
        let is_on_course = severity * most > 0.0;
        let is_found = is_on_course && is_beyond(severity, least) && is_beyond(most, severity);
        if is_found && !all.contains(&severity) {
            all.push(severity);
        }
    }
    all
}

impl Case {
    /// So many of each fault in their order, then so many sound ones of each kind, drawn from a number.
    pub fn drawn(
        kept: &[Kept],
        kinds: usize,
        (of_each, sound): (u32, u32),
        seed: u64,
    ) -> Vec<Case> {
        let mut seeds = SplitMix64::seed_from_u64(seed);
        let mut all = Vec::new();
        for kept in kept {
            let fault = Some((kept.fault, kept.severity));
            let case = |_| Case { kind: kept.kind, fault, seed: seeds.next_u64() };
            all.extend((0..of_each).map(case));
        }
        for kind in 0..kinds {
            let case = |_| Case { kind, fault: None, seed: seeds.next_u64() };
            all.extend((0..sound).map(case));
        }
        all
    }

    /// So many benches of each of these, and so many sound ones of each kind, drawn from a number; those of
    /// them that the given script finds, or passes. `None` if it was stopped.
    pub fn that_are_found(
        kept: &[Kept],
        kinds: usize,
        numbers: (u32, u32),
        given: &Tried<'_>,
        seed: u64,
        stop: &AtomicBool,
        told: &mut dyn FnMut(usize, usize),
    ) -> Option<Vec<Case>> {
        let all = Case::drawn(kept, kinds, numbers, seed);
        let is_held = on_all_processors(
            all.len(),
            stop,
            |i| all[i].is_held_by(given),
            |n| told(n, all.len()),
        )?;
        let held = all.into_iter().zip(is_held).filter(|(_, is_held)| *is_held);
        Some(held.map(|(case, _)| case).collect())
    }

    /// Whether plans find its fault; whether they pass it where it is sound.
    pub fn is_held_by(&self, plans: &Tried<'_>) -> bool {
        let run = plans.run(self.kind, self.fault, self.seed);
        match self.fault {
            Some(_) => run.is_found(),
            None => run.came_out == CameOut::Passed,
        }
    }
}

/// Whether plans hold all of these; the first of them that they do not hold, by the order in which they are
/// tried, otherwise. `None` if it was stopped.
pub fn first_lost(cases: &[&Case], plans: &Tried<'_>, stop: &AtomicBool) -> Option<Option<usize>> {
    // One is enough: then the others need not be tried.
    let enough = AtomicBool::new(false);
    let lost = core::sync::atomic::AtomicUsize::new(usize::MAX);
    let one = |i: usize| {
        if stop.load(Ordering::Relaxed) {
            enough.store(true, Ordering::Relaxed);
        } else if !cases[i].is_held_by(plans) {
            lost.fetch_min(i, Ordering::Relaxed);
            enough.store(true, Ordering::Relaxed);
        }
    };
    let _ = on_all_processors(cases.len(), &enough, one, |_| ());
    if stop.load(Ordering::Relaxed) {
        return None;
    }
    let lost = lost.into_inner();
    Some((lost != usize::MAX).then_some(lost))
}
