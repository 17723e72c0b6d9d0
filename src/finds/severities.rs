//! One fault at one severity after the other: on a coarse scale first, then where its threshold lies.

use super::share::Share;
use super::threshold::{Curves, Estimate, NEARLY_ALL, Tried};
use super::trial_run::{CameOut, Told, TrialRun};
use crate::judge::quantity::Quantity;
use crate::simulated_bench::faults::{Course, Fault};

/// Severities of the coarse scale, the mildest and the worst among them.
const COARSE: usize = 7;
/// Severities where the threshold lies.
const CLOSE: usize = 5;
/// Where it lies: from where the curve surely has not begun to rise to where it surely has.
const RISE: (f64, f64) = (0.05, 0.99);

/// What was found at one severity.
#[derive(Clone, Debug)]
pub struct AtSeverity {
    /// The severity.
    pub severity: f64,
    /// Runs that find it.
    pub found: Share,
    /// Runs that leave something open.
    pub open: u32,
    /// Of those that find it: how many say whose fault it is.
    pub blamed: Share,
    /// The runs themselves.
    pub runs: Vec<TrialRun>,
}

/// From which severity on nearly all are found.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum FoundFrom {
    /// From this one on, with an interval of 95 %: the milder end first.
    Severity {
        /// The threshold.
        severity: f64,
        /// Perhaps from here on already.
        mildest: f64,
        /// Surely from here on.
        worst: f64,
        /// Found up to here only: beyond, it is something that this script does not see.
        until: Option<f64>,
    },
    /// The mildest that was tried is found already.
    TheMildest(f64),
    /// Not even at the worst.
    Never,
}

/// A fault on one of its courses.
#[derive(Clone, Debug)]
pub struct Searched {
    /// The fault.
    pub fault: &'static Fault,
    /// How it gets worse.
    pub course: Course,
    /// What was found, the mildest first.
    pub tried: Vec<AtSeverity>,
}

impl Searched {
    /// Nothing of it has been tried.
    pub fn new(fault: &'static Fault, course: Course) -> Self {
        Searched { fault, course, tried: Vec::new() }
    }

    /// The severities to begin with.
    pub fn first(&self) -> Vec<f64> {
        match &self.course {
            Course::Counts(counts) => counts.clone(),
            Course::Values { .. } => {
                let (mild, worst) = self.ends();
                self.between(mild, worst, COARSE)
            }
        }
    }

    /// Those at which its threshold lies by what has been found; none where there is none.
    pub fn close(&self) -> Vec<f64> {
        if matches!(self.course, Course::Counts(_)) || self.tried.iter().all(|t| t.found.of == 0) {
            return Vec::new();
        }
        let (mild, worst) = self.ends();
        let curves = self.curves();
        let from = curves.reaches(RISE.0).least.clamp(mild, worst);
        let to = curves.reaches(RISE.1).most.clamp(mild, worst);
        if to > from { self.between(from, to, CLOSE) } else { Vec::new() }
    }

    /// Takes what was found at a severity.
    pub fn add(&mut self, severity: f64, runs: Vec<TrialRun>) {
        let known = self.tried.iter().position(|at| at.severity == severity);
        let at = known.unwrap_or(self.tried.len());
        if known.is_none() {
            self.tried.push(AtSeverity {
                severity,
                found: Share::default(),
                open: 0,
                blamed: Share::default(),
                runs: Vec::new(),
            });
        }
        let at = &mut self.tried[at];
        for run in &runs {
            at.found.count(run.is_found());
            at.open += u32::from(run.came_out == CameOut::Open);
            if run.came_out == CameOut::Failed {
                at.blamed.count(run.blame == Some(self.fault.class));
            }
        }
        at.runs.extend(runs);
        let course = &self.course;
        self.tried
            .sort_by(|a, b| log_of(a.severity, course).total_cmp(&log_of(b.severity, course)));
    }

