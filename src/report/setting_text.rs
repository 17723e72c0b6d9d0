//! How a module is set to an address, and what is sent to it then.

use super::screen::Screen;
use super::switch_bank::switch_bank;
use super::table::{Column, table};
use crate::plain::plain;
use crate::script::address::switches_in_words;
use crate::script::module_sheet::ModuleSheet;
use crate::script::setting::{Code, Commanded, Setting, in_words, other_numbering};
use crate::signal::target::Format;
use crate::signal::trinary::Trit;
use std::fmt::Write;

/// The caution that goes with every setting of switches.
const CAUTION: &str =
    "Set the switches with the power off, and fasten nothing under power. Extra-low voltage only.";

/// The text, lines ended.
pub fn setting_text(sheet: &ModuleSheet, setting: &Setting, screen: Screen) -> String {
    let mut text = String::new();
    // Writing to memory cannot fail.
    let _ = write(&mut text, sheet, setting, screen);
    text
}

fn write(
    text: &mut String,
    sheet: &ModuleSheet,
    setting: &Setting,
    screen: Screen,
) -> std::fmt::Result {
    let Setting { switches, format, .. } = setting;
    let first = setting.first();
    let count = sheet.switches.weights.len() as u8;
    writeln!(text, "{}\nFirst address {first}, format {format}\n", plain(&sheet.title))?;
    writeln!(text, "{}\n", switch_bank(*switches, count).trim_end_matches('\n'))?;
    let words = switches_in_words(*switches, count);
    writeln!(text, "Switches: {words}.")?;
    if let Some(switch) = sheet.switches.format_switch {
        let (on, off) = (sheet.switches.format_when_on, sheet.switches.format_when_off);
        writeln!(text, "Switch {switch} chooses the format: on is {on}, off is {off}.")?;
    }
    writeln!(text, "{CAUTION}\n")?;

    let packets = match format {
        Format::Dcc => "packet: its bytes, and their bits",
        Format::Trinary => "word: group, function, side with activation",
    };
    let columns = [
        Column::Number("output"),
        Column::Number("address"),
        Column::Code("to"),
        Column::Number("once"),
        Column::Number("in all"),
        Column::Code(packets),
    ];
    let rows = setting.outputs.iter().flat_map(|commanded| {
        let Commanded { output, address, .. } = commanded;
        ["a", "b"].into_iter().zip(&commanded.sent).map(move |(to, sent)| {
            let [once, in_all] = [sent.once_us, sent.in_all_us].map(milliseconds);
            [output.to_string(), address.to_string(), to.into(), once, in_all, code(&sent.code)]
        })
    });
    text.push_str(&table(screen, 2, columns, rows));
    let repeat = sheet.repeat;
    writeln!(text, "\nTimes on the wire in ms: one, and all {repeat} that make a command.")?;
    match format {
        Format::Dcc => writeln!(text, "{}", other_count(sheet, setting)),
        Format::Trinary => writeln!(
            text,
            "Digits: 0 is two short pulses, 1 is two long ones, ~ (open) is a long and a short \
             one. The word goes out twice."
        ),
    }
}

/// The bytes in hexadecimal and in bits, or the digits in their groups.
fn code(code: &Code) -> String {
    match code {
        Code::Bytes(bytes) => {
            let of =
                |each: &dyn Fn(&u8) -> String| bytes.iter().map(each).collect::<Vec<_>>().join(" ");
            format!("{}  {}", of(&|b| format!("{b:02X}")), of(&|b| format!("{b:08b}")))
        }
        Code::Digits(digits) => {
            let [group, function, data] =
                [&digits[..4], &digits[4..5], &digits[5..]].map(digits_text);
            format!("{group} {function} {data}")
        }
    }
}

/// Three-state digits as people read them here: `0`, `1`, and `~` for open.
pub fn digits_text(digits: &[Trit]) -> String {
    let sign = |digit: &Trit| match digit {
        Trit::Low => '0',
        Trit::High => '1',
        Trit::Open => '~',
    };
    digits.iter().map(sign).collect()
}

/// How these addresses are counted, and what the other way of counting calls the same packets.
fn other_count(sheet: &ModuleSheet, setting: &Setting) -> String {
    let by_sheet =
        if setting.counted == sheet.numbering { ", as the module sheet does" } else { "" };
    let (own, other) = (in_words(setting.counted), in_words(other_numbering(setting.counted)));
    let others: Vec<Option<u16>> =
        setting.outputs.iter().map(|output| output.counted_otherwise).collect();
    let called = match others[..] {
        [Some(only)] => format!("calls it {only}"),
        [Some(first), .., Some(last)] => format!("calls them {first} to {last}"),
        _ => "has no number for some of them".into(),
    };
    format!("Counted {own}{by_sheet}. Whoever counts {other} {called}: one group off.")
}

fn milliseconds(time_us: u32) -> String {
    format!("{:.2}", f64::from(time_us) / 1e3)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::shipped;
    use crate::signal::dcc::Numbering;

    fn text(kind: &str, first: i64, format: Format) -> String {
        let sheet = shipped::module_sheet(kind).unwrap();
        let setting = Setting::for_address(&sheet, first, format, sheet.numbering).unwrap();
        setting_text(&sheet, &setting, Screen::PLAIN)
    }

    #[test]
    fn a_setting_for_packets() {
        insta::assert_snapshot!(text("pier-four", 181, Format::Dcc));
    }

    #[test]
    fn a_setting_for_three_state_words() {
        insta::assert_snapshot!(text("jetty-two", 49, Format::Trinary));
    }

    #[test]
    fn a_station_that_counts_as_rcn_213_has_no_number_for_group_zero() {
        let mut sheet = shipped::module_sheet("quay-four").unwrap();
        sheet.numbering = Numbering::FromGroupZero;
        sheet.switches.base = 1;
        let told = |first, counted| {
            let setting = Setting::for_address(&sheet, first, Format::Dcc, counted)?;
            Ok(other_count(&sheet, &setting))
        };
        let said: Vec<String> = [
            told(1, Numbering::FromGroupZero),
            told(5, Numbering::FromGroupZero),
            told(1, Numbering::Rcn213),
            told(-3, Numbering::Rcn213),
            told(-4, Numbering::Rcn213),
        ]
        .map(|told: Result<_, String>| told.unwrap_or_else(|error| error))
        .to_vec();
        insta::assert_snapshot!(said.join("\n"));
    }
}
