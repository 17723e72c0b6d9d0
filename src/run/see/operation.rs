//! A captured operation, and what its traces say of clamps and coil.

use super::standing::Standing;
use crate::judge::blame::AtClamp;
use crate::measure::mean::Mean;
use crate::measure::pulse_peak::{PulsePeak, pulse_peak};
use crate::measure::record::Record;
use crate::measure::settled::tail;
use crate::measure::uncertainty::Estimate;
use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_CURRENT, CLAMP_VOLTAGE, FEED_CURRENT, LOAD_VOLTAGE};
use std::ops::Range;

/// The running mean that stands for a coil's peak, in microseconds.
const PEAK_WIDTH_US: u32 = 1_000;
/// Share of the record, at its end, over which settled values are taken; at least 100 scans.
const SETTLED: f64 = 0.15;

/// Share of the supply's voltage from which on a clamp has nearly all of it …
const FULL_SHARE: f64 = 0.9;
/// … and from which on it has any.
const DROPPED_SHARE: f64 = 0.1;

/// Means that the jig has worked out itself after the capture.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Means {
    pub supply: f64,
    pub clamp: f64,
    pub current: f64,
    /// One of them stands at an end of its channel's range.
    pub is_cut_off: bool,
}

/// A captured operation.
#[derive(Clone, Debug)]
pub struct OperationCapture {
    pub record: Record,
    /// The first scan at which anything may move.
    pub start: usize,
    /// When the module had all it needs, in microseconds after the trigger.
    pub moment_us: f64,
    pub standing: Standing,
    /// Settled voltage of the load supply.
    pub supply: Option<Estimate>,
    /// What flows once the load has settled, where that is after the capture's end.
    pub settled_later: Option<Means>,
    /// The same with the load disconnected.
    pub without_current: Option<Means>,
    /// The load supply has tripped.
    pub tripped: bool,
}

impl OperationCapture {
    /// The scans over which settled values are taken.
    pub fn settled(&self) -> Range<usize> {
        tail(self.record.scans(), SETTLED, 100)
    }

    /// Settled mean of a channel.
    pub fn settled_mean(&self, channel: u16) -> Option<Mean> {
        self.record.trace(channel)?.mean(self.settled())
    }

    /// Settled current at a clamp with its uncertainty.
    pub fn settled_current(&self, clamp: Clamp) -> Option<Estimate> {
        let trace = self.record.trace(clamp.channel(CLAMP_CURRENT))?;
        Some(self.settled_mean(trace.channel)?.estimate(&trace.class))
    }

    /// Settled current at a clamp above that before anything moved, when it was open: the offset of
    /// the channel falls out.
    pub fn risen_current(&self, clamp: Clamp, least: f64) -> Option<Estimate> {
        let trace = self.record.trace(clamp.channel(CLAMP_CURRENT))?;
        let before = trace.mean(..self.start)?;
        let settled = match self.settled_later {
            // The jig's own mean says nothing of its noise; it is that of the same channel before.
            Some(later) => Mean { value: later.current, drift: 0.0, ..before },
            None => self.settled_mean(trace.channel)?,
        };
        Some(if before.value.abs() < least {
            settled.less(&before, &trace.class)
        } else {
            settled.estimate(&trace.class)
        })
    }

    /// Voltage of the load supply when the load's current was read.
    pub fn supply_of_load(&self) -> Option<Estimate> {
        let Some(later) = self.settled_later else { return self.supply };
        let trace = self.record.trace(LOAD_VOLTAGE)?;
        let mean = self.settled_mean(LOAD_VOLTAGE)?;
        Some(Mean { value: later.supply, drift: 0.0, ..mean }.estimate(&trace.class))
    }

    /// Settled voltage at a clamp over that of the supply.
    pub fn voltage_share(&self, clamp: Clamp) -> Option<f64> {
        let supply = self.supply?.value;
        Some(self.settled_mean(clamp.channel(CLAMP_VOLTAGE))?.value / supply)
    }

    /// The coil's pulse above the current before, where there is one at all.
    pub fn coil(&self) -> Option<PulsePeak> {
        let trace = self.record.trace(FEED_CURRENT)?;
        let width = (PEAK_WIDTH_US / self.record.interval_us.max(1)).max(1) as usize;
        pulse_peak(&trace.counts, &trace.scale, self.start, width, &trace.class)
    }

    /// What the voltage at a clamp says.
    pub fn at_clamp(&self, clamp: Clamp) -> AtClamp {
        match self.voltage_share(clamp) {
            None => AtClamp::Unknown,
            Some(share) if share >= FULL_SHARE => AtClamp::Full,
            Some(share) if share >= DROPPED_SHARE => AtClamp::Dropped,
            Some(_) => AtClamp::Absent,
        }
    }
}
