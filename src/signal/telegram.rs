//! One command, ready to be sent.

use super::address::{self, AddressError};
use super::dcc::{self, Numbering};
use super::pulse::{Level, Pulse};
use super::target::{Format, Position};
use super::trinary;

/// What goes out once; the jig repeats it as often as it is told.
// Not boxed: there is no allocator here, and few telegrams live at a time.
#[allow(clippy::large_enum_variant)]
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Telegram {
    /// A packet, error byte included.
    Packet(dcc::Packet),
    /// Pulses, first to last, levels alternating.
    Pulses(heapless::Vec<Pulse, { trinary::PULSES }>),
}

/// The highest address of a format, counted in `numbering`; the lowest is 1.
pub const fn highest_address(format: Format, numbering: Numbering) -> u16 {
    address::highest(format, numbering)
}

/// The command that sends the output at `address` to `position`.
///
/// `address` is the output's own one (each output of a module has its own), counted in `numbering`
/// for packets. `direction_of_a` is the direction bit, 0 or 1, that means position `a`.
///
/// # Errors
/// [`AddressError`] when the address is not one output's own: it is missing, or the broadcast.
pub fn command(
    format: Format,
    numbering: Numbering,
    address: u16,
    position: Position,
    direction_of_a: u8,
) -> Result<Telegram, AddressError> {
    let unknown = AddressError { format, numbering, address };
    let direction = match position {
        Position::A => direction_of_a & 1,
        Position::B => !direction_of_a & 1,
    };
    match format {
        Format::Dcc => {
            let to = numbering.accessory(address).ok_or(unknown)?;
            let packet = dcc::accessory(to, direction, true);
            Ok(Telegram::Packet(packet.into_iter().collect()))
        }
        Format::Trinary => {
            let word = trinary::word(address, direction, true).ok_or(unknown)?;
            Ok(Telegram::Pulses(trinary::pulses(&word).collect()))
        }
    }
}

impl Telegram {
    /// How long it takes on the feed once, in microseconds.
    pub fn duration_us(&self) -> u32 {
        match self {
            Telegram::Packet(packet) => dcc::duration_us(packet),
            Telegram::Pulses(pulses) => pulses.iter().map(|p| p.duration_us).sum(),
        }
    }

    /// For how long the feed already rests at its end, in microseconds: a receiver has all that it
    /// needs with the last pulse of a word, not with the low after it.
    pub fn rests_us(&self) -> u32 {
        match self {
            Telegram::Packet(_) => 0,
            Telegram::Pulses(pulses) => {
                pulses.last().filter(|p| p.level == Level::Low).map_or(0, |p| p.duration_us)
            }
        }
    }

    /// How long `repeat` of them take, in microseconds, with the idle packets that keep two packets
    /// to the same decoder far enough apart ([`dcc::SPACING_US`]).
    pub fn sending_us(&self, repeat: u8) -> u32 {
        let repeat = u32::from(repeat);
        let between = match self {
            Telegram::Packet(_) => dcc::duration_us(&dcc::IDLE),
            Telegram::Pulses(_) => 0,
        };
        self.duration_us() * repeat + between * repeat.saturating_sub(1)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use Numbering::{FromGroupZero, Rcn213};

    /// RCN-213, 2.1: user address 1 is `1000-0001 1111-D00R`.
    #[test]
    fn packet_to_the_first_address() {
        let to_b = command(Format::Dcc, Rcn213, 1, Position::B, 0).unwrap();
        let Telegram::Packet(bytes) = to_b else { panic!("not a packet") };
        assert_eq!(bytes[..], [0b1000_0001, 0b1111_1001, 0b0111_1000]);
    }

    /// A word ends with the activation, a long pulse: seven of eight clocks high, one low.
    #[test]
    fn a_word_is_told_by_its_last_pulse() {
        let word = command(Format::Trinary, Rcn213, 1, Position::A, 0).unwrap();
        assert_eq!(word.rests_us(), trinary::CLOCK_US);
        assert_eq!(command(Format::Dcc, Rcn213, 1, Position::A, 0).unwrap().rests_us(), 0);
    }

    /// Counted from group 0 the same packet has an address four higher; for trinary nothing changes.
    #[test]
    fn numbering_shifts_packets_by_a_group() {
        let to = |format, numbering, address| command(format, numbering, address, Position::A, 0);
        assert_eq!(to(Format::Dcc, Rcn213, 1), to(Format::Dcc, FromGroupZero, 5));
        assert_eq!(to(Format::Trinary, Rcn213, 1), to(Format::Trinary, FromGroupZero, 1));
    }

    #[test]
    fn direction_bit_decides_the_position() {
        for format in [Format::Dcc, Format::Trinary] {
            let a0 = command(format, Rcn213, 17, Position::A, 0).unwrap();
            let b0 = command(format, Rcn213, 17, Position::B, 0).unwrap();
            let a1 = command(format, Rcn213, 17, Position::A, 1).unwrap();
            let b1 = command(format, Rcn213, 17, Position::B, 1).unwrap();
            assert_eq!((&a0, &b0), (&b1, &a1));
            assert_ne!(a0, b0);
        }
    }

    #[test]
    fn addresses_end_where_the_formats_end() {
        for (format, numbering, highest) in [
            (Format::Dcc, Rcn213, 2040),
            (Format::Dcc, FromGroupZero, 2044),
            (Format::Trinary, Rcn213, 320),
            (Format::Trinary, FromGroupZero, 320),
        ] {
            assert_eq!(highest_address(format, numbering), highest);
            assert!(command(format, numbering, highest, Position::A, 0).is_ok());
            for address in [0, highest + 1, u16::MAX] {
                let error = command(format, numbering, address, Position::A, 0).unwrap_err();
                assert_eq!(error, AddressError { format, numbering, address });
            }
        }
    }

    /// S-9.2: at least 5 ms from the end bit of a packet to the start bit of the next one to the
    /// same decoder. An idle packet between the two, with the preambles, is enough.
    #[test]
    fn idle_packet_keeps_the_spacing() {
        let preamble_us = dcc::PREAMBLE_BITS as u32 * 2 * dcc::ONE_HALF_US;
        assert!(dcc::duration_us(&dcc::IDLE) + preamble_us >= dcc::SPACING_US);
        let telegram = command(Format::Dcc, Rcn213, 9, Position::A, 0).unwrap();
        let once = telegram.duration_us();
        assert_eq!(telegram.sending_us(1), once);
        assert_eq!(telegram.sending_us(3), 3 * once + 2 * dcc::duration_us(&dcc::IDLE));
        let telegram = command(Format::Trinary, Rcn213, 9, Position::A, 0).unwrap();
        assert_eq!(telegram.duration_us(), trinary::TELEGRAM_US);
        assert_eq!(telegram.sending_us(3), 3 * trinary::TELEGRAM_US);
    }
}
