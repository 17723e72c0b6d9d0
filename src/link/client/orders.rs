//! What the jig is told to do to the module, and when it did it.

use super::{Jig, LinkError, senseless};
use crate::signal::pulse::Level;
use crate::signal::telegram::Telegram;
use crate::wire::COMMANDS_MAX;
use crate::wire::seal::REST_MAX;
use crate::wire::status::questionable;
use core::fmt::Write;
use core::time::Duration;

/// Asks which command has gone out last.
const SENT: &str = "DRIV:SENT?";

/// The last command sent. Times are the jig's, in microseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sent {
    /// Commands sent since boot.
    pub count: u32,
    /// When its last repetition ended.
    pub last_end_us: u64,
    /// When its first repetition ended.
    pub first_end_us: u64,
    /// When its second repetition ended; the first one where there was no second.
    pub second_end_us: u64,
}

/// The last timed closure of a contact. Times are the jig's, in microseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Closure {
    /// When it began.
    pub began_us: u64,
    /// When it ends or ended.
    pub ends_us: u64,
}

/// What keeps the jig from doing as it is told.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Trips {
    /// The feed has tripped and stays off until cleared.
    pub feed: bool,
    /// The load supply has tripped and stays off until cleared.
    pub loads: bool,
    /// A load was on for too long and was switched off to rest, now or earlier in this session.
    pub rested: bool,
    /// The interlock is open.
    pub interlock: bool,
}

impl Trips {
    /// Whether anything does.
    pub fn any(self) -> bool {
        self != Trips::default()
    }

    /// Whether a supply has tripped.
    pub fn supplies(self) -> bool {
        self.feed || self.loads
    }
}

impl Jig {
    /// Sends a command on the feed, `repeat` times. Comes back before it has gone out.
    ///
    /// # Errors
    /// See [`Jig::send`].
    pub fn command(&mut self, telegram: &Telegram, repeat: u8) -> Result<(), LinkError> {
        self.send(&units_of(telegram, repeat))
    }

    /// Sends commands in one line, each `repeat` times, as many as fit into it: the first ones.
    /// Returns how many those are, and the command that had gone out last by then.
    ///
    /// No more than [`COMMANDS_MAX`] may wait in the jig.
    ///
    /// # Errors
    /// See [`Jig::send`].
    pub fn commands(
        &mut self,
        telegrams: &[Telegram],
        repeat: u8,
    ) -> Result<(usize, Sent), LinkError> {
        let mut line = String::new();
        let mut count = 0;
        for telegram in telegrams.iter().take(COMMANDS_MAX) {
            let units = units_of(telegram, repeat);
            if count > 0 && line.len() + units.len() + SENT.len() + 4 > REST_MAX {
                break;
            }
            line.push_str(&units);
            line.push_str(";:");
            count += 1;
        }
        line.push_str(SENT);
        let numbers = self.ask_numbers(&line)?;
        Ok((count, sent_of(numbers)))
    }

    /// When the last command went out.
    ///
    /// # Errors
    /// See [`Jig::ask`].
    pub fn sent(&mut self) -> Result<Sent, LinkError> {
        Ok(sent_of(self.ask_numbers(SENT)?))
    }

    /// Closes a contact for a time, counted by the jig. Comes back before it has opened again.
    ///
    /// # Errors
    /// See [`Jig::send`].
    pub fn close_contact(&mut self, channel: u16, time: Duration) -> Result<(), LinkError> {
        self.send(&format!("CONT:CLOS {}E-6,(@{channel})", time.as_micros()))
    }

    /// When the last timed closure was.
    ///
    /// # Errors
    /// See [`Jig::ask`].
    pub fn closure(&mut self) -> Result<Closure, LinkError> {
        let [began_us, ends_us] = self.ask_numbers("CONT:TIME?")?;
        Ok(Closure { began_us, ends_us })
    }

    /// What keeps the jig from doing as it is told.
    ///
    /// # Errors
    /// See [`Jig::ask`].
    pub fn trips(&mut self) -> Result<Trips, LinkError> {
        // The event too: on a slow line a load may have rested before anyone asks.
        let units = "STAT:QUES:COND?;EVEN?";
        let said = self.session.exchange(units, Duration::ZERO)?.response;
        let numbers: Option<Vec<u16>> = said.split(|&b| b == b';').map(super::number).collect();
        let [bits, events]: [u16; 2] =
            numbers.and_then(|n| n.try_into().ok()).ok_or_else(|| senseless(units, &said))?;
        // Asking clears the event.
        self.rested |= (bits | events) & questionable::DUTY != 0;
        Ok(Trips {
            feed: bits & questionable::FEED_TRIPPED != 0,
            loads: bits & questionable::LOADS_TRIPPED != 0,
            rested: self.rested,
            interlock: bits & questionable::INTERLOCK != 0,
        })
    }

    fn ask_numbers<const N: usize>(&mut self, units: &str) -> Result<[u64; N], LinkError> {
        let said = self.ask(units)?;
        let numbers: Option<Vec<u64>> = said.split(',').map(|n| n.parse().ok()).collect();
        numbers.and_then(|n| n.try_into().ok()).ok_or_else(|| senseless(units, said.as_bytes()))
    }
}

fn sent_of([count, last_end_us, first_end_us, second_end_us]: [u64; 4]) -> Sent {
    let count = u32::try_from(count).unwrap_or(u32::MAX);
    Sent { count, last_end_us, first_end_us, second_end_us }
}

/// The unit that sends a telegram.
fn units_of(telegram: &Telegram, repeat: u8) -> String {
    let mut units = String::new();
    let mut put = |text: std::fmt::Arguments<'_>| {
        let written = units.write_fmt(text);
        debug_assert!(written.is_ok(), "a string takes all");
    };
    match telegram {
        Telegram::Packet(bytes) => {
            put(format_args!("DRIV:PACK {repeat}"));
            bytes.iter().for_each(|byte| put(format_args!(",{byte}")));
        }
        Telegram::Pulses(pulses) => {
            let first = match pulses.first().map(|p| p.level) {
                Some(Level::Low) => "LOW",
                _ => "HIGH",
            };
            put(format_args!("DRIV:PULS {repeat},{first}"));
            pulses.iter().for_each(|pulse| put(format_args!(",{}", pulse.duration_us)));
        }
    }
    units
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::dcc::Numbering;
    use crate::signal::target::{Format, Position};
    use crate::signal::telegram;

    #[test]
    fn a_packet_goes_out_byte_by_byte() {
        let telegram =
            telegram::command(Format::Dcc, Numbering::Rcn213, 1, Position::B, 0).unwrap();
        assert_eq!(units_of(&telegram, 4), "DRIV:PACK 4,129,249,120");
    }

    #[test]
    fn the_longest_telegrams_fit_a_sealed_line() {
        for (format, highest) in [(Format::Dcc, 2040), (Format::Trinary, 320)] {
            for address in 1..=highest {
                for position in [Position::A, Position::B] {
                    let telegram =
                        telegram::command(format, Numbering::Rcn213, address, position, 0).unwrap();
                    assert!(units_of(&telegram, u8::MAX).len() <= REST_MAX);
                }
            }
        }
    }

    #[test]
    fn pulses_alternate_as_the_language_wants() {
        let telegram =
            telegram::command(Format::Trinary, Numbering::Rcn213, 5, Position::A, 0).unwrap();
        let Telegram::Pulses(pulses) = &telegram else { panic!("not pulses") };
        assert!(pulses.windows(2).all(|pair| pair[0].level != pair[1].level));
        assert!(units_of(&telegram, 2).starts_with("DRIV:PULS 2,LOW,4200,"));
    }
}
