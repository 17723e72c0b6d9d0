//! A plan is carried out on an open jig in this process, with nobody at the bench.

use musterbench::calibration::correction::Corrections;
use musterbench::judge::reading::Reading;
use musterbench::link::client::Jig;
use musterbench::run::event::{Event, Hand, ListenError, Listener, Outcome};
use musterbench::run::{Options, Rules, carry_out};
use musterbench::script::plan::{HandTask, Plan};
use std::sync::atomic::AtomicBool;

/// Nobody.
pub struct NoHand;

impl Hand for NoHand {
    fn act(&mut self, _: &HandTask, _: &mut dyn FnMut() -> bool) -> bool {
        false
    }
}

/// Keeps all readings, in order.
#[derive(Default)]
pub struct Readings(pub Vec<Reading>);

impl Listener for Readings {
    fn on_event(&mut self, event: &Event<'_>) -> Result<(), ListenError> {
        if let Event::Read(reading) = event {
            self.0.push((*reading).clone());
        }
        Ok(())
    }
}

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
    carry_out(plan, jig, &mut NoHand, &mut Rules, &options, &stop, &mut [listener])
}
