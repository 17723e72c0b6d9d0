//! A setting of the switches, and what it means: the addresses of the outputs, and what goes out on
//! the feed for each.

use super::address::set_to;
use super::module_sheet::ModuleSheet;
use crate::quantity::located::quoted;
use crate::signal::address::AddressError;
use crate::signal::dcc::Numbering;
use crate::signal::target::{Format, Position};
use crate::signal::telegram::{self, Telegram};
use crate::signal::trinary::{self, DIGITS, Trit};

/// How a module is set, and how it is commanded then.
#[derive(Clone, Debug, PartialEq)]
pub struct Setting {
    /// Which switches are on (bit 0 is switch 1).
    pub switches: u32,
    /// The format that it listens to.
    pub format: Format,
    /// How the addresses here are counted; without meaning for a format that everybody counts the
    /// same way.
    pub counted: Numbering,
    /// Its outputs, the first one first.
    pub outputs: Vec<Commanded>,
}

/// One output of a module that is set.
#[derive(Clone, Debug, PartialEq)]
pub struct Commanded {
    /// Its number, from 1.
    pub output: u8,
    /// Its address.
    pub address: u16,
    /// What the other way of counting calls the same packets; `None` where it has no number for
    /// them, and for a format that everybody counts the same way.
    pub counted_otherwise: Option<u16>,
    /// What sends it to `a`, and what sends it to `b`.
    pub sent: [Sent; 2],
}

/// What goes out for one position.
#[derive(Clone, Debug, PartialEq)]
pub struct Sent {
    /// What it says.
    pub code: Code,
    /// How long one takes on the feed, in microseconds.
    pub once_us: u32,
    /// How long a command takes, all its repeats and what keeps them apart counted, in microseconds.
    pub in_all_us: u32,
}

/// What a command says, in the terms of its format.
#[derive(Clone, Debug, PartialEq)]
pub enum Code {
    /// The bytes of a packet, error byte included.
    Bytes(Vec<u8>),
    /// The digits of a word, which goes out twice.
    Digits([Trit; DIGITS]),
}

impl Setting {
    /// The setting for a first address, with as few switches on as can be. The address is counted
    /// in `counted`, which may be another way than that of the module's sheet.
    ///
    /// # Errors
    /// A sentence: why the module cannot be set so, and what can be done instead.
    pub fn for_address(
        sheet: &ModuleSheet,
        first: i64,
        format: Format,
        counted: Numbering,
    ) -> Result<Setting, String> {
        let by_sheet = match format {
            Format::Dcc => first.saturating_add(shift(counted, sheet.numbering)),
            Format::Trinary => first,
        };
        let (address, switches) = set_to(sheet, by_sheet, format).map_err(|why| {
            if by_sheet == first {
                return why;
            }
            let (asked, own) = (in_words(counted), in_words(sheet.numbering));
            format!("{first} counted {asked} is {by_sheet} counted {own}, as the sheet does: {why}")
        })?;
        Setting::meaning(sheet, switches, address, format, counted)
    }

    /// What switches mean as they are set (bit 0 is switch 1), in addresses counted in `counted`.
    ///
    /// # Errors
    /// A sentence: why no command reaches a module that is set so.
    pub fn of_switches(
        sheet: &ModuleSheet,
        switches: u32,
        counted: Numbering,
    ) -> Result<Setting, String> {
        let format = sheet.switches.format_of(switches);
        let first = sheet.switches.address_of(switches);
        let (address, _) = set_to(sheet, first, format).map_err(|why| {
            format!("these switches mean first address {first} in {format}, but {why}")
        })?;
        Setting::meaning(sheet, switches, address, format, counted)
    }

    /// The address of its first output.
    pub fn first(&self) -> u16 {
        self.outputs.first().map_or(0, |output| output.address)
    }

    /// `first` is counted as the sheet counts.
    fn meaning(
        sheet: &ModuleSheet,
        switches: u32,
        first: u16,
        format: Format,
        counted: Numbering,
    ) -> Result<Setting, String> {
        let outputs = (1..=sheet.outputs).map(|output| {
            let address = first + u16::from(output) - 1;
            let sent = |to| sent(sheet, format, address, to).map_err(|error| error.to_string());
            let sent = [sent(Position::A)?, sent(Position::B)?];
            let in_terms_of = |numbering| called(format, sheet.numbering, address, numbering);
            let address = in_terms_of(counted).ok_or_else(|| {
                let (asked, own) = (in_words(counted), in_words(sheet.numbering));
                format!("{address} counted {own} has no number counted {asked}")
            })?;
            let counted_otherwise =
                in_terms_of(other_numbering(counted)).filter(|_| format == Format::Dcc);
            Ok(Commanded { output, address, counted_otherwise, sent })
        });
        let outputs = outputs.collect::<Result<_, String>>()?;
        Ok(Setting { switches, format, counted, outputs })
    }
}

/// What must be added to an address counted in `from` so that it means the same packets in `to`:
/// the two ways differ by one group of four.
const fn shift(from: Numbering, to: Numbering) -> i64 {
    match (from, to) {
        (Numbering::Rcn213, Numbering::FromGroupZero) => 4,
        (Numbering::FromGroupZero, Numbering::Rcn213) => -4,
        _ => 0,
    }
}

