use super::*;
use crate::link::scripted::Scripted;
use crate::wire::seal::{Opened, Sealed, Trailer, open};
use core::cell::RefCell;
use proptest::prelude::*;
use std::rc::Rc;

const MS: Duration = Duration::from_millis(1);

/// What a jig does about sealed lines, as far as the host sees it: carries each out once and
/// remembers its last answer.
#[derive(Default)]
struct ToyJig {
    line: Vec<u8>,
    last: u32,
    stored: Vec<u8>,
    carried_out: Vec<String>,
}

impl ToyJig {
    /// Takes bytes in; returns the answers to the lines that they end.
    fn take(&mut self, bytes: &[u8]) -> Vec<Vec<u8>> {
        let mut answers = Vec::new();
        for &byte in bytes {
            if byte != b'\n' {
                self.line.push(byte);
                continue;
            }
            let line = core::mem::take(&mut self.line);
            let Opened::Sealed(sealed) = open(&line) else { continue };
            if sealed.number == self.last + 1 {
                let units = String::from_utf8(sealed.rest.to_vec()).unwrap();
                let response = if units.ends_with('?') { units.as_bytes() } else { b"" };
                let Sealed { session, number, .. } = sealed;
                let trailer = Trailer { session, number, carried_out: 1, errors: 0 };
                self.stored = [response, trailer.after(response).as_bytes()].concat();
                self.last = number;
                self.carried_out.push(units);
            }
            if sealed.number == self.last {
                answers.push(self.stored.clone());
            }
        }
        answers
    }
}

/// A session with a toy jig whose answers go through `spoil` (the answer, and how many there have
/// been).
fn session_through(
    spoil: impl FnMut(Vec<u8>, u32) -> Vec<(Duration, Vec<u8>)> + 'static,
) -> (Session, Rc<RefCell<ToyJig>>) {
    let (device, jig) = toy_jig(spoil);
    (Session::open(Box::new(device), 99).expect("the jig is there"), jig)
}

/// The same before the session.
fn toy_jig(
    mut spoil: impl FnMut(Vec<u8>, u32) -> Vec<(Duration, Vec<u8>)> + 'static,
) -> (Scripted, Rc<RefCell<ToyJig>>) {
    let jig = Rc::new(RefCell::new(ToyJig::default()));
    let behind = Rc::clone(&jig);
    let mut count = 0;
    let device = Scripted::new(move |bytes| {
        let answers = behind.borrow_mut().take(bytes);
        let mut coming = Vec::new();
        for answer in answers {
            count += 1;
            coming.extend(spoil(answer, count));
        }
        coming
    });
    (device, jig)
}

fn ask(session: &mut Session, units: &str) -> Result<Vec<u8>, LinkError> {
    session.exchange(units, Duration::ZERO).map(|answer| answer.response)
}

#[test]
fn a_clean_line_needs_one_try() {
    let (mut session, jig) = session_through(|answer, _| vec![(MS, answer)]);
    for number in 0..50 {
        let units = format!("A{number}?");
        assert_eq!(ask(&mut session, &units).unwrap(), units.as_bytes());
    }
    assert_eq!(session.traffic().repeats, 0);
    assert_eq!(jig.borrow().carried_out.len(), 51);
}

/// Each exchange gets its own answer, and the jig carries each line out once. Returns how many lines
/// were sent again.
fn holds_through(spoil: impl FnMut(Vec<u8>, u32) -> Vec<(Duration, Vec<u8>)> + 'static) -> u64 {
    let (mut session, jig) = session_through(spoil);
    let units: Vec<String> = (0..60).map(|number| format!("A{number}?")).collect();
    for unit in &units {
        assert_eq!(ask(&mut session, unit).unwrap(), unit.as_bytes());
    }
    assert_eq!(jig.borrow().carried_out[1..], units);
    session.traffic().repeats
}

#[test]
fn lost_answers_are_asked_for_again() {
    let spoil = |answer, n: u32| if n.is_multiple_of(3) { vec![(MS, answer)] } else { vec![] };
    assert!(holds_through(spoil) > 0);
}

#[test]
fn damaged_answers_are_asked_for_again() {
    let repeats = holds_through(|mut answer, n| {
        if n % 2 == 0 {
            let at = n as usize * 7 % answer.len();
            answer[at] ^= 0x10;
        }
        vec![(MS, answer)]
    });
    assert!(repeats > 0);
}

#[test]
fn cut_answers_are_asked_for_again() {
    let repeats = holds_through(|mut answer, n| {
        if n % 2 == 0 {
            answer.truncate(n as usize * 5 % answer.len());
        }
        vec![(MS, answer)]
    });
    assert!(repeats > 0);
}

#[test]
fn late_and_doubled_answers_do_no_harm() {
    // Late: after the time-out of the first try, and again during a later exchange.
    holds_through(|answer, n| {
        let late = MS * (n * 37 % 900);
        vec![(late, answer.clone()), (late + 40 * MS, answer.clone()), (late + 350 * MS, answer)]
    });
}

/// A jig, or a computer, that is held up again and again: each piece of an answer comes later than any
/// patience lasts, and the answers to the lines that were sent again queue up behind the first.
#[test]
fn an_answer_in_halting_pieces_is_put_together() {
    let (mut session, _) = session_through(|answer, n| {
        if n == 1 {
            return vec![(MS, answer)];
        }
        let first_ms = 1_100 + u32::from(n > 2) * 60_000;
        let late =
            |(i, piece): (usize, &[u8])| (MS * (first_ms + 1_100 * i as u32), piece.to_vec());
        answer.chunks(10).enumerate().map(late).collect()
    });
    let units = format!("{:?}?", "a halting jig");
    assert_eq!(ask(&mut session, &units).unwrap(), units.as_bytes());
    assert!(session.traffic().repeats > 2);
}