    /// From which severity on nearly all are found.
    pub fn found_from(&self) -> FoundFrom {
        if let Course::Counts(_) = self.course {
            return self.counted_from();
        }
        let Some(last) = self.last_found() else { return FoundFrom::Never };
        let (mild, worst) = self.ends();
        let Estimate { median, least, most } = self.curves().reaches(NEARLY_ALL);
        if median <= mild && last + 1 == self.tried.len() {
            return FoundFrom::TheMildest(self.severity(mild));
        }
        let [severity, mildest, worst] =
            [median, least, most].map(|log| self.severity(log.clamp(mild, worst)));
        let until = (last + 1 < self.tried.len()).then(|| self.tried[last].severity);
        FoundFrom::Severity { severity, mildest, worst, until }
    }

    /// The worst severity of which nearly all are found.
    fn last_found(&self) -> Option<usize> {
        let is_found = |at: &AtSeverity| at.found.value().is_some_and(|share| share >= NEARLY_ALL);
        self.tried.iter().rposition(is_found)
    }

    /// Found in nearly all of these runs, and of all with more.
    fn counted_from(&self) -> FoundFrom {
        let is_missed = |t: &AtSeverity| t.found.value().is_none_or(|share| share < NEARLY_ALL);
        let first = self.tried.iter().rposition(is_missed).map_or(0, |last| last + 1);
        match self.tried.get(first) {
            None => FoundFrom::Never,
            Some(at) if first == 0 => FoundFrom::TheMildest(at.severity),
            Some(at) => {
                let (severity, mildest) = (at.severity, self.tried[first - 1].severity);
                FoundFrom::Severity { severity, mildest, worst: severity, until: None }
            }
        }
    }

    /// The share found at the worst severity.
    pub fn at_worst(&self) -> Share {
        self.tried.last().map_or(Share::default(), |at| at.found)
    }

    /// How often the right one is blamed where it is found.
    pub fn blamed(&self) -> Share {
        self.tried.iter().fold(Share::default(), |sum, at| Share {
            of: sum.of + at.blamed.of,
            runs: sum.runs + at.blamed.runs,
        })
    }

    /// The reading that tells it where it is just found: the quantity that does so most often, and the
    /// middle one of its values.
    pub fn told_by(&self) -> Option<Told> {
        let found = self.tried.iter().flat_map(|at| &at.runs).filter(|run| run.is_found());
        let mut told: Vec<Told> = found.filter_map(|run| run.told).collect();
        // The milder half: the worst severities read whatever they read.
        told.truncate(told.len().div_ceil(2));
        let count = |quantity: Quantity| told.iter().filter(|t| t.quantity == quantity).count();
        let quantity = told.iter().map(|t| t.quantity).max_by_key(|q| count(*q))?;
        told.retain(|t| t.quantity == quantity);
        told.sort_by(|a, b| a.value.partial_cmp(&b.value).unwrap_or(core::cmp::Ordering::Equal));
        told.get(told.len() / 2).copied()
    }

    fn curves(&self) -> Curves {
        let (mild, worst) = self.ends();
        // What is worse than the last that is found is another matter.
        let last = self.last_found().map_or(self.tried.len(), |last| last + 1);
        let tried: Vec<Tried> = self.tried[..last]
            .iter()
            .map(|at| Tried { log: log_of(at.severity, &self.course), found: at.found })
            .collect();
        Curves::explaining(&tried, mild, worst)
    }

    /// The logarithms of the mildest and the worst; the larger, the worse.
    fn ends(&self) -> (f64, f64) {
        match &self.course {
            Course::Values { mild, worst } => {
                (log_of(*mild, &self.course), log_of(*worst, &self.course))
            }
            Course::Counts(counts) => {
                (counts.first().map_or(0.0, |c| c.ln()), counts.last().map_or(0.0, |c| c.ln()))
            }
        }
    }

    /// So many severities between two logarithms, these among them.
    fn between(&self, from: f64, to: f64, count: usize) -> Vec<f64> {
        let last = (count - 1) as f64;
        (0..count).map(|i| self.severity(from + (to - from) * i as f64 / last)).collect()
    }

    /// The severity of a logarithm, within what may be asked for.
    fn severity(&self, log: f64) -> f64 {
        let severity = match &self.course {
            Course::Values { mild, worst } if falls(*mild, *worst) => (-log).exp(),
            Course::Values { worst, .. } => log.exp().copysign(*worst),
            Course::Counts(_) => log.exp(),
        };
        four_digits(severity).clamp(self.fault.minimum, self.fault.maximum)
    }
}

