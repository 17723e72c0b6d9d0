//! A run on a simulated bench that is recorded on a disk of the test's choice.

use super::bench::{PIER, plan, setup, sheet};
use musterbench::judge::reading::Reading;
use musterbench::link::client::Jig;
use musterbench::link::simulated::SimulatedTransport;
use musterbench::record::OnDisk;
use musterbench::record::disk::Disk;
use musterbench::record::facts::Facts;
use musterbench::record::recorder::{Labels, Recorder};
use musterbench::run::event::{JigIdentity, Listener, Outcome};
use musterbench::run::unattended::Nobody;
use musterbench::run::{Options, Rules, carry_out};
use musterbench::script::plan::Plan;
use std::path::Path;
use std::sync::atomic::AtomicBool;
use std::sync::{Arc, Mutex};

/// Every kind of step but those that take longest.
pub const SCRIPT: &str = include_str!("short.toml");

/// Keeps what is told as durable.
#[derive(Clone, Debug, Default)]
pub struct Told(pub Arc<Mutex<Vec<Reading>>>);

impl OnDisk for Told {
    fn began(&mut self, _: &Facts, _: &JigIdentity) {}
    fn readings(&mut self, readings: &[Reading]) {
        self.0.lock().expect("no panic").extend_from_slice(readings);
    }
}

pub fn short_plan() -> Plan {
    plan(PIER, SCRIPT, None)
}

pub fn recorder(disk: &Disk, records: &Path, on_disk: Box<dyn OnDisk>) -> Recorder {
    let labels = Labels { module: "lock".into(), lot: "quay".into(), operator: String::new() };
    Recorder::open_on(disk, records, labels, on_disk).expect("opened")
}

/// A run of a sound module; the jig's time that it takes, in seconds.
pub fn go(plan: &Plan, stop: &AtomicBool, listeners: &mut [&mut dyn Listener]) -> (Outcome, f64) {
    let setup = setup(&sheet(PIER), &[], 1);
    let mut jig = Jig::open(Box::new(SimulatedTransport::new(setup))).expect("open");
    let began = jig.now();
    let options = Options { unattended: true, ..Options::default() };
    let outcome = carry_out(plan, &mut jig, &mut Nobody, &mut Rules, &options, stop, listeners);
    assert_eq!(jig.ask("OUTP1?;:OUTP2?").expect("an answer"), "0;0");
    (outcome, (jig.now() - began).as_secs_f64())
}
