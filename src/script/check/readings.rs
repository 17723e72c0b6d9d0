//! What a plan measures and watches.

use super::state::Bench;
use crate::script::plan::{LoadChoice, Measured, Step};
use crate::script::timing;
use crate::signal::target::Clamp;

/// A rhythm is not judged from fewer blinks.
const BLINKS_MIN: u32 = 5;

impl Bench<'_> {
    pub(super) fn measure(&mut self, step: &Step, what: Measured) {
        match what {
            Measured::IdleCurrent => {
                self.need_feed(step);
                if self.auxiliary {
                    self.error(
                        step,
                        "the idle current is measured with the auxiliary supply off, but its \
                         slider is on",
                    );
                }
                self.idle_measured = true;
            }
            Measured::AuxiliaryCurrent => {
                self.need_feed(step);
                if !self.auxiliary {
                    self.error(step, "the slider of the auxiliary supply is not on");
                }
                self.auxiliary_measured = Some((step.line, step.name.clone()));
            }
            Measured::FeedVoltage => self.need_feed(step),
            Measured::LoadVoltage => self.load_current_flows(step, step.duration),
            Measured::LoadStart => {
                if self.loads != LoadChoice::Real {
                    self.error(step, "a start is that of real loads: connect them first");
                }
                // One after the other, each for its own time.
                for clamp in self.clamps.clone() {
                    let on = timing::start_on(self.plan.loads.as_ref(), clamp);
                    self.load_is_on(step, clamp, on);
                }
            }
            Measured::LoadTotal => {
                if self.loads == LoadChoice::None {
                    self.error(step, "no loads are connected, so their total current is nothing");
                }
                let stands = |c: &Clamp| self.positions[usize::from(c.output) - 1].is_some();
                if !self.clamps.iter().all(stands) {
                    self.error(
                        step,
                        "which loads are on depends on where the outputs stand, and nobody \
                         knows: send them somewhere first",
                    );
                }
                self.load_current_flows(step, step.duration);
            }
        }
    }

    pub(super) fn judge_lamp(&mut self, step: &Step) {
        let Some(watched) = self.watched.take() else {
            self.error(step, "the lamp was not watched: put { lamp = \"watch\" } before");
            return;
        };
        if watched > timing::WATCH_MAX {
            let most = timing::WATCH_MAX.as_secs();
            self.warn(
                step,
                format!(
                    "the lamp is watched for {:.0} s, but the jig remembers only the first {most} s",
                    watched.as_secs_f64()
                ),
            );
        }
        let need = timing::blinks(&self.plan.module, BLINKS_MIN);
        if watched < need {
            let (watched, need) = (watched.as_secs_f64(), need.as_secs_f64());
            self.error(
                step,
                format!(
                    "the lamp is watched for {watched:.1} s only; {BLINKS_MIN} blinks take \
                     {need:.1} s: add blinks = 8 to this step"
                ),
            );
        }
    }
}
