//! Means over a short while.

use super::Flow;
use crate::jig::board::{Board, Supply};
use crate::jig::instrument::Instrument;
use crate::jig::measure::{CHANNELS_MAX, Measurement};
use crate::jig::phase::For;
use crate::jig::sensor::{Sensor, describe};
use crate::wire::channel::Kind;
use crate::wire::channel_list::ChannelList;
use crate::wire::data::Measured;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::refusal::Refusal;
use crate::wire::tree::query;
use crate::wire::unit::Reply;
use heapless::Vec;

/// Begins to measure currents.
///
/// # Errors
/// See [`sensors`].
pub fn currents<B: Board>(
    instrument: &mut Instrument<B>,
    list: &ChannelList<'_>,
) -> Result<Flow, Error> {
    let sensors = sensors(Kind::Current, "no such current", list, &instrument.board)?;
    Ok(begin(instrument, sensors))
}

/// Begins to measure voltages.
///
/// # Errors
/// See [`sensors`].
pub fn voltages<B: Board>(
    instrument: &mut Instrument<B>,
    list: &ChannelList<'_>,
) -> Result<Flow, Error> {
    let sensors = sensors(Kind::Voltage, "no such voltage", list, &instrument.board)?;
    Ok(begin(instrument, sensors))
}

/// Begins to measure resistances.
///
/// # Errors
/// 106 while a supply is on; else see [`sensors`].
pub fn resistances<B: Board>(
    instrument: &mut Instrument<B>,
    list: &ChannelList<'_>,
) -> Result<Flow, Error> {
    let sensors = sensors(Kind::Resistance, "no such resistance", list, &instrument.board)?;
    if instrument.power.is_on(Supply::Feed) || instrument.power.is_on(Supply::Loads) {
        return Err(Refusal::SupplyOn.into());
    }
    let now_us = instrument.board.now_us();
    let measurement = Measurement::of_resistances(sensors, now_us, &mut instrument.board);
    instrument.measurement = Some(measurement);
    Ok(Flow::Wait(For::Measurement))
}

/// Answers with what was measured.
///
/// # Errors
/// -430 when it does not fit.
pub fn answer(measurement: &Measurement, answer: &mut impl Reply) -> Result<(), Error> {
    // All three measuring queries are answered alike.
    let query = query::MeasureCurrent { channels: ChannelList::of(&[]) };
    answer.reply(&query, &measurement.values().map(Measured).collect())
}

fn begin<B: Board>(instrument: &mut Instrument<B>, sensors: Vec<Sensor, CHANNELS_MAX>) -> Flow {
    let now_us = instrument.board.now_us();
    instrument.measurement = Some(Measurement::new(sensors, now_us));
    Flow::Wait(For::Measurement)
}

/// The sensors of a list.
///
/// # Errors
/// -222 for a channel that is of another kind, -223 for too many, -109 for none.
fn sensors<B: Board>(
    kind: Kind,
    unknown: &'static str,
    list: &ChannelList<'_>,
    board: &B,
) -> Result<Vec<Sensor, CHANNELS_MAX>, Error> {
    let mut sensors = Vec::new();
    for channel in list.channels() {
        let description = describe(board.channels(), channel)
            .filter(|d| d.kind == kind)
            .ok_or(ErrorCode::DataOutOfRange.because(unknown))?;
        sensors
            .push(description.into())
            .map_err(|_| ErrorCode::TooMuchData.because("32 channels at most"))?;
    }
    if sensors.is_empty() {
        return Err(ErrorCode::MissingParameter.because("no channel"));
    }
    Ok(sensors)
}
