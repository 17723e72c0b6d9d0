//! The jig's brain: bytes, whole lines, sealed lines, damage, trips, an open interlock and time, in any
//! order. Nothing has power while the brain says off, nor while the hardware holds it off, and after a
//! silence nothing has any.
#![no_main]

mod board;

use board::FuzzBoard;
use libfuzzer_sys::fuzz_target;
use musterbench::jig::board::Supply;
use musterbench::jig::engine::Engine;
use musterbench::wire::seal::{Trailer, seal};

/// What a line may be made of, besides any bytes.
const LINES: [&str; 48] = [
    ":OUTP1 ON",
    ":OUTP1 OFF",
    ":OUTP2 ON",
    ":OUTP2 OFF",
    ":OUTP1:POL INV",
    ":OUTP1:POL NORM",
    ":OUTP1:PROT:CLE",
    ":OUTP2:PROT:CLE",
    ":OUTP1:PROT:TRIP?",
    ":OUTP1:CHAR?",
    ":SOUR1:CURR:LIM 50 MA",
    ":SOUR1:CURR:PROT 0.05",
    ":SOUR2:CURR:PROT:DEL 5 MS",
    ":ROUT:CLOS (@301:308)",
    ":ROUT:CLOS (@201,321)",
    ":ROUT:OPEN (@301:304)",
    ":ROUT:OPEN:ALL",
    ":ROUT:DUTY 0.1,0.2,(@321:328)",
    ":ROUT:DUTY:USED?",
    ":ROUT:SCAN1 (@101:108)",
    ":ROUT:SCAN2 (@2,4)",
    ":SENS1:SWE:POIN 40;TINT 200 US;OFFS:POIN -10",
    ":SENS2:AVER:COUN 5",
    ":TRIG1:SOUR SENT",
    ":TRIG1:SOUR CONT",
    ":TRIG2:SOUR BUS",
    ":TRIG2",
    ":INIT1",
    ":INIT2",
    ":ABOR1",
    ":FETC1:PRE?",
    ":FETC1? 1,0,64",
    ":FETC2?",
    ":MEAS:CURR? (@2,4)",
    ":MEAS:RES? (@701:703)",
    ":DRIV:PACK 3,#H81,#HF8,#H79",
    ":DRIV:PULS 2,HIGH,100,200,300,400",
    ":DRIV:IDLE HIGH",
    ":DRIV:IDLE PACK",
    ":CONT:CLOS 0.05,(@201)",
    ":SYST:SIL 0.1",
    ":SYST:SEAL:END",
    ":STAT:QUES?",
    "*RST",
    "*OPC?",
    "*WAI",
    "*CLS",
    "*TST?",
];

/// What the brain is asked by.
const ASKED: &str = ":OUTP1?;:OUTP2?";

struct Rig {
    engine: Box<Engine<FuzzBoard>>,
    out: Vec<u8>,
    number: u32,
}

impl Rig {
    fn settle(&mut self) {
        for _ in 0..2_000 {
            self.engine.poll();
            let mut bytes = [0; 512];
            let count = self.engine.transmit(&mut bytes);
            self.out.extend(&bytes[..count]);
            let now_us = self.engine.board().now_us;
            if count == 0 && self.engine.next_wake_us() > now_us {
                return self.check();
            }
        }
        panic!("the engine is due for ever");
    }

    /// What the hardware holds off, the brain has off.
    fn check(&self) {
        let board = self.engine.board();
        for &supply in &board.cut_off {
            assert!(!board.is_on(supply), "{supply:?} is on behind its latch");
        }
        assert!(!board.interlock || !board.is_on(Supply::Feed) && !board.is_on(Supply::Loads));
    }

    fn run_us(&mut self, time_us: u64) {
        let end_us = self.engine.board().now_us + time_us;
        self.settle();
        while self.engine.board().now_us < end_us {
            let next_us = self.engine.next_wake_us().clamp(self.engine.board().now_us, end_us);
            self.engine.board_mut().now_us = next_us;
            self.settle();
        }
    }

