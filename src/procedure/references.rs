//! Reference resistors and known loads: one place is powered at a time, past any module.

use super::bench::Bench;
use super::error::BenchError;
use super::orders;
use crate::signal::target::Clamp;
use crate::wire::channel::{
    BYPASS, CLAMP_CURRENT, FEED_CURRENT, FEED_VOLTAGE, LOAD_SWITCH, LOAD_VOLTAGE,
};
use crate::wire::suffix::Supply;
use core::time::Duration;

/// How long is sampled: 25 periods of the mains' hum.
pub const WINDOW: Duration = Duration::from_millis(500);

/// What settles after power is on.
const SETTLE: Duration = Duration::from_millis(300);

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

impl Bench<'_> {
    /// Whether the jig can do what is wanted of it at a place.
    ///
    /// # Errors
    /// [`BenchError::NoChannel`].
    pub fn check_place(&self, place: Place) -> Result<(), BenchError> {
        let mut needed = vec![place.channel(), place.supply()];
        if let Place::Clamp(clamp) = place {
            needed.extend([clamp.channel(BYPASS), clamp.channel(LOAD_SWITCH)]);
        }
        match needed.into_iter().find(|&c| !self.has(c)) {
            Some(channel) => Err(BenchError::NoChannel(channel)),
            None => Ok(()),
        }
    }

    /// Puts a resistor in its place on a simulated bench (0 takes it away); does nothing on a real
    /// one.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn simulate_reference(&mut self, place: Place, ohm: f64) -> Result<(), BenchError> {
        if !self.jig.identity().simulated {
            return Ok(());
        }
        self.send(&orders::simulated_reference(ohm, place.channel()))
    }

    /// Turns everything off; on a simulated bench puts back what stood there, also when the command
    /// was cut off in the middle.
    pub fn leave_as_found(&mut self) {
        // What cannot be told to the jig any more, the jig does by itself.
        let _ = self.make_safe();
        for place in Clamp::ALL.map(Place::Clamp).into_iter().chain([Place::Feed]) {
            let _ = self.simulate_reference(place, 0.0);
        }
    }

    /// What the reference meter of a simulated bench shows, amperes.
    ///
    /// # Errors
    /// When the line fails, or the bench has none.
    pub fn simulated_meter(&mut self) -> Result<f64, BenchError> {
        let said = self.finite_numbers(&orders::SIMULATED_METER, Duration::ZERO)?;
        Ok(said[0])
    }

    /// Powers a place for a reference resistor and lets it settle.
    ///
    /// # Errors
    /// When the line fails, or somebody stops.
    pub fn power(&mut self, place: Place) -> Result<Powered, BenchError> {
        self.power_for(place, REFERENCE_DUTY, SETTLE)
    }

    /// The same for something that may be on no longer than its duty says, and settles in a time of
    /// its own.
    ///
    /// # Errors
    /// When the line fails, or somebody stops.
    pub fn power_for(
        &mut self,
        place: Place,
        duty: Duty,
        settle: Duration,
    ) -> Result<Powered, BenchError> {
        let refused = match place {
            Place::Clamp(clamp) => {
                let (bypass, load) = (clamp.channel(BYPASS), clamp.channel(LOAD_SWITCH));
                self.send(&(
                    orders::duty(duty.on, duty.rest, &[load]),
                    orders::close(&[bypass, load]),
                    orders::LOADS_ON,
                ))
            }
            Place::Feed => self.send(&orders::feed_on_at_rest()),
        };
        match refused {
            Ok(()) => {}
            Err(BenchError::Tripped(_)) => return self.power_tripped(place),
            Err(error) => return Err(error),
        }
        if place == Place::Feed && !self.jig.soft_start_ends(self.stop)? {
            return self.power_tripped(place);
        }
        self.pause(settle)?;
        if self.jig.trips()?.supplies() {
            return self.power_tripped(place);
        }
        Ok(Powered::Yes)
    }

    fn power_tripped(&mut self, place: Place) -> Result<Powered, BenchError> {
        self.make_safe()?;
        self.send(&orders::clear_trip(match place {
            Place::Feed => Supply::Feed,
            Place::Clamp(_) => Supply::Loads,
        }))?;
        Ok(Powered::Tripped)
    }

    /// Whether the jig has switched the load off because it was on for too long.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn has_rested(&mut self) -> Result<bool, BenchError> {
        Ok(self.jig.trips()?.rested)
    }
}
