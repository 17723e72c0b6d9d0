//! Status reporting: the status byte, the standard event register and the two SCPI registers.
//!
//! IEEE 488.2, chapter 11; SCPI-1999, volume 1, chapter 9, and volume 2, chapter 20.

use super::error::{Error, ErrorCode, ErrorQueue};
use super::event;

/// Bits of the status byte (`*STB?`).
pub mod byte {
    /// An error waits in the queue.
    pub const ERROR_QUEUE: u8 = 1 << 2;
    /// Summary of the questionable register.
    pub const QUESTIONABLE: u8 = 1 << 3;
    /// An answer waits to be read.
    pub const MESSAGE_AVAILABLE: u8 = 1 << 4;
    /// Summary of the standard event register.
    pub const EVENT: u8 = 1 << 5;
    /// Summary of all other bits that `*SRE` lets through.
    pub const MASTER_SUMMARY: u8 = 1 << 6;
    /// Summary of the operation register.
    pub const OPERATION: u8 = 1 << 7;
}

/// Bits of `STATus:OPERation`.
pub mod operation {
    /// The soft start is running.
    pub const SETTLING: u16 = 1 << 1;
    /// Unit 1 takes its points.
    pub const SWEEPING: u16 = 1 << 3;
    /// A `MEASure` query is under way.
    pub const MEASURING: u16 = 1 << 4;
    /// Unit 1 is armed and waits for its trigger.
    pub const WAITING_FOR_TRIGGER: u16 = 1 << 5;
    /// Unit 2, the watch, is armed or running.
    pub const WATCHING: u16 = 1 << 8;
    /// A command is going out on the feed.
    pub const SENDING: u16 = 1 << 9;
    /// A timed contact closure is on.
    pub const CLOSURE: u16 = 1 << 10;
}

/// Bits of `STATus:QUEStionable`.
pub mod questionable {
    /// The feed has tripped.
    pub const FEED_TRIPPED: u16 = 1 << 1;
    /// The load supply has tripped.
    pub const LOADS_TRIPPED: u16 = 1 << 9;
    /// A load was on for too long and has been opened.
    pub const DUTY: u16 = 1 << 10;
    /// The silence limit has fired (a pulse: the condition falls back at once).
    pub const SILENCE: u16 = 1 << 11;
    /// The interlock is open.
    pub const INTERLOCK: u16 = 1 << 12;
}

/// The bits that a SCPI register has: bit 15 is always zero.
const USABLE: u16 = 0x7FFF;

/// A SCPI register: condition, two transition filters, event and enable.
#[derive(Clone, Copy, Debug)]
pub struct Register {
    condition: u16,
    event: u16,
    /// Bits whose event enters the summary.
    enable: u16,
    /// Bits whose rise makes an event.
    positive: u16,
    /// Bits whose fall makes an event.
    negative: u16,
}

impl Register {
    /// A register at rest, with the preset masks.
    pub const fn new() -> Self {
        Register { condition: 0, event: 0, enable: 0, positive: USABLE, negative: 0 }
    }

    /// The state now.
    pub fn condition(&self) -> u16 {
        self.condition
    }

    /// Takes the new state over; what changed makes events, as the filters say.
    pub fn set_condition(&mut self, condition: u16) {
        let condition = condition & USABLE;
        let rises = condition & !self.condition;
        let falls = self.condition & !condition;
        self.event |= (rises & self.positive) | (falls & self.negative);
        self.condition = condition;
    }

    /// Sets or clears some bits of the condition.
    pub fn set(&mut self, bits: u16, on: bool) {
        let rest = self.condition & !bits;
        self.set_condition(if on { rest | bits } else { rest });
    }

    /// A condition that rises and falls at once.
    pub fn pulse(&mut self, bits: u16) {
        self.set(bits, true);
        self.set(bits, false);
    }

    /// The events since they were last read; reading clears them.
    pub fn read_event(&mut self) -> u16 {
        core::mem::take(&mut self.event)
    }

    /// The enable mask.
    pub fn enable(&self) -> u16 {
        self.enable
    }

    /// Sets the enable mask.
    pub fn set_enable(&mut self, mask: u16) {
        self.enable = mask & USABLE;
    }

    /// The positive transition filter.
    pub fn positive(&self) -> u16 {
        self.positive
    }

