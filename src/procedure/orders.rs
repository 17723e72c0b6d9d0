//! The orders that procedures give. Several in one line stand in a tuple: nothing that the line does
//! can come between them.

use crate::script::plan::Polarity;
use crate::signal::target::Format;
use crate::wire::channel_list::ChannelList;
use crate::wire::channels::OneChannel;
use crate::wire::data::{Amperes, Ohms, Seconds};
use crate::wire::request::Request;
use crate::wire::setting::Setting;
use crate::wire::suffix::{CaptureUnit, Supply};
use crate::wire::tree::{command, query};
use crate::wire::words::{self, Idle};
use core::time::Duration;

/// The highest limit that a soft start takes: a resistor's current is no inrush.
const RESISTOR_LIMIT: Amperes = Amperes(0.5);

/// Turns the feed off.
pub const FEED_OFF: command::Output = command::Output { supply: Supply::Feed, on: false };
/// Turns the load supply on.
pub const LOADS_ON: command::Output = command::Output { supply: Supply::Loads, on: true };
/// Turns the load supply off.
pub const LOADS_OFF: command::Output = command::Output { supply: Supply::Loads, on: false };
/// Opens every switch, bypass and contact closer.
pub const OPEN_ALL: command::OpenAll = command::OpenAll {};
/// Ends the capture of the fast unit.
pub const END_CAPTURE: command::Abort = command::Abort { unit: CaptureUnit::Capture };
/// Asks for the charge of the last soft start, and for the limit of its current.
pub const START_CHARGE: (query::Charge, query::SoftStartLimit) =
    (query::Charge {}, query::SoftStartLimit { bound: None });
/// Asks what the reference meter of a simulated bench shows.
pub const SIMULATED_METER: query::HandMeter = query::HandMeter {};

/// Forgets that a supply has tripped.
pub fn clear_trip(supply: Supply) -> command::ProtectionClear {
    command::ProtectionClear { supply }
}

/// Turns the feed on for a module.
pub fn feed_on(polarity: Polarity, format: Format) -> impl Request {
    let polarity = match polarity {
        Polarity::Normal => words::Polarity::Normal,
        Polarity::Inverted => words::Polarity::Inverted,
    };
    let on = command::Output { supply: Supply::Feed, on: true };
    (command::Polarity { polarity }, rest_in(format), on)
}

/// Turns the feed on for a resistor: a level that rests is direct current, which an ordinary meter
/// reads.
pub fn feed_on_at_rest() -> impl Request {
    (
        command::Polarity { polarity: words::Polarity::Normal },
        command::SoftStartLimit { limit: Setting::Value(RESISTOR_LIMIT) },
        command::Idle { idle: Idle::High },
        command::Output { supply: Supply::Feed, on: true },
    )
}

/// What the feed carries between commands.
pub fn rest_in(format: Format) -> command::Idle {
    let idle = match format {
        Format::Dcc => Idle::Packets,
        // Its telegrams begin with a long pause at the low level.
        Format::Trinary => Idle::Low,
    };
    command::Idle { idle }
}

/// Closes switches.
pub fn close(switches: &[u16]) -> command::Close<'_> {
    command::Close { channels: ChannelList::of(switches) }
}

/// Opens switches.
pub fn open(switches: &[u16]) -> command::Open<'_> {
    command::Open { channels: ChannelList::of(switches) }
}

/// How long a load may be on at a time, and what it then rests, to the millisecond.
pub fn duty(on: Duration, rest: Duration, switches: &[u16]) -> command::Duty<'_> {
    let time = |time: Duration| Setting::Value(Seconds((time.as_secs_f64() * 1e3).round() / 1e3));
    command::Duty { on: time(on), rest: time(rest), loads: ChannelList::of(switches) }
}

/// Asks for the mean currents of channels.
pub fn currents(channels: &[u16]) -> query::MeasureCurrent<'_> {
    query::MeasureCurrent { channels: ChannelList::of(channels) }
}

/// Asks for the mean voltages of channels.
pub fn voltages(channels: &[u16]) -> query::MeasureVoltage<'_> {
    query::MeasureVoltage { channels: ChannelList::of(channels) }
}

/// Asks for resistances; everything is off.
pub fn resistances(channels: &[u16]) -> query::MeasureResistance<'_> {
    query::MeasureResistance { channels: ChannelList::of(channels) }
}

/// Has a simulated bench set the module's switches; bit 0 is switch 1.
pub fn simulated_switches(on: u32) -> command::HandSwitches {
    command::HandSwitches { on }
}

/// Has a simulated bench move the slider of the auxiliary supply.
pub fn simulated_slider(on: bool) -> command::HandAuxiliary {
    command::HandAuxiliary { on }
}

/// Has a simulated bench seat its module, or take it out.
pub fn simulated_module(seated: bool) -> command::HandModule {
    command::HandModule { seated }
}

/// Has a simulated bench connect a reference resistor where a channel's current flows; 0 takes it
/// away.
pub fn simulated_reference(ohm: f64, channel: u16) -> command::HandReference {
    command::HandReference { resistance: Ohms(ohm), place: OneChannel(channel) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::request::text;

    #[test]
    fn orders_in_one_line_start_from_the_root_each() {
        let line = (close(&[301, 311]), LOADS_ON, currents(&[101]));
        let words = text(&line).unwrap();
        assert_eq!(words, "ROUT:CLOS (@301,311);:OUTP2 ON;:MEAS:CURR? (@101)");
        let words = text(&feed_on(Polarity::Inverted, Format::Trinary)).unwrap();
        assert_eq!(words, "OUTP1:POL INV;:DRIV:IDLE LOW;:OUTP1 ON");
    }

    #[test]
    fn duties_are_told_to_the_millisecond() {
        let on = Duration::from_micros(1_234_567);
        let words = text(&duty(on, Duration::from_secs(20), &[301])).unwrap();
        assert_eq!(words, "ROUT:DUTY 1.235E+0,2.0E+1,(@301)");
    }
}