/// Nobody asks for more of them.
fn four_digits(value: f64) -> f64 {
    format!("{value:.3e}").parse().unwrap_or(value)
}

fn falls(mild: f64, worst: f64) -> bool {
    mild.abs() > worst.abs()
}

fn log_of(severity: f64, course: &Course) -> f64 {
    let log = severity.abs().ln();
    match course {
        Course::Values { mild, worst } if falls(*mild, *worst) => -log,
        _ => log,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulated_bench::faults::find;
    use std::collections::BTreeSet;

    fn run(is_found: bool) -> TrialRun {
        let came_out = if is_found { CameOut::Failed } else { CameOut::Passed };
        TrialRun { came_out, blame: None, lines: BTreeSet::new(), told: None }
    }

    /// A fault that is found from a severity on is searched as a survey does it.
    fn searched(name: &str, course: usize, is_found: impl Fn(f64) -> bool) -> Searched {
        let fault = find(name).unwrap();
        let mut searched = Searched::new(fault, fault.courses().remove(course));
        for look in 0..3 {
            let severities = if look == 0 { searched.first() } else { searched.close() };
            for severity in severities {
                assert!((fault.minimum..=fault.maximum).contains(&severity), "{severity}");
                searched.add(severity, (0..8).map(|_| run(is_found(severity))).collect());
            }
        }
        searched
    }

    #[test]
    fn the_threshold_is_found_whichever_way_a_fault_gets_worse() {
        let cases: [(&str, usize, f64); 4] = [
            ("contact-burnt", 0, 0.31),
            ("reservoir-leaky", 0, 900.0),
            ("lamp-rhythm-off", 0, 0.07),
            ("lamp-rhythm-off", 1, -0.09),
        ];
        for (name, course, edge) in cases {
            let falls = name == "reservoir-leaky";
            let found = searched(name, course, |s| {
                if falls { s <= edge } else { s.abs() >= edge.abs() && s * edge > 0.0 }
            });
            let FoundFrom::Severity { severity, until: None, .. } = found.found_from() else {
                panic!("{name}: {:?}", found.found_from())
            };
            assert!((severity / edge - 1.0).abs() < 0.15, "{name}: {severity}");
        }
    }

    /// Edges anywhere on the course: of forty at least so many lie inside as with a chance of 999 in 1000
    /// where each has one of 95 in 100 (`scipy.stats.binom.ppf(0.001, 40, 0.95)`).
    #[test]
    fn intervals_hold_the_threshold() {
        let is_inside = |i: &i32| {
            let edge = 0.01 * 1.3_f64.powf(f64::from(*i) + 0.37);
            let found = searched("contact-burnt", 0, |s| s >= edge).found_from();
            let FoundFrom::Severity { mildest, worst, .. } = found else { panic!("{found:?}") };
            (mildest..=worst).contains(&edge)
        };
        let inside = (0..40).filter(is_inside).count();
        assert!(inside >= 33, "{inside} of 40");
    }

    #[test]
    fn what_is_lost_again_at_its_worst_is_told() {
        let found = searched("contact-burnt", 0, |s| (0.1..50.0).contains(&s)).found_from();
        let FoundFrom::Severity { severity, until: Some(until), .. } = found else {
            panic!("{found:?}")
        };
        assert!((severity / 0.1 - 1.0).abs() < 0.2 && until < 50.0, "{found:?}");
    }

    #[test]
    fn never_always_and_counted() {
        assert_eq!(searched("contact-burnt", 0, |_| false).found_from(), FoundFrom::Never);
        let always = searched("contact-burnt", 0, |_| true).found_from();
        assert_eq!(always, FoundFrom::TheMildest(0.002));
        let three = searched("closers-dead", 0, |s| s >= 3.0).found_from();
        let from = FoundFrom::Severity { severity: 3.0, mildest: 2.0, worst: 3.0, until: None };
        assert_eq!(three, from);
    }
}