    /// Sets the positive transition filter.
    pub fn set_positive(&mut self, mask: u16) {
        self.positive = mask & USABLE;
    }

    /// The negative transition filter.
    pub fn negative(&self) -> u16 {
        self.negative
    }

    /// Sets the negative transition filter.
    pub fn set_negative(&mut self, mask: u16) {
        self.negative = mask & USABLE;
    }

    /// The register's bit in the status byte.
    pub fn summary(&self) -> bool {
        self.event & self.enable != 0
    }

    fn preset(&mut self) {
        (self.enable, self.positive, self.negative) = (0, USABLE, 0);
    }
}

impl Default for Register {
    fn default() -> Self {
        Self::new()
    }
}

/// All status of the jig, with its error queue.
#[derive(Clone, Debug)]
pub struct Status {
    /// What the jig is doing.
    pub operation: Register,
    /// What makes its readings or its state doubtful.
    pub questionable: Register,
    event: u8,
    event_enable: u8,
    service_enable: u8,
    errors: ErrorQueue,
}

impl Status {
    /// Status at power-on: the power-on bit is set, all masks are at rest.
    pub const fn new() -> Self {
        Status {
            operation: Register::new(),
            questionable: Register::new(),
            event: event::POWER_ON,
            event_enable: 0,
            service_enable: 0,
            errors: ErrorQueue::new(),
        }
    }

    /// Queues an error and sets its bit in the standard event register.
    pub fn report(&mut self, error: impl Into<Error>) {
        let error = error.into();
        if error == ErrorCode::NoError.into() {
            return;
        }
        if self.errors.len() == super::error::QUEUE_SIZE {
            self.event |= ErrorCode::QueueOverflow.event_bit();
        }
        self.event |= error.code.event_bit();
        self.errors.push(error);
    }

    /// Takes the oldest error out of the queue (`SYSTem:ERRor?`).
    pub fn next_error(&mut self) -> Error {
        self.errors.pop()
    }

    /// How many errors wait (`SYSTem:ERRor:COUNt?`).
    pub fn error_count(&self) -> usize {
        self.errors.len()
    }

    /// Sets bits of the standard event register, such as [`event::OPERATION_COMPLETE`].
    pub fn set_event(&mut self, bits: u8) {
        self.event |= bits;
    }

    /// The standard event register; reading clears it (`*ESR?`).
    pub fn read_event(&mut self) -> u8 {
        core::mem::take(&mut self.event)
    }

    /// The standard event enable mask (`*ESE?`).
    pub fn event_enable(&self) -> u8 {
        self.event_enable
    }

    /// Sets the standard event enable mask (`*ESE`).
    pub fn set_event_enable(&mut self, mask: u8) {
        self.event_enable = mask;
    }

    /// The service request enable mask (`*SRE?`).
    pub fn service_enable(&self) -> u8 {
        self.service_enable
    }

    /// Sets the service request enable mask (`*SRE`); its bit 6 is always zero.
    pub fn set_service_enable(&mut self, mask: u8) {
        self.service_enable = mask & !byte::MASTER_SUMMARY;
    }

    /// The status byte (`*STB?`). Reading it changes nothing.
    ///
    /// `message_available`: whether an answer waits to be read.
    pub fn status_byte(&self, message_available: bool) -> u8 {
        let mut status = 0;
        let mut put = |bit: u8, on: bool| status |= if on { bit } else { 0 };
        put(byte::ERROR_QUEUE, !self.errors.is_empty());
        put(byte::QUESTIONABLE, self.questionable.summary());
        put(byte::MESSAGE_AVAILABLE, message_available);
        put(byte::EVENT, self.event & self.event_enable != 0);
        put(byte::OPERATION, self.operation.summary());
        if status & self.service_enable != 0 {
            status |= byte::MASTER_SUMMARY;
        }
        status
    }

    /// `*CLS`: clears events and errors. Masks and filters stay.
    pub fn clear(&mut self) {
        self.event = 0;
        self.errors.clear();
        self.operation.read_event();
        self.questionable.read_event();
    }

    /// `STATus:PRESet`: masks of the two SCPI registers to zero, filters to "every rise".
    pub fn preset(&mut self) {
        self.operation.preset();
        self.questionable.preset();
    }
}

impl Default for Status {
    fn default() -> Self {
        Self::new()
    }
}

#[cfg(test)]
mod tests;
