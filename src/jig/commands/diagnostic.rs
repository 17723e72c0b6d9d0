//! `DIAGnostic`: what an operator's hand would do, on a simulated bench.

use crate::jig::board::{Board, HandAct, NotFitted};
use crate::jig::instrument::Instrument;
use crate::wire::error::{Error, ErrorCode};
use crate::wire::message;
use crate::wire::tree::Node;

pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    unit: message::Unit<'_>,
) -> Result<(), Error> {
    let mut parameters = unit.parameters;
    let act = match unit.node {
        Node::HandSwitches => {
            HandAct::Switches(parameters.integer(0..=i64::from(u32::MAX))? as u32)
        }
        _ => HandAct::Auxiliary(parameters.boolean()?),
    };
    parameters.finish()?;
    instrument.board.hand(act).map_err(|NotFitted| ErrorCode::HardwareMissing.into())
}
