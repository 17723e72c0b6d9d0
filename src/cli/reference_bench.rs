//! The jig while reference resistors hang on it: one place is powered at a time, and sampled.

use super::ending::{OrEnd, Trouble, bad_input};
use crate::calibration::correction::Corrections;
use crate::link::capture::{CaptureSetup, Trigger};
use crate::link::client::Jig;
use crate::link::client::micros;
use crate::link::error::LinkError;
use crate::measure::record::Record;
use crate::procedure::samples;
use crate::signal::target::Clamp;
use crate::wire::channel::{
    BYPASS, CLAMP_CURRENT, FEED_CURRENT, FEED_VOLTAGE, LOAD_SWITCH, LOAD_VOLTAGE,
};
use crate::wire::preamble::State;
use anyhow::anyhow;
use core::time::Duration;
use std::sync::atomic::{AtomicBool, Ordering};

/// Time between points, the conversions averaged into each, and how many: half a second, that is 25
/// periods of the mains' hum.
const INTERVAL_US: u32 = 1_000;
const AVERAGE: u16 = 5;
const POINTS: u32 = 500;

/// What settles after power is on.
const SETTLE: Duration = Duration::from_millis(300);

/// A capture that takes longer than this has gone wrong.
const PATIENCE: Duration = Duration::from_secs(2);

/// How long something may be on at a time, and what it then rests; the jig keeps both.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Duty {
    /// The longest time on.
    pub on: Duration,
    /// The rest.
    pub rest: Duration,
}

/// A reference resistor is on for as long as it takes to read a meter and type.
const REFERENCE_DUTY: Duty = Duty { on: Duration::from_secs(60), rest: Duration::from_secs(1) };

/// Where a reference resistor hangs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Place {
    /// At the terminals of a clamp's real load, fed by the load supply through the bypass.
    Clamp(Clamp),
    /// Between the feed wires, in place of the module.
    Feed,
}

impl Place {
    /// The channel whose current flows there.
    pub const fn channel(self) -> u16 {
        match self {
            Place::Clamp(clamp) => clamp.channel(CLAMP_CURRENT),
            Place::Feed => FEED_CURRENT,
        }
    }

    /// The channel of the voltage that drives it.
    pub const fn supply(self) -> u16 {
        match self {
            Place::Clamp(_) => LOAD_VOLTAGE,
            Place::Feed => FEED_VOLTAGE,
        }
    }
}

/// Whether a place could be powered.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Powered {
    /// It is.
    Yes,
    /// The supply has tripped, and is off again.
    Tripped,
}

/// The jig, and how to stop.
pub struct ReferenceBench<'a> {
    /// The jig.
    pub jig: &'a mut Jig,
    stop: &'a AtomicBool,
}

impl<'a> ReferenceBench<'a> {
    /// Takes hold of a jig; everything is off.
    pub fn new(jig: &'a mut Jig, stop: &'a AtomicBool) -> Self {
        ReferenceBench { jig, stop }
    }

    /// Puts a resistor in its place on a simulated bench (0 takes it away); does nothing on a real
    /// one.
    ///
    /// # Errors
    /// When the line fails.
    pub fn simulate_hand(&mut self, place: Place, ohm: f64) -> Result<(), Trouble> {
        if !self.jig.identity().simulated {
            return Ok(());
        }
        self.jig.send(&format!("DIAG:HAND:REF {ohm},(@{})", place.channel())).or_bench()
    }

    /// Turns everything off; on a simulated bench puts back what stood there, also when the command
    /// was cut off in the middle.
    pub fn leave_as_found(&mut self) {
        // What cannot be told to the jig any more, the jig does by itself.
        let _ = self.off();
        for place in Clamp::ALL.map(Place::Clamp).into_iter().chain([Place::Feed]) {
            let _ = self.simulate_hand(place, 0.0);
        }
    }

    /// What the reference meter of a simulated bench shows, amperes.
    ///
    /// # Errors
    /// When the line fails, or the bench has none.
    pub fn simulated_meter(&mut self) -> Result<f64, Trouble> {
        let said = self.jig.ask("DIAG:HAND:MET?").or_bench()?;
        said.trim().parse().map_err(|_| anyhow!("the bench's meter shows no number")).or_bench()
    }

    /// Powers a place and lets it settle.
    ///
    /// # Errors
    /// When the line fails, or somebody stops.
    pub fn on(&mut self, place: Place) -> Result<Powered, Trouble> {
        self.on_for(place, REFERENCE_DUTY, SETTLE)
    }

