//! Sends a burst and watches what it stirs: coils in the feed current, outputs in the loads.

use super::call_stop::CallStop;
use super::caller::{Caller, POINT_US};
use super::coil_pulses::rises;
use super::plan::Burst;
use super::positions::Moved;
use super::target::Target;
use super::timing::Timing;
use crate::link::client::micros;
use crate::procedure::bench::SWITCHED;
use crate::signal::telegram::Telegram;
use crate::wire::COMMANDS_MAX;
use core::time::Duration;

/// How well the time of a rise is known: a point, and what the current takes to rise so far.
const SLACK_US: u64 = 3 * POINT_US as u64;

/// So often the jig may say that nothing more has gone out, until it is asked whether the feed has
/// tripped …
const STALLED_ASK: u32 = 3;
/// … and until it is given up.
const STALLED_MAX: u32 = 100;

/// A coil that pulled.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Coil {
    /// How far the feed current rose, amperes.
    pub height_a: f64,
    /// The targets of the burst that it may have answered to, the latest one first.
    pub suspects: Vec<Target>,
}

/// What was seen while telegrams went out.
pub(super) struct Watched {
    /// When each had gone out.
    pub timing: Timing,
    /// Rises of the feed current: when, and how far in amperes.
    pub rises: Vec<(u64, f64)>,
    /// Outputs that stand elsewhere now.
    pub moved: Vec<Moved>,
}

/// What a burst stirred.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct Heard {
    pub coils: Vec<Coil>,
    pub moved: Vec<Moved>,
}

impl Heard {
    pub fn is_silent(&self) -> bool {
        self.coils.is_empty() && self.moved.is_empty()
    }
}

impl Caller<'_> {
    /// Sends a burst and waits only as long as a sound module needs.
    pub fn call(&mut self, burst: &Burst) -> Result<Heard, CallStop> {
        let window = self.plan.times.longest_move;
        self.call_within(burst, window)
    }

    /// Sends a burst and waits until a slow module has moved too and takes the next command.
    pub fn call_in_peace(&mut self, burst: &Burst) -> Result<Heard, CallStop> {
        let window = self.plan.times.rest;
        self.call_within(burst, window)
    }

    fn call_within(&mut self, burst: &Burst, window: Duration) -> Result<Heard, CallStop> {
        let Some(format) = burst.targets.first().map(|t| t.format) else {
            return Ok(Heard::default());
        };
        self.idle_in(format)?;
        let telegrams: Vec<Telegram> =
            burst.targets.iter().map(|t| t.telegram(burst.to, self.sheet.direction_of_a)).collect();
        telegrams.iter().for_each(|telegram| self.count(telegram, burst.copies));
        let Watched { timing, rises, moved } = self.watch(&telegrams, burst.copies, window)?;
        let response_us = micros(self.plan.times.response);
        let first_copy_us = |index: usize| {
            let telegram: &Telegram = &telegrams[index];
            u64::from(telegram.sending_us(burst.copies) - telegram.duration_us())
        };
        let coils = rises.into_iter().map(|(at_us, height_a)| {
            let suspects = timing.suspects(at_us, response_us, SLACK_US, first_copy_us);
            Coil { height_a, suspects: suspects.into_iter().map(|i| burst.targets[i]).collect() }
        });
        // What rose before the first command, or too long after the last one, answers to none.
        Ok(Heard { coils: coils.filter(|coil| !coil.suspects.is_empty()).collect(), moved })
    }

    /// Sends telegrams, and watches until so long after the last one.
    pub fn watch(
        &mut self,
        telegrams: &[Telegram],
        copies: u8,
        window: Duration,
    ) -> Result<Watched, CallStop> {
        self.bench.check_stop()?;
        self.record()?;
        let (timing, end_us) = self.send(telegrams, copies)?;
        // The load supply is on for the look alone: its loads get hot.
        self.bench.wait_until(end_us + micros(window.saturating_sub(SWITCHED)))?;
        self.loads_on()?;
        self.bench.pause(SWITCHED)?;
        let (first_us, amperes) = self.recorded()?;
        let recorded_us = first_us + amperes.len() as u64 * u64::from(POINT_US);
        if recorded_us + SLACK_US < end_us + micros(self.plan.times.response) {
            return Err(CallStop::Trouble(
                "the line to the jig is so slow that the record of the feed current ended before \
                 the commands did: look at the cable, and try again"
                    .into(),
            ));
        }
        let at_us = |point: usize| first_us + point as u64 * u64::from(POINT_US);
        let found = rises(&amperes, self.least_a);
        let rises = found.iter().map(|rise| (at_us(rise.at), rise.height)).collect();
        Ok(Watched { timing, rises, moved: self.look()? })
    }

    /// Sends telegrams without a pause, as far as the line keeps up. Returns when all have gone out,
    /// with the time when the last one had.
    fn send(&mut self, telegrams: &[Telegram], copies: u8) -> Result<(Timing, u64), CallStop> {
        let durations_us: Vec<u64> =
            telegrams.iter().map(|t| u64::from(t.sending_us(copies))).collect();
        let before = self.bench.jig.sent()?.count;
        let began_us = self.bench.clock_us()?;
        let mut timing = Timing::new(began_us, durations_us.clone());
        let (mut queued, mut gone, mut stalled) = (0, 0, 0);
        loop {
            let room = COMMANDS_MAX - (queued - gone);
            let rest = &telegrams[queued..];
            let sent = if !rest.is_empty() && room >= rest.len().min(COMMANDS_MAX / 2) {
                let (count, sent) =
                    self.bench.jig.commands(&rest[..rest.len().min(room)], copies)?;
                queued += count;
                sent
            } else {
                // Until half of them have gone out, or all.
                let wanted = if rest.is_empty() { queued } else { queued - COMMANDS_MAX / 2 };
                let left_us: u64 = durations_us[gone..wanted.max(gone + 1)].iter().sum();
                self.bench.pause(Duration::from_micros(left_us))?;
                self.bench.jig.sent()?
            };
            let gone_now = sent.count.wrapping_sub(before) as usize;
            if gone_now > queued {
                return Err(CallStop::Trouble("the jig has sent more than it was told to".into()));
            }
            stalled = if gone_now > gone { 0 } else { stalled + 1 };
            gone = gone_now;
            if gone > 0 {
                timing.note(gone - 1, sent.last_end_us);
            }
            if gone == telegrams.len() {
                return Ok((timing, sent.last_end_us));
            }
            // With the feed gone nothing goes out any more.
            if stalled >= STALLED_ASK {
                self.check_feed()?;
            }
            if stalled >= STALLED_MAX {
                return Err(CallStop::Trouble("the jig does not send what it was told to".into()));
            }
        }
    }
}
