//! A plan is carried out on an open jig in this process, with nobody at the bench.

use musterbench::calibration::correction::Corrections;
use musterbench::link::client::Jig;
use musterbench::run::event::{Listener, Outcome};
use musterbench::run::unattended::Nobody;
use musterbench::run::{Options, Rules, carry_out};
use musterbench::script::plan::Plan;
use std::sync::atomic::AtomicBool;

/// Carries it out.
pub fn unattended(plan: &Plan, jig: &mut Jig, listener: &mut dyn Listener) -> Outcome {
    corrected(plan, jig, None, listener)
}

/// The same with the corrections of a calibrated jig.
pub fn corrected(
    plan: &Plan,
    jig: &mut Jig,
    corrections: Option<Corrections>,
    listener: &mut dyn Listener,
) -> Outcome {
    let options = Options { unattended: true, corrections, ..Options::default() };
    let stop = AtomicBool::new(false);
    carry_out(plan, jig, &mut Nobody, &mut Rules, &options, &stop, &mut [listener])
}
