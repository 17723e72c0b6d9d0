//! The feed: a look at the hook-up before it comes on, the soft start, one polarity or the other.

use super::answer::{Short, Silence};
use super::call_stop::CallStop;
use super::caller::Caller;
use crate::link::client::micros;
use crate::procedure::bench::{MEASURED_OVER, RESISTANCES_TAKE};
use crate::procedure::error::trips;
use crate::procedure::orders;
use crate::procedure::supplies::RUN_DOWN;
use crate::quantity::unit::Units;
use crate::script::plan::Polarity;
use crate::wire::channel::{
    COMMON_TO_COMMON, FEED_CURRENT, FEED_RESISTANCE, FEED_TO_COMMONS, FEED_VOLTAGE,
};

/// A feed current below this share of the least idle current is none.
const IDLE_SHARE: f64 = 0.2;
/// … and below so many limits of the channel's offset.
const OFFSETS: f64 = 3.0;

/// The feed does not stay on.
const TRIPPED: Silence = Silence::Shorted { what: Short::Tripped, ohm: None };

impl Caller<'_> {
    /// With everything off: whether anything is joined that must be apart. A jig that cannot tell
    /// goes on.
    pub fn check_hook_up(&mut self) -> Result<Option<Silence>, CallStop> {
        self.stage("the hook-up, before power");
        let sheet = self.sheet;
        for (channel, limits, what) in [
            (FEED_RESISTANCE, &sheet.feed_resistance, Short::FeedWires),
            (FEED_TO_COMMONS, &sheet.feed_to_commons, Short::FeedToCommons),
            (COMMON_TO_COMMON, &sheet.between_commons, Short::Commons),
        ] {
            let Some(lower) = limits.lower else { continue };
            let concerns = what != Short::Commons || sheet.outputs > 1;
            if !concerns || !self.bench.has(channel) {
                continue;
            }
            let said = self.bench.numbers(&orders::resistances(&[channel]), RESISTANCES_TAKE)?;
            let ohm = said.first().copied().unwrap_or(f64::INFINITY);
            if ohm < lower.si() {
                return Ok(Some(Silence::Shorted { what, ohm: Some(ohm) }));
            }
        }
        Ok(None)
    }

    /// Turns the feed on and waits until a module has booted, then looks where it stands. Returns why
    /// it cannot answer, if it cannot.
    pub fn power_up(&mut self, polarity: Polarity) -> Result<Option<Silence>, CallStop> {
        let silence = self.feed_on(polarity)?;
        if silence.is_none() {
            self.connect_loads()?;
        }
        Ok(silence)
    }

    fn feed_on(&mut self, polarity: Polarity) -> Result<Option<Silence>, CallStop> {
        self.stage("feed on");
        if trips(self.bench.send(&orders::feed_on(polarity, self.format)))? {
            return Ok(Some(TRIPPED));
        }
        let boot = self.plan.times.boot;
        let began_us = self.bench.clock_us()?;
        if !self.bench.jig.soft_start_ends(self.bench.stop)? {
            return Ok(Some(TRIPPED));
        }
        self.bench.wait_until(began_us + micros(boot))?;
        self.check_feed()?;
        let current_a = self.feed_current()?;
        let idle_a = self.sheet.idle_current.lower.map_or(0.0, |a| IDLE_SHARE * a.si());
        let offset_a =
            self.bench.channels().get(FEED_CURRENT).map_or(0.0, |d| OFFSETS * d.offset_limit);
        Ok((current_a < idle_a.max(offset_a)).then_some(Silence::Dark { current_a }))
    }

    /// Turns the feed off until the module has run down.
    pub fn feed_off(&mut self) -> Result<(), CallStop> {
        self.bench.send(&(orders::LOADS_OFF, orders::FEED_OFF))?;
        Ok(self.bench.pause(RUN_DOWN)?)
    }

    /// Feed current, amperes.
    pub fn feed_current(&mut self) -> Result<f64, CallStop> {
        let said = self.bench.numbers(&orders::currents(&[FEED_CURRENT]), MEASURED_OVER)?;
        Ok(said.first().copied().unwrap_or(0.0))
    }

    /// Feed voltage, volts, where the jig can tell.
    pub fn feed_voltage(&mut self) -> Result<Option<f64>, CallStop> {
        if !self.bench.has(FEED_VOLTAGE) {
            return Ok(None);
        }
        let said = self.bench.numbers(&orders::voltages(&[FEED_VOLTAGE]), MEASURED_OVER)?;
        Ok(said.first().copied())
    }
}
