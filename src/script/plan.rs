//! A script expanded for one module: every action, with its time.

use super::module_sheet::ModuleSheet;
use crate::load::sheet::LoadSheet;
use crate::signal::target::{Clamp, Format, Position};
use core::time::Duration;

/// Which loads are connected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoadChoice {
    /// None.
    None,
    /// The jig's own resistors.
    Jig,
    /// The real loads of the load sheet.
    Real,
}

/// Polarity of the feed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Polarity {
    /// First wire to the module's first terminal.
    Normal,
    /// Swapped.
    Inverted,
}

impl Polarity {
    /// The other one.
    pub const fn other(self) -> Self {
        match self {
            Polarity::Normal => Polarity::Inverted,
            Polarity::Inverted => Polarity::Normal,
        }
    }
}

/// How acceptance is decided (JCGM 106).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// `pass` only when the whole coverage interval lies inside the limits, `fail` only when it
    /// lies outside, else `indeterminate`.
    Guarded,
    /// The value alone decides.
    Simple,
}

/// How a bank of address switches shall stand, and what that means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BankSetting {
    /// Which switches are on (bit 0 is switch 1).
    pub switches: u32,
    /// How many switches there are.
    pub count: u8,
    /// The first address that this means.
    pub address: u16,
    /// The format that this means.
    pub format: Format,
}

impl core::fmt::Display for BankSetting {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "{} {}", self.address, self.format)
    }
}

/// Something that the operator does by hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HandTask {
    /// With the power off: seat the module, set the switches and the slider.
    Prepare {
        /// How the switches shall stand.
        bank: BankSetting,
        /// Where the slider goes; `None`: this kind has none.
        auxiliary: Option<bool>,
    },
    /// With the power off: set the switches anew, and touch nothing else.
    Switches(BankSetting),
    /// Move the slider of the auxiliary supply.
    Auxiliary(bool),
    /// Anything else, in the script's own words; a simulated hand nods.
    Other(String),
}

/// What makes an output move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// A command on the feed.
    Command,
    /// Its contact input, closed for the sheet's time.
    Contact,
    /// A command to `to` while the *other* position's contact is held closed: nothing may move.
    CommandAgainstContact,
}

/// A quantity that a step measures over a window.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measured {
    /// Feed current at rest with the auxiliary supply off, against the sheet.
    IdleCurrent,
    /// Rise of the feed current by the auxiliary supply: this measurement minus the idle current,
    /// whichever of the two comes last gives the reading.
    AuxiliaryCurrent,
    /// Voltage of the feed, against the sheet.
    FeedVoltage,
    /// Voltage of the load supply, against the load sheet.
    LoadVoltage,
    /// Total current of the load supply, against the loads that are on.
    LoadTotal,
    /// How the real loads start when they are switched on at rest, past the module: inrush and its
    /// decay, start current, rise time.
    LoadStart,
}

/// One action.
#[derive(Clone, Debug, PartialEq)]
pub enum Action {
    /// The operator does something by hand.
    Ask(HandTask),
    /// With everything off: resistance between feed wires and commons, against the sheet.
    HookUp,
    /// Feed on: soft start with its charge, then the boot time, all outputs watched: none may move.
    FeedOn {
        /// Polarity.
        polarity: Polarity,
        /// Compare the positions with those before the feed went off (`keeps_position`).
        compare: bool,
        /// How long the outputs are watched, counted from switching on; the boot time lies inside.
        window: Duration,
    },
    /// Feed off.
    FeedOff,
    /// Connect loads to clamps (and disconnect all others). The load supply goes on only while
    /// something is captured.
    Loads {
        /// Which.
        choice: LoadChoice,
        /// Where.
        clamps: Vec<Clamp>,
    },
    /// Let time pass.
    Wait,
    /// Send an output to a position, nothing judged.
    Send {
        /// The output.
        output: u8,
        /// The position.
        to: Position,
    },
    /// Move an output and judge all that has to do with it: response time, load current, gap,
    /// bounce, drop, coil pulse, and that no other output moved.
    Operate {
        /// The output.
        output: u8,
        /// The position.
        to: Position,
        /// By what.
        by: By,
        /// How long is captured after the trigger.
        window: Duration,
    },
    /// Measure a quantity over `window`.
    Measure {
        /// What.
        what: Measured,
        /// Over how long.
        window: Duration,
    },
    /// Does the module answer with the feed as it is? One output that answers will do.
    Answer {
        /// How the feed is.
        polarity: Polarity,
    },
    /// Does the module answer at the address and in the format that its switches are set for? Where
    /// it does not: as which switch stood the other way would it?
    ProveSwitches(BankSetting),
    /// Judge what was proven so: is a switch stuck?
    JudgeSwitches {
        /// Switches (from 1) that no address shows in both places.
        never: Vec<u8>,
    },
    /// Begin to watch the lamp through the feed current.
    WatchLamp,
    /// Judge the rhythm of what was watched since.
    JudgeLamp,
}

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

/// A whole plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Plan {
    /// Name of the script.
    pub script: String,
    /// One line for people.
    pub title: String,
    /// How readings are accepted.
    pub rule: Rule,
    /// How many days old the jig's calibration may be.
    pub calibration_max_days: u32,
    /// The kind of module.
    pub module: ModuleSheet,
    /// The real loads, where the script uses them.
    pub loads: Option<LoadSheet>,
    /// How the module's switches stand to begin with: its first address, and the format that it is
    /// commanded in.
    pub bank: BankSetting,
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
