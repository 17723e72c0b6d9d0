//! What each query answers.

use super::{Context, Flow, answer_complete, answer_preamble, contact, diagnostic, fetch};
use super::{measure, route, sense, source};
use crate::jig::board::{Board, Identity};
use crate::jig::contacts::Contacts;
use crate::jig::drive::Drive;
use crate::jig::duty::Duty;
use crate::jig::instrument::{Instrument, SILENCE, SILENCE_LIMITS};
use crate::jig::phase::For;
use crate::jig::power::Charge;
use crate::jig::sensor::describe;
use crate::wire::answers::{self, Closure, Identification, SoftStart};
use crate::wire::channel::{Description, Kind};
use crate::wire::data::{Measured, Seconds};
use crate::wire::error::{Error, ErrorCode};
use crate::wire::sequence::Values;
use crate::wire::tree::Query;
use crate::wire::unit::Reply;
use crate::wire::version::{PROTOCOL, Version};
use crate::wire::words::Polarity;

/// The version of SCPI that the language keeps to.
const SCPI: Version = Version { major: 1999, minor: 0 };

/// Answers one query, or says what it waits for.
///
/// # Errors
/// Any error of the language; nothing has been answered then.
pub fn answer<B: Board>(
    instrument: &mut Instrument<B>,
    query: Query<'_>,
    context: Context,
    answer: &mut impl Reply,
) -> Result<Flow, Error> {
    let busy = instrument.is_busy();
    let Instrument { status, power, board, captures, switches, .. } = instrument;
    match query {
        Query::Ese(q) => answer.reply(&q, &status.event_enable()),
        Query::Esr(q) => answer.reply(&q, &status.read_event()),
        Query::Idn(q) => answer.reply(&q, &identification(board.identity())),
        Query::Opc(_) if busy => return Ok(Flow::Wait(For::OperationsAnswered)),
        Query::Opc(_) => answer_complete(answer),
        Query::Sre(q) => answer.reply(&q, &status.service_enable()),
        Query::Stb(q) => answer.reply(&q, &status.status_byte(context.message_available)),
        Query::Tst(q) => answer.reply(&q, &board.self_test()),

        Query::Zero(q) => answer.reply(&q, &zeros(board)),
        Query::ZeroTime(q) => answer.reply(&q, &board.zeros_us()),

        Query::ErrorNext(q) => answer.reply(&q, &status.next_error().into()),
        Query::ErrorCount(q) => answer.reply(&q, &(status.error_count() as u32)),
        Query::Version(q) => answer.reply(&q, &SCPI),
        Query::Protocol(q) => answer.reply(&q, &PROTOCOL),
        Query::Clock(q) => answer.reply(&q, &board.now_us()),
        Query::Silence(q) => {
            let set = Seconds::from_us(instrument.silence_us);
            answer.reply(&q, &q.bound.map_or(set, |bound| bound.of(&SILENCE_LIMITS, SILENCE)))
        }
        Query::SealState(q) => answer.reply(&q, &instrument.session.is_sealed()),
        Query::ChannelCatalog(q) => {
            answer.reply(&q, &board.channels().iter().map(|d| d.channel).collect())
        }
        Query::ChannelDescribe(q) => answer.reply(
            &q,
            describe(board.channels(), q.channel.0)
                .ok_or(ErrorCode::DataOutOfRange.because("no such channel"))?,
        ),

        Query::OperationEvent(q) => answer.reply(&q, &status.operation.read_event()),
        Query::OperationCondition(q) => answer.reply(&q, &status.operation.condition()),
        Query::OperationEnable(q) => answer.reply(&q, &status.operation.enable()),
        Query::OperationPositive(q) => answer.reply(&q, &status.operation.positive()),
        Query::OperationNegative(q) => answer.reply(&q, &status.operation.negative()),
        Query::QuestionableEvent(q) => answer.reply(&q, &status.questionable.read_event()),
        Query::QuestionableCondition(q) => answer.reply(&q, &status.questionable.condition()),
        Query::QuestionableEnable(q) => answer.reply(&q, &status.questionable.enable()),
        Query::QuestionablePositive(q) => answer.reply(&q, &status.questionable.positive()),
        Query::QuestionableNegative(q) => answer.reply(&q, &status.questionable.negative()),

        Query::Output(q) => answer.reply(&q, &power.is_on(q.supply)),
        Query::Polarity(q) => {
            let inverted = power.is_inverted();
            answer.reply(&q, &if inverted { Polarity::Inverted } else { Polarity::Normal })
        }
        Query::ProtectionTripped(q) => answer.reply(&q, &power.is_tripped(q.supply)),
        Query::Charge(q) => answer.reply(&q, &soft_start(power.charge())),
        Query::SoftStartLimit(q) => answer.reply(&q, &source::soft_start_limit(power, &q)),
        Query::ProtectionLevel(q) => answer.reply(&q, &source::level(power, &q)),
        Query::ProtectionDelay(q) => answer.reply(&q, &source::delay(power, &q)),

        Query::Close(q) => answer.reply(&q, &route::are(true, &q.channels, switches, board)?),
        Query::Open(q) => answer.reply(&q, &route::are(false, &q.channels, switches, board)?),
        Query::Duty(q) => answer.reply(&q, &duty(switches.duty(q.load.0, board)?)),
        Query::Warmth(q) => {
            let now_us = instrument.board.now_us();
            instrument.advance_duties(now_us);
            answer.reply(&q, &instrument.switches.warmth())
        }
        Query::Scan(q) => {
            answer.reply(&q, &captures.sweep(q.unit).channels.iter().copied().collect())
        }

        Query::SweepPoints(q) => answer.reply(&q, &sense::points(captures, &q)),
        Query::SweepInterval(q) => answer.reply(&q, &sense::interval(captures, &q)),
        Query::SweepOffset(q) => answer.reply(&q, &sense::offset(captures, &q)),
        Query::AverageCount(q) => answer.reply(&q, &sense::average(captures, &q)),

        Query::TriggerSource(q) => answer.reply(&q, &captures.sweep(q.unit).source),
        Query::Fetch(q) => return fetch::block(captures, &q, context.sealed, answer),
        Query::FetchPreamble(q) if captures.capture(q.unit).crc().is_none() => {
            return Ok(Flow::Wait(For::Checksum(q.unit)));
        }
        Query::FetchPreamble(q) => answer_preamble(instrument, q.unit, answer),
        Query::MeasureCurrent(q) => return measure::currents(instrument, &q.channels),
        Query::MeasureVoltage(q) => return measure::voltages(instrument, &q.channels),
        Query::MeasureResistance(q) => return measure::resistances(instrument, &q.channels),

        Query::Idle(q) => answer.reply(&q, &instrument.drive.idle()),
        Query::Sent(q) => answer.reply(&q, &sent(&instrument.drive)),
        Query::ContactTime(q) => answer.reply(&q, &closure(&instrument.contacts)),
        Query::Button(q) => answer.reply(&q, &contact::button(instrument)?),
        Query::HandMeter(q) => answer.reply(&q, &diagnostic::meter(board)?),
    }?;
    Ok(Flow::Done)
}

