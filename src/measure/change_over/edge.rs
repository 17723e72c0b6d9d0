//! When one rise of a waveform passed half-way, and how exactly that can be told.
//!
//! A contact closes at once, and a point of the record is the mean of several conversions. So the
//! points of an abrupt rise say how many of their conversions lay after it: it came between two
//! conversions, anywhere (a rectangle of half the time between them on either side). Of a closure
//! that is over within one point, the point says how many conversions it held, but not which.
//! A slow rise (a coil, a lamp that warms up) is interpolated between two points instead.

use crate::measure::transition::interpolate;

/// A point this near to a level belongs to it, as a share of the way between both; the nearest point
/// of an averaged edge lies farther away.
const NEAR: f64 = 0.2;

/// A waveform on the way from its level before (0) to its level after (1).
pub(super) struct Course<'a> {
    pub values: &'a [f32],
    pub before: f64,
    pub span: f64,
    /// Standard deviation of the noise.
    pub noise: f64,
    /// Conversions in one point.
    pub average: f64,
    /// A smaller swing is no change.
    pub swing: f64,
}

/// Where a rise passes half-way, in points: the place, the half-width of a rectangle that holds it,
/// and the standard uncertainty by noise.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Edge {
    pub at: f64,
    pub half_width: f64,
    pub noise: f64,
}

