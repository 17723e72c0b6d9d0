//! What an uncertainty is made of: one line for each source of influence.
//!
//! Source: JCGM 100:2008 (GUM), 5.1.2 (variances of uncorrelated contributions add) and G.4.1
//! (Welch–Satterthwaite). Contributions of one source are added up as they come; they are
//! uncorrelated with each other, or were combined before.

use super::component::Component;
pub use super::source::Source;
use super::unseen::Unseen;
use serde::de::Error;
use serde::{Deserialize, Deserializer, Serialize, Serializer};

const COUNT: usize = Source::ALL.len();

/// One line of a budget.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Contribution {
    /// Where it comes from.
    pub source: Source,
    /// Standard uncertainty, in the unit of the result.
    pub standard: f64,
    /// Degrees of freedom; infinite for a limit that is taken as certain.
    pub dof: f64,
    /// Fourth cumulant of the distribution; see [`Component::cumulant`].
    pub cumulant: f64,
}

/// What the contributions of one source add up to.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
struct Sums {
    variance: f64,
    /// Sum of u⁴/ν.
    weight: f64,
    cumulant: f64,
}

/// The contributions to an uncertainty, by source.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Budget {
    sums: [Sums; COUNT],
    unseen: Unseen,
}

impl Budget {
    /// The budget of uncorrelated contributions.
    pub fn of(components: &[Component]) -> Self {
        let mut budget = Budget::default();
        components.iter().for_each(|c| budget.add(c));
        budget
    }

    /// Adds one more uncorrelated contribution.
    pub fn add(&mut self, component: &Component) {
        let sums = &mut self.sums[component.source as usize];
        sums.variance += component.standard * component.standard;
        sums.cumulant += component.cumulant;
        if component.dof.is_finite() && component.dof > 0.0 {
            sums.weight += component.standard.powi(4) / component.dof;
        }
    }

    /// The budget of a sum of two uncorrelated quantities.
    #[must_use]
    pub fn plus(mut self, other: &Budget) -> Self {
        for (own, more) in self.sums.iter_mut().zip(&other.sums) {
            own.variance += more.variance;
            own.weight += more.weight;
            own.cumulant += more.cumulant;
        }
        if other.unseen.chance > self.unseen.chance {
            self.unseen = other.unseen;
        }
        self
    }

    /// The same, and what may have left no trace.
    #[must_use]
    pub fn with_unseen(self, unseen: Unseen) -> Self {
        Budget { unseen, ..self }
    }

    /// What may have left no trace: no uncertainty holds that.
    pub fn unseen(&self) -> Unseen {
        self.unseen
    }

    /// The budget of the same quantity in another unit, `factor` of which make one of the present.
    #[must_use]
    pub fn scaled(mut self, factor: f64) -> Self {
        for sums in &mut self.sums {
            sums.variance *= factor.powi(2);
            sums.weight *= factor.powi(4);
            sums.cumulant *= factor.powi(4);
        }
        self.unseen.reach *= factor;
        self
    }

    /// Combined standard uncertainty.
    pub fn standard(&self) -> f64 {
        self.sums.iter().fold(0.0, |sum, s| sum + s.variance).sqrt()
    }

    /// Effective degrees of freedom.
    pub fn dof(&self) -> f64 {
        let variance: f64 = self.sums.iter().map(|s| s.variance).sum();
        degrees(variance, self.sums.iter().map(|s| s.weight).sum())
    }

    /// The lines that contribute anything.
    pub fn lines(&self) -> impl Iterator<Item = Contribution> + '_ {
        Source::ALL.iter().zip(&self.sums).filter(|(_, s)| s.variance > 0.0).map(|(&source, s)| {
            Contribution {
                source,
                standard: s.variance.sqrt(),
                dof: degrees(s.variance, s.weight),
                cumulant: s.cumulant,
            }
        })
    }
}

/// Welch–Satterthwaite from a variance and the sum of u⁴/ν.
fn degrees(variance: f64, weight: f64) -> f64 {
    if weight > 0.0 { variance * variance / weight } else { f64::INFINITY }
}

/// A line of a budget as a record holds it.
#[derive(Serialize, Deserialize)]
struct Written {
    source: Source,
    standard_uncertainty: f64,
    /// Nothing where they are infinite.
    degrees_of_freedom: Option<f64>,
}

/// A list of lines, their numbers with four digits. It does not tell the shapes of distributions:
/// read again, all count as normal.
impl Serialize for Budget {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_seq(self.lines().map(|line| Written {
            source: line.source,
            standard_uncertainty: four_digits(line.standard),
            degrees_of_freedom: Some(line.dof).filter(|dof| dof.is_finite()).map(four_digits),
        }))
    }
}

impl<'de> Deserialize<'de> for Budget {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let mut budget = Budget::default();
        for line in Vec::<Written>::deserialize(deserializer)? {
            let dof = line.degrees_of_freedom.unwrap_or(f64::INFINITY);
            let standard = line.standard_uncertainty;
            if !(standard.is_finite() && standard >= 0.0 && dof > 0.0) {
                return Err(D::Error::custom("no line of a budget"));
            }
            budget.add(&Component::type_a(standard, dof).from(line.source));
        }
        Ok(budget)
    }
}

fn four_digits(value: f64) -> f64 {
    // A number that was just written can be read.
    format!("{value:.3e}").parse().unwrap_or(value)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_budget_is_written_and_read_again() {
        let budget = Budget::of(&[
            Component::type_a(1.25e-5, 49.0).from(Source::Noise),
            Component::standard(3.0e-6).from(Source::Resolution),
            Component::standard(4.0e-6).from(Source::Resolution),
        ]);
        let text = serde_json::to_string(&budget).unwrap();
        assert_eq!(
            text,
            "[{\"source\":\"noise\",\"standard_uncertainty\":0.0000125,\"degrees_of_freedom\":49.0},\
             {\"source\":\"resolution\",\"standard_uncertainty\":5e-6,\"degrees_of_freedom\":null}]"
        );
        let again: Budget = serde_json::from_str(&text).unwrap();
        assert_eq!(serde_json::to_string(&again).unwrap(), text);
        for bad in [r#"[{"source":"hum"}]"#, r#"[{"source":"noise","standard_uncertainty":-1.0}]"#]
        {
            assert!(serde_json::from_str::<Budget>(bad).is_err(), "{bad}");
        }
    }

    proptest! {
        /// However contributions are dealt out over the sources, the sums stay the same.
        #[test]
        fn sources_do_not_change_the_sums(
            parts in prop::collection::vec((0..COUNT, 1e-9f64..1.0, 1f64..1e4), 1..20)
        ) {
            let of = |source: &dyn Fn(usize) -> Source| Budget::of(
                &parts.iter()
                    .map(|&(at, u, dof)| Component::type_a(u, dof).from(source(at)))
                    .collect::<Vec<_>>(),
            );
            let spread = of(&|at| Source::ALL[at]);
            let one = of(&|_| Source::Other);
            prop_assert!((spread.standard() / one.standard() - 1.0).abs() < 1e-9);
            prop_assert!((spread.dof() / one.dof() - 1.0).abs() < 1e-9);
            let read: Budget =
                serde_json::from_str(&serde_json::to_string(&spread).unwrap()).unwrap();
            prop_assert!((read.standard() / spread.standard() - 1.0).abs() < 1e-3);
        }
    }
}
