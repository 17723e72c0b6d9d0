//! Scans of one capture unit: each channel converted at its own time, counts queued until taken.

use core::ops::Range;

/// Scans for which room is made at a time.
const ROOM: usize = 64;

/// One channel of a scan.
#[derive(Clone, Copy, Debug)]
pub struct Conversion {
    /// Which channel of the board.
    pub channel: usize,
    /// Where its counts stand in the scan.
    pub column: usize,
    /// How much later than the scan it is, microseconds.
    pub skew_us: u64,
}

/// A running series of scans, or none.
#[derive(Clone, Debug, Default)]
pub struct Scans {
    /// The conversions of a scan, in order of time.
    conversions: Vec<Conversion>,
    interval_us: u64,
    /// Time of the scan that is being taken, and the next of its conversions.
    scan_us: u64,
    next: usize,
    /// Scan by scan: so many counts are of whole scans, and so many of those have been taken.
    counts: Vec<i16>,
    whole: usize,
    taken: usize,
    /// Time of the oldest scan that has not been taken.
    oldest_us: u64,
}

impl Scans {
    /// Starts: `columns` gives channel and skew of each column.
    pub fn start(&mut self, columns: &[(usize, u64)], interval_us: u32, first_us: u64) {
        self.stop();
        let conversion = |(column, &(channel, skew_us))| Conversion { channel, column, skew_us };
        self.conversions.extend((0..).zip(columns).map(conversion));
        self.conversions.sort_by_key(|c| c.skew_us);
        self.interval_us = u64::from(interval_us.max(1));
        self.scan_us = first_us;
        self.oldest_us = first_us;
    }

    /// Ends and forgets.
    pub fn stop(&mut self) {
        self.conversions.clear();
        self.whole = 0;
        self.taken = 0;
        self.next = 0;
    }

    /// When the next conversion is due.
    pub fn next_us(&self) -> u64 {
        self.conversions.get(self.next).map_or(u64::MAX, |c| self.scan_us + c.skew_us)
    }

    /// The conversions of a scan, in order of time.
    pub fn conversions(&self) -> &[Conversion] {
        &self.conversions
    }

    /// Carries out the conversions that are due up to `until_us`, in order of time, as many of one scan as
    /// there are together: `convert` is given the time of the scan, which of its conversions are due, and
    /// the counts of the scan to be filled in.
    pub fn convert(
        &mut self,
        until_us: u64,
        mut convert: impl FnMut(u64, Range<usize>, &[Conversion], &mut [i16]),
    ) {
        let columns = self.conversions.len();
        // A scan that ends in time is due as a whole, or what is left of it.
        let Some(last) = self.conversions.last().map(|c| c.skew_us) else { return };
        while self.scan_us + self.conversions[self.next].skew_us <= until_us {
            let due = if self.scan_us + last <= until_us {
                columns
            } else {
                let due_us = until_us - self.scan_us;
                self.conversions.partition_point(|c| c.skew_us <= due_us)
            };
            let end = self.whole + columns;
            if self.counts.len() < end {
                self.counts.resize(end + ROOM * columns, 0);
            }
            let which = self.next..due;
            let all = &self.conversions[which.clone()];
            convert(self.scan_us, which, all, &mut self.counts[self.whole..end]);
            self.next = due;
            if due < columns {
                return;
            }
            self.whole = end;
            self.next = 0;
            self.scan_us += self.interval_us;
        }
    }

    /// Takes the oldest scan.
    pub fn take(&mut self, into: &mut [i16]) -> Option<u64> {
        if self.taken == self.whole {
            return None;
        }
        let scan = &self.counts[self.taken..self.taken + self.conversions.len()];
        for (slot, count) in into.iter_mut().zip(scan) {
            *slot = *count;
        }
        self.taken += self.conversions.len();
        if self.taken == self.whole {
            // What has begun of the next scan moves to the front.
            let end = self.counts.len().min(self.whole + self.conversions.len());
            self.counts.copy_within(self.whole..end, 0);
            (self.taken, self.whole) = (0, 0);
        }
        let scan_us = self.oldest_us;
        self.oldest_us += self.interval_us;
        Some(scan_us)
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
            scans.convert(now, |scan_us, _, all, scan| {
                for c in all {
                    seen.push((scan_us + c.skew_us, c.channel));
                    scan[c.column] = c.channel as i16;
                }
            });
        }
        assert_eq!(seen, [(1_000, 5), (1_008, 7), (1_008, 6), (1_100, 5), (1_108, 7), (1_108, 6)]);
        let mut counts = [0; 3];
        assert_eq!(scans.take(&mut counts), Some(1_000));
        assert_eq!(counts, [7, 5, 6]);
        assert_eq!(scans.take(&mut counts), Some(1_100));
        assert_eq!(scans.take(&mut counts), None);
    }

    #[test]
    fn many_scans_at_once_are_the_same_as_one_by_one() {
        let columns = [(3, 4), (1, 0), (2, 4)];
        let conversion = |scan_us: u64, _: Range<usize>, all: &[Conversion], scan: &mut [i16]| {
            for c in all {
                scan[c.column] = ((scan_us + c.skew_us) * 7 + c.channel as u64) as i16;
            }
        };
        let (mut slow, mut fast) = (Scans::default(), Scans::default());
        slow.start(&columns, 50, 11);
        fast.start(&columns, 50, 11);
        fast.convert(999, conversion);
        for now_us in 0..1_000 {
            slow.convert(now_us, conversion);
            let (mut a, mut b) = ([0; 3], [0; 3]);
            // Now and then, also while a scan is under way.
            while now_us % 53 == 0
                && let Some(scan_us) = slow.take(&mut a)
            {
                assert_eq!((Some(scan_us), a), (fast.take(&mut b), b));
            }
        }
        assert_eq!(slow.next_us(), fast.next_us());
    }
}
