//! Captures as the host sees them: how one is set up, and what it brought.

use crate::wire::channel_list::ChannelList;
use crate::wire::data::Seconds;
use crate::wire::preamble::Preamble;
use crate::wire::request::Request;
use crate::wire::setting::Setting;
use crate::wire::suffix::CaptureUnit;
use crate::wire::tree::command;
pub use crate::wire::words::TriggerSource as Trigger;

/// How a capture is taken.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CaptureSetup {
    /// The channels of a scan, in order; at most `wire::preamble::SCAN_MAX`.
    pub scan: Vec<u16>,
    /// Time between scans, after averaging, in microseconds.
    pub interval_us: u32,
    /// Scans in all, those before the trigger included.
    pub points: u32,
    /// Scans before the trigger.
    pub pre_trigger: u32,
    /// Conversions averaged into one point.
    pub average: u16,
    /// What starts it.
    pub trigger: Trigger,
}

impl CaptureSetup {
    /// What sets up and arms a capture.
    pub(super) fn request(&self, unit: CaptureUnit) -> impl Request + '_ {
        let (points, interval) = (self.points.into(), Seconds::from_us(self.interval_us.into()));
        let offset = |points| command::SweepOffset { unit, points: Setting::Value(points) };
        (
            command::Abort { unit },
            command::Scan { unit, channels: ChannelList::of(&self.scan) },
            // To 0 first, since it must never reach beyond the points.
            offset(0),
            command::AverageCount { unit, conversions: Setting::Value(self.average.into()) },
            command::SweepInterval { unit, interval: Setting::Value(interval) },
            command::SweepPoints { unit, points: Setting::Value(points) },
            offset(-i64::from(self.pre_trigger)),
            command::TriggerSource { unit, source: self.trigger },
            command::Initiate { unit },
        )
    }
}

/// A capture's samples.
#[derive(Clone, Debug, PartialEq)]
pub struct Captured {
    /// What one must know to read them.
    pub preamble: Preamble,
    /// `points × columns` counts, scan after scan.
    pub counts: Vec<i16>,
}

impl Captured {
    /// The counts of one column, in order of time.
    pub fn column(&self, index: usize) -> impl Iterator<Item = i16> + '_ {
        self.counts.iter().skip(index).step_by(self.preamble.columns.len().max(1)).copied()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::preamble::SCAN_MAX;
    use crate::wire::request::text;
    use crate::wire::seal::REST_MAX;

    #[test]
    fn a_setup_is_one_program_message() {
        let setup = CaptureSetup {
            scan: vec![101, 102, 2],
            interval_us: 200,
            points: 500,
            pre_trigger: 100,
            average: 1,
            trigger: Trigger::Sent,
        };
        assert_eq!(
            text(&setup.request(CaptureUnit::Capture)).unwrap(),
            "ABOR1;:ROUT:SCAN1 (@101:102,2);:SENS1:SWE:OFFS:POIN 0;:SENS1:AVER:COUN 1;\
             :SENS1:SWE:TINT 2.0E-4;:SENS1:SWE:POIN 500;:SENS1:SWE:OFFS:POIN -100;\
             :TRIG1:SOUR SENT;:INIT1"
        );
    }

    #[test]
    fn the_longest_setup_leaves_room_for_what_goes_with_it() {
        let setup = CaptureSetup {
            scan: (0..SCAN_MAX as u16).map(|n| 60_000 + 2 * n).collect(),
            interval_us: 59_999_999,
            points: u32::MAX,
            pre_trigger: u32::MAX,
            average: u16::MAX,
            trigger: Trigger::Immediate,
        };
        let longest = text(&setup.request(CaptureUnit::Watch)).unwrap();
        assert!(longest.len() + 100 < REST_MAX, "{}", longest.len());
    }
}
