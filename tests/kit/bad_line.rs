//! A serial line that loses, doubles, damages, delays and cuts bytes, both ways, from a seed.

use core::cell::Cell;
use core::time::Duration;
use musterbench::link::transport::{Transport, TransportError};
use rand::{RngExt, SeedableRng};
use rand_xoshiro::Xoshiro256PlusPlus;
use std::collections::VecDeque;
use std::rc::Rc;

/// How bad a line is.
#[derive(Clone, Copy, Debug)]
pub struct Badness {
    /// Share of bytes that are lost, doubled or damaged (one bit flipped), each a third.
    pub byte_errors: f64,
    /// Share of bytes at which a piece of up to 40 bytes is cut out.
    pub cuts: f64,
    /// Share of bytes from which on the rest of a line is lost.
    pub halves: f64,
    /// Share of bytes before which the line stalls.
    pub delays: f64,
    /// The longest stall; each one is drawn evenly up to it.
    pub delay_max: Duration,
}

impl Badness {
    /// All kinds together at one rate: byte errors at that rate, cuts and stalls at a tenth of it.
    pub fn at(rate: f64) -> Badness {
        Badness {
            byte_errors: rate,
            cuts: rate / 10.0,
            halves: 0.0,
            delays: rate / 10.0,
            delay_max: Duration::from_millis(900),
        }
    }
}

/// What the line has done so far.
#[derive(Clone, Copy, Debug, Default)]
pub struct Done {
    /// Bytes carried, whatever became of them.
    pub bytes: u64,
    /// Bytes lost.
    pub lost: u64,
    /// Bytes doubled.
    pub doubled: u64,
    /// Bytes with a bit flipped.
    pub flipped: u64,
    /// Pieces cut out.
    pub cut: u64,
    /// Lines of which the rest was lost.
    pub halved: u64,
    /// Stalls.
    pub delayed: u64,
}

/// Any transport, seen through a bad line.
pub struct BadLine<T> {
    inner: T,
    badness: Rc<Cell<Badness>>,
    rng: Xoshiro256PlusPlus,
    to_jig: OneWay,
    from_jig: OneWay,
    done: Done,
}

/// Bytes on the way in one direction, in order, and when each piece arrives.
#[derive(Default)]
struct OneWay {
    pieces: VecDeque<(Duration, Vec<u8>)>,
    /// Nothing arrives before what went before it.
    stalled_until: Duration,
    /// Bytes still to be cut out.
    cutting: u32,
    /// What comes up to the next newline is lost.
    halving: bool,
}

impl OneWay {
    fn due(&self) -> Option<Duration> {
        self.pieces.front().map(|(at, _)| *at)
    }
}

impl<T: Transport> BadLine<T> {
    pub fn new(inner: T, badness: Badness, seed: u64) -> Self {
        let rng = Xoshiro256PlusPlus::seed_from_u64(seed);
        let (to_jig, from_jig) = (OneWay::default(), OneWay::default());
        let badness = Rc::new(Cell::new(badness));
        BadLine { inner, badness, rng, to_jig, from_jig, done: Done::default() }
    }

    /// How bad it is; may be changed later, when the line has been given away.
    pub fn badness(&self) -> Rc<Cell<Badness>> {
        Rc::clone(&self.badness)
    }

    /// What the line has done so far.
    pub fn done(&self) -> Done {
        self.done
    }

