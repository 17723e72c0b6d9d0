//! What each command does.

use super::{Flow, contact, diagnostic, drive, route, sense, source};
use crate::jig::board::Board;
use crate::jig::hand::HandAct;
use crate::jig::instrument::{Instrument, SILENCE, SILENCE_LIMITS};
use crate::jig::phase::For;
use crate::wire::error::Error;
use crate::wire::event;
use crate::wire::tree::Command;
use crate::wire::words::Polarity;

/// Carries one command out.
///
/// # Errors
/// Any error of the language; nothing has been carried out then.
pub fn carry_out<B: Board>(
    instrument: &mut Instrument<B>,
    command: Command<'_>,
) -> Result<Flow, Error> {
    let busy = instrument.is_busy();
    let Instrument { status, power, board, captures, .. } = instrument;
    match command {
        Command::Cls(_) => {
            status.clear();
            instrument.announces_completion = false;
        }
        Command::Ese(to) => status.set_event_enable(to.mask),
        Command::Opc(_) if busy => instrument.announces_completion = true,
        Command::Opc(_) => {
            instrument.announces_completion = false;
            instrument.status.set_event(event::OPERATION_COMPLETE);
        }
        Command::Rst(_) => instrument.reset(),
        Command::Sre(to) => status.set_service_enable(to.mask),
        Command::Wai(_) if busy => return Ok(Flow::Wait(For::Operations)),
        Command::Wai(_) => {}

        Command::Silence(to) => {
            instrument.silence_us = to.limit.resolve(&SILENCE_LIMITS, SILENCE)?.in_us();
        }
        Command::SealEnd(_) => {
            instrument.make_safe();
            instrument.session.end();
        }

        Command::OperationEnable(to) => status.operation.set_enable(to.mask),
        Command::OperationPositive(to) => status.operation.set_positive(to.mask),
        Command::OperationNegative(to) => status.operation.set_negative(to.mask),
        Command::QuestionableEnable(to) => status.questionable.set_enable(to.mask),
        Command::QuestionablePositive(to) => status.questionable.set_positive(to.mask),
        Command::QuestionableNegative(to) => status.questionable.set_negative(to.mask),
        Command::StatusPreset(_) => status.preset(),

        Command::Output(to) => instrument.set_output(to.supply, to.on)?,
        Command::Polarity(to) => power.set_inverted(to.polarity == Polarity::Inverted, board)?,
        Command::ProtectionClear(of) => instrument.clear_trip(of.supply),
        Command::SoftStartLimit(to) => source::set_soft_start_limit(instrument, to)?,
        Command::ProtectionLevel(to) => source::set_level(power, to)?,
        Command::ProtectionDelay(to) => source::set_delay(power, to)?,

        Command::Close(these) => route::close(instrument, &these.channels)?,
        Command::Open(these) => route::open(instrument, &these.channels)?,
        Command::OpenAll(_) => instrument.open_all(),
        Command::Duty(to) => route::set_duty(instrument, &to)?,
        Command::Scan(these) => route::set_scan(captures, board, &these)?,

        Command::SweepPoints(to) => sense::set_points(captures, to)?,
        Command::SweepInterval(to) => sense::set_interval(captures, to)?,
        Command::SweepOffset(to) => sense::set_offset(captures, to)?,
        Command::AverageCount(to) => sense::set_average(captures, to)?,

        Command::TriggerSource(to) => captures.sweep_mut(to.unit).source = to.source,
        Command::Trigger(of) => captures.trigger(of.unit, board.now_us())?,
        Command::Initiate(of) => {
            let begun = instrument.drive.begun();
            captures.arm(of.unit, begun, board.now_us(), board)?;
        }
        Command::Abort(of) => captures.abort(of.unit, board.now_us(), board),

        Command::Idle(to) => instrument.drive.set_idle(to.idle, board),
        Command::Packet(of) => instrument.send(drive::packet(&of)?)?,
        Command::Pulses(of) => instrument.send(drive::pulses(&of)?)?,
        Command::Contact(of) => contact::close(instrument, &of)?,

        Command::HandSwitches(to) => diagnostic::hand(board, HandAct::Switches(to.on))?,
        Command::HandAuxiliary(to) => diagnostic::hand(board, HandAct::Auxiliary(to.on))?,
        Command::HandModule(to) => diagnostic::hand(board, HandAct::Module(to.seated))?,
        Command::HandButton(to) => diagnostic::hand(board, HandAct::Button(to.down))?,
        Command::HandReference(to) => diagnostic::hand(board, diagnostic::reference(&to)?)?,
    }
    Ok(Flow::Done)
}
