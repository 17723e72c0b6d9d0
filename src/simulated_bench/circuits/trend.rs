//! A value that is read between the steps of an integration.

/// A value and how steeply it went over the last step.
#[derive(Clone, Copy, Debug, Default)]
pub struct Trend {
    /// At the end of the last step.
    pub value: f64,
    before: f64,
    slope: f64,
}

impl Trend {
    /// So much later, along the chord of the last step.
    pub fn after(self, seconds: f64) -> f64 {
        self.value + self.slope * seconds
    }

    /// A step of `h` seconds has led to the value.
    pub fn lean(&mut self, h: f64) {
        self.slope = (self.value - self.before) / h;
        self.before = self.value;
    }

    /// A jump has led to the value, or nothing moves any more.
    pub fn hold(&mut self) {
        self.slope = 0.0;
        self.before = self.value;
    }
}
