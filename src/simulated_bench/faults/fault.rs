//! What one fault of the catalogue is: its definition says all that anyone wants to know of it.

use super::place::{Place, Sits};
use crate::blame::Blame;
use crate::simulated_bench::draw::Stream;
use crate::simulated_bench::kind::Kind;
use crate::simulated_bench::loads::LoadModel;
use crate::simulated_bench::parts::{OutputParts, Parts, RectifierHalf};

/// A fault.
pub struct Fault {
    /// Its name.
    pub name: &'static str,
    /// Whose fault it is.
    pub class: Blame,
    /// Unit of the severity.
    pub unit: &'static str,
    /// Severity when none is given.
    pub default: f64,
    /// Least severity that can be asked for.
    pub minimum: f64,
    /// Greatest severity that can be asked for.
    pub maximum: f64,
    /// One line for people.
    pub about: &'static str,
    /// What it sits on.
    pub sits: Sits,
    /// How it acts there. It changes the electrics or the logic of the bench, never a reading.
    pub(super) act: fn(&mut Site<'_>),
}

/// Where a fault acts.
pub(super) struct Site<'a> {
    pub parts: &'a mut Parts,
    pub severity: f64,
    /// The address switches as they should be set.
    pub switches: u32,
    place: &'a Place,
}

impl Fault {
    /// Every place at which it may sit with a severity, on a kind of module with these loads.
    pub fn places(&self, kind: &Kind, loads: &[LoadModel; 8], severity: f64) -> Vec<Place> {
        self.sits.places(kind, loads, severity)
    }

    /// Puts it on the bench, at a place by chance.
    pub(in crate::simulated_bench) fn put(
        &self,
        parts: &mut Parts,
        severity: f64,
        switches: u32,
        rng: &mut Stream,
    ) {
        if let Some(place) = self.sits.draw(parts, severity, rng) {
            self.put_at(&place, parts, severity, switches);
        }
    }

    /// Puts it on the bench at a place.
    pub(in crate::simulated_bench) fn put_at(
        &self,
        place: &Place,
        parts: &mut Parts,
        severity: f64,
        switches: u32,
    ) {
        (self.act)(&mut Site { parts, severity, switches, place });
    }
}

impl Site<'_> {
    /// Whether a fault that is there or not is there.
    pub fn applies(&self) -> bool {
        self.severity >= 0.5
    }

    /// All that it sits on.
    pub fn all(&self) -> &[usize] {
        &self.place.at
    }

    /// The only thing, or the first, that it sits on.
    pub fn one(&self) -> usize {
        self.place.at.first().copied().unwrap_or_default()
    }

    /// The first two.
    pub fn two(&self) -> [usize; 2] {
        [self.one(), self.place.at.get(1).copied().unwrap_or_default()]
    }

    /// The output that it sits on.
    pub fn output(&mut self) -> &mut OutputParts {
        let output = self.one();
        &mut self.parts.module.outputs[output]
    }

    /// The half of the rectifier that it sits on.
    pub fn half(&mut self) -> &mut RectifierHalf {
        let half = self.one();
        &mut self.parts.module.rectifier[half]
    }

    /// The output whose contact it sits on, and which of its contacts that is.
    pub fn contact(&mut self) -> (&mut OutputParts, usize) {
        let contact = self.one();
        (&mut self.parts.module.outputs[contact / 2], contact % 2)
    }
}

impl core::fmt::Debug for Fault {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        f.debug_struct("Fault").field("name", &self.name).field("class", &self.class).finish()
    }
}

impl PartialEq for Fault {
    fn eq(&self, other: &Self) -> bool {
        self.name == other.name
    }
}

/// The faults of one class, each with its name, its severity when none is given and in which range,
/// what it sits on, a sentence for people, and how it acts.
///
/// Severities called "share" are the share of operations, closures or power-ups in which the fault
/// shows; 1 is always.
macro_rules! faults {
    ($class:ident $($name:literal, $unit:literal $default:literal in $min:literal to $max:literal,
       $sits:ident, $about:literal, $act:expr;)*) => {
        pub(super) static ALL: &[Fault] = &[$(Fault {
            name: $name,
            class: $crate::blame::Blame::$class,
            unit: $unit,
            default: $default,
            minimum: $min,
            maximum: $max,
            about: $about,
            sits: $crate::simulated_bench::faults::place::Sits::$sits,
            act: $act,
        }),*];
    };
}
pub(super) use faults;
