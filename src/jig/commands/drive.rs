//! What goes out on the feed.

use crate::jig::drive::{Alternating, Body, Command};
use crate::signal::dcc;
use crate::signal::pulse::Level;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::tree::command;
use crate::wire::words::FirstLevel;
use core::ops::RangeInclusive;
use heapless::Vec;

/// How often a command may be repeated.
const REPEAT: RangeInclusive<u8> = 1..=100;
/// How long a pulse may be, in microseconds.
const PULSE_US: RangeInclusive<u32> = 1..=100_000;

/// A packet to be sent.
///
/// # Errors
/// -222 for another repeat count, -223 when it is too long, -224 when it is no whole packet.
pub fn packet(of: &command::Packet<'_>) -> Result<Command, Error> {
    let repeat = checked(of.repeat, &REPEAT)?;
    let mut packet = dcc::Packet::new();
    for byte in of.bytes.iter() {
        packet.push(byte).map_err(|_| ErrorCode::TooMuchData.because("6 bytes at most"))?;
    }
    if !dcc::is_whole(&packet) {
        return Err(ErrorCode::IllegalParameter.because("3 to 6 bytes, the last their checksum"));
    }
    Ok(Command { body: Body::Packet(packet), repeat })
}

/// Pulses to be sent.
///
/// # Errors
/// -222 for another repeat count or length, -223 when there are too many.
pub fn pulses(of: &command::Pulses<'_>) -> Result<Command, Error> {
    let repeat = checked(of.repeat, &REPEAT)?;
    let first = match of.first {
        FirstLevel::High => Level::High,
        FirstLevel::Low => Level::Low,
    };
    let mut durations_us = Vec::new();
    for duration_us in of.durations_us.iter() {
        durations_us
            .push(checked(duration_us, &PULSE_US)?)
            .map_err(|_| ErrorCode::TooMuchData.because("160 pulses at most"))?;
    }
    Ok(Command { body: Body::Pulses(Alternating { first, durations_us }), repeat })
}

fn checked<T: PartialOrd + Copy>(value: T, range: &RangeInclusive<T>) -> Result<T, Error> {
    if range.contains(&value) { Ok(value) } else { Err(ErrorCode::DataOutOfRange.into()) }
}
