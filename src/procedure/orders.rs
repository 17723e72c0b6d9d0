//! The orders that procedures give: one place for their words.

use crate::link::scpi::{idle_level, list};
use crate::script::plan::Polarity;
use crate::signal::target::Format;
use core::time::Duration;

/// Turns the feed off.
pub const FEED_OFF: &str = "OUTP1 OFF";
/// Turns the load supply on.
pub const LOADS_ON: &str = "OUTP2 ON";
/// Turns the load supply off.
pub const LOADS_OFF: &str = "OUTP2 OFF";
/// Opens every switch, bypass and contact closer.
pub const OPEN_ALL: &str = "ROUT:OPEN:ALL";
/// Forgets that the feed has tripped.
pub const CLEAR_FEED_TRIP: &str = "OUTP1:PROT:CLE";
/// Forgets that the load supply has tripped.
pub const CLEAR_LOADS_TRIP: &str = "OUTP2:PROT:CLE";
/// Ends the capture of the fast unit.
pub const END_CAPTURE: &str = "ABOR1";
/// Asks for the charge of the last soft start, and for the limit of its current.
pub const START_CHARGE: &str = "OUTP1:CHAR?;:SOUR1:CURR:LIM?";
/// Turns the feed on for a resistor: a level that rests is direct current, which an ordinary meter
/// reads.
pub const FEED_ON_AT_REST: &str = "OUTP1:POL NORM;:SOUR1:CURR:LIM 0.5;:DRIV:IDLE HIGH;:OUTP1 ON";
/// Asks what the reference meter of a simulated bench shows.
pub const SIMULATED_METER: &str = "DIAG:HAND:MET?";

/// Several orders in one line: nothing that the line does can come between them.
pub fn in_one_line(orders: &[&str]) -> String {
    orders.join(";:")
}

/// Turns the feed on for a module.
pub fn feed_on(polarity: Polarity, format: Format) -> String {
    let sense = match polarity {
        Polarity::Normal => "NORM",
        Polarity::Inverted => "INV",
    };
    in_one_line(&[&format!("OUTP1:POL {sense}"), &rest_in(format), "OUTP1 ON"])
}

/// What the feed carries between commands.
pub fn rest_in(format: Format) -> String {
    format!("DRIV:IDLE {}", idle_level(format))
}

/// Closes switches.
pub fn close(switches: &[u16]) -> String {
    format!("ROUT:CLOS (@{})", list(switches))
}

/// Opens switches.
pub fn open(switches: &[u16]) -> String {
    format!("ROUT:OPEN (@{})", list(switches))
}

/// How long a switch may be closed at a time, and what it then rests.
pub fn duty(on: Duration, rest: Duration, switch: u16) -> String {
    format!("ROUT:DUTY {:.3},{:.3},(@{switch})", on.as_secs_f64(), rest.as_secs_f64())
}

/// Asks for the mean currents of channels.
pub fn currents(channels: &[u16]) -> String {
    format!("MEAS:CURR? (@{})", list(channels))
}

/// Asks for the mean voltages of channels.
pub fn voltages(channels: &[u16]) -> String {
    format!("MEAS:VOLT? (@{})", list(channels))
}

/// Asks for resistances; everything is off.
pub fn resistances(channels: &[u16]) -> String {
    format!("MEAS:RES? (@{})", list(channels))
}

/// Has a simulated bench set the module's switches.
pub fn simulated_switches(switches: impl core::fmt::Display) -> String {
    format!("DIAG:HAND:SWIT {switches}")
}

/// Has a simulated bench move the slider of the auxiliary supply.
pub fn simulated_slider(on: bool) -> String {
    format!("DIAG:HAND:AUX {}", u8::from(on))
}

/// Has a simulated bench connect a reference resistor where a channel's current flows; 0 takes it
/// away.
pub fn simulated_reference(ohm: f64, channel: u16) -> String {
    format!("DIAG:HAND:REF {ohm},(@{channel})")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn orders_in_one_line_start_from_the_root_each() {
        let line = in_one_line(&[&close(&[301, 311]), LOADS_ON, &currents(&[101])]);
        assert_eq!(line, "ROUT:CLOS (@301,311);:OUTP2 ON;:MEAS:CURR? (@101)");
        assert_eq!(
            feed_on(Polarity::Inverted, Format::Trinary),
            "OUTP1:POL INV;:DRIV:IDLE LOW;:OUTP1 ON"
        );
    }
}