/// The zeros of all currents, in amperes.
fn zeros<B: Board>(board: &mut B) -> Values<Measured> {
    let mut zeros = Values(heapless::Vec::new());
    for at in 0..board.channels().len() {
        let Description { kind, channel, scale, .. } = board.channels()[at];
        if kind == Kind::Current {
            // No jig has more currents than an answer has room for.
            let _ = zeros.0.push(Measured(f64::from(board.zero(channel)) * scale));
        }
    }
    zeros
}

fn identification(who: Identity<'_>) -> Identification {
    Identification {
        model: answers::field(who.model),
        serial: answers::field(who.serial),
        firmware: answers::field(who.firmware),
    }
}

fn soft_start(last: Charge) -> SoftStart {
    let Charge { charge_c, duration_us, done, step_a } = last;
    SoftStart { charge_c, duration_s: Seconds::from_us(duration_us).0, done, step_a }
}

fn duty(of: &Duty) -> answers::Duty {
    let (on_us, rest_us) = of.limits_us();
    answers::Duty { on_s: Seconds::from_us(on_us).0, rest_s: Seconds::from_us(rest_us).0 }
}

fn sent(drive: &Drive) -> answers::Sent {
    let (count, ends) = drive.sent();
    answers::Sent {
        count,
        last_end_us: ends.last_us,
        first_end_us: ends.first_us,
        second_end_us: ends.second_us,
    }
}

fn closure(contacts: &Contacts) -> Closure {
    let (began_us, ends_us) = contacts.last_us();
    Closure { began_us, ends_us }
}