impl Course<'_> {
    pub fn share(&self, index: usize) -> f64 {
        (f64::from(self.values[index]) - self.before) / self.span
    }

    /// The closures in the rise that begins at the turning point `low`; mostly one.
    pub fn edges(&self, low: usize) -> impl Iterator<Item = Edge> + use<> {
        let top = self.top(low);
        let closed = (low + 1..=top).find(|&i| self.share(i) > 1.0 - self.near());
        let Some(closed) = closed else {
            return [Some(self.touch(low, top)), None].into_iter().flatten();
        };
        let opens = (low..closed).rfind(|&i| self.share(i) < self.near());
        let edges = match opens {
            None => [Some(self.reclosing_within(closed - 1)), None],
            Some(open) if closed - open <= 2 => [Some(self.abrupt(open, closed)), None],
            Some(open) => match self.chatter(open, closed) {
                Some(both) => both.map(Some),
                None => [Some(self.slow(low, closed)), None],
            },
        };
        edges.into_iter().flatten()
    }

    fn near(&self) -> f64 {
        NEAR.min(0.5 / self.average)
    }

    /// The highest point of the rise from `low`.
    fn top(&self, low: usize) -> usize {
        let mut top = low;
        for i in low + 1..self.values.len() {
            if self.share(i) > self.share(top) {
                top = i;
            } else if self.share(i) < self.share(top) - self.swing {
                break;
            }
        }
        top
    }

    /// From an open point to a closed one, at most one point between them: the conversions tell. An
    /// inrush may reach the level with a part of the first point already.
    fn abrupt(&self, open: usize, closed: usize) -> Edge {
        let next = (closed + 1).min(self.values.len() - 1);
        let inrush = if self.average > 1.0 { self.share(next) } else { 1.0 };
        let height = self.share(closed).max(inrush).max(1.0);
        let after = (open + 1..=closed).map(|i| (self.share(i) / height).clamp(0.0, 1.0));
        let at = closed as f64 + 0.5 - after.sum::<f64>();
        Edge { at, half_width: 0.5 / self.average, noise: self.noise }
    }

    /// A rise over several points: interpolated at half-way. The less of it happens at once, the
    /// less does the time between two conversions matter.
    fn slow(&self, low: usize, closed: usize) -> Edge {
        let i = (low..closed).find(|&i| self.share(i + 1) >= 0.5).unwrap_or(closed - 1);
        let (here, next) = (self.share(i), self.share(i + 1));
        let high = next.max(self.share((i + 2).min(closed)));
        let step = (high - here.min(self.share(i.saturating_sub(1).max(low)))).clamp(0.0, 1.0);
        Edge {
            at: i as f64 + interpolate(here, next, 0.5),
            half_width: step * 0.5 / self.average,
            noise: (self.noise / (next - here)).min(1.0),
        }
    }

    /// A rise that rests in between and then goes on at once: the contact was neither open nor closed
    /// all the while, so it closed twice at least. Which of the conversions of the first and the last
    /// point between were closed, nobody can tell.
    fn chatter(&self, open: usize, closed: usize) -> Option<[Edge; 2]> {
        let step = |i: usize| self.share(i + 1) - self.share(i);
        let quantum = 1.0 / self.average;
        let rest = (open + 1..closed - 1).find(|&i| step(i).abs() < 0.25 * quantum)?;
        let goes_on = (rest + 1..closed).any(|i| step(i) > 0.75 * quantum);
        (self.average > 1.0 && goes_on)
            .then(|| [self.closing_within(open + 1), self.reclosing_within(closed - 1)])
    }

    /// A closure that is over before a point was closed all the time. Where it goes on into the next
    /// point, it may as well be two of them.
    fn touch(&self, low: usize, top: usize) -> Edge {
        let first = (low + 1..top).find(|&i| self.share(i) > self.near());
        self.closing_within(first.unwrap_or(top))
    }

    /// The closing of a closure within one point, of which some conversions were closed.
    fn closing_within(&self, point: usize) -> Edge {
        let share = self.share(point).clamp(0.0, 1.0);
        let half_width = 0.5 * (1.0 + 1.0 / self.average - share);
        Edge { at: point as f64 - 0.5 * share, half_width, noise: self.noise }
    }

    /// The closing after an opening within one point.
    fn reclosing_within(&self, point: usize) -> Edge {
        let share = self.share(point).clamp(0.0, 1.0);
        let half_width = 0.5 * (share + 1.0 / self.average);
        Edge { at: point as f64 + 0.5 * (1.0 - share), half_width, noise: self.noise }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The edges of the rise that begins with the first of these shares.
    fn edges(values: &[f32], average: f64) -> Vec<Edge> {
        let course =
            Course { values, before: 0.0, span: 1.0, noise: 0.0, average, swing: 0.5 / average };
        course.edges(0).collect()
    }

    /// Shares of points of two conversions each, from whether each conversion is closed.
    fn points(conversions: &[bool]) -> Vec<f32> {
        conversions.chunks(2).map(|c| c.iter().filter(|&&on| on).count() as f32 / 2.0).collect()
    }

    #[test]
    fn the_edge_lies_between_the_conversions() {
        // Between the two conversions of point 2, and between points 2 and 3; counted by hand.
        for (values, at) in [([0.0, 0.0, 0.5, 1.0, 1.0], 2.0), ([0.0, 0.0, 0.0, 1.0, 1.0], 2.5)] {
            let found = edges(&values, 2.0);
            assert_eq!(found, [Edge { at, half_width: 0.25, noise: 0.0 }]);
        }
        let single = edges(&[0.0, 0.0, 1.0, 1.0], 1.0);
        assert_eq!(single, [Edge { at: 1.5, half_width: 0.5, noise: 0.0 }]);
    }

    /// A bounce right after it does not make an edge surer.
    #[test]
    fn what_follows_does_not_narrow_an_edge() {
        let found = edges(&[0.0, 0.0, 1.0, 0.0, 0.0], 1.0);
        assert_eq!(found[0].half_width, 0.5);
        let found = edges(&[0.0, 0.0, 0.5, 1.0, 0.0, 0.0], 2.0);
        assert_eq!(found, [Edge { at: 2.0, half_width: 0.25, noise: 0.0 }]);
    }

    #[test]
    fn a_rise_that_rests_half_way_is_two_closures() {
        let found = edges(&[0.0, 0.5, 0.5, 1.0, 1.0], 2.0);
        assert_eq!(found.len(), 2);
        assert!(found[0].at < 1.0 && found[1].at > 2.0, "{found:?}");
    }

    proptest! {
        /// Any closure, however short, that a conversion sees: in units of points, conversion `k` of
        /// two a point lies at `(k − 0.5) / 2`. The true instant lies in the rectangle.
        #[test]
        fn a_single_closure_lies_in_its_rectangle(
            begin in 2.0f64..6.0, length in 0.0f64..6.0,
        ) {
            let is_closed = |k: usize| {
                let at = (k as f64 - 0.5) / 2.0;
                begin <= at && at < begin + length
            };
            let conversions: Vec<bool> = (0..40).map(is_closed).collect();
            prop_assume!(conversions.iter().any(|&on| on));
            let found = edges(&points(&conversions), 2.0);
            prop_assert_eq!(found.len(), 1);
            let Edge { at, half_width, .. } = found[0];
            prop_assert!((at - begin).abs() <= half_width + 1e-9, "{:?} for {}", found, begin);
        }
    }
}
