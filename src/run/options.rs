//! How a run is carried out.

use crate::calibration::correction::Corrections;

/// How a run is carried out.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Options {
    /// Nobody is there: what the operator should do is done by the simulated bench alone. Refused
    /// on a real jig when the plan has steps by hand.
    pub unattended: bool,
    /// What corrects the jig's readings, where it is calibrated. See that it is this jig's.
    pub corrections: Option<Corrections>,
}
