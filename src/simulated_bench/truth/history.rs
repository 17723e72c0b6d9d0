//! A value as time goes on: straight lines between points, jumps included.

/// The history of a value.
#[derive(Clone, Debug, Default)]
pub struct History {
    /// In order of time; two at one time are a jump.
    points: Vec<Point>,
}

/// What the value was at a time.
#[derive(Clone, Copy, Debug, PartialEq)]
struct Point {
    at_us: u64,
    value: f64,
    /// Its integral from the first point to here, in value × microseconds.
    sum: f64,
}

impl Point {
    /// The integral along the straight line from here to the next point.
    fn sum_to(&self, next_us: u64, next: f64) -> f64 {
        0.5 * (self.value + next) * (next_us - self.at_us) as f64
    }
}

impl History {
    /// The value is this now; since it was last seen it went there in a straight line.
    pub(super) fn see(&mut self, now_us: u64, value: f64) {
        let Some(last) = self.points.last().copied() else {
            self.points.push(Point { at_us: now_us, value, sum: 0.0 });
            return;
        };
        let now = Point { at_us: now_us, value, sum: last.sum + last.sum_to(now_us, value) };
        if let [.., before, last] = &mut self.points[..]
            && last.value == value
            && before.value == value
        {
            *last = now;
        } else if (last.at_us, last.value) != (now_us, value) {
            self.points.push(now);
        }
    }

    /// The value at a time: that after a jump. `None` before it was first seen.
    pub fn at(&self, t_us: u64) -> Option<f64> {
        let after = self.points.partition_point(|p| p.at_us <= t_us);
        let from = self.points.get(after.checked_sub(1)?)?;
        let Some(to) = self.points.get(after) else { return Some(from.value) };
        let share = (t_us - from.at_us) as f64 / (to.at_us - from.at_us) as f64;
        Some(from.value + (to.value - from.value) * share)
    }

    /// Its integral over a time, in value × seconds; nothing is added where it was not seen.
    pub fn integral(&self, from_us: u64, to_us: u64) -> f64 {
        (self.sum_until(to_us) - self.sum_until(from_us)) * 1e-6
    }

    /// Its integral from the first point to a time, in value × microseconds.
    fn sum_until(&self, t_us: u64) -> f64 {
        let after = self.points.partition_point(|p| p.at_us <= t_us);
        let Some(from) = after.checked_sub(1).map(|i| self.points[i]) else { return 0.0 };
        let Some(to) = self.points.get(after) else { return from.sum };
        let share = (t_us - from.at_us) as f64 / (to.at_us - from.at_us) as f64;
        from.sum + from.sum_to(t_us, from.value + (to.value - from.value) * share)
    }

    /// Its mean over a time.
    pub fn mean(&self, from_us: u64, to_us: u64) -> f64 {
        self.integral(from_us, to_us) / ((to_us - from_us) as f64 * 1e-6)
    }

    /// The highest mean over so long a time between two instants.
    ///
    /// The mean is looked at wherever one of its ends meets a point of the history: between these it
    /// is a parabola at most, and the points lie close where the value moves.
    pub fn highest_mean(&self, width_us: u64, from_us: u64, to_us: u64) -> f64 {
        let first = self.points.partition_point(|p| p.at_us < from_us);
        let ends = self.points[first..].iter().map(|p| p.at_us).take_while(|&t| t <= to_us);
        ends.flat_map(|t| [Some(t), t.checked_sub(width_us)])
            .flatten()
            .filter(|&t| t >= from_us && t + width_us <= to_us)
            .map(|t| self.mean(t, t + width_us))
            .fold(f64::NEG_INFINITY, f64::max)
    }
}

impl History {
    /// The highest value between two instants.
    pub fn highest(&self, from_us: u64, to_us: u64) -> f64 {
        let first = self.points.partition_point(|p| p.at_us < from_us);
        let within = self.points[first..].iter().take_while(|p| p.at_us <= to_us).map(|p| p.value);
        within.chain(self.at(from_us)).fold(f64::NEG_INFINITY, f64::max)
    }

    /// When the value first stands above a level after an instant, or below it, microseconds.
    pub fn passes(&self, level: f64, is_rising: bool, from_us: u64, to_us: u64) -> Option<f64> {
        let is_beyond = |v: f64| if is_rising { v >= level } else { v <= level };
        let first = self.points.partition_point(|p| p.at_us <= from_us).saturating_sub(1);
        let lines = self.points.get(first..)?.windows(2).take_while(|line| line[0].at_us < to_us);
        for line in lines {
            let (Point { at_us: a_us, value: a, .. }, Point { at_us: b_us, value: b, .. }) =
                (line[0], line[1]);
            if !is_beyond(b) || b_us <= from_us {
                continue;
            }
            let share = if is_beyond(a) { 0.0 } else { (level - a) / (b - a) };
            return Some((a_us as f64 + share * (b_us - a_us) as f64).max(from_us as f64));
        }
        None
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Up to 2 in 10 µs, there for 10 µs, and at once down to 1.
    fn history() -> History {
        let mut c = History::default();
        for (t, v) in [(0, 0.0), (10, 2.0), (12, 2.0), (17, 2.0), (20, 2.0), (20, 1.0), (40, 1.0)] {
            c.see(t, v);
        }
        c
    }

    #[test]
    fn lines_and_jumps() {
        let c = history();
        assert_eq!(c.points.len(), 5);
        for (t, v) in [(0, 0.0), (5, 1.0), (15, 2.0), (20, 1.0), (30, 1.0), (99, 1.0)] {
            assert_eq!(c.at(t), Some(v), "{t}");
        }
        assert_eq!(History::default().at(5), None);
    }

    #[test]
    fn highest_and_passages() {
        let c = history();
        assert_eq!((c.highest(0, 5), c.highest(3, 40), c.highest(21, 40)), (0.0, 2.0, 1.0));
        assert_eq!(c.passes(1.0, true, 0, 40), Some(5.0));
        assert_eq!(c.passes(1.5, false, 12, 40), Some(20.0));
        assert_eq!(c.passes(3.0, true, 0, 40), None);
    }

    /// Closed form: a triangle, a rectangle, and a lower rectangle.
    #[test]
    fn integrals_and_means() {
        let c = history();
        assert!((c.integral(0, 40) - (10.0 + 20.0 + 20.0) * 1e-6).abs() < 1e-18);
        assert!((c.integral(5, 30) - (7.5 + 20.0 + 10.0) * 1e-6).abs() < 1e-18);
        assert!((c.mean(15, 25) - 1.5).abs() < 1e-12);
        assert!((c.highest_mean(5, 0, 40) - 2.0).abs() < 1e-12);
        assert!((c.highest_mean(12, 0, 40) - (8.0 * 2.0 + 4.0 * 1.6) / 12.0).abs() < 0.2);
    }
}
