//! What the operator is asked while a jig is calibrated.

use super::amount::amount;
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
    text
}

/// What is done before anything is on.
const BEGIN: &str = "Disconnect all real loads from the clamps. Everything is off; the zero is \
                         taken first, with nothing connected.";

/// The module comes off the feed.
const MODULE_OFF: &str = "Take the module, and whatever else hangs there, off the two feed \
                              wires. The feed is off.";

/// A resistor is to be connected.
fn connect(place: Place, ohm: f64, volts: Option<f64>) -> String {
    let power = volts.map_or_else(String::new, |v| {
        // Twice what it takes keeps its value steady.
        format!(" for {} W or more", (2.0 * v * v / ohm).ceil())
    });
    let place = match place {
        Place::Clamp(clamp) => format!("the terminals of the real load at clamp {clamp}"),
        Place::Feed => "the two feed wires".into(),
    };
    format!(
        "Connect a resistor of about {}{power}, with the reference meter in series, to {place}. \
         All is off, and goes on when you press Enter.",
        amount(ohm, "ohm")
    )
}

/// What shall be done by hand.
pub fn request(request: &Request) -> String {
    match *request {
        Request::Begin => BEGIN.into(),
        Request::ModuleOff => MODULE_OFF.into(),
        Request::Connect { place, ohm, volts } => connect(place, ohm, volts),
    }
}

/// What is told meanwhile.
pub fn remark(remark: &Remark) -> String {
    match remark {
        Remark::Trips => {
            "  The supply trips with this resistor: left out. Look for a short.".into()
        }
        Remark::OnTooLong => {
            "  The resistor was on for longer than a minute and is off: left out.".into()
        }
        Remark::Clipped { channel } => format!(
            "  Channel {channel} stands at the end of its range: left out. Connect a larger \
             resistor."
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
pub const METER: &str = "  It is on. What does the meter show, with its unit? (q to stop): ";

/// What the meter of a simulated bench shows.
pub fn simulated_meter(ampere: f64) -> String {
    format!("{:.2} mA", ampere * 1e3)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::signal::target::Clamp;

    #[test]
    fn a_resistor_is_asked_for_with_its_power() {
        assert_eq!(
            connect(Place::Feed, 47.0, Some(16.0)),
            "Connect a resistor of about 47 Ω for 11 W or more, with the reference meter in series, \
             to the two feed wires. All is off, and goes on when you press Enter."
        );
        assert!(connect(Place::Clamp(Clamp::ALL[0]), 22.0, None).contains("22 Ω, with"));
        assert_eq!(simulated_meter(0.545_123), "545.12 mA");
    }
}
