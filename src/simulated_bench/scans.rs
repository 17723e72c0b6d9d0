//! Scans of one capture unit: each channel converted at its own time, counts queued until taken.

use std::collections::VecDeque;

/// Channels converted at the same instant.
#[derive(Clone, Copy, Debug)]
pub struct Conversion {
    /// Which channel of the board.
    pub channel: usize,
    /// Where its counts stand in the scan.
    pub column: usize,
}

/// A running series of scans, or none.
#[derive(Clone, Debug, Default)]
pub struct Scans {
    /// Conversions in the order of their skew.
    order: Vec<(u64, Conversion)>,
    columns: usize,
    interval_us: u64,
    /// Time of the scan that is being taken.
    scan_us: u64,
    /// The next conversion of it.
    next: usize,
    partial: Vec<i16>,
    counts: VecDeque<i16>,
    times: VecDeque<u64>,
}

impl Scans {
    /// Starts: `columns` gives channel and skew of each column.
    pub fn start(&mut self, columns: &[(usize, u64)], interval_us: u32, first_us: u64) {
        self.stop();
        self.order = columns
            .iter()
            .enumerate()
            .map(|(column, &(channel, skew_us))| (skew_us, Conversion { channel, column }))
            .collect();
        self.order.sort_by_key(|(skew_us, _)| *skew_us);
        self.columns = columns.len();
        self.interval_us = u64::from(interval_us.max(1));
        self.scan_us = first_us;
        self.partial = vec![0; columns.len()];
    }

    /// Ends and forgets.
    pub fn stop(&mut self) {
        self.order.clear();
        self.counts.clear();
        self.times.clear();
        self.next = 0;
    }

    /// When the next conversion is due.
    pub fn next_us(&self) -> u64 {
        self.order.get(self.next).map_or(u64::MAX, |(skew_us, _)| self.scan_us + skew_us)
    }

    /// Carries out the conversions that are due at `now_us`.
    pub fn convert(&mut self, now_us: u64, mut conversion: impl FnMut(usize) -> i16) {
        while self.next_us() <= now_us {
            let (_, c) = self.order[self.next];
            self.partial[c.column] = conversion(c.channel);
            self.next += 1;
            if self.next == self.order.len() {
                self.counts.extend(&self.partial);
                self.times.push_back(self.scan_us);
                self.next = 0;
                self.scan_us += self.interval_us;
            }
        }
    }

    /// Takes the oldest scan.
    pub fn take(&mut self, into: &mut [i16]) -> Option<u64> {
        let time_us = self.times.pop_front()?;
        for (count, slot) in self.counts.drain(..self.columns).zip(into.iter_mut()) {
            *slot = count;
        }
        Some(time_us)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_channel_is_converted_at_its_own_time() {
        let mut scans = Scans::default();
        scans.start(&[(7, 8), (5, 0), (6, 8)], 100, 1_000);
        let mut seen = Vec::new();
        while scans.next_us() < 1_200 {
            let now = scans.next_us();
            scans.convert(now, |channel| {
                seen.push((now, channel));
                channel as i16
            });
        }
        assert_eq!(seen, [(1_000, 5), (1_008, 7), (1_008, 6), (1_100, 5), (1_108, 7), (1_108, 6)]);
        let mut counts = [0; 3];
        assert_eq!(scans.take(&mut counts), Some(1_000));
        assert_eq!(counts, [7, 5, 6]);
        assert_eq!(scans.take(&mut counts), Some(1_100));
        assert_eq!(scans.take(&mut counts), None);
    }
}
