//! The real loads of the bench: the one list of their kinds, a file for each.

mod coil;
mod electronics;
pub mod element;
mod kind;
mod lamp;
mod led;
mod motor;
mod resistor;
mod strip;

use super::draw::{self, Purpose};
use element::Element;
use kind::{LoadKind, Scales};

pub use resistor::Resistor;

/// Every kind of load.
static KINDS: [LoadKind; 7] = [
    resistor::KIND,
    led::KIND,
    lamp::KIND,
    coil::KIND,
    motor::KIND,
    electronics::KIND,
    strip::KIND,
];

/// By how much specimens of one load differ: relative standard deviation of their currents.
const SPECIMENS: f64 = 0.01;

/// A load that takes a smaller share of its current is open.
const OPEN_BELOW: f64 = 1e-6;

/// What hangs on one clamp: loads side by side, or nothing.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct LoadModel(Vec<Model>);

/// One load, by the values of its kind.
#[derive(Clone, Debug, PartialEq)]
struct Model {
    kind: &'static LoadKind,
    values: Vec<f64>,
}

/// A load that the bench cannot stand in for.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum ModelError {
    /// There is no such kind.
    #[error("the bench has no load {0:?}")]
    NoSuchKind(String),
    /// A value is missing.
    #[error("a {kind} on the bench lacks its {value}")]
    Lacks {
        /// The kind.
        kind: &'static str,
        /// The value.
        value: &'static str,
    },
    /// A value that the kind does not have.
    #[error("a {kind} on the bench has no {value}")]
    HasNo {
        /// The kind.
        kind: &'static str,
        /// The value.
        value: String,
    },
}

impl LoadModel {
    /// Nothing.
    pub const OPEN: LoadModel = LoadModel(Vec::new());

    /// One load of a kind, by its values.
    ///
    /// # Errors
    /// When the bench has no such kind, or the kind has other values.
    pub fn of(kind: &str, values: &[(&str, f64)]) -> Result<Self, ModelError> {
        let of_that_name = KINDS.iter().find(|known| known.name == kind);
        let kind = of_that_name.ok_or_else(|| ModelError::NoSuchKind(kind.to_owned()))?;
        let has = |name: &str| kind.values.iter().any(|value| value.0 == name);
        if let Some((other, _)) = values.iter().find(|given| !has(given.0)) {
            return Err(ModelError::HasNo { kind: kind.name, value: (*other).to_owned() });
        }
        let value = |&(name, _): &(&'static str, Scales)| {
            let given = values.iter().find(|given| given.0 == name);
            given.map(|given| given.1).ok_or(ModelError::Lacks { kind: kind.name, value: name })
        };
        let values = kind.values.iter().map(value).collect::<Result<_, _>>()?;
        Ok(LoadModel(vec![Model { kind, values }]))
    }

    /// A resistor.
    pub fn resistor(ohm: f64) -> Self {
        LoadModel(vec![Model { kind: &KINDS[0], values: vec![ohm] }])
    }

    /// Several side by side.
    pub fn parallel(all: impl IntoIterator<Item = LoadModel>) -> Self {
        LoadModel(all.into_iter().flat_map(|model| model.0).collect())
    }

    /// Whether nothing hangs there.
    pub fn is_open(&self) -> bool {
        self.0.is_empty()
    }

    /// Becomes another specimen of its kind, the same for the same seed and number.
    pub fn be_specimen(&mut self, seed: u64, number: u32) {
        let mut rng = draw::stream(seed.wrapping_add(u64::from(number) << 32), Purpose::Specimen);
        self.scale(draw::spread(&mut rng, 1.0, SPECIMENS));
    }

    /// Makes it take `times` its current; none at all makes it open.
    pub fn scale(&mut self, times: f64) {
        if times <= OPEN_BELOW {
            *self = LoadModel::OPEN;
        }
        for Model { kind, values } in &mut self.0 {
            for (value, (_, scales)) in values.iter_mut().zip(kind.values) {
                match scales {
                    Scales::Stays => {}
                    Scales::Grows => *value *= times,
                    Scales::Shrinks => *value /= times,
                }
            }
        }
    }

    /// Its circuits, each in its first state.
    pub(super) fn elements(&self) -> Vec<Box<dyn Element>> {
        self.0.iter().map(|model| (model.kind.make)(&model.values)).collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_load_is_known_by_its_kind_and_all_its_values() {
        assert_eq!(LoadModel::of("resistor", &[("resistance", 5.0)]), Ok(LoadModel::resistor(5.0)));
        for (kind, values, sentence) in [
            ("heater", &[("resistance", 5.0)][..], "the bench has no load \"heater\""),
            ("coil", &[("resistance", 5.0)], "a coil on the bench lacks its inductance"),
            (
                "resistor",
                &[("resistance", 5.0), ("ohm", 5.0)],
                "a resistor on the bench has no ohm",
            ),
        ] {
            assert_eq!(LoadModel::of(kind, values).unwrap_err().to_string(), sentence);
        }
    }

    /// Whatever the kind: twice its current from the same voltage, at once and when it has settled.
    #[test]
    fn every_kind_scales() {
        for kind in &KINDS {
            let values: Vec<f64> = kind.values.iter().map(|value| example(value.0)).collect();
            let [one, two] = [1.0, 2.0].map(|times| {
                let mut model = LoadModel(vec![Model { kind, values: values.clone() }]);
                model.scale(times);
                let mut element = model.elements().remove(0);
                element.begin(12.0);
                let first = element.affine(12.0, 1e-6).at(12.0);
                for _ in 0..40_000 {
                    element.affine(12.0, 1e-4);
                    element.step(12.0, 1e-4);
                }
                [first, element.affine(12.0, 1e-4).at(12.0)]
            });
            for (one, two) in one.into_iter().zip(two) {
                assert!((two / one - 2.0).abs() < 1e-3, "{}: {one} {two}", kind.name);
            }
        }
    }

    /// A value that may stand in a load.
    fn example(name: &str) -> f64 {
        match name {
            "resistance" | "series" => 400.0,
            "inductance" => 0.3,
            "diode" => 1.0,
            "forward" => 2.0,
            "at_current" | "run_current" | "current" => 0.02,
            "capacitance" => 1e-5,
            "full_from" => 11.0,
            "rated_current" => 0.1,
            "start_current" => 0.08,
            "rated_voltage" | "at_voltage" => 12.0,
            "inrush_ratio" => 8.0,
            "warm_up" | "run_up" => 0.02,
            _ => panic!("give an example of {name}"),
        }
    }
}

#[cfg(test)]
mod reference;
