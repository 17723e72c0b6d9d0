//! A value over time.

/// Points of a waveform, with straight lines between them. An instant may come twice, at a jump.
#[derive(Clone, Debug, Default)]
pub struct Trace {
    pub times: Vec<f64>,
    pub values: Vec<f64>,
}

impl Trace {
    /// A function of time from 0 to `end`, on points so far apart that the lines between them do
    /// not matter: evenly spaced on a scale that is fine at the beginning.
    pub fn of(end: f64, points: u32, value: impl Fn(f64) -> f64) -> Trace {
        let times = (0..=points).map(|i| end * (f64::from(i) / f64::from(points)).powi(2));
        let times: Vec<f64> = times.collect();
        Trace { values: times.iter().map(|&t| value(t)).collect(), times }
    }

    pub fn push(&mut self, time: f64, value: f64) {
        self.times.push(time);
        self.values.push(value);
    }

    /// Without what was before a time.
    pub fn from(&self, t: f64) -> Trace {
        let first = self.times.partition_point(|&time| time < t);
        Trace { times: self.times[first..].to_vec(), values: self.values[first..].to_vec() }
    }

    /// What it is at a time.
    pub fn at(&self, t: f64) -> f64 {
        let after = self.times.partition_point(|&time| time <= t).min(self.times.len() - 1);
        let before = after.saturating_sub(1);
        let span = self.times[after] - self.times[before];
        if span <= 0.0 {
            return self.values[after];
        }
        let share = ((t - self.times[before]) / span).clamp(0.0, 1.0);
        self.values[before] + share * (self.values[after] - self.values[before])
    }

    /// When it first passes a level after a time, either way.
    pub fn passes(&self, level: f64, after: f64) -> Option<f64> {
        let first = self.times.partition_point(|&time| time <= after);
        let mut last = (after, self.at(after));
        for i in first..self.times.len() {
            let next = (self.times[i], self.values[i]);
            if (last.1 - level) * (next.1 - level) <= 0.0 && next.1 != last.1 {
                let share = (level - last.1) / (next.1 - last.1);
                return Some(last.0 + share * (next.0 - last.0));
            }
            last = next;
        }
        None
    }
}