    /// Sends bytes through one direction.
    fn spoil(&mut self, bytes: &[u8], to_jig: bool) {
        let now = self.inner.now();
        let Badness { byte_errors, cuts, halves, delays, delay_max } = self.badness.get();
        let way = if to_jig { &mut self.to_jig } else { &mut self.from_jig };
        let mut piece = Vec::new();
        way.stalled_until = way.stalled_until.max(now);
        for &byte in bytes {
            self.done.bytes += 1;
            if way.cutting > 0 {
                way.cutting -= 1;
                continue;
            }
            if way.halving {
                way.halving = byte != b'\n';
                continue;
            }
            // One draw says what happens to this byte, if anything does.
            let draw: f64 = self.rng.random();
            if draw >= delays + cuts + halves + byte_errors {
                piece.push(byte);
                continue;
            }
            if draw < delays {
                self.done.delayed += 1;
                if !piece.is_empty() {
                    way.pieces.push_back((way.stalled_until, core::mem::take(&mut piece)));
                }
                way.stalled_until += delay_max.mul_f64(self.rng.random());
                piece.push(byte);
                continue;
            }
            if draw < delays + cuts {
                self.done.cut += 1;
                way.cutting = self.rng.random_range(0..40);
                continue;
            }
            if draw < delays + cuts + halves {
                self.done.halved += 1;
                way.halving = true;
                continue;
            }
            match self.rng.random_range(0..3) {
                0 => self.done.lost += 1,
                1 => {
                    self.done.doubled += 1;
                    piece.extend([byte, byte]);
                }
                _ => {
                    self.done.flipped += 1;
                    piece.push(byte ^ (1 << self.rng.random_range(0..8)));
                }
            }
        }
        if !piece.is_empty() {
            way.pieces.push_back((way.stalled_until, piece));
        }
    }

    /// Lets what is due arrive at the jig.
    fn deliver(&mut self) -> Result<(), TransportError> {
        while self.to_jig.due().is_some_and(|at| at <= self.inner.now()) {
            if let Some((_, piece)) = self.to_jig.pieces.pop_front() {
                self.inner.send(&piece)?;
            }
        }
        Ok(())
    }

    /// Gives the host what is due, at most `into.len()` bytes.
    fn take(&mut self, into: &mut [u8]) -> usize {
        let now = self.inner.now();
        let mut count = 0;
        while let Some((at, piece)) = self.from_jig.pieces.front_mut() {
            if *at > now || count == into.len() {
                break;
            }
            let fits = piece.len().min(into.len() - count);
            into[count..count + fits].copy_from_slice(&piece[..fits]);
            piece.drain(..fits);
            count += fits;
            if piece.is_empty() {
                self.from_jig.pieces.pop_front();
            }
        }
        count
    }

    /// Lets the time go on to the next thing that happens, at most to `end`.
    fn step(&mut self, end: Duration) -> Result<(), TransportError> {
        // What has arrived and is not taken yet happens no more.
        let due = [self.to_jig.due(), self.from_jig.due()];
        let next = due.into_iter().flatten().filter(|&at| at > self.inner.now());
        let until = next.fold(end, Duration::min);
        let mut buffer = [0; 1024];
        let wait = until.saturating_sub(self.inner.now());
        let count = self.inner.receive(&mut buffer, wait)?;
        self.spoil(&buffer[..count], false);
        Ok(())
    }
}

impl<T: Transport> Transport for BadLine<T> {
    fn send(&mut self, bytes: &[u8]) -> Result<(), TransportError> {
        self.spoil(bytes, true);
        self.deliver()
    }

    fn receive(&mut self, into: &mut [u8], timeout: Duration) -> Result<usize, TransportError> {
        let end = self.inner.now() + timeout;
        loop {
            self.deliver()?;
            let count = self.take(into);
            if count > 0 || self.inner.now() >= end {
                return Ok(count);
            }
            self.step(end)?;
        }
    }

    fn now(&self) -> Duration {
        self.inner.now()
    }

    fn pause(&mut self, time: Duration) {
        let end = self.inner.now() + time;
        while self.inner.now() < end {
            // A device that goes while nobody listens is noticed by the next one who does.
            if self.deliver().is_err() || self.step(end).is_err() {
                self.inner.pause(end.saturating_sub(self.inner.now()));
            }
        }
    }

    fn time_of_day(&self) -> jiff::ZonedDateTime {
        self.inner.time_of_day()
    }
}
