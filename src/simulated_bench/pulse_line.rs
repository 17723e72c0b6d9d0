//! The queue of pulses that waits to go out, and the level of the feed as time goes on.

use crate::signal::pulse::{Level, Pulse, Stretch};

/// The pulses on the feed.
#[derive(Clone, Debug)]
pub struct PulseLine {
    queue: Vec<Pulse>,
    /// How many of the queue have begun.
    begun: usize,
    /// When the next pulse of the queue begins.
    head_us: u64,
    /// When the last pulse of the queue ends.
    end_us: u64,
    rest: Level,
    level: Level,
    since_us: u64,
}

impl PulseLine {
    /// An empty queue, the feed resting low.
    pub fn new() -> Self {
        PulseLine {
            queue: Vec::with_capacity(crate::jig::board::PULSE_QUEUE),
            begun: 0,
            head_us: 0,
            end_us: 0,
            rest: Level::Low,
            level: Level::Low,
            since_us: 0,
        }
    }

    /// Appends pulses; a dry queue begins now. Returns when the last one ends.
    pub fn append(&mut self, pulses: &[Pulse], now_us: u64) -> u64 {
        self.queue.drain(..self.begun);
        self.begun = 0;
        if self.queue.is_empty() && self.end_us <= now_us {
            self.head_us = now_us;
            self.end_us = now_us;
        }
        self.queue.extend_from_slice(pulses);
        self.end_us += pulses.iter().map(|pulse| u64::from(pulse.duration_us)).sum::<u64>();
        self.end_us
    }

    /// When the queue runs dry.
    pub fn end_us(&self) -> u64 {
        self.end_us
    }

    /// When the level changes next, at the earliest.
    pub fn next_us(&self) -> u64 {
        if self.has_begun_all() && self.level == self.rest { u64::MAX } else { self.head_us }
    }

    /// Throws the queue away: the feed goes to its resting level now.
    pub fn clear(&mut self, now_us: u64) {
        self.queue.clear();
        self.begun = 0;
        self.head_us = now_us;
        self.end_us = now_us;
    }

    /// The level while the queue is dry.
    pub fn set_rest(&mut self, level: Level, now_us: u64) {
        self.rest = level;
        if self.has_begun_all() {
            self.head_us = self.head_us.max(now_us);
        }
    }

    /// The level that stood at the end of the last stretch, and since when.
    pub fn standing(&self) -> (Level, u64) {
        (self.level, self.since_us)
    }

    fn has_begun_all(&self) -> bool {
        self.begun == self.queue.len()
    }

    /// The next stretch that ends no later than `until_us`.
    #[inline]
    pub fn next_stretch(&mut self, until_us: u64) -> Option<Stretch> {
        while self.head_us <= until_us {
            let at_us = self.head_us;
            let Some(&Pulse { level, duration_us }) = self.queue.get(self.begun) else {
                return if self.level == self.rest { None } else { self.change(self.rest, at_us) };
            };
            self.head_us += u64::from(duration_us);
            self.begun += 1;
            if level != self.level {
                return self.change(level, at_us);
            }
        }
        None
    }

    #[inline]
    fn change(&mut self, to: Level, at_us: u64) -> Option<Stretch> {
        let duration_us = u32::try_from(at_us - self.since_us).unwrap_or(u32::MAX);
        let ended = Stretch { level: self.level, duration_us, end_us: at_us };
        self.level = to;
        self.since_us = at_us;
        Some(ended)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn pulse(level: Level, duration_us: u32) -> Pulse {
        Pulse { level, duration_us }
    }

    #[test]
    fn neighbours_of_one_level_are_one_stretch() {
        let mut line = PulseLine::new();
        let end = line.append(&[pulse(Level::Low, 10), pulse(Level::High, 20)], 100);
        assert_eq!(end, 130);
        line.append(&[pulse(Level::High, 5), pulse(Level::Low, 7)], 101);
        let mut seen = Vec::new();
        while let Some(s) = line.next_stretch(1_000) {
            seen.push((s.level, s.duration_us, s.end_us));
        }
        assert_eq!(seen, [(Level::Low, 110, 110), (Level::High, 25, 135)]);
    }

    #[test]
    fn a_dry_queue_goes_to_rest() {
        let mut line = PulseLine::new();
        line.append(&[pulse(Level::High, 20)], 0);
        assert_eq!(line.next_stretch(0).map(|s| s.end_us), Some(0));
        assert_eq!(line.next_stretch(19), None);
        let last = line.next_stretch(20).unwrap();
        assert_eq!((last.level, last.duration_us), (Level::High, 20));
        assert_eq!(line.next_stretch(1_000), None);
    }

    #[test]
    fn nothing_is_played_before_its_time() {
        let mut line = PulseLine::new();
        line.append(&[pulse(Level::High, 50), pulse(Level::Low, 50)], 0);
        assert!(line.next_stretch(49).is_some());
        assert_eq!(line.next_stretch(49), None);
        assert!(line.next_stretch(50).is_some());
    }
}
