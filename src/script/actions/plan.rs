//! A script expanded for one module: every action, with its time.

use crate::load::sheet::LoadSheet;
use crate::quantity::origin::Origin;
use crate::script::module_sheet::ModuleSheet;
use crate::signal::target::Format;
use core::time::Duration;

pub use super::Action;
pub use crate::script::terms::{BankSetting, By, HandTask, LoadChoice, Measured, Polarity, Rule};

/// One step of a plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    /// Its name, unique in the plan: what the report's `step` column shows.
    pub name: String,
    /// What to do.
    pub action: Action,
    /// The script's own time for it, by the jig's clock. Zero for what the operator does.
    pub duration: Duration,
    /// The line of the script that it comes from.
    pub line: usize,
}

/// The setting that the user, the address plan or the script asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Wanted {
    /// The first address.
    pub address: Option<u16>,
    /// The format.
    pub format: Option<Format>,
}

/// A whole plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Name of the script.
    pub script: String,
    /// Which script it is.
    pub origin: Origin,
    /// One line for people.
    pub title: String,
    /// How readings are accepted.
    pub rule: Rule,
    /// How many days old the jig's calibration may be.
    pub calibration_max_days: u32,
    /// How long in all a run may wait for loads that rest because the line is slow.
    pub longest_rests: Duration,
    /// The kind of module.
    pub module: ModuleSheet,
    /// The real loads, where the script uses them.
    pub loads: Option<LoadSheet>,
    /// How the module's switches stand to begin with: its first address, and the format that it is
    /// commanded in.
    pub bank: BankSetting,
    /// What of that somebody has asked for; else it is what the kind is tried at.
    pub wanted: Wanted,
    /// The steps in order.
    pub steps: Vec<Step>,
}

impl Plan {
    /// The script's own time: the sum over its steps.
    pub fn duration(&self) -> Duration {
        self.steps.iter().map(|s| s.duration).sum()
    }

    /// Whether the operator has to do something by hand.
    pub fn has_steps_by_hand(&self) -> bool {
        self.steps.iter().any(|s| matches!(s.action, Action::Ask(_)))
    }
}
