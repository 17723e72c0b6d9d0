use super::*;
use crate::wire::error::QUEUE_SIZE;

#[test]
fn power_on_sets_only_its_bit() {
    let mut status = Status::new();
    assert_eq!(status.status_byte(false), 0);
    assert_eq!(status.read_event(), event::POWER_ON);
    assert_eq!(status.read_event(), 0);
}

/// IEEE 488.2, 11.5.1.1: each class of error has its bit.
#[test]
fn errors_set_the_bit_of_their_class() {
    for (code, bit) in [
        (ErrorCode::UndefinedHeader, 32),
        (ErrorCode::SettingsConflict, 16),
        (ErrorCode::InputOverrun, 8),
        (ErrorCode::QueryAfterIndefinite, 4),
    ] {
        let mut status = Status::new();
        status.clear();
        status.report(code);
        assert_eq!(status.status_byte(false), byte::ERROR_QUEUE);
        assert_eq!(status.read_event(), bit);
        assert_eq!(status.next_error(), code.into());
        assert_eq!(status.next_error(), ErrorCode::NoError.into());
    }
}

#[test]
fn an_overflow_is_an_event_too() {
    let mut status = Status::new();
    for _ in 0..QUEUE_SIZE {
        status.report(ErrorCode::Syntax);
    }
    status.read_event();
    status.report(ErrorCode::Syntax);
    assert_eq!(status.read_event(), event::COMMAND_ERROR | event::DEVICE_ERROR);
    assert_eq!(status.error_count(), QUEUE_SIZE);
}

#[test]
fn summaries_climb_to_the_master_bit() {
    let mut status = Status::new();
    status.clear();
    status.operation.set(operation::SENDING, true);
    assert_eq!(status.status_byte(false), 0, "not enabled");
    status.operation.set_enable(operation::SENDING);
    assert_eq!(status.status_byte(false), 128);
    status.set_service_enable(0xFF);
    assert_eq!(status.service_enable(), 0xBF, "bit 6 stays zero");
    assert_eq!(status.status_byte(false), 128 + 64);
    assert_eq!(status.status_byte(true), 128 + 64 + 16);
    status.operation.read_event();
    assert_eq!(status.status_byte(false), 0);
    status.set_event_enable(event::OPERATION_COMPLETE);
    status.set_event(event::OPERATION_COMPLETE);
    assert_eq!(status.status_byte(false), 32 + 64);
}

#[test]
fn filters_choose_rise_and_fall() {
    let mut register = Register::new();
    register.set(2, true);
    assert_eq!(register.read_event(), 2);
    register.set(2, true);
    assert_eq!(register.read_event(), 0, "no change, no event");
    register.set(2, false);
    assert_eq!(register.read_event(), 0, "falls are off at rest");
    register.set_positive(0);
    register.set_negative(2);
    register.set(2, true);
    assert_eq!(register.read_event(), 0);
    register.set(2, false);
    assert_eq!(register.read_event(), 2);
    register.set_negative(0xFFFF);
    register.set_condition(0x8000);
    assert_eq!((register.negative(), register.condition()), (0x7FFF, 0), "bit 15 is never used");
}

#[test]
fn a_pulse_leaves_an_event_and_no_condition() {
    let mut register = Register::new();
    register.pulse(questionable::SILENCE);
    assert_eq!(register.condition(), 0);
    assert_eq!(register.read_event(), questionable::SILENCE);
}

/// SCPI-1999, volume 2, 20.7, and IEEE 488.2, 10.3: presetting touches masks, clearing events.
#[test]
fn clear_and_preset_each_touch_their_half() {
    let mut status = Status::new();
    status.questionable.set_enable(7);
    status.questionable.set_positive(3);
    status.questionable.set(1, true);
    status.set_event_enable(60);
    status.clear();
    assert_eq!(status.questionable.read_event(), 0);
    assert_eq!((status.questionable.enable(), status.questionable.positive()), (7, 3));
    assert_eq!((status.event_enable(), status.questionable.condition()), (60, 1));
    status.questionable.set(2, true);
    status.preset();
    assert_eq!((status.questionable.enable(), status.questionable.positive()), (0, 0x7FFF));
    assert_eq!(status.questionable.read_event(), 2, "events stay");
    assert_eq!(status.event_enable(), 60, "the standard masks stay");
}
