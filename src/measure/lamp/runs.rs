//! From samples to changes between the two levels.

use super::levels::{Levels, NEAR};
use std::ops::Range;

/// For so many points what drew current before may still die away.
const LINGERS: usize = 4;

/// A change of the lamp.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Change {
    /// When, in samples.
    pub at: f64,
    /// Its standard uncertainty by noise, in samples.
    pub noise: f64,
    /// Half-width of what the time between conversions or samples leaves open, in samples.
    pub half_width: f64,
    /// Whether something else drew current meanwhile, so that the samples do not tell when it came.
    pub hidden: bool,
    /// Whether it went on.
    pub to_high: bool,
}

/// A run of samples in one state.
#[derive(Clone, Copy, Debug)]
struct Run {
    from: usize,
    to: usize,
    high: bool,
}

impl Run {
    fn length(&self) -> usize {
        self.to - self.from
    }
}

/// The changes, in stretches within which none can have been missed. `suspect` are the parts in which
/// something else draws current as well; `half_width` is what the time between conversions leaves open, in samples.
pub(super) fn stretches(
    values: &[f32],
    levels: &Levels,
    half_width: f64,
    suspect: &[Range<usize>],
) -> Vec<Vec<Change>> {
    let runs = runs(values, levels);
    let longest_gap = (shortest_phase(&runs) / 2.0).max(2.0);
    let mut stretches = vec![Vec::new()];
    for pair in runs.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let gap = b.from - a.to;
        if gap as f64 > longest_gap {
            stretches.push(Vec::new());
        } else if a.high != b.high {
            let mut change = change(values, levels, half_width, &a, &b);
            if !change.hidden && is_disturbed(values, levels, suspect, &a, &b) {
                change = hidden(&a, &b);
            }
            stretches.last_mut().expect("never empty").push(change);
        }
    }
    stretches
}

/// The change between two neighbouring runs.
///
/// Averaged points: the share that each point has of the higher level says for how long it was
/// there. So the points on either side and the one between them tell when the change came, wherever
/// in a point that was, to the time between two conversions.
fn change(values: &[f32], levels: &Levels, half_width: f64, a: &Run, b: &Run) -> Change {
    let around = &values[a.to - 1..=b.from];
    let shares = around.iter().map(|&v| (f64::from(v) - levels.low) / (levels.high - levels.low));
    let is_between = shares.clone().all(|share| (-0.5..=1.5).contains(&share));
    if around.len() > 3 || !is_between {
        return hidden(a, b);
    }
    let high: f64 = shares.sum();
    let at = if b.high { b.from as f64 + 0.5 - high } else { a.to as f64 - 1.5 + high };
    let noise = levels.share_noise * (around.len() as f64).sqrt();
    Change { at, noise, half_width, hidden: false, to_high: b.high }
}

/// A change that came anywhere between two runs.
fn hidden(a: &Run, b: &Run) -> Change {
    let at = (a.to as f64 + b.from as f64 - 1.0) / 2.0;
    let half_width = (b.from - a.to + 1) as f64 / 2.0;
    Change { at, noise: 0.0, half_width, hidden: true, to_high: b.high }
}

/// Whether something else that draws current, or the rest of it as it dies away, reaches the points
/// around a change: then the points next to these lie off their levels.
fn is_disturbed(
    values: &[f32],
    levels: &Levels,
    suspect: &[Range<usize>],
    a: &Run,
    b: &Run,
) -> bool {
    if !suspect.iter().any(|s| s.start <= b.from + 1 && a.to < s.end + LINGERS) {
        return false;
    }
    let near = NEAR * levels.share_noise * (levels.high - levels.low);
    let is_off = |i: Option<usize>, high: bool| {
        let level = if high { levels.high } else { levels.low };
        i.and_then(|i| values.get(i)).is_some_and(|&v| (f64::from(v) - level).abs() > near)
    };
    is_off(a.to.checked_sub(2), a.high) || is_off(Some(b.from + 1), b.high)
}

/// Runs of samples near one of the levels; runs of a single sample beside a foreign one are edges
/// of something else and left out.
fn runs(values: &[f32], levels: &Levels) -> Vec<Run> {
    let mut runs: Vec<Run> = Vec::new();
    let mut open: Option<Run> = None;
    for (i, &v) in values.iter().enumerate() {
        let v = f64::from(v);
        let state = if (v - levels.low).abs() <= levels.tolerance {
            Some(false)
        } else if (v - levels.high).abs() <= levels.tolerance {
            Some(true)
        } else {
            None
        };
        match (&mut open, state) {
            (Some(run), Some(high)) if run.high == high => run.to = i + 1,
            _ => {
                runs.extend(open.take());
                open = state.map(|high| Run { from: i, to: i + 1, high });
            }
        }
    }
    runs.extend(open);
    let touches = |i: usize| {
        let before = if i == 0 { 0 } else { runs[i - 1].to };
        let after = runs.get(i + 1).map_or(values.len(), |next| next.from);
        before < runs[i].from || runs[i].to < after
    };
    let kept: Vec<Run> =
        (0..runs.len()).filter(|&i| runs[i].length() > 1 || !touches(i)).map(|i| runs[i]).collect();
    merged(&kept)
}

/// Neighbouring runs of the same state with nothing but a short gap between them become one.
fn merged(runs: &[Run]) -> Vec<Run> {
    let mut out: Vec<Run> = Vec::with_capacity(runs.len());
    for &run in runs {
        match out.last_mut() {
            Some(last) if last.high == run.high && run.from - last.to <= 2 => last.to = run.to,
            _ => out.push(run),
        }
    }
    out
}

/// Length of the shorter of the two phases: the median of those that were seen from change to
/// change. Where none was, because something else disturbs each, a phase of a lamp that keeps its
/// rhythm is no shorter than the longest part of one that was seen.
fn shortest_phase(runs: &[Run]) -> f64 {
    let length = |high: bool| {
        let mut whole: Vec<usize> = runs
            .windows(3)
            .filter(|w| w[1].high == high && w[0].high != high && w[2].high != high)
            .filter(|w| w[1].from - w[0].to <= 2 && w[2].from - w[1].to <= 2)
            .map(|w| w[1].length())
            .collect();
        whole.sort_unstable();
        let longest = || runs.iter().filter(|r| r.high == high).map(Run::length).max();
        whole.get(whole.len() / 2).copied().or_else(longest).unwrap_or(0)
    };
    length(false).min(length(true)) as f64
}
