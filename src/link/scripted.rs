//! A transport for tests: a made-up device on a clock that jumps.

use super::transport::{Transport, TransportError};
use core::time::Duration;
use std::collections::VecDeque;

/// What the device does with the bytes that it gets: answers, each after a delay.
pub type Device = Box<dyn FnMut(&[u8]) -> Vec<(Duration, Vec<u8>)>>;

/// When bytes come that would come at a time, by how many they are.
type Carry = Box<dyn FnMut(Duration, usize) -> Duration>;

/// A device made up by a test.
pub struct Scripted {
    device: Device,
    now: Duration,
    /// When what comes, in order of time.
    coming: VecDeque<(Duration, Vec<u8>)>,
    /// Bytes that come all the time, so many a second.
    babble: Option<(u8, u32)>,
    carry: Carry,
}

impl Scripted {
    /// A device that answers through a function.
    pub fn new(device: impl FnMut(&[u8]) -> Vec<(Duration, Vec<u8>)> + 'static) -> Self {
        Scripted {
            device: Box::new(device),
            now: Duration::ZERO,
            coming: VecDeque::new(),
            babble: None,
            carry: Box::new(|due, _| due),
        }
    }

    /// A device that answers each line (newline taken off) at once, or not at all.
    pub fn by_line(mut answer: impl FnMut(&[u8]) -> Option<Vec<u8>> + 'static) -> Self {
        let mut line = Vec::new();
        Self::new(move |bytes| {
            let mut answers = Vec::new();
            for &byte in bytes {
                if byte == b'\n' {
                    answers.extend(answer(&line).map(|a| (Duration::from_millis(1), a)));
                    line.clear();
                } else {
                    line.push(byte);
                }
            }
            answers
        })
    }

    /// Lets all that the device sends come so much later.
    pub fn late(self, delay: Duration) -> Self {
        self.carried(move |due, _| due + delay)
    }

    /// Lets what the device sends come when a function says: of when it would come, and how many bytes
    /// it is.
    pub fn carried(mut self, carry: impl FnMut(Duration, usize) -> Duration + 'static) -> Self {
        self.carry = Box::new(carry);
        self
    }

    /// Lets the device send one byte over and over.
    pub fn babbling(mut self, byte: u8, per_second: u32) -> Self {
        self.babble = Some((byte, per_second));
        self
    }
}

impl Transport for Scripted {
    fn send(&mut self, bytes: &[u8]) -> Result<(), TransportError> {
        for (delay, answer) in (self.device)(bytes) {
            let at = (self.carry)(self.now + delay, answer.len());
            self.coming.push_back((at, answer));
        }
        self.coming.make_contiguous().sort_by_key(|(at, _)| *at);
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], timeout: Duration) -> Result<usize, TransportError> {
        let end = self.now + timeout;
        if let Some((byte, per_second)) = self.babble {
            self.now = end.min(self.now + Duration::from_millis(1));
            let count = into.len().min((per_second / 1000).max(1) as usize);
            into[..count].fill(byte);
            return Ok(count);
        }
        match self.coming.front_mut() {
            Some((at, bytes)) if *at <= end => {
                self.now = self.now.max(*at);
                let count = into.len().min(bytes.len());
                into[..count].copy_from_slice(&bytes[..count]);
                bytes.drain(..count);
                if bytes.is_empty() {
                    self.coming.pop_front();
                }
                Ok(count)
            }
            _ => {
                self.now = end;
                Ok(0)
            }
        }
    }

    fn now(&self) -> Duration {
        self.now
    }

    fn pause(&mut self, time: Duration) {
        self.now += time;
    }

    fn time_of_day(&self) -> jiff::ZonedDateTime {
        let start = jiff::Timestamp::UNIX_EPOCH;
        (start + self.now).to_zoned_datetime(jiff::tz::TimeZone::UTC)
    }
}
