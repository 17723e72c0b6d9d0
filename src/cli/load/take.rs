//! One measurement of a sample: off, then on past the module, and off again.

use crate::calibration::correction::Corrections;
use crate::cli::ending::{OrEnd, Trouble, bad_input};
use crate::cli::operator::Operator;
use crate::cli::reference_bench::{Duty, Place, Powered, ReferenceBench, stopped};
use crate::load::jig::PATH_OHM;
use crate::measure::budget::Source;
use crate::measure::record::Record;
use crate::measure::uncertainty::{Component, Estimate};
use crate::quantity::unit::Units;
use crate::run::event::Hand;
use crate::sample::Measurement;
use crate::script::plan::HandTask;
use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_VOLTAGE, LOAD_VOLTAGE};
use anyhow::anyhow;
use core::time::Duration;
use std::sync::atomic::AtomicBool;
use uom::si::f64::Time;

/// How long the load is on, and rests.
#[derive(Clone, Copy, Debug)]
pub(super) struct Timing {
    pub settle: Duration,
    pub duty: Duty,
}

/// What a measurement is taken with.
pub(super) struct Taking<'a> {
    pub bench: ReferenceBench<'a>,
    pub stop: &'static AtomicBool,
    pub clamp: Clamp,
    pub corrections: Option<&'a Corrections>,
    pub timing: Timing,
}

impl Taking<'_> {
    /// How long the load is on after it has settled, at most: half a second is sampled, and a line
    /// takes its time.
    pub fn needed() -> Time {
        Time::from_si(1.0)
    }

    /// Asks for something to be done by hand.
    pub fn ask(&mut self, words: String) -> Result<(), Trouble> {
        let mut trouble = None;
        let jig = &mut *self.bench.jig;
        let simulated = jig.identity().simulated;
        let mut keep_alive = || {
            trouble = jig.clock_us().err();
            trouble.is_none()
        };
        let mut operator = Operator::new(self.stop, simulated);
        // There is nothing to be done on a simulated bench, and nobody needs to say so.
        let done = simulated || operator.act(&HandTask::Other(words), &mut keep_alive);
        match trouble {
            Some(error) => Err(error).or_bench(),
            None if done => Ok(()),
            None => Err(stopped()),
        }
    }

    /// Current and voltage of the load, and the voltage of the load supply.
    pub fn once(&mut self, specimen: u32) -> Result<(Measurement, f64), Trouble> {
        let place = Place::Clamp(self.clamp);
        let current = place.channel();
        let voltage = self.clamp.channel(CLAMP_VOLTAGE);
        let has_voltage = self.bench.jig.channel(voltage).is_some();
        let off = self.bench.sample(&[current], self.corrections)?;
        if self.bench.on_for(place, self.timing.duty, self.timing.settle)? == Powered::Tripped {
            return Err(anyhow!(
                "the load supply trips with this load: look for a short, and whether the load takes \
                 more than the supply gives"
            ))
            .or_bench();
        }
        let mut channels = vec![current, LOAD_VOLTAGE];
        channels.extend(Some(voltage).filter(|_| has_voltage));
        let on = self.bench.sample(&channels, self.corrections)?;
        let rested = self.bench.has_rested()?;
        self.bench.off()?;
        if rested {
            return Err(anyhow!(
                "the jig switched the load off in the middle, because it was on for as long as it \
                 may: give a longer --longest-on, if the load stands it"
            ))
            .or_bench();
        }
        if let Some(channel) = channels.iter().find(|&&c| on.is_cut_off(c)) {
            return Err(bad_input(format!(
                "channel {channel} stands at the end of its range: this jig cannot measure this load"
            )));
        }
        let few = || anyhow!("the jig sent too few samples");
        let amperes = above(&on, &off, current).ok_or_else(few).or_bench()?;
        let supply = mean(&on, LOAD_VOLTAGE).ok_or_else(few).or_bench()?;
        let across = if has_voltage {
            mean(&on, voltage).ok_or_else(few).or_bench()?
        } else {
            // Somewhere between the supply's and what the way may take.
            let half = amperes.value * PATH_OHM / 2.0;
            Estimate::of(supply.value - half, supply.budget)
                .with(Component::rectangular(half).from(Source::Other))
        };
        let moved_a = moved(&on, current).ok_or_else(few).or_bench()?;
        Ok((Measurement { specimen, current: amperes, voltage: across, moved_a }, supply.value))
    }

    /// Lets the load cool.
    pub fn rest(&mut self) -> Result<(), Trouble> {
        self.bench.pause(self.timing.duty.rest)
    }
}

fn mean(record: &Record, channel: u16) -> Option<Estimate> {
    let trace = record.trace(channel)?;
    Some(trace.mean(..)?.estimate(&trace.class))
}

/// The current above that without the load: the channel's offset falls out.
fn above(on: &Record, off: &Record, channel: u16) -> Option<Estimate> {
    let trace = on.trace(channel)?;
    let zero = off.trace(channel)?.mean(..)?;
    Some(trace.mean(..)?.less(&zero, &trace.class))
}

/// The mean of the window's last fifth less that of its first.
fn moved(record: &Record, channel: u16) -> Option<f64> {
    let trace = record.trace(channel)?;
    let (all, fifth) = (record.scans(), record.scans() / 5);
    Some(trace.mean(all - fifth..)?.value - trace.mean(..fifth)?.value)
}
