//! What a given jig cannot do.

use super::{Finding, Gravity};
use crate::load::{jig_loads, settled_current};
use crate::quantity::unit::Units;
use crate::quantity::write;
use crate::script::plan::{Action, By, LoadChoice, Measured, Plan, Step};
use crate::signal::target::Clamp;

/// What a jig can do, as plain data: a script knows no wire.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct JigAbilities {
    /// Whether it measures the feed voltage.
    pub feed_voltage: bool,
    /// Whether it measures the feed current.
    pub feed_current: bool,
    /// Whether it measures the resistance between the feed wires.
    pub feed_resistance: bool,
    /// Whether it measures the voltage of the load supply.
    pub load_voltage: bool,
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
                    Measured::FeedVoltage => (jig.feed_voltage, "the feed voltage"),
                    Measured::LoadVoltage => (jig.load_voltage, "the voltage of the load supply"),
                    Measured::LoadTotal => (jig.load_total, "the total current of the load supply"),
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
    let load = sheet.clamps[i].as_ref()?;
    let most = settled_current(&load.circuit, sheet.supply).upper;
    (most.si() > range).then(|| {
        let most = write::brief(most);
        format!("the load at {clamp} draws up to {most}, but this jig reads up to {range} A")
    })
}
