//! A transition from one level to another: its instants, its duration, how far it overshoots, when
//! it has settled, and how often it was made.
//!
//! Source: IEEE Std 181-2011: 5.3.3 (reference level instants), 5.3.4 (transition duration, 10 % to
//! 90 %), 5.4 (aberrations before and after, settling from the 50 % instant into the state's band;
//! clauses from memory). Bounce after IEC 61810-7:2006: the first and the last closure apart.
//!
//! One pass over the two stretches that give the levels, one over the record for all the rest; both
//! without allocation. It works on counts as on values.

pub use super::crossing::interpolate;
use super::crossing::{Crossing, END, Edge, Noise};
use super::sample::{BLOCK, Sample, extremes};
use super::step::{Look, NoStep, STEADY, Step};
use super::turns::{Rise, StepShares, Turns};

/// A swing below so many standard deviations of the noise is no change.
const LEAST_SWING: f64 = 10.0;
/// Half of the band around a level that counts as its state, in standard deviations of its samples;
/// no less than what a steady level may drift.
const STATE_NOISE: f64 = 6.0;
/// Where a transition begins, as a share of the step.
const BEGIN: f64 = 0.1;
/// Aberrations before a transition are looked for over so many transition durations, up to where the
/// waveform leaves the band of its state for good.
const REGION: f64 = 3.0;

/// How far a waveform leaves a state, as shares of the step; positive is away from the state.
#[derive(Clone, Copy, Debug, PartialEq, Default)]
pub struct Aberration {
    /// Beyond the level, in the direction of the step.
    pub over: f64,
    /// Short of it, against the direction of the step.
    pub under: f64,
}

/// One transition; instants are in samples from the start of the record.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Transition {
    /// The levels.
    pub step: Step,
    /// The first 50 % instant.
    pub first: Crossing,
    /// The last 50 % instant: later than the first where a contact bounces.
    pub last: Crossing,
    /// How often the waveform changed to the final state.
    pub changes: usize,
    /// The last 10 % instant before `last`; `None` where the waveform does not go all the way from
    /// there in one rise.
    pub begin: Option<Crossing>,
    /// The first 90 % instant after `last`, likewise.
    pub end: Option<Crossing>,
    /// What the waveform does before it begins to move.
    pub before: Aberration,
    /// What it does after its last change; `None` where it is cut off at an end of the range.
    pub after: Option<Aberration>,
    /// Half of the band around the final level that counts as settled, as a share of the step.
    pub band: f64,
    /// The first instant from which on the waveform stays in that band; `None` where the noise is
    /// so wide that it was never outside.
    pub settled: Option<f64>,
}

impl Transition {
    /// Transition duration, 10 % to 90 %.
    pub fn duration(&self) -> Option<f64> {
        Some(self.end?.at - self.begin?.at)
    }

    /// From the first 50 % instant until it has settled.
    pub fn settling(&self) -> Option<f64> {
        Some(self.settled? - self.first.at)
    }
}

/// What one pass over the record gathers.
struct Watch {
    first: Option<Rise>,
    last: Option<Rise>,
    changes: usize,
    /// The block that holds the last sample outside the band.
    outside: Option<(usize, usize)>,
    /// Lowest and highest share since the last change; the lowest only once the final level was
    /// reached.
    low: f64,
    high: f64,
    is_reached: bool,
    is_cut: bool,
}

impl Watch {
    fn found(&mut self, rise: Rise) {
        self.first = self.first.or(Some(rise));
        self.last = Some(rise);
        self.changes += 1;
        (self.low, self.high, self.is_reached) = (1.0, 1.0, false);
    }

    /// What follows the last change: samples from `from` to `to`.
    fn follow<S: Sample>(
        &mut self,
        course: &StepShares<'_, S>,
        from: usize,
        to: usize,
        ends: (f64, f64),
    ) {
        self.high = self.high.max(ends.1);
        if self.is_reached {
            self.low = self.low.min(ends.0);
        } else if ends.1 >= 1.0 {
            self.is_reached = true;
            let at = (from..to).find(|&i| course.share(i) >= 1.0).unwrap_or(from);
            let lowest = (at..to).map(|i| course.share(i)).fold(f64::INFINITY, f64::min);
            self.low = self.low.min(lowest);
        }
    }
}

