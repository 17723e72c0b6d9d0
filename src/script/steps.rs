//! A script as it was written.

use super::plan::{By, LoadChoice, Measured, Polarity, Rule};
use crate::quantity::source::Source;
use crate::signal::target::{Clamp, Format, Position};
use core::time::Duration;
use std::ops::Range;

/// A script.
#[derive(Clone, Debug, PartialEq)]
pub struct Script {
    /// The file that it was read from; errors of later stages point into it.
    pub source: Source,
    /// Its name: the file's, without folder and ending.
    pub name: String,
    /// One line for people.
    pub title: String,
    /// How readings are accepted.
    pub rule: Rule,
    /// How many days old the jig's calibration may be.
    pub calibration_max_days: u32,
    /// The module's first address, where the script wants a certain one.
    pub address: Option<(u16, Range<usize>)>,
    /// The command format, where the script wants a certain one.
    pub format: Option<(Format, Range<usize>)>,
    /// The steps in order.
    pub steps: Vec<WrittenStep>,
}

/// A step and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct WrittenStep {
    /// Its bytes in the file.
    pub span: Range<usize>,
    /// Its line, from 1.
    pub line: usize,
    /// What it says.
    pub verb: Verb,
}

/// Which outputs a step means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outputs {
    /// All that the module has.
    All,
    /// These (1 to 4), in this order.
    These(Vec<u8>),
}

/// What a step says.
#[derive(Clone, Debug, PartialEq)]
pub enum Verb {
    /// The operator seats the module and sets its switches; the slider, on a kind that has one.
    Prepare {
        /// Where the slider goes.
        auxiliary: bool,
    },
    /// The operator moves the slider (left out for a kind that has none).
    Slider(bool),
    /// The operator does what the text says.
    ByHand(String),
    /// Resistance between feed wires and commons.
    HookUp,
    /// Feed on.
    FeedOn {
        /// Polarity.
        polarity: Polarity,
        /// Compare the positions with those before the feed went off.
        compare: bool,
    },
    /// Feed off.
    FeedOff,
    /// Connect loads.
    Loads {
        /// Which.
        choice: LoadChoice,
        /// Where; those of outputs that the module lacks are left out when `None` (all) is meant.
        clamps: Option<Vec<Clamp>>,
    },
    /// Let time pass.
    Wait(Duration),
    /// Send outputs to positions, nothing judged. The positions are dealt out over the outputs.
    Send {
        /// The positions.
        positions: Vec<Position>,
        /// The outputs.
        outputs: Outputs,
    },
    /// Move outputs and judge. Each output goes through all the positions before the next one.
    Operate {
        /// The positions.
        positions: Vec<Position>,
        /// The outputs.
        outputs: Outputs,
        /// By what.
        by: By,
    },
    /// Measure a quantity. The auxiliary current is left out for a kind that has no such supply.
    Measure {
        /// What.
        what: Measured,
        /// Over how long.
        over: Duration,
    },
    /// Does the module answer, the feed as it is and the other way round? (Left out where the
    /// sheet forbids the other way.) The feed is on before and after.
    BothPolarities,
    /// Every switch is shown in both places, at as few addresses as can be. The feed is on before
    /// and after, and the module stands at the last of the addresses then.
    EverySwitch,
    /// Begin to watch the lamp.
    WatchLamp,
    /// Judge what was watched.
    JudgeLamp {
        /// Watch on until the slowest good lamp has blinked so often.
        blinks: u32,
    },
    /// Steps several times over.
    Repeat {
        /// How often.
        times: u32,
        /// Which.
        steps: Vec<WrittenStep>,
    },
}
