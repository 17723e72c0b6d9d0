//! What a given jig cannot do.

use super::{Finding, Gravity};
use crate::load::{jig_loads, settled_current};
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use crate::quantity::write;
use crate::script::plan::{Action, By, LoadChoice, Measured, Plan, Step};
use crate::signal::target::Clamp;
use uom::si::f64::ElectricPotential;

/// What a jig can do, as plain data: a script knows no wire.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JigAbilities {
    /// The highest feed voltage that it reads, in volts; `None`: not at all.
    pub feed_voltage_v: Option<f64>,
    /// Whether it measures the feed current.
    pub feed_current: bool,
    /// Whether it measures the resistance between the feed wires.
    pub feed_resistance: bool,
    /// The highest voltage of the load supply that it reads, in volts; `None`: not at all.
    pub load_voltage_v: Option<f64>,
    /// The highest voltage that it reads at each clamp, in volts; `None`: not at all.
    pub clamp_voltage_v: [Option<f64>; 8],
    /// Whether it measures the total current of the load supply.
    pub load_total: bool,
    /// The highest load current that it reads at each clamp, in amperes; `None`: not at all.
    pub clamp_current_a: [Option<f64>; 8],
    /// Which contact inputs it can close.
    pub contact_closers: [bool; 8],
    /// Which real loads it can switch.
    pub load_switches: [bool; 8],
    /// At which clamps it has a load of its own.
    pub jig_loads: [bool; 8],
}

/// Finds what a jig cannot do of a plan.
pub fn against_jig(plan: &Plan, jig: &JigAbilities) -> Vec<Finding> {
    let mut findings: Vec<Finding> = Vec::new();
    let mut add = |step: &Step, message: String| {
        let known = |f: &Finding| f.line == step.line && f.message == message;
        if !findings.iter().any(known) {
            let (line, step) = (step.line, step.name.clone());
            findings.push(Finding { gravity: Gravity::Error, line, step, message });
        }
    };
    for step in &plan.steps {
        match &step.action {
            Action::HookUp if !jig.feed_resistance => {
                add(step, "this jig cannot measure the resistance between the feed wires".into());
            }
            Action::FeedOn { .. } | Action::WatchLamp if !jig.feed_current => {
                add(step, "this jig cannot measure the feed current".into());
            }
            Action::FeedOn { .. } => {
                if let Some(message) = beyond("the feed", plan.module.feed, jig.feed_voltage_v) {
                    add(step, message);
                }
            }
            Action::Loads { choice, clamps } => {
                for clamp in clamps {
                    if let Some(message) = loads(plan, jig, *choice, *clamp) {
                        add(step, message);
                    }
                }
            }
            Action::Operate { output, to, by, .. } => {
                let closed = match by {
                    By::Command => continue,
                    By::Contact => *to,
                    By::CommandAgainstContact => to.other(),
                };
                let clamp = Clamp { output: *output, position: closed };
                if !jig.contact_closers[clamp.index()] {
                    add(step, format!("this jig cannot close the contact input {clamp}"));
                }
            }
            Action::Measure { what, .. } => {
                let (can, quantity) = match what {
                    Measured::IdleCurrent | Measured::AuxiliaryCurrent => {
                        (jig.feed_current, "the feed current")
                    }
                    Measured::FeedVoltage => (jig.feed_voltage_v.is_some(), "the feed voltage"),
                    Measured::LoadVoltage => {
                        (jig.load_voltage_v.is_some(), "the voltage of the load supply")
                    }
                    Measured::LoadTotal => (jig.load_total, "the total current of the load supply"),
                    Measured::LoadStart => {
                        (jig.load_voltage_v.is_some(), "the voltage of the load supply")
                    }
                };
                if !can {
                    add(step, format!("this jig cannot measure {quantity}"));
                }
            }
            _ => {}
        }
    }
    findings
}

fn loads(plan: &Plan, jig: &JigAbilities, choice: LoadChoice, clamp: Clamp) -> Option<String> {
    let i = clamp.index();
    let own = jig_loads();
    let sheet = match choice {
        LoadChoice::None => return None,
        LoadChoice::Jig if !jig.jig_loads[i] => {
            return Some(format!("this jig has no load of its own at {clamp}"));
        }
        LoadChoice::Jig => &own,
        LoadChoice::Real if !jig.load_switches[i] => {
            return Some(format!("this jig cannot switch a load at {clamp}"));
        }
        LoadChoice::Real => plan.loads.as_ref()?,
    };
    let Some(range) = jig.clamp_current_a[i] else {
        return Some(format!("this jig cannot measure the load current at {clamp}"));
    };
    // A voltage beyond its channel would be read as the highest that the channel can read, on both
    // sides of a contact alike: a burnt one would look sound.
    for highest in [jig.load_voltage_v, jig.clamp_voltage_v[i]] {
        if let Some(message) = beyond("the load supply", sheet.supply, highest) {
            return Some(message);
        }
    }
    let load = sheet.clamps[i].as_ref()?;
    let most = settled_current(&load.circuit, sheet.supply).upper;
    (most.si() > range).then(|| {
        let most = write::brief(most);
        format!("the load at {clamp} draws up to {most}, but this jig reads up to {range} A")
    })
}

/// A voltage that goes beyond what a channel reads; a channel that is missing is another matter.
fn beyond(
    what: &str,
    voltage: Toleranced<ElectricPotential>,
    highest_v: Option<f64>,
) -> Option<String> {
    let highest_v = highest_v.filter(|highest_v| voltage.upper.si() > *highest_v)?;
    let most = write::brief(voltage.upper);
    Some(format!("{what} may have up to {most}, but this jig reads up to {highest_v} V"))
}
