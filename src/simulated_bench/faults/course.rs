//! From the mildest to the worst: which severities of a fault differ enough to be tried.

use super::fault::Fault;

/// Units of severities that are counted, not measured.
const COUNTED: &[&str] = &[
    "switches", "pairs", "outputs", "groups", "sliders", "packets", "loads", "closers", "diodes",
    "banks", "variants",
];

/// How much milder than the usual one the mildest severity is.
const MILDEST: f64 = 1e-3;

/// How a fault gets worse.
#[derive(Clone, Debug, PartialEq)]
pub enum Course {
    /// So many of something: these numbers, few first.
    Counts(Vec<f64>),
    /// Any value from a mild one to the worst one, both of one sign.
    Values {
        /// The mildest.
        mild: f64,
        /// The worst.
        worst: f64,
    },
}

impl Fault {
    /// How it gets worse; two courses where it can go either way.
    ///
    /// A severity that cannot be zero is a resistance across something: the smaller, the worse.
    pub fn courses(&self) -> Vec<Course> {
        if COUNTED.contains(&self.unit) {
            return vec![Course::Counts(counts(self.maximum))];
        }
        if self.minimum > 0.0 {
            return vec![Course::Values { mild: self.maximum, worst: self.minimum }];
        }
        let either = |worst: f64| {
            let mild = MILDEST * self.default.min(worst.abs());
            Course::Values { mild: mild.copysign(worst), worst }
        };
        let up = either(self.maximum);
        if self.minimum < 0.0 { vec![up, either(self.minimum)] } else { vec![up] }
    }
}

/// One, two and so on; from eight on each a quarter more than the one before.
fn counts(most: f64) -> Vec<f64> {
    let next = |count: &f64| Some(if *count < 8.0 { count + 1.0 } else { (1.25 * count).floor() });
    core::iter::successors(Some(1.0), next).take_while(|count| *count <= most).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::simulated_bench::faults::catalogue;

    #[test]
    fn every_course_stays_in_the_range_of_its_fault() {
        for fault in catalogue() {
            for course in fault.courses() {
                let all = match course {
                    Course::Counts(counts) => {
                        assert!(counts.is_sorted() && !counts.is_empty(), "{}", fault.name);
                        counts
                    }
                    Course::Values { mild, worst } => {
                        assert!(mild * worst > 0.0 && mild != worst, "{}", fault.name);
                        vec![mild, worst]
                    }
                };
                for severity in all {
                    let range = fault.minimum..=fault.maximum;
                    assert!(range.contains(&severity), "{} {severity}", fault.name);
                }
            }
        }
    }

    /// What lies across something hurts the more the less it is.
    #[test]
    fn what_gets_worse_as_it_falls_lies_across_something() {
        let falls = catalogue().filter(|fault| fault.minimum > 0.0);
        let names: Vec<&str> = falls.map(|fault| fault.name).collect();
        assert_eq!(
            names,
            [
                "reservoir-leaky",
                "rectifier-shorted",
                "contact-input-leaky",
                "rectifier-diode-shorted",
                "feed-touches-common",
                "commons-touch",
                "clamps-bridged",
                "load-shorted"
            ]
        );
    }

    #[test]
    fn counts_grow_by_one_then_by_a_quarter() {
        assert_eq!(counts(1.0), [1.0]);
        assert_eq!(counts(8.0), [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0]);
        assert_eq!(counts(20.0)[7..], [8.0, 10.0, 12.0, 15.0, 18.0]);
    }
}
