//! `CONTact`: contact inputs closed for a time.

use super::{microseconds, written};
use crate::jig::board::Board;
use crate::jig::contacts::Contacts;
use crate::jig::instrument::Instrument;
use crate::jig::output::Answer;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::message;
use crate::wire::number::Unit::Second;
use crate::wire::response::Response;
use crate::wire::tree::Node;
use heapless::Vec;

/// How long a closure may last, in seconds.
const CLOSURE_S: (f64, f64) = (0.001, 60.0);

pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    unit: message::Unit<'_>,
    response: &mut Response<'_, Answer>,
) -> Result<(), Error> {
    let mut parameters = unit.parameters;
    if unit.node == Node::ContactTime {
        parameters.finish()?;
        let (began_us, ends_us) = instrument.contacts.last_us();
        written(response.integer(began_us))?;
        return written(response.integer(ends_us));
    }
    let time_s = parameters.number(Second)?;
    let list = parameters.channels()?;
    parameters.finish()?;
    if !(CLOSURE_S.0..=CLOSURE_S.1).contains(&time_s) {
        return Err(ErrorCode::DataOutOfRange.because("1 ms to 60 s"));
    }
    let mut channels = Vec::<u16, 8>::new();
    for channel in list.channels() {
        if Contacts::index(channel).is_none() {
            return Err(ErrorCode::DataOutOfRange.because("no such contact closer"));
        }
        instrument.switches.is_closed(channel, &instrument.board)?;
        channels
            .push(channel)
            .map_err(|_| ErrorCode::TooMuchData.because("8 contact closers at most"))?;
    }
    instrument.close_contacts(&channels, microseconds(time_s));
    Ok(())
}
