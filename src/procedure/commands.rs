//! What moves an output, and how long a sound one takes.

use super::bench::Bench;
use super::error::BenchError;
use crate::link::client::micros;
use crate::quantity::unit::duration;
use crate::script::module_sheet::ModuleSheet;
use crate::script::timing::{QUEUED, slowest_move};
use crate::signal::target::{Clamp, Format, Position};
use crate::signal::telegram::{self, Telegram};
use crate::wire::channel::CONTACT_CLOSER;
use core::time::Duration;

/// The command that sends an output to a position, for a module whose output 1 has the address
/// `first`.
///
/// # Errors
/// When the format has no such address.
pub fn command(
    sheet: &ModuleSheet,
    first: u16,
    format: Format,
    output: u8,
    to: Position,
) -> Result<Telegram, BenchError> {
    let address = first + u16::from(output) - 1;
    Ok(telegram::command(format, sheet.numbering, address, to, sheet.direction_of_a)?)
}

/// How long a command is on its way: what the jig holds back, and all its repetitions.
pub fn on_its_way(sheet: &ModuleSheet, telegram: &Telegram) -> Duration {
    Duration::from_micros(telegram.sending_us(sheet.repeat).into()) + QUEUED
}

impl Bench<'_> {
    /// Sends a command. Returns when a sound output will have moved, by the jig's clock.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn command(&mut self, sheet: &ModuleSheet, telegram: &Telegram) -> Result<u64, BenchError> {
        self.jig.command(telegram, sheet.repeat)?;
        let sent_us = self.clock_us()?;
        Ok(sent_us + micros(on_its_way(sheet, telegram)) + micros(slowest_move(sheet)))
    }

    /// Closes a contact input for the sheet's time. Returns after how long a sound output will have
    /// moved and the contact is open again.
    ///
    /// # Errors
    /// See [`Bench::send`].
    pub fn touch(&mut self, sheet: &ModuleSheet, clamp: Clamp) -> Result<Duration, BenchError> {
        let closure = duration(sheet.contact_closure);
        self.jig.close_contact(clamp.channel(CONTACT_CLOSER), closure)?;
        Ok(closure.max(slowest_move(sheet)) + QUEUED)
    }
}