/// A line of 11,520 bytes a second that carries nothing for 4 of every 5 seconds: what is asked again
/// meanwhile comes as often, and must not pile up before the answers to later lines.
#[test]
fn a_line_that_halts_again_and_again_is_waited_for() {
    let (device, _) =
        toy_jig(|answer, _| vec![(MS, [vec![b'x'; 4_000], vec![b'\n'], answer].concat())]);
    let mut free = Duration::ZERO;
    let device = device.carried(move |due, bytes| {
        free = free.max(due) + Duration::from_secs_f64(bytes as f64 / 11_520.0);
        let into = free.as_millis() as u32 % 5_000;
        if into < 4_000 {
            free += MS * (4_000 - into);
        }
        free
    });
    let mut session = Session::open(Box::new(device), 99).expect("the jig is there");
    for number in 0..40 {
        let units = format!("A{number}?");
        assert_eq!(ask(&mut session, &units).unwrap(), units.as_bytes());
    }
}

#[test]
fn floods_of_garbage_before_an_answer_do_no_harm() {
    let repeats = holds_through(|answer, n| {
        let noise: Vec<u8> = (0..3000u32).map(|i| (i * i * n % 251) as u8).collect();
        let end = if n % 2 == 0 { &b"\n"[..] } else { b"" };
        vec![(MS, [&noise, end, &answer].concat())]
    });
    assert!(repeats > 0);
}

#[test]
fn a_dead_jig_is_given_up_in_time() {
    let (mut session, _) =
        session_through(|answer, n| if n == 1 { vec![(MS, answer)] } else { vec![] });
    let before = session.transport().now();
    let result = ask(&mut session, "A?");
    let took = session.transport().now() - before;
    assert!(matches!(result, Err(LinkError::NoAnswer { .. })), "{result:?}");
    assert!((6 * Duration::from_secs(1)..=EXCHANGE_MAX).contains(&took), "{took:?}");
}

#[test]
fn a_slow_jig_is_waited_for() {
    let (mut session, jig) = session_through(|answer, n| {
        // Answers only after far longer than the first tries wait.
        vec![(MS * if n == 1 { 1 } else { 3000 }, answer)]
    });
    assert_eq!(ask(&mut session, "A?").unwrap(), b"A?");
    assert_eq!(ask(&mut session, "B?").unwrap(), b"B?");
    assert_eq!(jig.borrow().carried_out, ["*CLS", "A?", "B?"]);
}

#[test]
fn expected_time_is_waited_for_without_asking_again() {
    let (mut session, _) =
        session_through(|answer, n| vec![(MS * if n == 1 { 1 } else { 5000 }, answer)]);
    let answer = session.exchange("MEAS?", Duration::from_secs(5)).unwrap();
    assert_eq!(answer.response, b"MEAS?");
    assert_eq!(session.traffic().repeats, 0);
}

#[test]
fn endless_babble_is_given_up_in_time() {
    for byte in [b'\n', b'7', 0] {
        let babble = Scripted::by_line(|_| None).babbling(byte, 11_520);
        let mut session = Session {
            transport: Box::new(babble),
            id: 1,
            number: 1,
            inbox: Inbox::default(),
            traffic: Traffic::default(),
            lateness: Duration::ZERO,
        };
        let result = ask(&mut session, "A?");
        let took = session.transport().now();
        assert!(matches!(result, Err(LinkError::NoAnswer { .. })), "{result:?}");
        assert!(took <= EXCHANGE_MAX + TRY_MAX + SETTLE_MAX, "{took:?}");
    }
}

#[test]
fn what_cannot_be_sealed_is_not_sent() {
    let (mut session, jig) = session_through(|answer, _| vec![(MS, answer)]);
    for units in ["A\nB", &"x".repeat(LINE_MAX)] {
        assert!(matches!(ask(&mut session, units), Err(LinkError::Unsendable { .. })));
    }
    assert_eq!(ask(&mut session, "A?").unwrap(), b"A?", "the numbers go on");
    assert_eq!(jig.borrow().carried_out, ["*CLS", "A?"]);
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, ..ProptestConfig::default() })]

    /// Bytes lost, doubled and damaged at random: an exchange may fail, but never with another's
    /// answer or a changed one, and no line is carried out twice.
    #[test]
    fn random_damage_never_gives_a_wrong_answer(seed in any::<u64>(), rate in 1u64..60) {
        let mut state = seed | 1;
        let mut random = move |below: u64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) % below
        };
        let (mut session, jig) = session_through(move |answer, n| {
            if n == 1 {
                return vec![(MS, answer)];
            }
            let mut spoilt = Vec::new();
            for byte in answer {
                match if random(1000) < rate { random(3) } else { 3 } {
                    0 => {}
                    1 => spoilt.extend([byte, byte]),
                    2 => spoilt.push(byte ^ (1 << random(8))),
                    _ => spoilt.push(byte),
                }
            }
            vec![(MS * random(700) as u32, spoilt)]
        });
        for number in 0..20 {
            let units = format!("A{number}?");
            if let Ok(response) = ask(&mut session, &units) {
                prop_assert_eq!(response, units.as_bytes());
            }
        }
        let carried_out = jig.borrow().carried_out.clone();
        let mut once = carried_out.clone();
        once.dedup();
        prop_assert_eq!(carried_out, once);
    }
}
