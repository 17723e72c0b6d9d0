//! Where a fault can sit on the bench.

use crate::simulated_bench::draw::Stream;
use crate::simulated_bench::kind::Kind;
use crate::simulated_bench::loads::LoadModel;
use crate::simulated_bench::parts::Parts;
use core::fmt;
use rand::RngExt;

/// What a fault sits on.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Sits {
    /// The bench or the module as a whole.
    Whole,
    /// An output.
    Output,
    /// An output that has a neighbour.
    OutputOfSeveral,
    /// Two outputs.
    TwoOutputs,
    /// A contact, with its clamp.
    Contact,
    /// As many contacts as the severity says.
    Contacts,
    /// A wire of the feed, and the common of an output.
    WireAndCommon,
    /// A real load.
    RealLoad,
    /// A switch that counts for the address.
    AddressSwitch,
    /// As many of them as the severity says.
    AddressSwitches,
    /// The switch that chooses the format, on a kind that has one.
    FormatSwitch,
    /// The auxiliary supply, on a kind that has one.
    AuxiliarySupply,
    /// The two diodes of the rectifier that conduct with one polarity of the feed.
    RectifierHalf,
    /// A clamp of the module and the next one.
    NeighbouringClamps,
    /// The bank of switches, where it can be read from the other end.
    SwitchBank,
    /// The feed on its way to the next module: none of a bench with one module.
    NextModule,
}

/// One place where a fault can sit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Place {
    /// What it is.
    pub sits: Sits,
    /// Which of them, from 0.
    pub at: Vec<usize>,
}

impl Sits {
    /// Every place at which a fault of this severity may sit, on a kind of module with these loads.
    pub(super) fn places(self, kind: &Kind, loads: &[LoadModel; 8], severity: f64) -> Vec<Place> {
        let outputs = outputs(kind);
        let single = |all: Vec<usize>| all.into_iter().map(|one| vec![one]).collect();
        let at: Vec<Vec<usize>> = match self {
            Sits::Whole => vec![Vec::new()],
            Sits::Output => single((0..outputs).collect()),
            Sits::OutputOfSeveral if outputs > 1 => single((0..outputs).collect()),
            Sits::OutputOfSeveral => Vec::new(),
            Sits::TwoOutputs => choices(&(0..outputs).collect::<Vec<_>>(), 2),
            Sits::Contact => single((0..2 * outputs).collect()),
            Sits::Contacts => {
                let all: Vec<usize> = (0..2 * outputs).collect();
                choices(&all, count(severity).min(all.len()))
            }
            Sits::WireAndCommon => {
                (0..2).flat_map(|wire| (0..outputs).map(move |k| vec![wire, k])).collect()
            }
            Sits::RealLoad => single(loaded(kind, loads)),
            Sits::AddressSwitch => single(address_switches(kind)),
            Sits::AddressSwitches => {
                let all = address_switches(kind);
                choices(&all, count(severity).min(all.len()))
            }
            Sits::FormatSwitch => single(format_switch(kind)),
            Sits::AuxiliarySupply if kind.auxiliary_a > 0.0 => vec![Vec::new()],
            Sits::AuxiliarySupply => Vec::new(),
            Sits::RectifierHalf => single((0..2).collect()),
            Sits::NeighbouringClamps => single((0..2 * outputs - 1).collect()),
            Sits::SwitchBank if kind.switch_weights.len() > 1 => vec![Vec::new()],
            Sits::SwitchBank | Sits::NextModule => Vec::new(),
        };
        at.into_iter().map(|at| Place { sits: self, at }).collect()
    }

    /// One of them by chance; `None` where there is none.
    pub(super) fn draw(self, parts: &Parts, severity: f64, rng: &mut Stream) -> Option<Place> {
        let kind = &parts.module.kind;
        let outputs = outputs(kind);
        let at = match self {
            Sits::Output => vec![rng.random_range(0..outputs)],
            Sits::TwoOutputs | Sits::OutputOfSeveral => {
                let one = rng.random_range(0..outputs);
                let further = (outputs > 1).then(|| rng.random_range(1..outputs))?;
                vec![one, (one + further) % outputs]
            }
            Sits::Contact => {
                let output = rng.random_range(0..outputs);
                vec![2 * output + rng.random_range(0..2)]
            }
            Sits::Contacts => {
                let mut left: Vec<usize> = (0..2 * outputs).collect();
                let count = count(severity).min(left.len());
                (0..count).map(|_| left.swap_remove(rng.random_range(0..left.len()))).collect()
            }
            Sits::WireAndCommon => {
                let output = rng.random_range(0..outputs);
                vec![rng.random_range(0..2), output]
            }
            Sits::RealLoad => vec![one_of(&loaded(kind, &parts.loads), rng)?],
            Sits::AddressSwitch => vec![one_of(&address_switches(kind), rng)?],
            Sits::AddressSwitches => several_switches(parts, count(severity), rng),
            Sits::RectifierHalf => vec![rng.random_range(0..2)],
            Sits::NeighbouringClamps => vec![rng.random_range(0..2 * outputs - 1)],
            // Whether there is one is nothing that the module knows; without, nothing comes of it.
            Sits::NextModule => Vec::new(),
            Sits::Whole | Sits::FormatSwitch | Sits::AuxiliarySupply | Sits::SwitchBank => {
                return self.places(kind, &parts.loads, severity).into_iter().next();
            }
        };
        Some(Place { sits: self, at })
    }
}

