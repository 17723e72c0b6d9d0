//! How a module is set to an address, as one JSON object for other programs.

use super::setting_text::digits_text;
use crate::script::module_sheet::{ModuleSheet, NUMBERINGS};
use crate::script::setting::{Code, Sent, Setting, write_switches};
use crate::signal::dcc::Numbering;
use crate::signal::target::Format;
use serde::Serialize;

#[derive(Serialize)]
struct Whole<'a> {
    kind: &'a str,
    format: String,
    /// How addresses are counted; for packets only.
    numbering: Option<&'static str>,
    first_address: u16,
    /// Switch 1 first, 1 is on.
    switches: String,
    repeat: u8,
    outputs: Vec<Output>,
}

#[derive(Serialize)]
struct Output {
    output: u8,
    address: u16,
    /// The address by the other way of counting.
    counted_otherwise: Option<u16>,
    a: Command,
    b: Command,
}

#[derive(Serialize)]
struct Command {
    /// Bytes in hexadecimal, for packets.
    #[serde(skip_serializing_if = "Option::is_none")]
    bytes: Option<String>,
    /// Digits, for three-state words.
    #[serde(skip_serializing_if = "Option::is_none")]
    digits: Option<String>,
    once_us: u32,
    in_all_us: u32,
}

/// The object, its line ended.
pub fn setting_json(sheet: &ModuleSheet, setting: &Setting) -> String {
    let outputs = setting.outputs.iter().map(|output| {
        let [a, b] = [&output.sent[0], &output.sent[1]].map(command);
        Output {
            output: output.output,
            address: output.address,
            counted_otherwise: output.counted_otherwise,
            a,
            b,
        }
    });
    let whole = Whole {
        kind: &sheet.kind,
        format: setting.format.to_string(),
        numbering: (setting.format == Format::Dcc).then(|| name(setting.counted)),
        first_address: setting.first(),
        switches: write_switches(setting.switches, sheet.switches.weights.len()),
        repeat: sheet.repeat,
        outputs: outputs.collect(),
    };
    // Strings and numbers only: cannot fail.
    serde_json::to_string(&whole).unwrap_or_default() + "\n"
}

fn name(numbering: Numbering) -> &'static str {
    NUMBERINGS.iter().find(|(_, n)| *n == numbering).map_or("", |(name, _)| name)
}

fn command(sent: &Sent) -> Command {
    let (bytes, digits) = match &sent.code {
        Code::Bytes(bytes) => (Some(bytes.iter().map(|b| format!("{b:02X}")).collect()), None),
        Code::Digits(digits) => (None, Some(digits_text(digits))),
    };
    Command { bytes, digits, once_us: sent.once_us, in_all_us: sent.in_all_us }
}
