//! What may be the matter.

use super::bench::Wrong;
use crate::blame::Blame;
use crate::simulated_bench::Placed;
use crate::simulated_bench::faults::place::{Place, Sits};
use crate::simulated_bench::faults::{Course, Fault};

/// What may be the matter, but for how severe it is.
#[derive(Clone, Debug, PartialEq)]
pub struct Cause {
    /// Another kind of module: its place among the other kinds.
    pub kind: Option<usize>,
    /// A fault whose severity is known already: the first one of a pair.
    pub besides: Option<Placed>,
    /// A fault.
    pub fault: Option<Sought>,
}

/// A fault whose severity is sought.
#[derive(Clone, Debug, PartialEq)]
pub struct Sought {
    /// The fault.
    pub fault: &'static Fault,
    /// Where it sits.
    pub place: Place,
    /// Whether its severities are below zero.
    pub negative: bool,
}

impl Cause {
    /// Nothing.
    pub const SOUND: Cause = Cause { kind: None, besides: None, fault: None };

    /// One fault.
    pub fn of(sought: Sought) -> Self {
        Cause { fault: Some(sought), ..Cause::SOUND }
    }

    /// Another kind.
    pub fn kind(at: usize) -> Self {
        Cause { kind: Some(at), ..Cause::SOUND }
    }

    /// What is wrong on the bench at a severity.
    pub fn at(&self, severity: f64) -> Wrong {
        let sought = self.fault.as_ref().map(|sought| Placed {
            fault: sought.fault,
            place: sought.place.clone(),
            severity,
        });
        Wrong { kind: self.kind, faults: self.besides.iter().cloned().chain(sought).collect() }
    }

    /// Whether it may show at any output.
    pub fn roams(&self) -> bool {
        self.kind.is_some()
            || self.fault.as_ref().is_some_and(|sought| sought.place.sits == Sits::Whole)
    }

    /// Whose fault it is: of a pair that of the first, where both say the same, else nobody's.
    pub fn class(&self) -> Blame {
        let first = self.besides.as_ref().map(|placed| placed.fault.class);
        let second = self.fault.as_ref().map(|sought| sought.fault.class);
        match (self.kind, first, second) {
            (Some(_), ..) => Blame::Setting,
            (None, Some(first), Some(second)) if first != second => Blame::Unsure,
            (None, first, second) => second.or(first).unwrap_or(Blame::Unsure),
        }
    }
}

/// From the mildest to the worst.
#[derive(Clone, Debug, PartialEq)]
pub struct Severities {
    /// All of them, a small step apart.
    pub all: Vec<f64>,
    /// Those of them that are tried first.
    pub first: Vec<usize>,
}

/// So many severities to a factor of ten.
const TO_TEN: f64 = 40.0;
/// Of the severities that are tried first, neighbours are so many apart at most.
const APART: usize = 40;
/// Added resistances are looked for from here on, ohms.
const LEAST_OHM: f64 = 0.02;

impl Severities {
    /// Those of a fault; of one that can go either way those on one side of zero.
    pub fn of(fault: &Fault, negative: bool) -> Self {
        let is_this = |course: &Course| match course {
            Course::Counts(_) => true,
            Course::Values { worst, .. } => (*worst < 0.0) == negative,
        };
        match fault.courses().into_iter().find(is_this) {
            Some(Course::Counts(counts)) => {
                let counts: Vec<f64> = counts.into_iter().take(8).collect();
                Severities { first: (0..counts.len()).collect(), all: counts }
            }
            Some(Course::Values { mild, worst }) => values(fault, mild, worst),
            None => Severities { all: vec![fault.default], first: vec![0] },
        }
    }

    /// The place of the one that is nearest to a severity, by their ratio.
    pub fn nearest(&self, severity: f64) -> usize {
        let away = |s: &f64| (s.abs().ln() - severity.abs().ln()).abs();
        let all = self.all.iter().enumerate();
        all.min_by(|a, b| away(a.1).total_cmp(&away(b.1))).map_or(0, |(at, _)| at)
    }
}

fn values(fault: &Fault, mild: f64, worst: f64) -> Severities {
    // What is added somewhere may be little, even where all of it is usual.
    let mild = if fault.unit == "ohm" && fault.minimum == 0.0 {
        mild.abs().min(LEAST_OHM).copysign(mild)
    } else {
        mild
    };
    let decades = (worst / mild).log10();
    let steps = (decades.abs() * TO_TEN).ceil().max(1.0) as usize;
    let at = |i: usize| {
        let exact = mild * 10_f64.powf(decades * i as f64 / steps as f64);
        if i == steps { worst } else { rounded(exact) }
    };
    let all: Vec<f64> = (0..=steps).map(at).collect();
    let parts = steps.div_ceil(APART);
    // The mildest shows nothing.
    let mut first: Vec<usize> = (1..=parts).map(|i| i * steps / parts).collect();
    if fault.unit == "share" {
        // What it does begins somewhere between little and all.
        let near = |share: f64| {
            let away = |at: &usize| (all[*at] / worst - share).abs();
            (0..=steps).min_by(|a, b| away(a).total_cmp(&away(b)))
        };
        first.extend([0.75, 0.5, 0.25].into_iter().filter_map(near));
        first.sort_unstable();
        first.dedup();
    }
    Severities { all, first }
}

/// To four digits, so that it reads the same wherever it is told.
fn rounded(severity: f64) -> f64 {
    format!("{severity:.3e}").parse().unwrap_or(severity)
}
