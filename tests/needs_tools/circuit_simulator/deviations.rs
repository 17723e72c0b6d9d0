//! How far ours is from the simulator's, and whether that is near enough.

use super::trace::Trace;

/// Steady values agree within this share.
const STEADY: f64 = 1e-3;
/// Instants agree within this share of the time since the change began.
const INSTANT: f64 = 1e-2;
/// Shares of a change at which instants are compared.
const LEVELS: [f64; 5] = [0.1, 0.25, 0.5, 0.75, 0.9];

/// The largest deviations of one model.
#[derive(Debug)]
pub struct Deviations {
    name: &'static str,
    steady: f64,
    steadies: usize,
    instant: f64,
    instants: usize,
}

impl Deviations {
    pub fn of(name: &'static str) -> Self {
        Deviations { name, steady: 0.0, steadies: 0, instant: 0.0, instants: 0 }
    }

    /// Compares a steady value.
    pub fn steady(&mut self, ours: f64, theirs: f64) {
        let off = (ours / theirs - 1.0).abs();
        assert!(off <= STEADY, "{}: {ours} is not {theirs} (off by {off:.2e})", self.name);
        self.steady = self.steady.max(off);
        self.steadies += 1;
    }

    /// Compares when a change, begun at `since` and over at `until`, passes its levels. `from` is
    /// what it begins with.
    pub fn change(&mut self, ours: &Trace, theirs: &Trace, since: f64, until: f64, from: f64) {
        let to = theirs.at(until);
        for share in LEVELS {
            self.instant(ours, theirs, since, from + share * (to - from));
        }
    }

    /// Compares when a level is passed.
    pub fn instant(&mut self, ours: &Trace, theirs: &Trace, since: f64, level: f64) {
        let when = |trace: &Trace, whose: &str| {
            trace.passes(level, since.max(trace.times[0])).unwrap_or_else(|| {
                panic!("{}: {whose} never passes {level} after {since} s", self.name)
            })
        };
        let (our, their) = (when(ours, "ours"), when(theirs, "the simulator's"));
        let off = ((our - since) / (their - since) - 1.0).abs();
        let name = self.name;
        assert!(
            off <= INSTANT,
            "{name}: {level} is passed at {our} s, not at {their} s ({off:.2e} of the time since)"
        );
        self.instant = self.instant.max(off);
        self.instants += 1;
    }

    /// One line of the table. A table without comparisons would prove nothing.
    pub fn tell(self) {
        assert!(self.steadies > 0 || self.instants > 0, "{}: nothing was compared", self.name);
        let per_cent = |n: usize, off: f64| match n {
            0 => "–".to_owned(),
            n => format!("{:.4} % ({n})", 100.0 * off),
        };
        println!(
            "{:<44} steady {:<16} instants {}",
            self.name,
            per_cent(self.steadies, self.steady),
            per_cent(self.instants, self.instant),
        );
    }
}
