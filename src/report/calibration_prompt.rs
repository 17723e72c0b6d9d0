//! What the operator is asked while a jig is calibrated.

use super::amount::amount;
use super::channel_name::channel_name;
use super::prompt::{Prompt, Subject, line};
use super::wrap::{COLUMNS, wrap};
use crate::procedure::calibration_points::{Remark, Request};
use crate::procedure::references::Place;

/// What is needed, and what to look out for.
pub fn needed(loads: bool, feed: bool, ohms: &[f64], feed_ohms: &[f64]) -> String {
    let list =
        |ohms: &[f64]| ohms.iter().map(|&ohm| amount(ohm, "ohm")).collect::<Vec<_>>().join(", ");
    let mut text = String::from(
        "\nNeeded: a reference meter for direct current, of known accuracy and warmed up.\n",
    );
    if loads {
        text.push_str(&format!(
            "Power resistors of about {} for the clamps. Leave the module or the loop plug seated: \
             it joins bypass and clamp wire.\n",
            list(ohms)
        ));
    }
    if feed {
        text.push_str(&format!("Power resistors of about {} for the feed.\n", list(feed_ohms)));
    }
    text.push_str(
        "Extra-low voltage only, never mains. Both supplies fused. Power resistors get hot enough to \
         burn: keep them free, and let them cool before you touch them.",
    );
    wrap(&text, COLUMNS, 2)
}

/// Before anything is on.
fn begin(jig: &Subject) -> Prompt {
    Prompt::new(
        jig,
        "Everything is off; the zero is taken first, with nothing connected.",
        "disconnect all real loads from the clamps.",
    )
}

/// The module comes off the feed.
fn module_off(jig: &Subject) -> Prompt {
    Prompt::new(
        jig,
        "The feed is off. Whatever else hangs on its two wires comes off too.",
        "take the module off the two feed wires.",
    )
}

/// A resistor is to be connected.
fn connect(jig: &Subject, place: Place, ohm: f64, volts: Option<f64>) -> Prompt {
    let power = volts.map_or_else(String::new, |v| {
        // Twice what it takes keeps its value steady.
        format!(", {} W or more,", (2.0 * v * v / ohm).ceil())
    });
    let (terminals, to) = match place {
        Place::Clamp(clamp) => ("the terminals of the real load", format!("clamp {clamp}")),
        Place::Feed => ("the two feed wires", "the feed".into()),
    };
    Prompt::new(
        jig,
        &format!(
            "The resistor goes to {terminals}, with the reference meter in series. All is off, and \
             goes on when you press Enter."
        ),
        &format!("connect about {}{power} and the meter to {to}.", amount(ohm, "ohm")),
    )
}

/// What shall be done by hand.
pub fn request(request: &Request, jig: &Subject) -> Prompt {
    match *request {
        Request::Begin => begin(jig),
        Request::ModuleOff => module_off(jig),
        Request::Connect { place, ohm, volts } => connect(jig, place, ohm, volts),
    }
}

/// What is told meanwhile.
pub fn remark(remark: &Remark) -> String {
    match remark {
        Remark::Trips => {
            "  The supply trips with this resistor: left out. Connect a larger one, or look for a short.".into()
        }
        Remark::OnTooLong => {
            "  The resistor was on for longer than a minute and is off: left out.".into()
        }
        Remark::Clipped { channel } => format!(
            "  {} stands at the end of its range: left out. Connect a larger resistor.",
            channel_name(*channel)
        ),
        Remark::Slip(slip) => format!("  {slip}."),
        Remark::FarApart { read_a, typed_a } => format!(
            "  The jig reads {}, the meter {}: much farther apart than this jig can be off.\n  \
             Look at the meter's range and unit. Type it again to keep it.",
            amount(*read_a, "A"),
            amount(*typed_a, "A")
        ),
    }
}

/// The meter is to be read.
pub fn meter(jig: &Subject) -> Prompt {
    Prompt { before: String::new(), line: line(jig, "it is on. Read the reference meter.") }
}

/// How to answer that.
pub const METER: &str = "What does it show, with its unit? (q and Enter to stop): ";

/// What the meter of a simulated bench shows.
pub fn simulated_meter(ampere: f64) -> String {
    format!("{:.2} mA", ampere * 1e3)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::wrap::width;
    use crate::signal::target::Clamp;

    #[test]
    fn a_resistor_is_asked_for_with_its_power() {
        let jig = Subject { name: "Jig 0042".into(), address: None };
        let feed = connect(&jig, Place::Feed, 47.0, Some(16.0));
        assert_eq!(
            feed.line,
            "Jig 0042: connect about 47 Ω, 11 W or more, and the meter to the feed."
        );
        let clamp = connect(&jig, Place::Clamp(Clamp::ALL[0]), 22.0, None);
        assert_eq!(clamp.line, "Jig 0042: connect about 22 Ω and the meter to clamp 1a.");
        for prompt in [feed, clamp, begin(&jig), module_off(&jig), meter(&jig)] {
            let widest = prompt.before.lines().chain([prompt.line.as_str()]).map(width).max();
            assert!(widest <= Some(COLUMNS), "{prompt:?}");
        }
        assert_eq!(simulated_meter(0.545_123), "545.12 mA");
    }
}