impl fmt::Display for Place {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let clamp = |c: usize| format!("{}{}", c / 2 + 1, ["a", "b"][c % 2]);
        let from_one = |i: usize| (i + 1).to_string();
        let listed = |name: &dyn Fn(usize) -> String| {
            self.at.iter().map(|&i| name(i)).collect::<Vec<_>>().join(", ")
        };
        match self.sits {
            Sits::Whole => f.write_str("the bench"),
            Sits::Output | Sits::OutputOfSeveral => {
                write!(f, "output {}", listed(&from_one))
            }
            Sits::TwoOutputs => write!(f, "outputs {}", listed(&from_one)),
            Sits::Contact => write!(f, "contact {}", listed(&clamp)),
            Sits::Contacts => write!(f, "contacts {}", listed(&clamp)),
            Sits::WireAndCommon => {
                let [wire, output] = [0, 1].map(|i| self.at.get(i).copied().unwrap_or_default());
                write!(f, "feed wire {} and common {}", wire + 1, output + 1)
            }
            Sits::RealLoad => write!(f, "the load at {}", listed(&clamp)),
            Sits::AddressSwitch => write!(f, "switch {}", listed(&from_one)),
            Sits::AddressSwitches => write!(f, "switches {}", listed(&from_one)),
            Sits::FormatSwitch => write!(f, "the format switch {}", listed(&from_one)),
            Sits::AuxiliarySupply => f.write_str("the auxiliary supply"),
            Sits::RectifierHalf => {
                let higher = listed(&|half| (half + 1).to_string());
                write!(f, "the rectifier where feed wire {higher} is the higher one")
            }
            Sits::NeighbouringClamps => {
                let first = self.at.first().copied().unwrap_or_default();
                write!(f, "clamps {} and {}", clamp(first), clamp(first + 1))
            }
            Sits::SwitchBank => f.write_str("the bank of switches"),
            Sits::NextModule => f.write_str("the feed to the next module"),
        }
    }
}

fn outputs(kind: &Kind) -> usize {
    usize::from(kind.outputs).clamp(1, 4)
}

/// Clamps of the module that have a real load.
fn loaded(kind: &Kind, loads: &[LoadModel; 8]) -> Vec<usize> {
    (0..2 * outputs(kind)).filter(|&c| !loads[c].is_open()).collect()
}

fn address_switches(kind: &Kind) -> Vec<usize> {
    let weights = &kind.switch_weights;
    (0..weights.len()).filter(|&i| weights[i] > 0).collect()
}

fn format_switch(kind: &Kind) -> Vec<usize> {
    kind.format_switch.map(|switch| usize::from(switch) - 1).into_iter().collect()
}

/// So many switches that no fault has turned yet.
fn several_switches(parts: &Parts, count: usize, rng: &mut Stream) -> Vec<usize> {
    let all = address_switches(&parts.module.kind);
    let mut turned = parts.hand.flip;
    let mut chosen = Vec::new();
    while chosen.len() < count && (turned.count_ones() as usize) < all.len() {
        let Some(switch) = one_of(&all, rng) else { break };
        if turned & (1 << switch) == 0 {
            turned |= 1 << switch;
            chosen.push(switch);
        }
    }
    chosen
}

/// How many a severity means.
fn count(severity: f64) -> usize {
    severity.round().max(0.0) as usize
}

fn one_of(all: &[usize], rng: &mut Stream) -> Option<usize> {
    (!all.is_empty()).then(|| all[rng.random_range(0..all.len())])
}

/// Every choice of so many out of all, in order.
fn choices(all: &[usize], count: usize) -> Vec<Vec<usize>> {
    if count == 0 {
        return vec![Vec::new()];
    }
    let from = |first: usize| {
        choices(&all[first + 1..], count - 1).into_iter().map(move |mut rest| {
            rest.insert(0, all[first]);
            rest
        })
    };
    (0..all.len()).flat_map(from).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Binomial coefficients.
    #[test]
    fn every_choice_once() {
        let all: Vec<usize> = (0..8).collect();
        for (count, binomial) in [(0, 1), (1, 8), (2, 28), (4, 70), (8, 1), (9, 0)] {
            let mut found = choices(&all, count);
            assert_eq!(found.len(), binomial);
            found.dedup();
            assert_eq!(found.len(), binomial);
        }
    }
}
