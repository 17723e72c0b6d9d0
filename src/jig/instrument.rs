//! All that the jig does, but for the exchange of messages.

use super::board::{Board, Supply, Unit};
use super::button::Button;
use super::captures::Captures;
use super::contacts::Contacts;
use super::drive::{Command, Drive};
use super::measure::Measurement;
use super::memory::MemoryRef;
use super::power::Power;
use super::session::Session;
use super::switches::Switches;
use crate::wire::data::Seconds;
use crate::wire::error::Error;
use crate::wire::event;
use crate::wire::preamble::State;
use crate::wire::refusal::Refusal;
use crate::wire::status::{Status, operation, questionable};
use crate::wire::words::Idle;
use core::ops::RangeInclusive;

/// Silence limit after reset.
pub const SILENCE: Seconds = Seconds(5.0);
/// What the silence limit may be set to.
pub const SILENCE_LIMITS: RangeInclusive<Seconds> = Seconds(0.1)..=Seconds(60.0);
/// A host that has sealed its lines and then says nothing for so long is gone, even if nothing is
/// on, in microseconds.
const HOST_GONE_US: u64 = 600_000_000;

/// The works of the jig.
#[derive(Debug)]
pub struct Instrument<B> {
    /// The electronics.
    pub board: B,
    /// Supplies.
    pub power: Power,
    /// What goes out on the feed.
    pub drive: Drive,
    /// Both captures.
    pub captures: Captures,
    /// Everything that opens and closes.
    pub switches: Switches,
    /// Timed closures of contact inputs.
    pub contacts: Contacts,
    /// The start button.
    pub button: Button,
    /// What `MEASure` waits for.
    pub measurement: Option<Measurement>,
    /// When the test voltage that was taken away in the middle of a measurement is gone.
    test_gone_us: u64,
    /// Status registers and error queue.
    pub status: Status,
    /// `*OPC` waits for all operations to end.
    pub announces_completion: bool,
    /// Which lines are taken.
    pub session: Session,
    /// How long the host may be silent, in microseconds.
    pub silence_us: u64,
    heard_us: u64,
}

impl<B: Board> Instrument<B> {
    /// Everything off and open, settings as after reset.
    pub fn new(mut board: B, memory: MemoryRef) -> Self {
        let power = Power::new(&mut board);
        let heard_us = board.now_us();
        let mut instrument = Instrument {
            power,
            board,
            drive: Drive::new(),
            captures: Captures::new(memory),
            switches: Switches::new(),
            contacts: Contacts::new(),
            button: Button::new(),
            measurement: None,
            test_gone_us: 0,
            status: Status::new(),
            announces_completion: false,
            session: Session::new(),
            silence_us: SILENCE.in_us(),
            heard_us,
        };
        instrument.drive.set_idle(Idle::Packets, &mut instrument.board);
        instrument.make_safe();
        instrument
    }

    /// Switches everything off, opens everything, ends what goes on. Settings and what has been
    /// captured stay.
    pub fn make_safe(&mut self) {
        self.feed_off();
        self.loads_off();
        self.contacts.forget_all();
        self.switches.open_all(&mut self.board);
        let now_us = self.board.now_us();
        self.captures.abort_all(now_us, &mut self.board);
        if let Some(leaves_us) = self.board.connect_test(None) {
            self.test_gone_us = now_us + u64::from(leaves_us);
        }
        self.measurement = None;
        self.announces_completion = false;
    }

    /// `*RST`: safe, and all settings as after boot. Trips stay latched, loads stay warm.
    pub fn reset(&mut self) {
        self.make_safe();
        self.power.reset_settings(&mut self.board);
        self.drive.set_idle(Idle::Packets, &mut self.board);
        self.captures.reset();
        self.switches.reset_duties();
        self.silence_us = SILENCE.in_us();
    }

