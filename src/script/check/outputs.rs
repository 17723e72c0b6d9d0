//! What a plan asks of the outputs.

use super::state::Bench;
use crate::quantity::write;
use crate::script::plan::{By, LoadChoice, Step};
use crate::script::timing;
use crate::signal::target::{Clamp, Position};
use core::time::Duration;

impl Bench<'_> {
    pub(super) fn operate(&mut self, step: &Step, target: Clamp, by: By, window: Duration) {
        self.need_feed(step);
        let (output, to) = (target.output, target.position);
        let stands = self.positions[usize::from(output) - 1];
        if by == By::CommandAgainstContact {
            if stands != Some(to.other()) {
                let other = to.other();
                self.error(
                    step,
                    format!(
                        "a command to {to} against the held contact of {other} needs output \
                         {output} at {other} first"
                    ),
                );
            }
        } else {
            match stands {
                None => self.error(
                    step,
                    format!(
                        "nobody knows where output {output} stands: send it to {} first",
                        to.other()
                    ),
                ),
                Some(at) if at == to => {
                    self.error(step, format!("output {output} stands at {to} already"));
                }
                Some(_) => {}
            }
            self.positions[usize::from(output) - 1] = Some(to);
        }
        let other = Clamp { output, position: to.other() };
        let watched = |clamp: &Clamp| self.clamps.contains(clamp);
        if self.loads == LoadChoice::None || !watched(&target) && !watched(&other) {
            self.error(
                step,
                format!(
                    "no load hangs at {target} or {other}, so output {output} cannot be watched"
                ),
            );
        } else if !watched(&target) || !watched(&other) {
            let bare = if watched(&target) { other } else { target };
            self.warn(step, format!("no load hangs at {bare}, so its contact is not seen"));
        }
        self.load_current_flows(step, timing::LEAD + window);
        self.slow_output(step, by);
        self.slow_load(step, target, window);
    }

    /// Somewhere an output must be seen to move.
    pub(super) fn answer(&mut self, step: &Step) {
        self.need_feed(step);
        if self.loads == LoadChoice::None {
            self.error(step, "no loads are connected, so nobody sees whether the module answers");
        }
        self.positions[0] = None;
        self.load_current_flows(step, step.duration);
    }

    /// The first output and the last one must be seen to move.
    pub(super) fn prove_switches(&mut self, step: &Step) {
        self.need_feed(step);
        for output in timing::ends(self.plan.module.outputs) {
            let both = [Position::A, Position::B].map(|position| Clamp { output, position });
            let is_seen = self.loads != LoadChoice::None
                && both.iter().any(|clamp| self.clamps.contains(clamp));
            if !is_seen {
                let [a, b] = both;
                self.error(
                    step,
                    format!("no load hangs at {a} or {b}, so output {output} cannot be watched"),
                );
            }
        }
        self.load_current_flows(step, step.duration);
    }

    /// Some switches cannot be shown in both places.
    pub(super) fn judge_switches(&mut self, step: &Step, never: &[u8]) {
        for switch in never {
            self.warn(
                step,
                format!("no address shows switch {switch} in its other place, so it is not proven"),
            );
        }
    }

    /// An output that may move after the capture has ended would fail though it is sound.
    fn slow_output(&mut self, step: &Step, by: By) {
        let longest = timing::longest_move(&self.plan.module, by);
        let most = timing::CAPTURE_MAX.saturating_sub(timing::SETTLED);
        if longest > most {
            let (longest, most) = (longest.as_millis(), most.as_millis());
            self.error(
                step,
                format!(
                    "by its module sheet an output may take {longest} ms to move (response, gap \
                     and bounce), but no more than {most} ms can be captured"
                ),
            );
        }
    }

    /// A load that settles later than the capture ends is judged while it still changes.
    fn slow_load(&mut self, step: &Step, clamp: Clamp, window: Duration) {
        let real = self.plan.loads.as_ref().filter(|_| self.loads == LoadChoice::Real);
        if window < timing::CAPTURE_MAX || real.is_none() {
            return;
        }
        let settle = write::brief(timing::settle_at(real, clamp));
        let most = timing::CAPTURE_MAX.as_millis();
        self.warn(
            step,
            format!(
                "the load at {clamp} takes {settle} to settle, but a capture is at most {most} \
                 ms: its current is judged while it still changes"
            ),
        );
    }
}
