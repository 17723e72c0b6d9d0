//! When the closures within one rise of a waveform began, and how exactly that can be told.
//!
//! A contact closes at once, and a point of the record is the mean of several conversions. So the
//! points of an abrupt rise say how many of their conversions lay after it: it came between two
//! conversions, anywhere (a rectangle of half the time between them on either side). Of a closure
//! that is over within one point, the point says how many conversions it held, but not which.
//! A slow rise (a coil) crosses half-way as any other waveform does.

use crate::measure::crossing::{CLEAR, Crossing, Edge};
use crate::measure::sample::Sample;
use crate::measure::step::STEADY;

/// A point this near to a level belongs to it, as a share of the way between both; the nearest point
/// of an averaged edge lies farther away.
const NEAR: f64 = 0.2;

/// A rise of which each point is the mean of several conversions.
pub(super) struct Closing<'a, S> {
    pub edge: Edge<'a, S>,
    /// Conversions in one point.
    pub average: f64,
}

impl<S: Sample> Closing<'_, S> {
    /// The closures in the rise; mostly one.
    pub fn closures(&self) -> impl Iterator<Item = Crossing> + use<S> {
        let low = self.edge.rise.low;
        let top = self.edge.top(f64::INFINITY);
        let closed = (low + 1..=top).find(|&i| self.share(i) > 1.0 - self.near());
        let Some(closed) = closed else {
            return [Some(self.touch(low, top)), None].into_iter().flatten();
        };
        let opens = (low..closed).rfind(|&i| self.share(i) < self.near());
        let closures = match opens {
            None => [Some(self.reclosing_within(closed - 1)), None],
            Some(open) if closed - open <= 2 && self.is_there_at_once(closed) => {
                [Some(self.abrupt(open, closed)), None]
            }
            Some(open) => match self.chatter(open, closed) {
                Some(both) => both.map(Some),
                None => [Some(self.edge.passes_half(closed)), None],
            },
        };
        closures.into_iter().flatten()
    }

    fn share(&self, index: usize) -> f64 {
        self.edge.share(index)
    }

    /// Whether the current stands at its level, or above it, as soon as it is closed. Where it still
    /// creeps there, it comes from a coil, and its points do not count conversions.
    fn is_there_at_once(&self, closed: usize) -> bool {
        let short = STEADY.max(CLEAR * self.edge.noise.sample);
        self.share(closed) >= 1.0 - short || self.share(self.next(closed)) > 1.0 + short
    }

    fn next(&self, point: usize) -> usize {
        (point + 1).min(self.edge.course.values.len() - 1)
    }

    fn near(&self) -> f64 {
        NEAR.min(0.5 / self.average)
    }

    /// A closure somewhere between conversions, but for the noise of a point.
    fn between(&self, at: f64, half_width: f64) -> Crossing {
        Crossing { noise: self.edge.noise.sample, ..Crossing::within(at, half_width) }
    }

    /// From an open point to a closed one, at most one point between them: the conversions tell. An
    /// inrush may reach the level with a part of the first point already.
    fn abrupt(&self, open: usize, closed: usize) -> Crossing {
        let inrush = if self.average > 1.0 { self.share(self.next(closed)) } else { 1.0 };
        let height = self.share(closed).max(inrush).max(1.0);
        let after = (open + 1..=closed).map(|i| (self.share(i) / height).clamp(0.0, 1.0));
        let at = closed as f64 + 0.5 - after.sum::<f64>();
        self.between(at, 0.5 / self.average)
    }

    /// A rise that rests in between and then goes on at once: the contact was neither open nor closed
    /// all the while, so it closed twice at least. Which of the conversions of the first and the last
    /// point between were closed, nobody can tell.
    fn chatter(&self, open: usize, closed: usize) -> Option<[Crossing; 2]> {
        let step = |i: usize| self.share(i + 1) - self.share(i);
        let quantum = 1.0 / self.average;
        let rest = (open + 1..closed - 1).find(|&i| step(i).abs() < 0.25 * quantum)?;
        let goes_on = (rest + 1..closed).any(|i| step(i) > 0.75 * quantum);
        (self.average > 1.0 && goes_on)
            .then(|| [self.closing_within(open + 1), self.reclosing_within(closed - 1)])
    }

    /// A closure that is over before a point was closed all the time. Where it goes on into the next
    /// point, it may as well be two of them.
    fn touch(&self, low: usize, top: usize) -> Crossing {
        let first = (low + 1..top).find(|&i| self.share(i) > self.near());
        self.closing_within(first.unwrap_or(top))
    }

    /// The closing of a closure within one point, of which some conversions were closed.
    fn closing_within(&self, point: usize) -> Crossing {
        let share = self.share(point).clamp(0.0, 1.0);
        let half_width = 0.5 * (1.0 + 1.0 / self.average - share);
        self.between(point as f64 - 0.5 * share, half_width)
    }

    /// The closing after an opening within one point.
    fn reclosing_within(&self, point: usize) -> Crossing {
        let share = self.share(point).clamp(0.0, 1.0);
        let half_width = 0.5 * (share + 1.0 / self.average);
        self.between(point as f64 + 0.5 * (1.0 - share), half_width)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::measure::crossing::Noise;
    use crate::measure::turns::{Course, rises};
    use proptest::prelude::*;

    /// The edges of the rise that begins with the first of these shares.
    fn edges(values: &[f32], average: f64) -> Vec<Crossing> {
        let course = Course::new(values, 0.0, 1.0);
        let noise = Noise { sample: 0.0, levels: [0.0; 2] };
        let swing = 0.5 / average;
        let mut first = None;
        rises(&course, 0, swing, |rise| first = first.or(Some(rise)));
        let rise = first.expect("there is a rise");
        Closing { edge: Edge { course: &course, noise, rise, swing }, average }.closures().collect()
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
            assert_eq!(found, [Crossing::within(at, 0.25)]);
        }
        let single = edges(&[0.0, 0.0, 1.0, 1.0], 1.0);
        assert_eq!(single, [Crossing::within(1.5, 0.5)]);
    }

    /// A bounce right after it does not make an edge surer.
    #[test]
    fn what_follows_does_not_narrow_an_edge() {
        let found = edges(&[0.0, 0.0, 1.0, 0.0, 0.0], 1.0);
        assert_eq!(found[0].half_width, 0.5);
        let found = edges(&[0.0, 0.0, 0.5, 1.0, 0.0, 0.0], 2.0);
        assert_eq!(found, [Crossing::within(2.0, 0.25)]);
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
            let Crossing { at, half_width, .. } = found[0];
            prop_assert!((at - begin).abs() <= half_width + 1e-9, "{:?} for {}", found, begin);
        }
    }
}
