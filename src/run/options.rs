//! How a run is carried out.

use crate::calibration::correction::Corrections;
use crate::script::module_sheet::ModuleSheet;

/// How a run is carried out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Options {
    /// Nobody is there: what the operator should do is done by the simulated bench alone. Refused
    /// on a real jig when the plan has steps by hand.
    pub unattended: bool,
    /// Other modules hang on the same feed.
    pub neighbours: bool,
    /// Whether to search for a module's address where other things than the module would move.
    pub search: Leave,
    /// Other kinds that the module may be of, where it does not answer as its own kind does.
    pub kinds: Vec<ModuleSheet>,
    /// A module that is pulled out while it is tested ends the run as stopped, where the jig can see that.
    pub watches_seat: bool,
    /// What corrects the jig's readings, where it is calibrated. See that it is this jig's.
    pub corrections: Option<Corrections>,
}

/// Whether to do what moves other things than the module.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Leave {
    /// Somebody is asked.
    #[default]
    Ask,
    /// Yes.
    Given,
    /// No: nobody is there to be asked.
    Refused,
}

/// How the note of a reading begins to say that nobody gave leave.
pub const NOT_SEARCHED: &str = "it was searched nowhere else";