    /// Says nothing for longer than the silence limit that most inputs have, and as long as something is
    /// on, but not for longer than the longest limit: then all is off.
    fn fall_silent(&mut self) {
        let longest_us = self.engine.board().now_us + 61_000_000;
        self.run_us(400_000);
        while !self.engine.board().all_off() {
            assert!(self.engine.board().now_us < longest_us, "on after a silence");
            self.run_us(200_000);
        }
    }

    fn send(&mut self, mut bytes: &[u8]) {
        while !bytes.is_empty() {
            let taken = self.engine.receive(bytes);
            bytes = &bytes[taken..];
            self.settle();
            if taken == 0 {
                // It waits for something: let time pass, as a line would.
                self.run_us(100_000);
            }
        }
    }

    fn seal(&mut self, rest: &str) {
        self.number += 1;
        if let Ok(line) = seal(1, self.number, rest) {
            self.send(&line);
        }
    }

    /// Asks the brain what is on, and looks.
    fn ask(&mut self, sealed: bool) {
        self.send(b"\n");
        self.out.clear();
        if sealed {
            self.seal(ASKED);
        } else {
            self.send(ASKED.as_bytes());
            self.send(b"\n");
        }
        let line = self.out.strip_suffix(b"\n").unwrap_or(&self.out);
        let at = line.windows(5).rposition(|w| w == b"SEAL ");
        let said = match at {
            Some(at) => Trailer::split(line, at).map_or(&b""[..], |(response, _)| response),
            None => line,
        };
        let [feed, b';', loads] = said else { return };
        let board = self.engine.board();
        assert_eq!(*feed == b'1', board.is_on(Supply::Feed), "the feed is not as the brain says");
        assert_eq!(*loads == b'1', board.is_on(Supply::Loads), "the loads are not as it says");
    }
}

fuzz_target!(|bytes: &[u8]| {
    let engine = Engine::boxed(FuzzBoard::new());
    let mut rig = Rig { engine, out: Vec::new(), number: 0 };
    let mut rest = bytes;
    // Simulated time is what an input costs: most have a short silence limit.
    if bytes.first().is_some_and(|first| first % 8 != 7) {
        rig.send(b":SYST:SIL 0.3\n");
        rig.out.clear();
    }
    while let Some((&kind, after)) = rest.split_first() {
        let x = after.first().copied().unwrap_or(0);
        let after = after.get(1..).unwrap_or_default();
        rest = after;
        match kind % 16 {
            0..=3 => {
                rig.send(LINES[usize::from(x) % LINES.len()].as_bytes());
                rig.send(if kind & 0x80 == 0 { b"\n" } else { b";" });
            }
            4..=6 => rig.seal(LINES[usize::from(x) % LINES.len()]),
            7 => {
                let (raw, after) = rest.split_at(usize::from(x).min(rest.len()));
                rig.send(raw);
                rest = after;
            }
            8 => rig.run_us(u64::from(x) * 1_000),
            9 => rig.run_us(if x < 252 { u64::from(x) * 2_000 } else { 6_000_000 }),
            10 => {
                let supply = if x & 1 == 0 { Supply::Feed } else { Supply::Loads };
                rig.engine.board_mut().cut_off.push(supply);
                rig.settle();
            }
            11 => {
                rig.engine.board_mut().interlock = x & 1 == 1;
                rig.settle();
            }
            12 => rig.engine.board_mut().counts = i16::from_le_bytes([kind, x]),
            13 => {
                rig.engine.receive_damaged();
                rig.settle();
            }
            14 => {
                rig.engine.port_closed();
                assert!(rig.engine.board().all_off(), "on after the port was closed");
                rig.settle();
            }
            _ => rig.ask(x & 1 == 1),
        }
        rig.out.clear();
    }
    rig.engine.board_mut().interlock = false;
    rig.fall_silent();
});
