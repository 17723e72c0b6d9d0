//! A script as it was written.

use super::terms::Rule;
use crate::quantity::source::Source;
use crate::signal::target::Format;
use core::time::Duration;
use std::ops::Range;

pub use super::actions::{Verb, WrittenStep};

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
    /// How long in all a run may wait for loads that rest because the line is slow.
    pub longest_rests: Duration,
    /// The module's first address, where the script wants a certain one.
    pub address: Option<(u16, Range<usize>)>,
    /// The command format, where the script wants a certain one.
    pub format: Option<(Format, Range<usize>)>,
    /// The steps in order.
    pub steps: Vec<WrittenStep>,
}
