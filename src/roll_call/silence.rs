//! Nothing answers: what can still be told.

use super::answer::{Contacts, Silence};
use super::call_stop::CallStop;
use super::caller::Caller;
use super::coil_pulses::rises;
use crate::quantity::unit::duration;
use crate::signal::dcc::{self, Accessory};
use crate::signal::target::{Clamp, Format, Position};
use crate::signal::telegram::Telegram;
use crate::wire::channel::CONTACT_CLOSER;

/// The group of the broadcast (S-9.2.1).
const BROADCAST: u16 = 511;

impl Caller<'_> {
    /// Whether a module hears the broadcast, which reaches it whatever its address is.
    pub fn hears_broadcast(&mut self) -> Result<bool, CallStop> {
        if !self.plan.formats.contains(&Format::Dcc) {
            return Ok(false);
        }
        self.stage("the broadcast");
        self.idle_in(Format::Dcc)?;
        let (copies, window) = (self.plan.copies.alone, self.plan.times.rest);
        let pair = (self.plan.expected.place % 4) as u8;
        let mut heard = false;
        for direction in [0, 1] {
            let packet = dcc::accessory(Accessory { group: BROADCAST, pair }, direction, true);
            let telegram = Telegram::Packet(packet.into_iter().collect());
            self.count(&telegram, copies);
            let watched = self.watch(&[telegram], copies, window)?;
            heard |= !watched.rises.is_empty() || !watched.moved.is_empty();
        }
        Ok(heard)
    }

    /// The likely reasons, from the contact inputs, the current and the voltage.
    pub fn why_silent(&mut self, hears_broadcast: bool) -> Result<Silence, CallStop> {
        self.stage("the contact inputs");
        let contacts = self.try_contacts()?;
        let (current_a, feed_v) = (self.feed_current()?, self.feed_voltage()?);
        Ok(Silence::Unmoved { current_a, feed_v, contacts, hears_broadcast })
    }

    /// Closes the contact inputs one after the other until one of them moves something.
    fn try_contacts(&mut self) -> Result<Contacts, CallStop> {
        let mut tried = false;
        for output in 1..=self.sheet.outputs {
            for position in [Position::A, Position::B] {
                let channel = Clamp { output, position }.channel(CONTACT_CLOSER);
                if !self.bench.has(channel) {
                    continue;
                }
                tried = true;
                let closure = duration(self.sheet.contact_closure);
                self.record()?;
                self.bench.jig.close_contact(channel, closure)?;
                self.bench.pause(self.plan.times.contact)?;
                let (_, amperes) = self.recorded()?;
                let stirs = !rises(&amperes, self.least_a).is_empty();
                if !self.glance()?.is_empty() || stirs {
                    return Ok(Contacts::Work);
                }
            }
        }
        Ok(if tried { Contacts::Dead } else { Contacts::Untried })
    }
}
