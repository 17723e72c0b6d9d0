//! What was measured, taken out of whatever it was answered with.

use crate::wire::data::Measured;
use crate::wire::sequence::Values;

/// An answer that holds measured values, first to last.
pub trait Numbers {
    /// Appends them.
    fn append_to(&self, numbers: &mut Vec<f64>);
}

/// A command measures nothing.
impl Numbers for () {
    fn append_to(&self, _: &mut Vec<f64>) {}
}

impl Numbers for Measured {
    fn append_to(&self, numbers: &mut Vec<f64>) {
        numbers.push(self.0);
    }
}

impl Numbers for Values<Measured> {
    fn append_to(&self, numbers: &mut Vec<f64>) {
        numbers.extend(self.0.iter().map(|measured| measured.0));
    }
}

impl<N: Numbers> Numbers for Option<N> {
    fn append_to(&self, numbers: &mut Vec<f64>) {
        self.iter().for_each(|answer| answer.append_to(numbers));
    }
}

impl<A: Numbers, B: Numbers> Numbers for (A, B) {
    fn append_to(&self, numbers: &mut Vec<f64>) {
        self.0.append_to(numbers);
        self.1.append_to(numbers);
    }
}

impl<A: Numbers, B: Numbers, C: Numbers, D: Numbers> Numbers for (A, B, C, D) {
    fn append_to(&self, numbers: &mut Vec<f64>) {
        self.0.append_to(numbers);
        self.1.append_to(numbers);
        self.2.append_to(numbers);
        self.3.append_to(numbers);
    }
}
