//! Where the outputs stand, by a short look at the jig's own loads.

use super::Halt;
use super::caller::Caller;
use crate::link::error::LinkError;
use crate::link::scpi::list;
use crate::signal::target::{Clamp, Position};
use crate::wire::channel::{CLAMP_CURRENT, CLAMP_VOLTAGE, JIG_LOAD, LOAD_VOLTAGE};
use core::time::Duration;

/// A closed contact carries at least this share of what the load draws.
const CLOSED_SHARE: f64 = 0.3;
/// … and so many limits of the channel's offset.
const OFFSETS: f64 = 3.0;
/// Share of the supply's voltage at a clamp that says that its contact is closed, whatever flows.
const FULL_SHARE: f64 = 0.95;
/// Between the switch's order and the moment when the current has settled.
pub(super) const SWITCHED: Duration = Duration::from_millis(10);
/// What two means take.
const MEASURED: Duration = Duration::from_millis(40);

impl Caller<'_> {
    /// Connects the jig's own loads, where it has them.
    pub fn connect_loads(&mut self) -> Result<(), Halt> {
        let clamps = self.clamps();
        let has = |channel| self.jig.channel(channel).is_some();
        let loads: Vec<u16> =
            clamps.iter().map(|c| c.channel(JIG_LOAD)).filter(|&c| has(c)).collect();
        let can_look = has(LOAD_VOLTAGE)
            && clamps
                .iter()
                .any(|c| has(c.channel(CLAMP_CURRENT)) || has(c.channel(CLAMP_VOLTAGE)));
        if loads.is_empty() || !can_look {
            return Ok(());
        }
        self.jig.send(&format!("ROUT:CLOS (@{})", list(&loads)))?;
        // Any voltage does for now: the first look measures it.
        self.load_v = Some(0.0);
        self.glance()?;
        Ok(())
    }

    /// Looks where the outputs stand, with the load supply on for just that.
    pub fn glance(&mut self) -> Result<Vec<Moved>, Halt> {
        if !self.loads_on()? {
            return Ok(Vec::new());
        }
        self.pause(SWITCHED)?;
        self.look()
    }

    /// Turns the load supply on; `false` when there are no loads to look at.
    pub fn loads_on(&mut self) -> Result<bool, Halt> {
        if self.load_v.is_none() {
            return Ok(false);
        }
        match self.jig.send("OUTP2 ON") {
            Ok(()) => Ok(true),
            Err(LinkError::Tripped(crate::jig::board::Supply::Loads)) => {
                self.give_up_loads()?;
                Ok(false)
            }
            Err(error) => Err(error.into()),
        }
    }

    /// Looks where the outputs stand and turns the load supply off. The load supply is on, its
    /// currents have settled. Returns the outputs that stand elsewhere now.
    pub fn look(&mut self) -> Result<Vec<Moved>, Halt> {
        if self.load_v.is_none() {
            return Ok(Vec::new());
        }
        let clamps = self.clamps();
        let channels = |first: u16| -> Vec<u16> {
            let all = clamps.iter().map(|c| c.channel(first));
            all.filter(|&c| self.jig.channel(c).is_some()).collect()
        };
        let mut volts = vec![LOAD_VOLTAGE];
        volts.extend(channels(CLAMP_VOLTAGE));
        let currents = channels(CLAMP_CURRENT);
        let mut units = format!("MEAS:VOLT? (@{})", list(&volts));
        if !currents.is_empty() {
            units += &format!(";:MEAS:CURR? (@{})", list(&currents));
        }
        let said = match self.numbers(&units, MEASURED) {
            Ok(said) => said,
            Err(_) if self.jig.trips()?.loads => {
                self.give_up_loads()?;
                return Ok(Vec::new());
            }
            Err(halt) => return Err(halt),
        };
        self.jig.send("OUTP2 OFF")?;
        let all: Vec<u16> = volts.into_iter().chain(currents).collect();
        let value = |channel| all.iter().position(|&c| c == channel).and_then(|at| said.get(at));
        let supply_v = said.first().copied().unwrap_or(0.0);
        self.load_v = Some(supply_v);
        let mut stands = [None; 4];
        for output in 1..=self.sheet.outputs {
            let closed = |position| {
                let clamp = Clamp { output, position };
                let flows = value(clamp.channel(CLAMP_CURRENT))
                    .map(|&a| a > self.least_closed_a(clamp, supply_v));
                // A contact that is closed onto nothing passes the whole voltage.
                let is_full = value(clamp.channel(CLAMP_VOLTAGE))
                    .map(|&v| supply_v > 1.0 && v > FULL_SHARE * supply_v);
                match (flows, is_full) {
                    (None, None) => None,
                    (flows, is_full) => Some(flows == Some(true) || is_full == Some(true)),
                }
            };
            stands[usize::from(output) - 1] = stands_at(closed(Position::A), closed(Position::B));
        }
        let before = core::mem::replace(&mut self.stands, stands);
        let moved = (1..=self.sheet.outputs)
            .zip(before.into_iter().zip(stands))
            .filter(|(_, (before, now))| before != now)
            .map(|(output, (_, now))| Moved { output, to: now });
        Ok(moved.collect())
    }

    /// The least current that says that a contact is closed.
    fn least_closed_a(&self, clamp: Clamp, supply_v: f64) -> f64 {
        let load_ohm = self.jig.channel(clamp.channel(JIG_LOAD)).map_or(0.0, |d| d.maximum);
        let offset_a =
            self.jig.channel(clamp.channel(CLAMP_CURRENT)).map_or(0.0, |d| d.offset_limit);
        let drawn_a = if load_ohm > 0.0 { supply_v / load_ohm } else { 0.0 };
        (CLOSED_SHARE * drawn_a).max(OFFSETS * offset_a)
    }

    /// The load supply trips: from now on only the feed current tells.
    fn give_up_loads(&mut self) -> Result<(), Halt> {
        self.load_v = None;
        self.stands = [None; 4];
        Ok(self.jig.send("OUTP2 OFF;:ROUT:OPEN:ALL;:OUTP2:PROT:CLE")?)
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

/// A position from which contacts are closed; one that is not looked at tells by the other one.
fn stands_at(a: Option<bool>, b: Option<bool>) -> Option<Position> {
    match (a, b) {
        (Some(true), Some(false) | None) | (None, Some(false)) => Some(Position::A),
        (Some(false) | None, Some(true)) | (Some(false), None) => Some(Position::B),
        _ => None,
    }
}
