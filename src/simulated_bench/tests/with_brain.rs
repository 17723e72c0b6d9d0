//! The bench under the jig's own brain, spoken to in lines of text.

use super::rig::setup;
use crate::jig::board::Board;
use crate::jig::engine::Engine;
use crate::simulated_bench::SimulatedBoard;
use crate::simulated_bench::faults::find;
use crate::simulated_bench::kind::Kind;
use crate::simulated_bench::loads::LoadModel;
use crate::wire::answers::Answers;
use crate::wire::preamble::{Preamble, State};

struct Terminal {
    engine: Box<Engine<SimulatedBoard>>,
}

impl Terminal {
    fn with(kind: Kind, fault: Option<&str>) -> Self {
        let faults = fault.into_iter().map(|name| find(name).unwrap());
        let faults = faults.map(|fault| (fault, fault.default)).collect();
        let loads = core::array::from_fn(|_| LoadModel::resistor(100.0));
        Terminal { engine: Engine::boxed(SimulatedBoard::new(setup(kind, 11, loads, faults))) }
    }

    /// Lets time pass; keeps the silence limit fed.
    fn pass(&mut self, seconds: f64) {
        let end_us = self.engine.board_mut().now_us() + (seconds * 1e6) as u64;
        loop {
            self.engine.poll();
            let now_us = self.engine.board_mut().now_us();
            if now_us >= end_us {
                return;
            }
            let wake_us = self.engine.next_wake_us().clamp(now_us + 1, end_us);
            self.engine.board_mut().advance_to(wake_us);
        }
    }

    fn ask_bytes(&mut self, line: &str) -> Vec<u8> {
        let mut sent = 0;
        let line = format!("{line}\n");
        while sent < line.len() {
            sent += self.engine.receive(&line.as_bytes()[sent..]);
            self.pass(0.000_1);
        }
        let mut answer = Vec::new();
        let mut buffer = [0; 4096];
        loop {
            self.pass(0.000_1);
            match self.engine.transmit(&mut buffer) {
                0 => return answer,
                n => answer.extend_from_slice(&buffer[..n]),
            }
        }
    }

    fn ask(&mut self, line: &str) -> String {
        String::from_utf8(self.ask_bytes(line)).unwrap().trim_end().to_owned()
    }

    fn current(&mut self, channel: u16) -> f64 {
        let at_once = self.ask(&format!("MEAS:CURR? (@{channel})"));
        self.pass(0.05);
        (at_once + &self.ask("")).parse().unwrap()
    }

    fn tell(&mut self, line: &str) {
        assert_eq!(self.ask(line), "", "{line}");
        assert_eq!(self.ask("SYST:ERR?"), "0,\"No error\"", "{line}");
    }

    /// The last capture of unit 1, column by column.
    fn fetch(&mut self) -> (Preamble, Vec<Vec<f64>>) {
        let preamble = Answers::only::<Preamble>(self.ask("FETC1:PRE?").as_bytes()).unwrap();
        assert_eq!(preamble.state, State::Done);
        let block = self.ask_bytes("FETC1?");
        let digits = usize::from(block[1] - b'0');
        let columns = preamble.columns.len();
        let counts: Vec<i16> =
            block[2 + digits..].chunks_exact(2).map(|b| i16::from_le_bytes([b[0], b[1]])).collect();
        assert_eq!(counts.len(), preamble.points as usize * columns);
        let column = |n: usize| {
            let c = &preamble.columns[n];
            counts[n..]
                .iter()
                .step_by(columns)
                .map(|k| f64::from(*k) * c.scale + c.offset)
                .collect()
        };
        let values = (0..columns).map(column).collect();
        (preamble, values)
    }

    fn power_up(&mut self) {
        self.tell("OUTP1 ON");
        self.pass(1.0);
        assert_eq!(self.ask("OUTP1?"), "1");
        assert_eq!(self.ask("OUTP1:PROT:TRIP?"), "0");
    }
}

/// The packet that sends output 1 to `b`, its bytes as the language wants them.
fn packet_to_b(address: u16) -> String {
    use crate::signal::dcc::{Numbering, accessory};
    let bytes = accessory(Numbering::Rcn213.accessory(address).unwrap(), 1, true);
    bytes.map(|b| format!("#H{b:02X}")).join(",")
}

#[test]
fn a_change_over_is_seen_through_the_whole_jig() {
    let mut kind = Kind::example();
    kind.keeps_position = false;
    let mut jig = Terminal::with(kind, None);
    assert!(jig.ask("*IDN?").starts_with("musterbench,simulated bench,SIM-11,"));
    jig.power_up();
    let charge: f64 = jig.ask("OUTP1:CHAR?").split(',').next().unwrap().parse().unwrap();
    assert!((0.005..0.012).contains(&charge), "{charge}");
    jig.tell("ROUT:CLOS (@321:328)");
    jig.tell("OUTP2 ON");
    jig.tell("ROUT:SCAN1 (@101,102,2)");
    jig.tell("SENS1:SWE:POIN 800;TINT 200 US;OFFS:POIN -100");
    jig.tell("TRIG1:SOUR SENT");
    jig.tell("INIT1");
    jig.pass(0.03);
    jig.tell(&format!("DRIV:PACK 2,{}", packet_to_b(17)));
    jig.pass(0.3);
    let (preamble, columns) = jig.fetch();
    let [a, b, feed] = &columns[..] else { panic!("three columns") };
    let time_ms = |n: usize| {
        let t = preamble.first_us as f64 + n as f64 * f64::from(preamble.interval_us);
        (t - preamble.trigger_us as f64) / 1e3
    };
    let half = 0.27;
    assert!(a[0] > half && b[0] < half / 10.0);
    assert!(a[799] < half / 10.0 && b[799] > half);
    let opened = time_ms(a.iter().position(|i| *i < half).unwrap());
    let closed = time_ms(b.iter().position(|i| *i > half).unwrap());
    // The module acts on the first of the two packets: the trigger is the end of the second.
    let between_ms = 1e-3 * f64::from(2 * crate::signal::dcc::duration_us(&[0x84, 0xF9, 0x7D]));
    assert!((closed + between_ms - 40.0).abs() < 8.0, "{closed} ms after the trigger");
    assert!((closed - opened - 4.0).abs() < 1.0, "gap {} ms", closed - opened);
    let idle_a = feed[..20].iter().sum::<f64>() / 20.0;
    let peak_a = feed.iter().cloned().fold(0.0, f64::max) - idle_a;
    assert!((peak_a - 0.090).abs() < 0.015, "coil {peak_a} A");
}