    /// Switches a supply on or off.
    ///
    /// # Errors
    /// -221 while the voltage of the resistance test is on its way out, 111 for the load supply while a load
    /// rests. See also [`Power::switch_on`].
    pub fn set_output(&mut self, supply: Supply, on: bool) -> Result<(), Error> {
        if on && self.board.now_us() < self.test_gone_us {
            return Err(Refusal::TestLetsGo.into());
        }
        match (supply, on) {
            (Supply::Feed, false) => self.feed_off(),
            (Supply::Loads, false) => self.loads_off(),
            (Supply::Feed, true) => {
                let was_on = self.power.is_on(Supply::Feed);
                let now_us = self.board.now_us();
                self.power.switch_on(supply, now_us, &mut self.board)?;
                if !was_on {
                    self.drive.clear(&mut self.board);
                }
            }
            (Supply::Loads, true) => {
                let now_us = self.board.now_us();
                self.advance_duties(now_us);
                // Whoever has not noticed yet that a load was taken away would go on without it.
                if self.switches.any_resting() {
                    return Err(Refusal::LoadResting.into());
                }
                self.power.switch_on(supply, now_us, &mut self.board)?;
                self.switches.set_supplied(true);
            }
        }
        Ok(())
    }

    /// Clears the trip of a supply. It stays off, and so does the other one, whatever the hardware held
    /// off until now.
    pub fn clear_trip(&mut self, supply: Supply) {
        while let Some(tripped) = self.power.take_note(&mut self.board) {
            self.tripped(tripped);
        }
        self.power.clear_trip(supply, &mut self.board);
    }

    /// Sends a command.
    ///
    /// # Errors
    /// 104 while the feed is off, 121 when too many commands wait.
    pub fn send(&mut self, command: Command) -> Result<(), Error> {
        if !self.power.is_on(Supply::Feed) {
            return Err(Refusal::FeedOff.into());
        }
        self.drive.send(command)?;
        let now_us = self.board.now_us();
        self.fill_feed(now_us);
        Ok(())
    }

    /// Opens or closes a switch, which has been checked.
    pub fn set_switch(&mut self, channel: u16, closed: bool) {
        let now_us = self.board.now_us();
        self.advance_duties(now_us);
        self.contacts.forget(channel);
        self.switches.set(channel, closed, &mut self.board);
    }

    /// Opens everything.
    pub fn open_all(&mut self) {
        let now_us = self.board.now_us();
        self.advance_duties(now_us);
        self.contacts.forget_all();
        self.switches.open_all(&mut self.board);
    }

    /// Sets how long a load may be on and must rest; the channel has been checked.
    pub fn set_duty(&mut self, channel: u16, on_us: u64, rest_us: u64) {
        let now_us = self.board.now_us();
        self.advance_duties(now_us);
        self.switches.set_duty(channel, on_us, rest_us);
    }

    /// Closes contact closers, which have been checked, for a time.
    pub fn close_contacts(&mut self, channels: &[u16], time_us: u64) {
        let began_us = self.contacts.close(channels, time_us, &mut self.switches, &mut self.board);
        self.captures.contact(began_us);
    }

    /// Whether an operation goes on that `*OPC` and `*WAI` wait for.
    pub fn is_busy(&self) -> bool {
        self.power.is_starting()
            || self.drive.is_sending()
            || self.captures.is_active()
            || self.contacts.any()
    }

    /// A well-formed line has come.
    pub fn heard(&mut self) {
        self.heard_us = self.board.now_us();
    }

    /// Carries out what is due.
    pub fn poll(&mut self, now_us: u64) {
        self.contacts.poll(now_us, &mut self.switches, &mut self.board);
        if now_us >= self.switches.wake_us() {
            self.advance_duties(now_us);
        }
        while let Some(supply) = self.power.poll(now_us, &mut self.board) {
            self.tripped(supply);
        }
        if self.board.interlock() && self.anything_powered() {
            self.make_safe();
        }
        self.fill_feed(now_us);
        if self.captures.poll(now_us, &mut self.board).is_err() {
            self.status.report(Refusal::ScansLost);
        }
        if let Some(measurement) = &mut self.measurement {
            measurement.poll(now_us, &mut self.board);
        }
        self.button.poll(now_us, &mut self.board);
        if self.announces_completion && !self.is_busy() {
            self.announces_completion = false;
            self.status.set_event(event::OPERATION_COMPLETE);
        }
        self.refresh(now_us);
    }

    /// Watches the silence limit; true when it has fired. `waits`: a line waits for something.
    pub fn listen(&mut self, now_us: u64, waits: bool) -> bool {
        if now_us < self.silent_us(waits) {
            return false;
        }
        self.make_safe();
        self.session.end();
        self.heard_us = now_us;
        self.status.questionable.pulse(questionable::SILENCE);
        self.refresh(now_us);
        true
    }

