//! What the jig is told to do to the module, and when it did it.

use super::{Jig, LinkError, micros, units};
use crate::signal::pulse::Level;
use crate::signal::telegram::Telegram;
use crate::wire::COMMANDS_MAX;
pub use crate::wire::answers::{Closure, Sent};
use crate::wire::channel_list::ChannelList;
use crate::wire::data::Seconds;
use crate::wire::seal::REST_MAX;
use crate::wire::sequence::Sequence;
use crate::wire::status::questionable;
use crate::wire::tree::{Command, command, query};
use crate::wire::words::FirstLevel;
use core::time::Duration;

/// What keeps the jig from doing as it is told.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Trips {
    /// The feed has tripped and stays off until cleared.
    pub feed: bool,
    /// The load supply has tripped and stays off until cleared.
    pub loads: bool,
    /// A load was on for too long and was switched off to rest, now or since all loads had rested.
    pub rested: bool,
    /// The interlock is open.
    pub interlock: bool,
    /// The largest share of its longest time on that a connected load has used.
    pub warmth: f64,
}

impl Trips {
    /// Whether anything does.
    pub fn any(self) -> bool {
        self.supplies() || self.rested || self.interlock
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
        self.send(&Sending::of(telegram).command(repeat))
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
        let sendings: Vec<Sending> = telegrams.iter().take(COMMANDS_MAX).map(Sending::of).collect();
        let mut request = (Vec::new(), query::Sent {});
        for sending in &sendings {
            request.0.push(sending.command(repeat));
            if request.0.len() > 1 && units(&request)?.len() > REST_MAX {
                request.0.pop();
                break;
            }
        }
        let (_, sent) = self.ask(&request)?;
        Ok((request.0.len(), sent))
    }

    /// When the last command went out.
    ///
    /// # Errors
    /// See [`Jig::ask`].
    pub fn sent(&mut self) -> Result<Sent, LinkError> {
        self.ask(&query::Sent {})
    }

    /// Closes a contact for a time, counted by the jig. Comes back before it has opened again.
    ///
    /// # Errors
    /// See [`Jig::send`].
    pub fn close_contact(&mut self, channel: u16, time: Duration) -> Result<(), LinkError> {
        let time = Seconds::from_us(micros(time));
        self.send(&command::Contact { time, closers: ChannelList::of(&[channel]) })
    }

    /// When the last timed closure was.
    ///
    /// # Errors
    /// See [`Jig::ask`].
    pub fn closure(&mut self) -> Result<Closure, LinkError> {
        self.ask(&query::ContactTime {})
    }

    /// What keeps the jig from doing as it is told.
    ///
    /// # Errors
    /// See [`Jig::ask`].
    pub fn trips(&mut self) -> Result<Trips, LinkError> {
        let (bits, events, warmth) = self.questionable()?;
        // Asking clears the event.
        self.rested |= (bits | events) & questionable::DUTY != 0;
        Ok(Trips {
            feed: bits & questionable::FEED_TRIPPED != 0,
            loads: bits & questionable::LOADS_TRIPPED != 0,
            rested: self.rested,
            interlock: bits & questionable::INTERLOCK != 0,
            warmth,
        })
    }

    /// Whether no load rests any more. From then on [`Trips::rested`] tells of later rests alone.
    ///
    /// # Errors
    /// See [`Jig::ask`].
    pub fn have_loads_rested(&mut self) -> Result<bool, LinkError> {
        let (bits, ..) = self.questionable()?;
        self.rested = bits & questionable::DUTY != 0;
        Ok(!self.rested)
    }

    /// What is questionable, and what was since somebody asked: on a slow line a load may have rested
    /// before anyone does. And how warm the loads are.
    fn questionable(&mut self) -> Result<(u16, u16, f64), LinkError> {
        let request =
            (query::QuestionableCondition {}, query::QuestionableEvent {}, query::Warmth {});
        // A jig that still knows this session refuses none of it.
        self.exchange(&request, Duration::ZERO)?.ok_or(LinkError::SessionLost)
    }
}

/// A telegram as the jig takes it.
enum Sending<'t> {
    Packet(&'t [u8]),
    Pulses { first: FirstLevel, durations_us: Vec<u32> },
}

impl<'t> Sending<'t> {
    fn of(telegram: &'t Telegram) -> Self {
        match telegram {
            Telegram::Packet(bytes) => Sending::Packet(bytes),
            Telegram::Pulses(pulses) => Sending::Pulses {
                first: match pulses.first().map(|pulse| pulse.level) {
                    Some(Level::Low) => FirstLevel::Low,
                    _ => FirstLevel::High,
                },
                durations_us: pulses.iter().map(|pulse| pulse.duration_us).collect(),
            },
        }
    }

    fn command(&self, repeat: u8) -> Command<'_> {
        match self {
            Sending::Packet(bytes) => command::Packet { repeat, bytes: Sequence::of(bytes) }.into(),
            Sending::Pulses { first, durations_us } => {
                let durations_us = Sequence::of(durations_us);
                command::Pulses { repeat, first: *first, durations_us }.into()
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::dcc::Numbering;
    use crate::signal::target::{Format, Position};
    use crate::signal::telegram;

    fn units_of(telegram: &Telegram, repeat: u8) -> String {
        units(&Sending::of(telegram).command(repeat)).unwrap()
    }

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