    /// The same for something that may be on no longer than its duty says, and settles in a time of
    /// its own.
    ///
    /// # Errors
    /// When the line fails, or somebody stops.
    pub fn on_for(
        &mut self,
        place: Place,
        duty: Duty,
        settle: Duration,
    ) -> Result<Powered, Trouble> {
        let refused = match place {
            Place::Clamp(clamp) => {
                let (bypass, load) = (clamp.channel(BYPASS), clamp.channel(LOAD_SWITCH));
                let (on, rest) = (duty.on.as_secs_f64(), duty.rest.as_secs_f64());
                self.jig.send(&format!(
                    "ROUT:DUTY {on:.3},{rest:.3},(@{load});:ROUT:CLOS (@{bypass},{load});:OUTP2 ON"
                ))
            }
            // A level that rests is direct current, which an ordinary meter reads.
            Place::Feed => {
                self.jig.send("OUTP1:POL NORM;:SOUR1:CURR:LIM 0.5;:DRIV:IDLE HIGH;:OUTP1 ON")
            }
        };
        match refused {
            Ok(()) => {}
            Err(LinkError::Tripped(_)) => return self.tripped(place),
            other => other.or_bench()?,
        }
        if place == Place::Feed && !self.jig.soft_start_ends(self.stop).or_bench()? {
            return self.tripped(place);
        }
        self.pause(settle)?;
        if self.jig.trips().or_bench()?.supplies() {
            return self.tripped(place);
        }
        Ok(Powered::Yes)
    }

    /// Turns everything off and opens all.
    ///
    /// # Errors
    /// When the line fails.
    pub fn off(&mut self) -> Result<(), Trouble> {
        self.jig.make_safe().or_bench()
    }

    fn tripped(&mut self, place: Place) -> Result<Powered, Trouble> {
        let supply = if place == Place::Feed { 1 } else { 2 };
        self.off()?;
        self.jig.send(&format!("OUTP{supply}:PROT:CLE")).or_bench()?;
        Ok(Powered::Tripped)
    }

    /// Samples channels for half a second.
    ///
    /// # Errors
    /// When the line fails, the capture does not end, or somebody stops.
    pub fn sample(
        &mut self,
        channels: &[u16],
        corrections: Option<&Corrections>,
    ) -> Result<Record, Trouble> {
        let setup = CaptureSetup {
            scan: channels.to_vec(),
            interval_us: INTERVAL_US,
            points: POINTS,
            pre_trigger: 0,
            average: AVERAGE,
            trigger: Trigger::Immediate,
        };
        self.jig.capture(1, &setup).or_bench()?;
        self.pause(Duration::from_micros(u64::from(INTERVAL_US) * u64::from(POINTS)))?;
        let until_us = self.jig.clock_us().or_bench()? + micros(PATIENCE);
        while self.jig.capture_state(1).or_bench()?.state != State::Done {
            if self.jig.clock_us().or_bench()? > until_us {
                return Err(anyhow!("the jig's capture does not come to an end")).or_bench();
            }
            self.pause(Duration::from_millis(5))?;
        }
        let captured = self.jig.fetch(1).or_bench()?;
        Ok(samples::record(self.jig, corrections, &captured))
    }

    /// Whether the jig has switched the load off because it was on for too long.
    ///
    /// # Errors
    /// When the line fails.
    pub fn has_rested(&mut self) -> Result<bool, Trouble> {
        Ok(self.jig.trips().or_bench()?.rested)
    }

    /// Waits, by the jig's clock.
    ///
    /// # Errors
    /// When the line fails, or somebody stops.
    pub fn pause(&mut self, time: Duration) -> Result<(), Trouble> {
        self.jig.pause(time, self.stop).or_bench()?;
        if self.stop.load(Ordering::Relaxed) { Err(stopped()) } else { Ok(()) }
    }
}

/// The operator wants to stop.
pub fn stopped() -> Trouble {
    let error = anyhow!("stopped; everything is off");
    Trouble { ending: super::ending::Ending::Bench, error }
}

/// Whether the jig can do what is wanted of it at a place.
///
/// # Errors
/// When a channel is missing.
pub fn check_place(jig: &Jig, place: Place) -> Result<(), Trouble> {
    let mut needed = vec![place.channel(), place.supply()];
    if let Place::Clamp(clamp) = place {
        needed.extend([clamp.channel(BYPASS), clamp.channel(LOAD_SWITCH)]);
    }
    match needed.into_iter().find(|&c| jig.channel(c).is_none()) {
        Some(channel) => Err(bad_input(format!("this jig has no channel {channel}"))),
        None => Ok(()),
    }
}
