//! `MEASure`: means over a short while.

use super::Flow;
use crate::jig::board::{Board, Supply};
use crate::jig::instrument::Instrument;
use crate::jig::measure::{CHANNELS_MAX, Measurement};
use crate::jig::phase::For;
use crate::jig::sensor::{Sensor, describe};
use crate::wire::channel::Kind;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::message;
use crate::wire::tree::Node;
use heapless::Vec;

pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    unit: message::Unit<'_>,
) -> Result<Flow, Error> {
    let mut parameters = unit.parameters;
    let list = parameters.channels()?;
    parameters.finish()?;
    let (kind, unknown) = match unit.node {
        Node::MeasureCurrent => (Kind::Current, "no such current"),
        Node::MeasureVoltage => (Kind::Voltage, "no such voltage"),
        _ => (Kind::Resistance, "no such resistance"),
    };
    let mut sensors = Vec::<Sensor, CHANNELS_MAX>::new();
    for channel in list.channels() {
        let description = describe(instrument.board.channels(), channel)
            .filter(|d| d.kind == kind)
            .ok_or(ErrorCode::DataOutOfRange.because(unknown))?;
        sensors
            .push(description.into())
            .map_err(|_| ErrorCode::TooMuchData.because("32 channels at most"))?;
    }
    if sensors.is_empty() {
        return Err(ErrorCode::MissingParameter.because("no channel"));
    }
    let powered = instrument.power.is_on(Supply::Feed) || instrument.power.is_on(Supply::Loads);
    if kind == Kind::Resistance && powered {
        return Err(ErrorCode::SettingsConflict.because("switch both supplies off first"));
    }
    let now_us = instrument.board.now_us();
    instrument.measurement = Some(if kind == Kind::Resistance {
        Measurement::of_resistances(sensors, now_us, &mut instrument.board)
    } else {
        Measurement::new(sensors, now_us)
    });
    Ok(Flow::Wait(For::Measurement))
}
