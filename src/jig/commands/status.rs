//! `STATus`: the two SCPI registers (SCPI-1999, volume 2, chapter 20).

use super::written;
use crate::jig::output::Answer;
use crate::wire::error::Error;
use crate::wire::message;
use crate::wire::response::Response;
use crate::wire::status::Status;
use crate::wire::tree::Node;

pub fn carry_out(
    status: &mut Status,
    unit: message::Unit<'_>,
    response: &mut Response<'_, Answer>,
) -> Result<(), Error> {
    use Node::*;
    let mut parameters = unit.parameters;
    let mask = match unit.node {
        OperationEnable | OperationPositive | OperationNegative | QuestionableEnable
        | QuestionablePositive | QuestionableNegative
            if !unit.query =>
        {
            parameters.integer(0..=65535)? as u16
        }
        _ => 0,
    };
    parameters.finish()?;
    let register = match unit.node {
        StatusPreset => {
            status.preset();
            return Ok(());
        }
        OperationEvent | OperationCondition | OperationEnable | OperationPositive
        | OperationNegative => &mut status.operation,
        _ => &mut status.questionable,
    };
    let answer = match (unit.node, unit.query) {
        (OperationEvent | QuestionableEvent, _) => register.read_event(),
        (OperationCondition | QuestionableCondition, _) => register.condition(),
        (OperationEnable | QuestionableEnable, true) => register.enable(),
        (OperationPositive | QuestionablePositive, true) => register.positive(),
        (OperationNegative | QuestionableNegative, true) => register.negative(),
        (OperationEnable | QuestionableEnable, false) => {
            register.set_enable(mask);
            return Ok(());
        }
        (OperationPositive | QuestionablePositive, false) => {
            register.set_positive(mask);
            return Ok(());
        }
        _ => {
            register.set_negative(mask);
            return Ok(());
        }
    };
    written(response.integer(answer))
}