#[test]
fn contact_inputs_work_through_the_jig() {
    let mut kind = Kind::example();
    kind.keeps_position = false;
    let mut jig = Terminal::with(kind, None);
    jig.power_up();
    jig.tell("ROUT:CLOS (@321:328);:OUTP2 ON");
    jig.tell("CONT:CLOS 0.1,(@204)");
    jig.pass(0.3);
    jig.tell("ROUT:SCAN1 (@103,104);:SENS1:SWE:POIN 10;:TRIG1:SOUR IMM;:INIT1");
    jig.pass(0.2);
    let (_, columns) = jig.fetch();
    assert!(columns[0][9] < 0.01 && columns[1][9] > 0.5);
}

#[test]
fn hands_set_switches_while_the_power_is_off() {
    let mut jig = Terminal::with(Kind::example(), None);
    jig.tell("DIAG:HAND:SWIT 9");
    jig.tell("DIAG:HAND:AUX ON");
    jig.power_up();
    let (first, _) = jig.engine.board().world().module.address_and_format();
    assert_eq!(first, (1 + 8) * 4 - 3);
}

#[test]
fn a_short_at_the_feed_never_gets_through_the_soft_start() {
    let mut jig = Terminal::with(Kind::example(), Some("rectifier-shorted"));
    jig.tell("OUTP1 ON");
    jig.pass(2.0);
    assert_eq!(jig.ask("OUTP1?"), "0");
    assert_eq!(jig.ask("OUTP1:PROT:TRIP?"), "1");
}

#[test]
fn a_shorted_load_trips_the_load_supply() {
    let mut jig = Terminal::with(Kind::example(), Some("load-shorted"));
    jig.power_up();
    jig.tell("ROUT:CLOS (@301:308);:OUTP2 ON");
    jig.pass(0.1);
    // Whichever clamp it is: driven past the module all eight carry current.
    let _ = jig.ask("ROUT:CLOS (@311:318)");
    jig.pass(0.1);
    assert_eq!(jig.ask("OUTP2:PROT:TRIP?"), "1");
    assert_eq!(jig.ask("OUTP2?"), "0");
    assert_eq!(jig.ask("OUTP1?"), "1", "the feed stays on");
}

#[test]
fn silence_turns_everything_off() {
    let mut jig = Terminal::with(Kind::example(), None);
    jig.power_up();
    jig.tell("ROUT:CLOS (@321:328);:OUTP2 ON");
    jig.pass(6.0);
    let world = jig.engine.board().world();
    assert_eq!(world.feed.feed_a(), 0.0);
    assert_eq!(world.loads.total_a(), 0.0);
    assert!(!world.module.is_ready());
}

/// Ohm's law at a clamp and on the feed: the reference meter and the jig's own channel agree within
/// what each of them states, and what was there before comes back.
#[test]
fn a_reference_resistor_is_read_by_meter_and_jig_alike() {
    use crate::simulated_bench::reference_meter::{DIGIT_A, FIXED_A, SHARE};
    let mut bench = Terminal::with(Kind::example(), None);
    let number = |said: String| said.parse::<f64>().unwrap();
    assert!(number(bench.ask("DIAG:HAND:MET?")).abs() < FIXED_A + DIGIT_A, "not connected");
    for (connect, on, off, channel, class) in [
        (
            "DIAG:HAND:REF 47,(@102)",
            "ROUT:CLOS (@312,302);:OUTP2 ON",
            "OUTP2 OFF;:ROUT:OPEN (@312,302)",
            102,
            0.005 * 0.25 + 0.000_7,
        ),
        (
            "DIAG:HAND:REF 60,(@2)",
            "SOUR1:CURR:LIM 0.5;:DRIV:IDLE HIGH;:OUTP1 ON",
            "OUTP1 OFF",
            2,
            0.005 * 0.28 + 0.000_45,
        ),
    ] {
        bench.ask(connect);
        bench.ask(on);
        bench.pass(0.3);
        let shown = number(bench.ask("DIAG:HAND:MET?"));
        let read = bench.current(channel);
        assert!((0.2..0.3).contains(&shown), "{channel}: {shown}");
        let meter = SHARE * shown + FIXED_A + DIGIT_A;
        assert!((read - shown).abs() < class + meter, "{channel}: {read} and {shown}");
        bench.ask(off);
        bench.pass(0.05);
        assert!(number(bench.ask("DIAG:HAND:MET?")).abs() < FIXED_A + DIGIT_A);
    }
    bench.ask("DIAG:HAND:REF 0,(@2);:DIAG:HAND:REF 0,(@102)");
    bench.ask("DRIV:IDLE PACK;:ROUT:CLOS (@312,302);:OUTP2 ON;:OUTP1 ON");
    bench.pass(2.0);
    let load = bench.current(102);
    assert!((0.115..0.125).contains(&load), "100 ohm are back: {load}");
    assert!(bench.current(2) < 0.1, "the module is back");
}
