//! From samples to changes between the two levels.

use super::levels::Levels;

/// A change of the lamp.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Change {
    /// When, in samples.
    pub at: f64,
    /// Variance of that, in samples squared.
    pub variance: f64,
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

/// The changes, in stretches within which none can have been missed.
pub(super) fn stretches(values: &[f32], levels: &Levels) -> Vec<Vec<Change>> {
    let runs = runs(values, levels);
    let longest_gap = (shortest_phase(&runs) / 2.0).max(2.0);
    let mut stretches = vec![Vec::new()];
    for pair in runs.windows(2) {
        let (a, b) = (pair[0], pair[1]);
        let gap = b.from - a.to;
        if gap as f64 > longest_gap {
            stretches.push(Vec::new());
        } else if a.high != b.high {
            stretches.last_mut().expect("never empty").push(change(values, levels, &a, &b));
        }
    }
    stretches
}

/// The change between two neighbouring runs.
fn change(values: &[f32], levels: &Levels, a: &Run, b: &Run) -> Change {
    let gap = b.from - a.to;
    // Averaged points: one point between the levels says by its value when the change came.
    let (at, spread) = match gap {
        0 => (a.to as f64 - 0.5, 0.5),
        1 => {
            let share = (f64::from(values[a.to]) - levels.low) / (levels.high - levels.low);
            let left = if b.high { 1.0 - share } else { share };
            if (-0.2..=1.2).contains(&left) {
                (a.to as f64 - 0.5 + left.clamp(0.0, 1.0), 0.25)
            } else {
                (a.to as f64, 1.0)
            }
        }
        _ => ((a.to as f64 + b.from as f64 - 1.0) / 2.0, (gap as f64 + 1.0) / 2.0),
    };
    Change { at, variance: spread * spread / 3.0, to_high: b.high }
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
        let before = i > 0 && runs[i - 1].to < runs[i].from;
        let after = i + 1 < runs.len() && runs[i].to < runs[i + 1].from;
        before || after
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

/// Median length of the shorter of the two phases, of runs with a neighbour of the other state on
/// either side.
fn shortest_phase(runs: &[Run]) -> f64 {
    let median = |high: bool| {
        let mut lengths: Vec<usize> = runs
            .windows(3)
            .filter(|w| w[1].high == high && w[0].high != high && w[2].high != high)
            .filter(|w| w[1].from - w[0].to <= 2 && w[2].from - w[1].to <= 2)
            .map(|w| w[1].length())
            .collect();
        lengths.sort_unstable();
        lengths.get(lengths.len() / 2).map(|&l| l as f64)
    };
    match (median(false), median(true)) {
        (Some(a), Some(b)) => a.min(b),
        (Some(a), None) | (None, Some(a)) => a,
        (None, None) => 0.0,
    }
}
