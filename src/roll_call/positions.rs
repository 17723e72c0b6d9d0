//! Where the outputs stand, by a short look at the jig's own loads.

use super::call_stop::CallStop;
use super::caller::Caller;
use crate::jig::board::Supply;
use crate::procedure::bench::SWITCHED;
use crate::procedure::error::BenchError;
use crate::procedure::orders;
use crate::signal::target::{Clamp, Position};
use crate::wire::channel::{CLAMP_CURRENT, CLAMP_VOLTAGE, JIG_LOAD, LOAD_VOLTAGE};

/// A closed contact carries at least this share of what the load draws.
const CLOSED_SHARE: f64 = 0.3;
/// … and so many limits of the channel's offset.
const OFFSETS: f64 = 3.0;

impl Caller<'_> {
    /// Connects the jig's own loads, where it has them.
    pub fn connect_loads(&mut self) -> Result<(), CallStop> {
        let clamps = self.clamps();
        let has = |channel| self.bench.has(channel);
        let loads: Vec<u16> =
            clamps.iter().map(|c| c.channel(JIG_LOAD)).filter(|&c| has(c)).collect();
        let can_look = has(LOAD_VOLTAGE)
            && clamps
                .iter()
                .any(|c| has(c.channel(CLAMP_CURRENT)) || has(c.channel(CLAMP_VOLTAGE)));
        if loads.is_empty() || !can_look {
            return Ok(());
        }
        self.bench.send(&orders::close(&loads))?;
        // Any voltage does for now: the first look measures it.
        self.load_v = Some(0.0);
        self.glance()?;
        Ok(())
    }

    /// Looks where the outputs stand, with the load supply on for just that.
    pub fn glance(&mut self) -> Result<Vec<Moved>, CallStop> {
        if !self.loads_on()? {
            return Ok(Vec::new());
        }
        self.bench.pause(SWITCHED)?;
        self.look()
    }

    /// Turns the load supply on; `false` when there are no loads to look at.
    pub fn loads_on(&mut self) -> Result<bool, CallStop> {
        if self.load_v.is_none() {
            return Ok(false);
        }
        match self.bench.send(&orders::LOADS_ON) {
            Ok(()) => Ok(true),
            Err(BenchError::Tripped(Supply::Loads)) => {
                self.give_up_loads()?;
                Ok(false)
            }
            Err(error) => Err(error.into()),
        }
    }

    /// Looks where the outputs stand and turns the load supply off. The load supply is on, its
    /// currents have settled. Returns the outputs that stand elsewhere now.
    pub fn look(&mut self) -> Result<Vec<Moved>, CallStop> {
        if self.load_v.is_none() {
            return Ok(Vec::new());
        }
        let currents: Vec<u16> = self.clamps().iter().map(|c| c.channel(CLAMP_CURRENT)).collect();
        let currents: Vec<u16> = currents.into_iter().filter(|&c| self.bench.has(c)).collect();
        let levels = match self.bench.clamp_levels(self.sheet.outputs, &currents) {
            Ok(levels) => levels,
            Err(_) if self.bench.jig.trips()?.loads => {
                self.give_up_loads()?;
                return Ok(Vec::new());
            }
            Err(error) => return Err(error.into()),
        };
        self.bench.load_supply_off()?;
        let supply_v = levels.supply_v();
        self.load_v = Some(supply_v);
        let least_a = |clamp| Some(self.least_closed_a(clamp, supply_v));
        let stands = levels.positions(self.sheet.outputs, least_a);
        let before = core::mem::replace(&mut self.stands, stands);
        let moved = (1..=self.sheet.outputs)
            .zip(before.into_iter().zip(stands))
            .filter(|(_, (before, now))| before != now)
            .map(|(output, (_, now))| Moved { output, to: now });
        Ok(moved.collect())
    }

    /// The least current that says that a contact is closed.
    fn least_closed_a(&self, clamp: Clamp, supply_v: f64) -> f64 {
        let load_ohm =
            self.bench.channels().get(clamp.channel(JIG_LOAD)).map_or(0.0, |d| d.maximum);
        let offset_a =
            self.bench.channels().get(clamp.channel(CLAMP_CURRENT)).map_or(0.0, |d| d.offset_limit);
        let drawn_a = if load_ohm > 0.0 { supply_v / load_ohm } else { 0.0 };
        (CLOSED_SHARE * drawn_a).max(OFFSETS * offset_a)
    }

    /// The load supply trips: from now on only the feed current tells.
    fn give_up_loads(&mut self) -> Result<(), CallStop> {
        self.load_v = None;
        self.stands = [None; 4];
        Ok(self.bench.send(&(
            orders::LOADS_OFF,
            orders::OPEN_ALL,
            orders::clear_trip(Supply::Loads),
        ))?)
    }

    /// The clamps of the module's outputs.
    fn clamps(&self) -> Vec<Clamp> {
        Clamp::ALL.into_iter().filter(|c| c.output <= self.sheet.outputs).collect()
    }
}

/// An output that stands elsewhere than before; `None` when the loads no longer tell where.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct Moved {
    pub output: u8,
    pub to: Option<Position>,
}
