//! The feed: a look at the hook-up before it comes on, the soft start, one polarity or the other.

use super::Halt;
use super::answer::{Short, Silence};
use super::caller::Caller;
use crate::link::client::micros;
use crate::link::error::LinkError;
use crate::link::scpi::idle_level;
use crate::quantity::unit::Units;
use crate::quantity::unit::duration;
use crate::script::plan::Polarity;
use crate::wire::channel::{
    COMMON_TO_COMMON, FEED_CURRENT, FEED_RESISTANCE, FEED_TO_COMMONS, FEED_VOLTAGE,
};
use core::time::Duration;

/// Feed off for so long that the module's reservoir has run down.
const RUN_DOWN: Duration = Duration::from_millis(1_000);
/// Beyond the sheet's time a module may still be busy with itself.
const BOOTED: Duration = Duration::from_millis(50);
/// What a mean takes.
const MEASURED: Duration = Duration::from_millis(20);
/// A feed current below this share of the least idle current is none.
const IDLE_SHARE: f64 = 0.2;
/// … and below so many limits of the channel's offset.
const OFFSETS: f64 = 3.0;

/// What a resistance takes: the module's reservoir fills through the jig's test voltage first.
const RESISTANCE: Duration = Duration::from_secs(4);
/// The feed does not stay on.
const TRIPPED: Silence = Silence::Shorted { what: Short::Tripped, ohm: None };

impl Caller<'_> {
    /// With everything off: whether anything is joined that must be apart. A jig that cannot tell
    /// goes on.
    pub fn check_hook_up(&mut self) -> Result<Option<Silence>, Halt> {
        self.stage("the hook-up, before power");
        let sheet = self.sheet;
        for (channel, limits, what) in [
            (FEED_RESISTANCE, &sheet.feed_resistance, Short::FeedWires),
            (FEED_TO_COMMONS, &sheet.feed_to_commons, Short::FeedToCommons),
            (COMMON_TO_COMMON, &sheet.between_commons, Short::Commons),
        ] {
            let Some(lower) = limits.lower else { continue };
            let concerns = what != Short::Commons || sheet.outputs > 1;
            if !concerns || self.jig.channel(channel).is_none() {
                continue;
            }
            let said = self.numbers(&format!("MEAS:RES? (@{channel})"), RESISTANCE)?;
            let ohm = said.first().copied().unwrap_or(f64::INFINITY);
            if ohm < lower.si() {
                return Ok(Some(Silence::Shorted { what, ohm: Some(ohm) }));
            }
        }
        Ok(None)
    }

    /// Turns the feed on and waits until a module has booted, then looks where it stands. Returns why
    /// it cannot answer, if it cannot.
    pub fn power_up(&mut self, polarity: Polarity) -> Result<Option<Silence>, Halt> {
        let silence = self.feed_on(polarity)?;
        if silence.is_none() {
            self.connect_loads()?;
        }
        Ok(silence)
    }

    fn feed_on(&mut self, polarity: Polarity) -> Result<Option<Silence>, Halt> {
        self.stage("feed on");
        let sense = if polarity == Polarity::Normal { "NORM" } else { "INV" };
        let idle = idle_level(self.format);
        let on = self.jig.send(&format!("OUTP1:POL {sense};:DRIV:IDLE {idle};:OUTP1 ON"));
        match on {
            Err(LinkError::Tripped(_)) => return Ok(Some(TRIPPED)),
            on => on?,
        }
        let boot = duration(self.sheet.boot) + BOOTED;
        let began_us = self.jig.clock_us()?;
        if !self.jig.soft_start_ends(self.stop)? {
            return Ok(Some(TRIPPED));
        }
        self.wait_until(began_us + micros(boot))?;
        self.check_feed()?;
        let current_a = self.feed_current()?;
        let idle_a = self.sheet.idle_current.lower.map_or(0.0, |a| IDLE_SHARE * a.si());
        let offset_a = self.jig.channel(FEED_CURRENT).map_or(0.0, |d| OFFSETS * d.offset_limit);
        Ok((current_a < idle_a.max(offset_a)).then_some(Silence::Dark { current_a }))
    }

    /// Turns the feed off until the module has run down.
    pub fn feed_off(&mut self) -> Result<(), Halt> {
        self.jig.send("OUTP2 OFF;:OUTP1 OFF")?;
        self.pause(RUN_DOWN)
    }

    /// Feed current, amperes.
    pub fn feed_current(&mut self) -> Result<f64, Halt> {
        let said = self.numbers(&format!("MEAS:CURR? (@{FEED_CURRENT})"), MEASURED)?;
        Ok(said.first().copied().unwrap_or(0.0))
    }

    /// Feed voltage, volts, where the jig can tell.
    pub fn feed_voltage(&mut self) -> Result<Option<f64>, Halt> {
        if self.jig.channel(FEED_VOLTAGE).is_none() {
            return Ok(None);
        }
        let said = self.numbers(&format!("MEAS:VOLT? (@{FEED_VOLTAGE})"), MEASURED)?;
        Ok(said.first().copied())
    }
}