    /// Brings the condition registers up to date.
    pub fn refresh(&mut self, now_us: u64) {
        self.drive.settle(now_us);
        let bits = |list: &[(u16, bool)]| {
            list.iter().filter(|(_, on)| *on).fold(0, |sum, (bit, _)| sum | bit)
        };
        let fast = self.captures.capture(Unit::Capture).state();
        self.status.operation.set_condition(bits(&[
            (operation::SETTLING, self.power.is_starting()),
            (operation::SWEEPING, fast == State::Running),
            (operation::MEASURING, self.measurement.is_some()),
            (operation::WAITING_FOR_TRIGGER, fast == State::Armed),
            (operation::WATCHING, self.captures.capture(Unit::Watch).is_active()),
            (operation::SENDING, self.drive.is_sending()),
            (operation::CLOSURE, self.contacts.any()),
        ]));
        let interlock = self.board.interlock();
        self.status.questionable.set_condition(bits(&[
            (questionable::FEED_TRIPPED, self.power.is_tripped(Supply::Feed)),
            (questionable::LOADS_TRIPPED, self.power.is_tripped(Supply::Loads)),
            (questionable::DUTY, self.switches.any_resting()),
            (questionable::INTERLOCK, interlock),
        ]));
    }

    /// When [`Instrument::poll`] or [`Instrument::listen`] has something to do next.
    pub fn wake_us(&self, waits: bool) -> u64 {
        let feed_us =
            if self.power.is_on(Supply::Feed) { self.drive.wake_us(&self.board) } else { u64::MAX };
        let measurement_us = self.measurement.as_ref().map_or(u64::MAX, Measurement::wake_us);
        [
            feed_us,
            measurement_us,
            self.power.wake_us(),
            self.contacts.wake_us(),
            self.button.wake_us(),
            self.switches.wake_us(),
            self.captures.wake_us(),
            self.silent_us(waits),
        ]
        .into_iter()
        .fold(u64::MAX, u64::min)
    }

    fn feed_off(&mut self) {
        self.power.switch_off(Supply::Feed, &mut self.board);
        self.call_off_commands();
    }

    fn loads_off(&mut self) {
        self.power.switch_off(Supply::Loads, &mut self.board);
        let now_us = self.board.now_us();
        self.advance_duties_of_switched(now_us);
    }

    fn call_off_commands(&mut self) {
        let now_us = self.board.now_us();
        self.drive.settle(now_us);
        self.drive.clear(&mut self.board);
        self.captures.called_off(now_us);
    }

    /// The load supply has just been switched off: counts the time until now, then stops counting.
    fn advance_duties_of_switched(&mut self, now_us: u64) {
        self.switches.advance(now_us, &mut self.board);
        self.switches.set_supplied(false);
    }

    /// Counts how long the loads have been on until now.
    pub fn advance_duties(&mut self, now_us: u64) {
        if self.switches.advance(now_us, &mut self.board) {
            self.loads_off();
        }
    }

    fn tripped(&mut self, supply: Supply) {
        let now_us = self.board.now_us();
        self.advance_duties_of_switched(now_us);
        if supply == Supply::Feed {
            self.call_off_commands();
        }
        self.captures.abort_all(now_us, &mut self.board);
    }

    fn fill_feed(&mut self, now_us: u64) {
        if self.power.is_on(Supply::Feed) {
            while let Some(mark) = self.drive.fill(now_us, &mut self.board) {
                self.captures.sent(mark);
            }
        }
    }

    fn anything_powered(&self) -> bool {
        self.power.is_on(Supply::Feed) || self.power.is_on(Supply::Loads)
    }

    /// When the silence of the host becomes too long.
    fn silent_us(&self, waits: bool) -> u64 {
        let anything_on = self.anything_powered()
            || self.switches.any_closed()
            || self.captures.is_active()
            || waits;
        match (anything_on, self.session.is_sealed()) {
            (true, _) => self.heard_us.saturating_add(self.silence_us),
            (false, true) => self.heard_us.saturating_add(HOST_GONE_US),
            (false, false) => u64::MAX,
        }
    }
}
