//! Rests of the loads: on a slow line they are on for longer than the script plans.

use super::event::Event;
use super::ongoing::OngoingRun;
use super::step_stop::StepStop;
use crate::link::client::micros;
use core::time::Duration;

/// From this share of its longest time on a load rests in the middle of a search: what comes before the next
/// look takes the rest of that time, if the line is slow.
const WARM: f64 = 0.75;
/// In a run that is late anyway loads rest before a step from this share on.
const WARM_BEFORE_STEP: f64 = 0.5;
/// So warm they may be afterwards.
const COOL: f64 = 0.25;
/// Between two looks how warm they are.
const LOOKED_EVERY: Duration = Duration::from_millis(500);
/// A rest counts as so long at least: waiting for rests comes to an end.
const COUNTED_AT_LEAST: Duration = Duration::from_secs(1);

impl OngoingRun<'_, '_> {
    /// Between two steps, the load supply off: in a run that is late, lets warm loads rest.
    pub fn rest_before_step(&mut self) -> Result<(), StepStop> {
        if !self.late {
            return Ok(());
        }
        let trips = self.bench.jig.trips()?;
        if trips.rested {
            self.let_loads_rest()?;
            self.close_loads()?;
        } else if trips.warmth >= WARM_BEFORE_STEP {
            self.emit(&Event::LoadsRest { midway: false })?;
            self.cool_down()?;
        } else {
            return Ok(());
        }
        self.begin_slot()
    }

    /// Between two orders of a search, the load supply on: lets loads rest that are as warm as that.
    pub fn spare_loads(&mut self, warmth: f64) -> Result<(), StepStop> {
        if warmth < WARM {
            return Ok(());
        }
        self.bench.load_supply_off()?;
        self.emit(&Event::LoadsRest { midway: true })?;
        self.cool_down()?;
        self.load_supply_on()?;
        Ok(())
    }

    /// Waits until a load has rested that the jig has switched off.
    ///
    /// # Errors
    /// When that takes longer than the script allows.
    pub fn let_loads_rest(&mut self) -> Result<(), StepStop> {
        let begin_us = self.bench.clock_us()?;
        let have_rested = self.bench.let_loads_rest(self.rests_left)?;
        self.count_rest(begin_us)?;
        if have_rested { Ok(()) } else { Err(StepStop::too_warm()) }
    }

    /// Waits until the loads are cool, or as long as the script allows.
    fn cool_down(&mut self) -> Result<(), StepStop> {
        let begin_us = self.bench.clock_us()?;
        let end_us = begin_us + micros(self.rests_left);
        while self.bench.trips()?.warmth > COOL && self.bench.clock_us()? < end_us {
            self.bench.pause(LOOKED_EVERY)?;
        }
        self.count_rest(begin_us)
    }

    /// Counts what was lost since then.
    pub fn count_rest(&mut self, begin_us: u64) -> Result<(), StepStop> {
        let rested = Duration::from_micros(self.bench.clock_us()?.saturating_sub(begin_us));
        self.rests_left = self.rests_left.saturating_sub(rested.max(COUNTED_AT_LEAST));
        Ok(())
    }
}
