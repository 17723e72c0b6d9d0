//! How often what is the matter, before anything was read: data, not code.

use crate::blame::Blame;
use crate::simulated_bench::faults::{Fault, catalogue, find};
use serde::Deserialize;
use std::collections::BTreeMap;

/// The file that comes with the program.
const SHIPPED: &str = include_str!("../../fixtures/odds.toml");

/// What is wrong with a file of odds.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum OddsError {
    /// It is no such file.
    #[error("{0}")]
    Unreadable(String),
    /// A name that nothing has.
    #[error("{0:?} is no {1}: see `musterbench faults`")]
    Unknown(String, &'static str),
    /// A number that is none of those.
    #[error("{0} is {1}: a weight is a number above 0, at most a million")]
    Weight(String, f64),
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    sound: f64,
    none: f64,
    second: f64,
    kinds: Kinds,
    classes: BTreeMap<String, f64>,
    #[serde(default)]
    faults: BTreeMap<String, f64>,
}

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Kinds {
    each: f64,
    #[serde(flatten)]
    named: BTreeMap<String, f64>,
}

/// How often what is the matter.
#[derive(Clone, Debug, PartialEq)]
pub struct Odds {
    /// A sound module.
    pub sound: f64,
    /// None of the suspects.
    pub none: f64,
    /// A second fault besides a first.
    pub second: f64,
    kind: f64,
    kinds: BTreeMap<String, f64>,
    faults: BTreeMap<&'static str, f64>,
}

impl Odds {
    /// Those that come with the program.
    pub fn shipped() -> Self {
        // That it reads is tested below.
        Odds::parse(SHIPPED).unwrap_or_else(|error| unreachable!("{error}"))
    }

    /// From a file's text.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn parse(text: &str) -> Result<Self, OddsError> {
        let file: File = toml::from_str(text).map_err(|e| OddsError::Unreadable(e.to_string()))?;
        let named = |table: &BTreeMap<String, f64>, name: &str| table.get(name).copied();
        let whole = [("sound", file.sound), ("none", file.none), ("second", file.second)];
        let weights = whole.into_iter().map(|(name, weight)| (name.to_owned(), weight));
        let tables = [&file.kinds.named, &file.classes, &file.faults];
        let tables = tables.into_iter().flatten().map(|(name, weight)| (name.clone(), *weight));
        let each = [("each".to_owned(), file.kinds.each)];
        for (name, weight) in weights.chain(tables).chain(each) {
            if !(weight > 0.0 && weight <= 1e6) {
                return Err(OddsError::Weight(name, weight));
            }
        }
        for name in file.classes.keys() {
            if Blame::CLASSES.iter().all(|class| class.to_string() != *name) {
                return Err(OddsError::Unknown(name.clone(), "class"));
            }
        }
        if let Some(name) = file.faults.keys().find(|name| find(name).is_none()) {
            return Err(OddsError::Unknown(name.clone(), "fault"));
        }
        let own = |fault: &Fault| named(&file.faults, fault.name).unwrap_or(1.0);
        let mut faults = BTreeMap::new();
        for class in Blame::CLASSES {
            let of_class = || catalogue().filter(move |fault| fault.class == class);
            let all: f64 = of_class().map(own).sum();
            let weight = named(&file.classes, &class.to_string()).unwrap_or(1.0);
            faults.extend(of_class().map(|fault| (fault.name, weight * own(fault) / all)));
        }
        let Kinds { each, named } = file.kinds;
        let File { sound, none, second, .. } = file;
        Ok(Odds { sound, none, second, kind: each, kinds: named, faults })
    }

    /// A fault's.
    pub fn of(&self, fault: &Fault) -> f64 {
        self.faults.get(fault.name).copied().unwrap_or(0.0)
    }

    /// Those of another kind.
    pub fn of_kind(&self, kind: &str) -> f64 {
        self.kinds.get(kind).copied().unwrap_or(self.kind)
    }

    /// The same with each fault of a class so many times as likely.
    #[must_use]
    pub fn tilted(mut self, class: Blame, times: f64) -> Self {
        for fault in catalogue().filter(|fault| fault.class == class) {
            if let Some(odds) = self.faults.get_mut(fault.name) {
                *odds *= times;
            }
        }
        self
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_shipped_odds_share_a_class_out_among_its_faults() {
        let odds = Odds::shipped();
        let of = |class| -> f64 {
            catalogue().filter(|fault| fault.class == class).map(|fault| odds.of(fault)).sum()
        };
        assert!((of(Blame::Module) - 40.0).abs() < 1e-9 && (of(Blame::Jig) - 7.0).abs() < 1e-9);
        let burnt = odds.of(find("contact-burnt").unwrap());
        assert!((burnt / odds.of(find("weak-coil").unwrap()) - 2.0).abs() < 1e-9);
        let tilted = odds.clone().tilted(Blame::Jig, 3.0);
        let fault = find("closers-dead").unwrap();
        assert!((tilted.of(fault) / odds.of(fault) - 3.0).abs() < 1e-9);
    }

    #[test]
    fn what_is_wrong_with_odds_is_told() {
        let with = |from: &str, to: &str| Odds::parse(&SHIPPED.replace(from, to)).unwrap_err();
        let unknown = |name: &str, what| OddsError::Unknown(name.into(), what);
        assert_eq!(with("contact-burnt", "contact-brunt"), unknown("contact-brunt", "fault"));
        assert_eq!(with("setting = 20", "settings = 20"), unknown("settings", "class"));
        assert_eq!(with("none = 2.0", "none = -1.0"), OddsError::Weight("none".into(), -1.0));
        assert!(matches!(with("none = 2.0", "no = 2.0"), OddsError::Unreadable(_)));
    }
}