/// What `to` calls what `from` calls `address` in a format, if it has a number for it. Everybody
/// counts trinary addresses the same way.
pub fn called(format: Format, from: Numbering, address: u16, to: Numbering) -> Option<u16> {
    if format == Format::Trinary {
        return Some(address);
    }
    let other = u16::try_from(i64::from(address) + shift(from, to)).ok()?;
    (to.accessory(other)? == from.accessory(address)?).then_some(other)
}

/// How addresses are counted, for a sentence: `counted as RCN-213 does`.
pub const fn in_words(numbering: Numbering) -> &'static str {
    match numbering {
        Numbering::Rcn213 => "as RCN-213 does",
        Numbering::FromGroupZero => "from group zero",
    }
}

/// The other way of counting.
pub const fn other_numbering(numbering: Numbering) -> Numbering {
    match numbering {
        Numbering::Rcn213 => Numbering::FromGroupZero,
        Numbering::FromGroupZero => Numbering::Rcn213,
    }
}

fn sent(
    sheet: &ModuleSheet,
    format: Format,
    address: u16,
    to: Position,
) -> Result<Sent, AddressError> {
    let of_a = sheet.direction_of_a;
    let telegram = telegram::command(format, sheet.numbering, address, to, of_a)?;
    let code = match &telegram {
        Telegram::Packet(bytes) => Code::Bytes(bytes.to_vec()),
        Telegram::Pulses(_) => {
            let direction = if to == Position::A { of_a } else { 1 - of_a };
            // There is one, or there would be no telegram.
            Code::Digits(trinary::word(address, direction, true).unwrap_or([Trit::Low; DIGITS]))
        }
    };
    Ok(Sent { code, once_us: telegram.duration_us(), in_all_us: telegram.sending_us(sheet.repeat) })
}

/// Switches as they are written, switch 1 first: `0011010001`.
///
/// # Errors
/// A sentence: what is wrong with it.
pub fn parse_switches(text: &str, sheet: &ModuleSheet) -> Result<u32, String> {
    let count = sheet.switches.weights.len();
    let is = format!(
        "a {} has {count} switches: write a 1 for each that is on and a 0 for each that is off, \
         switch 1 first",
        sheet.kind
    );
    if let Some(other) = text.chars().find(|c| !matches!(c, '0' | '1')) {
        return Err(format!("{} is neither 0 nor 1; {is}", quoted(&other.to_string())));
    }
    if text.len() != count {
        return Err(format!("{} has {} digits, but {is}", quoted(text), text.len()));
    }
    Ok(text.chars().enumerate().filter(|(_, c)| *c == '1').fold(0, |all, (i, _)| all | 1 << i))
}

/// Switches as [`parse_switches`] reads them.
pub fn write_switches(switches: u32, count: usize) -> String {
    (0..count).map(|i| if switches >> i & 1 == 1 { '1' } else { '0' }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::shipped;

    /// Group 46 in decimal digits is 40, 4 and 2, and the outputs answer from 4 × 46 - 3 on; in both
    /// directions.
    #[test]
    fn first_address_181_of_eleven_switches() {
        let sheet = shipped::module_sheet("pier-four").unwrap();
        let own = sheet.numbering;
        let setting = Setting::for_address(&sheet, 181, Format::Dcc, own).unwrap();
        assert_eq!(write_switches(setting.switches, 11), "00110001000");
        let addresses: Vec<u16> = setting.outputs.iter().map(|o| o.address).collect();
        assert_eq!(addresses, [181, 182, 183, 184]);
        let on = parse_switches("00110001000", &sheet).unwrap();
        assert_eq!(Setting::of_switches(&sheet, on, own), Ok(setting));
    }

    /// Whichever way an address is counted, the same packets mean the same switches.
    #[test]
    fn the_two_ways_of_counting_meet_in_the_packets() {
        let sheet = shipped::module_sheet("pier-four").unwrap();
        for first in (1..=1857).step_by(4) {
            let own = Setting::for_address(&sheet, first, Format::Dcc, Numbering::Rcn213).unwrap();
            let other = Numbering::FromGroupZero;
            let other = Setting::for_address(&sheet, first + 4, Format::Dcc, other).unwrap();
            assert_eq!(own.switches, other.switches);
            for (own, other) in own.outputs.iter().zip(&other.outputs) {
                assert_eq!(own.sent, other.sent);
                assert_eq!(own.counted_otherwise, Some(other.address));
                assert_eq!(other.counted_otherwise, Some(own.address));
            }
        }
    }

    #[test]
    fn switches_that_are_not_written_so() {
        let sheet = shipped::module_sheet("pier-four").unwrap();
        for wrong in [
            "",
            "0011000100",
            "001100010000",
            "0011000100x",
            "00110001002",
            "００１１０００１０００",
        ] {
            let error = parse_switches(wrong, &sheet).unwrap_err();
            assert!(error.contains("has 11 switches"), "{error}");
        }
    }
}
