//! Edges as a module hears them: any times, any levels, with pieces of true packets and telegrams
//! among them. Whatever the decoders take must be whole and within the addresses that exist.
#![no_main]

use libfuzzer_sys::fuzz_target;
use musterbench::signal::address::{Existence, existence};
use musterbench::signal::dcc::{self, Numbering, is_whole};
use musterbench::signal::dcc_decoder::accessory;
use musterbench::signal::edges::Edge;
use musterbench::signal::listener::{Heard, Listener, Message};
use musterbench::signal::pulse::{Level, Pulse};
use musterbench::signal::received::{Addressee, Received};
use musterbench::signal::target::Format;
use musterbench::signal::trinary;

const NUMBERINGS: [Numbering; 2] = [Numbering::Rcn213, Numbering::FromGroupZero];

/// A listener, and the clock of the edges that it hears.
struct Feed {
    listener: Listener,
    at_us: u64,
    level: Level,
    /// What was heard last.
    last: Option<Message>,
}

impl Feed {
    /// Holds a level for so long.
    fn hold(&mut self, level: Level, duration_us: u64) {
        if level != self.level {
            self.level = level;
            let heard = self.listener.edge(Edge { at_us: self.at_us, to: level });
            self.note(heard);
        }
        self.at_us = self.at_us.wrapping_add(duration_us);
    }

    fn send(&mut self, pulses: impl Iterator<Item = Pulse>) {
        pulses.for_each(|pulse| self.hold(pulse.level, pulse.duration_us.into()));
    }

    fn pass(&mut self) {
        let heard = self.listener.pass(self.at_us);
        self.note(heard);
    }

    fn note(&mut self, heard: Option<Heard>) {
        let Some(heard) = heard else { return };
        match &heard.message {
            Message::Packet(packet) => {
                assert!(is_whole(packet), "{packet:?}");
                for numbering in NUMBERINGS {
                    if let Some(received) = accessory(packet, numbering) {
                        check(&received, Format::Dcc, numbering);
                    }
                }
            }
            Message::Command(received) => check(received, Format::Trinary, Numbering::default()),
        }
        self.last = Some(heard.message);
    }
}

fn check(received: &Received, format: Format, numbering: Numbering) {
    assert!(received.direction <= 1);
    match received.to {
        Addressee::Output(address) => {
            assert_eq!(existence(format, numbering, address), Existence::Single);
        }
        Addressee::Everyone { pair } => {
            assert_eq!(format, Format::Dcc);
            assert!(pair <= 3);
        }
    }
}

fuzz_target!(|bytes: &[u8]| {
    let mut feed = Feed { listener: Listener::new(), at_us: 0, level: Level::Low, last: None };
    for chunk in bytes.chunks(4) {
        let [kind, x, y, z] = [0, 1, 2, 3].map(|i| chunk.get(i).copied().unwrap_or(0));
        let long = u64::from(u16::from_le_bytes([y, z]));
        let level = if x & 1 == 1 { Level::High } else { Level::Low };
        match kind % 8 {
            0 => feed.hold(level, long),
            // About as long as the halves of bits and the pulses of digits are.
            1 => feed.hold(feed.level.inverted(), u64::from(y) % 128),
            2 => {
                let bit = x & 2 == 2;
                let half_us = if bit { dcc::ONE_HALF_US } else { dcc::ZERO_HALF_US } as u64;
                for _ in 0..=z % 32 {
                    feed.hold(level, half_us);
                    feed.hold(level.inverted(), half_us + u64::from(y & 3));
                }
            }
            3 => {
                // Some of a packet, perhaps with a wrong error byte.
                let error = dcc::error_byte(&[x, y]) ^ if kind & 0x80 == 0 { 0 } else { z };
                let kept = if kind & 0x40 == 0 { usize::MAX } else { usize::from(z) };
                feed.send(dcc::pulses(&[x, y, error]).take(kept));
            }
            4 => {
                let address = u16::from_le_bytes([x, y & 1]);
                if let Some(word) = trinary::word(address, y >> 1 & 1, y & 4 == 4) {
                    let kept = if kind & 0x40 == 0 { usize::MAX } else { usize::from(z) };
                    feed.send(trinary::pulses(&word).take(kept));
                }
            }
            5 => feed.pass(),
            // An edge to where the level stands, and a clock that jumps back or far ahead.
            6 => {
                let heard = feed.listener.edge(Edge { at_us: feed.at_us, to: level });
                feed.note(heard);
            }
            _ => feed.at_us = feed.at_us.wrapping_add(u64::from(x).wrapping_mul(1 << (y % 64))),
        }
    }

    // After any of that: a whole telegram of the three-state code is read, the next one at once; a
    // packet with the second copy at the latest, since noise may make a packet of its own out of
    // the first one's preamble.
    feed.at_us %= u64::MAX / 2;
    feed.hold(Level::Low, 10_000);
    feed.hold(Level::High, 10_000);
    feed.hold(Level::Low, 10_000);
    let word = trinary::word(181, 1, true).expect("there is such an address");
    feed.send(trinary::pulses(&word));
    feed.hold(Level::High, 20);
    feed.hold(Level::Low, 10_000);
    let command = Received { to: Addressee::Output(181), direction: 1, activate: true };
    assert_eq!(feed.last, Some(Message::Command(command)));
    for _ in 0..2 {
        feed.send(dcc::pulses(&dcc::RESET));
    }
    feed.hold(Level::High, 10_000);
    feed.hold(Level::Low, 10);
    feed.pass();
    let reset = dcc::RESET.into_iter().collect();
    assert_eq!(feed.last, Some(Message::Packet(reset)));
});
