//! Where a fault is looked for first: at what deviates. Rules of thumb; they conclude nothing.

use super::cause::{Severities, Sought};
use super::seen::SeenRun;
use super::sound::Sound;
use crate::procedure::simulated_set_up::{kind, load_models};
use crate::script::plan::Plan;
use crate::simulated_bench::faults::Fault;
use crate::simulated_bench::faults::place::{Place, Sits};

/// A value deviates from so many standard deviations on.
const DEVIATES: f64 = 4.0;
/// A reading counts no more than this, whatever its value.
const MOST: f64 = 100.0;
/// What deviates less than this share of what deviates most is left aside.
const LITTLE: f64 = 0.1;

/// How much deviates where.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Deviating {
    /// At each clamp.
    clamps: [f64; 8],
    /// At each output.
    outputs: [f64; 4],
}

impl Deviating {
    /// Of a run.
    pub fn of(sound: &Sound, seen: &SeenRun) -> Self {
        let mut deviating = Deviating::default();
        for (event, here) in seen.events() {
            let healthy = sound.runs[0].event(event);
            for (key, one) in here {
                let as_sound = healthy.iter().find(|(known, _)| known == key);
                let alike = as_sound.is_some_and(|(_, other)| other.state.is_like(&one.state));
                let by_value = || {
                    let j = sound.keys.binary_search(key).ok()?;
                    let z = (one.state.value()? - sound.mean[j]) / sound.scatter[j];
                    Some((z * z).min(MOST)).filter(|_| z.abs() > DEVIATES)
                };
                let weight = if alike { by_value().unwrap_or(0.0) } else { MOST };
                if let Some(clamp) = key.clamp() {
                    deviating.clamps[clamp] += weight;
                }
                if key.output > 0 {
                    deviating.outputs[usize::from(key.output) - 1] += weight;
                }
            }
        }
        deviating
    }

    fn of_place(&self, place: &Place) -> f64 {
        let clamps = |at: &[usize]| at.iter().map(|&c| self.clamps[c % 8]).sum();
        let outputs = |at: &[usize]| at.iter().map(|&o| self.outputs[o % 4]).sum();
        match place.sits {
            Sits::Contact | Sits::Contacts | Sits::RealLoad => clamps(&place.at),
            Sits::Output | Sits::OutputOfSeveral | Sits::TwoOutputs => outputs(&place.at),
            Sits::WireAndCommon => outputs(&place.at[1..]),
            _ => 0.0,
        }
    }

    /// How many clamps deviate much.
    fn clamps_much(&self) -> usize {
        let most = self.clamps.iter().copied().fold(0.0, f64::max);
        self.clamps.iter().filter(|&&c| c > 0.0 && c >= LITTLE * most).count()
    }
}

/// Where a fault is looked for, with the severities there, and the chance that it would sit at just this place.
pub fn looked_for(
    plan: &Plan,
    fault: &'static Fault,
    deviating: &Deviating,
    seen: &SeenRun,
) -> Vec<(Sought, Severities, f64)> {
    let counts_places = matches!(fault.sits, Sits::Contacts | Sits::AddressSwitches);
    let mut found = Vec::new();
    for negative in sides(fault) {
        let severities = Severities::of(fault, negative);
        let side = 1.0 / sides(fault).len() as f64;
        if !counts_places {
            let (places, all) = places(plan, fault, fault.default, deviating, seen);
            for place in places {
                let sought = Sought { fault, place, negative };
                found.push((sought, severities.clone(), side / all as f64));
            }
            continue;
        }
        let counts = severities.all.clone();
        let much = deviating.clamps_much().max(1);
        for &count in &counts {
            let so_many = count as usize;
            let near = so_many <= 1 || so_many.abs_diff(much) <= 1;
            if fault.sits == Sits::Contacts && !near {
                continue;
            }
            let (places, all) = places(plan, fault, count, deviating, seen);
            for place in places {
                let only = Severities { all: vec![count], first: vec![0] };
                let chance = side / counts.len() as f64 / all as f64;
                found.push((Sought { fault, place, negative }, only, chance));
            }
        }
    }
    found
}

/// Whether its severities can be above zero, below, or both.
fn sides(fault: &Fault) -> Vec<bool> {
    if fault.minimum < 0.0 { vec![false, true] } else { vec![false] }
}

/// The likely places first, and how many there are in all.
fn places(
    plan: &Plan,
    fault: &Fault,
    severity: f64,
    deviating: &Deviating,
    seen: &SeenRun,
) -> (Vec<Place>, usize) {
    let all = fault.places(&kind(&plan.module), &load_models(plan.loads.as_ref()), severity);
    let count = all.len();
    let by_address = |place: &Place| {
        let bank = &plan.module.switches;
        let mask: u32 = place.at.iter().map(|&switch| 1 << switch).sum();
        let switches = plan.bank.switches ^ mask;
        let answers = seen.whole.answers_at;
        answers.is_some_and(|(address, format)| {
            i64::from(address) == bank.address_of(switches) && format == bank.format_of(switches)
        })
    };
    let weight = |place: &Place| match fault.sits {
        Sits::AddressSwitch | Sits::AddressSwitches => f64::from(u8::from(by_address(place))),
        _ => deviating.of_place(place),
    };
    let mut ranked: Vec<(f64, Place)> =
        all.into_iter().map(|place| (weight(&place), place)).collect();
    ranked.sort_by(|a, b| b.0.total_cmp(&a.0));
    let most = ranked.first().map_or(0.0, |first| first.0);
    let tried = match fault.sits {
        Sits::Whole | Sits::FormatSwitch | Sits::AuxiliarySupply => 1,
        Sits::Contact | Sits::WireAndCommon | Sits::OutputOfSeveral => 4,
        Sits::Contacts if severity > 1.5 => 1,
        Sits::AddressSwitches if severity > 3.5 => 1,
        _ => 3,
    };
    let enough = |(at, (weight, _)): &(usize, &(f64, Place))| {
        *at == 0 || (*at < tried && *weight > LITTLE * most)
    };
    let mut chosen: Vec<Place> =
        ranked.iter().enumerate().filter(enough).map(|(_, (_, place))| place.clone()).collect();
    // A contact that does not open, or a coil that does not pull, shows at the other clamp of its output.
    if fault.sits == Sits::Contact && most > 0.0 {
        let other = chosen[0].at[0] ^ 1;
        let known = chosen.iter().any(|place| place.at == [other]);
        if !known {
            chosen.extend(ranked.iter().map(|r| r.1.clone()).find(|place| place.at == [other]));
        }
    }
    // What moves along may sit at the output before.
    if fault.sits == Sits::OutputOfSeveral && most > 0.0 {
        let outputs = usize::from(plan.module.outputs);
        let before = (chosen[0].at[0] + outputs - 1) % outputs;
        let known = chosen.iter().any(|place| place.at == [before]);
        if !known {
            chosen.extend(ranked.iter().map(|r| r.1.clone()).find(|place| place.at == [before]));
        }
    }
    (chosen, count)
}