/// Finds the transition of a record.
///
/// # Errors
///
/// Tells why there is none, or none that can be measured.
pub fn transition<S: Sample>(values: &[S], look: &Look) -> Result<Transition, NoStep> {
    let step = Step::of(values, look)?;
    let course = StepShares::new(values, step.before.value, step.span());
    let band = STEADY.max(STATE_NOISE * step.after.deviation / step.span().abs());
    let swing = (LEAST_SWING * step.noise).clamp(0.5, 0.9);
    let begin_at = look.start.max(1) - 1;
    let mut turns = Turns::new(&course, begin_at, swing);
    let mut watch = Watch {
        first: None,
        last: None,
        changes: 0,
        outside: None,
        low: 1.0,
        high: 1.0,
        is_reached: false,
        is_cut: false,
    };
    let mut from = begin_at;
    for block in values[begin_at..].chunks(BLOCK) {
        let to = from + block.len();
        if !S::are_numbers(block) {
            return Err(NoStep::NoNumber);
        }
        let Some(ends) = extremes(block) else { break };
        watch.is_cut |= ends.0.value() <= look.range.0 || ends.1.value() >= look.range.1;
        let shares = course.shares(ends);
        if shares.0 < 1.0 - band || shares.1 > 1.0 + band {
            watch.outside = Some((from, to));
        }
        let changes = watch.changes;
        turns.block(&course, (from, to), shares, |rise| {
            // Ringing turns too, but does not go back half the way.
            if course.share(rise.low) < 0.5 {
                watch.found(rise);
            }
        });
        match watch.last {
            Some(rise) if watch.changes > changes => {
                let ends = extremes(&values[rise.seen..to]).map_or(shares, |e| course.shares(e));
                watch.follow(&course, rise.seen, to, ends);
            }
            _ => watch.follow(&course, from, to, shares),
        }
        from = to;
    }
    let (Some(first), Some(last)) = (watch.first, watch.last) else {
        return Err(NoStep::NeverCame);
    };
    finish(&course, &step, (band, swing), &watch, (first, last))
}

/// The instants, once it is known where the changes are.
fn finish<S: Sample>(
    course: &StepShares<'_, S>,
    step: &Step,
    (band, swing): (f64, f64),
    watch: &Watch,
    (first, last): (Rise, Rise),
) -> Result<Transition, NoStep> {
    let settled = settled(course, step, band, watch)?;
    let span = step.span().abs();
    let levels = [step.before.standard / span, step.after.standard / span];
    let noise = Noise { sample: step.noise, levels };
    let [first_edge, edge] = [first, last].map(|rise| Edge { course, noise, rise, swing });
    let first_middle = first_edge.middle();
    let middle = if first == last { first_middle } else { edge.middle() };
    let is_whole = course.share(last.low) < BEGIN && course.share(edge.top(END)) >= END;
    let begin = edge.begin(BEGIN, &middle).filter(|_| is_whole);
    let end = edge.end(END, &middle).filter(|_| is_whole);
    let after = Aberration { over: watch.high - 1.0, under: 1.0 - watch.low };
    Ok(Transition {
        step: *step,
        first: first_middle,
        last: middle,
        changes: watch.changes,
        begin,
        end,
        before: before(&first_edge, step, &first_middle),
        after: (!watch.is_cut).then_some(after),
        band,
        settled,
    })
}

/// What a waveform does before its first rise, up to where it leaves the band of its state for good.
fn before<S: Sample>(edge: &Edge<'_, S>, step: &Step, middle: &Crossing) -> Aberration {
    let [begin, end] = [edge.begin(BEGIN, middle), edge.end(END, middle)];
    let duration = begin.zip(end).map_or(1.0, |(begin, end)| end.at - begin.at);
    let still = STEADY.max(STATE_NOISE * step.before.deviation / step.span().abs());
    let leaves = edge.below(begin.map_or(edge.rise.low, |b| b.at as usize), still).unwrap_or(0);
    let region = leaves.saturating_sub((REGION * duration).ceil() as usize)..leaves + 1;
    let (low, high) =
        extremes(&edge.course.values[region]).map_or((0.0, 0.0), |ends| edge.course.shares(ends));
    Aberration { over: high.max(0.0), under: (-low).max(0.0) }
}

/// The instant from which on the waveform stays in the band around its final level.
fn settled<S: Sample>(
    course: &StepShares<'_, S>,
    step: &Step,
    band: f64,
    watch: &Watch,
) -> Result<Option<f64>, NoStep> {
    let is_outside = |i: &usize| (course.share(*i) - 1.0).abs() > band;
    let Some(at) = watch.outside.and_then(|(from, to)| (from..to).rev().find(is_outside)) else {
        return Ok(None);
    };
    let here = course.share(at);
    if at >= step.after_from {
        return Err(NoStep::NeverSettled { share: (here - 1.0).abs() });
    }
    let edge = if here < 1.0 { 1.0 - band } else { 1.0 + band };
    Ok(Some(at as f64 + interpolate(here, course.share(at + 1), edge)))
}

#[cfg(test)]
mod step_info;
#[cfg(test)]
mod tests;
