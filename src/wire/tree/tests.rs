use super::*;
use crate::wire::answers::Answers;
use crate::wire::data::Data;
use crate::wire::message::Message;
use crate::wire::request::Request;
use crate::wire::sample::{Sample, Source};
use crate::wire::tree::Order;
use crate::wire::unit::{Reply, Unit};
use crate::wire::writer::Writer;
use core::fmt;
use proptest::prelude::*;
use rand::SeedableRng;

fn written(request: &impl Request) -> String {
    let mut line = String::new();
    request.write(&mut Writer::new(&mut line)).expect("a growing sink takes all");
    line
}

/// The only unit of a line, as the jig reads it.
fn order(line: &str) -> Order<'_> {
    let mut message = Message::new(line.as_bytes());
    let unit = message.next().unwrap_or_else(|| panic!("{line}: no unit"));
    let order = unit.and_then(|unit| unit.read()).unwrap_or_else(|e| panic!("{line}: {e}"));
    assert!(message.next().is_none(), "{line}: one unit");
    order
}

/// A query, written and read back, and its answer, written and read back.
pub(super) fn there_and_back<Q, A>(query: &Q, answer: &A, of: impl FnOnce(Query<'static>) -> Q)
where
    Q: Ask<'static, Answer = A> + Request<Answer = A> + PartialEq + fmt::Debug,
    A: for<'a> Data<'a> + PartialEq + fmt::Debug,
{
    let line: &'static str = written(query).leak();
    match order(line) {
        Order::Query(read) => assert_eq!(&of(read), query, "{line}"),
        other => panic!("{line}: {other:?}"),
    }
    let mut text = Vec::new();
    Writer::new(&mut text).reply(query, answer).expect("a growing sink takes all");
    let mut answers = Answers::new(&text);
    let read = Request::read(query, &mut answers);
    let shown = String::from_utf8_lossy(&text);
    assert_eq!(read.as_ref(), Ok(answer), "{line}: {shown}");
    assert_eq!(answers.finish(), Ok(()), "{line}: {shown}");
}

proptest! {
    #[test]
    fn every_command_reads_as_it_was_written(seed: u64) {
        let mut source = Source::seed_from_u64(seed);
        for make in tried::commands() {
            let command = make(&mut source);
            let line = written(&command);
            prop_assert_eq!(order(&line), Order::Command(command), "{}", line);
        }
    }

    #[test]
    fn every_query_and_its_answer_read_as_they_were_written(seed: u64) {
        let mut source = Source::seed_from_u64(seed);
        for try_out in tried::queries() {
            try_out(&mut source);
        }
    }

    /// Several answers in one line are told apart, whatever stands in them.
    #[test]
    fn answers_stand_side_by_side(seed: u64) {
        let mut source = Source::seed_from_u64(seed);
        let piece = query::Fetch { unit: CaptureUnit::Capture, piece: None };
        let request = (query::ErrorNext {}, piece, command::OpenAll {}, query::Sent {});
        let answers = (
            ErrorReport::sample(&mut source),
            Block::sample(&mut source),
            answers::Sent::sample(&mut source),
        );
        let mut text = Vec::new();
        let mut writer = Writer::new(&mut text);
        writer.reply(&request.0, &answers.0).unwrap();
        writer.unit();
        writer.reply(&request.1, &answers.1).unwrap();
        writer.unit();
        writer.reply(&request.3, &answers.2).unwrap();
        let mut read = Answers::new(&text);
        let (error, block, (), sent) = request.read(&mut read).expect("all of it");
        prop_assert_eq!((error, block, sent), answers);
        prop_assert!(read.finish().is_ok());
    }
}

#[test]
fn every_line_of_the_table_is_tried() {
    let count = |query| TREE.iter().filter(|entry| entry.takes(query)).count();
    assert_eq!(tried::commands().len(), count(false));
    assert_eq!(tried::queries().len(), count(true));
}

#[test]
fn lines_read_as_a_person_would_write_them() {
    let on = command::Output { supply: Supply::Loads, on: true };
    assert_eq!(written(&on), "OUTP2 ON");
    let line = (
        command::Polarity { polarity: words::Polarity::Inverted },
        command::Idle { idle: words::Idle::Packets },
        on,
        Some(query::Sent {}),
        None::<query::Clock>,
    );
    assert_eq!(written(&line), "OUTP1:POL INV;:DRIV:IDLE PACK;:OUTP2 ON;:DRIV:SENT?");
    let loads = ChannelList::of(&[301, 302, 305]);
    let setting = |seconds| Setting::Value(Seconds(seconds));
    let duty = command::Duty { on: setting(20.0), rest: setting(1.5), loads };
    assert_eq!(written(&duty), "ROUT:DUTY 2.0E+1,1.5E+0,(@301:302,305)");
    let packet = command::Packet { repeat: 4, bytes: Sequence::of(&[129, 248, 121]) };
    assert_eq!(written(&packet), "DRIV:PACK 4,129,248,121");
    assert_eq!(written(&query::Esr {}), "*ESR?");
    let bound = Some(Bound::Maximum);
    assert_eq!(written(&query::Silence { bound }), "SYST:SIL? MAX");
}

#[test]
fn parameters_that_do_not_fit_are_refused_before_anything_is_done() {
    let refused = |line: &str| {
        let unit = Message::new(line.as_bytes()).next().expect("a unit").expect("a known header");
        unit.read().err().map(|error| error.code.number())
    };
    for (line, number) in [
        ("OUTP1", Some(-109)),
        ("OUTP1 ON,1", Some(-108)),
        ("OUTP1 MAYBE", Some(-224)),
        ("OUTP1? 1", Some(-108)),
        ("*ESE 256", Some(-222)),
        ("ROUT:CLOS 301", Some(-128)),
        ("ROUT:DUTY? (@301:302)", Some(-222)),
        ("DRIV:PACK 1", Some(-109)),
        ("DRIV:PACK 1,256", Some(-222)),
        ("DRIV:PULS 1,100,100", Some(-128)),
        ("SYST:SIL MAX", None),
        ("SYST:SIL? MAX", None),
        ("SYST:SIL? 5", Some(-128)),
        ("SYST:CHAN:DESC? 101", None),
        ("SYST:CHAN:DESC? (@101)", None),
    ] {
        assert_eq!(refused(line), number, "{line}");
    }
}

#[test]
fn a_jig_answers_in_one_form_only() {
    let clock = |text: &str| Request::read(&query::Clock {}, &mut Answers::new(text.as_bytes()));
    assert_eq!(clock("120045"), Ok(120_045));
    for text in ["", "-1", "1.5", "1E3", "120045 S", "soon", "18446744073709551615", "1,2"] {
        assert!(clock(text).is_err(), "{text}");
    }
}

#[test]
fn types_know_their_header() {
    assert_eq!(<command::Close as Unit>::PATTERN, Node::Close.entry().pattern);
}
