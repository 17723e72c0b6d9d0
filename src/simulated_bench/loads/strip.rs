//! A strip of light-emitting diodes with a constant-current driver.

use super::element::{Affine, Memoryless};
use super::kind::{
    LoadKind,
    Scales::{Grows, Stays},
};

/// The kind.
pub const KIND: LoadKind = LoadKind {
    name: "strip",
    values: &[("current", Grows), ("forward", Stays), ("full_from", Stays)],
    make: |values| Box::new(Strip { ampere: values[0], dark_v: values[1], full_v: values[2] }),
};

/// The driver regulates so much, amperes for each ampere and volt: a thousandth (common practice, no
/// source).
const LEANS: f64 = 1e-3;

/// The strip.
#[derive(Clone, Debug)]
pub struct Strip {
    ampere: f64,
    dark_v: f64,
    full_v: f64,
}

impl Memoryless for Strip {
    fn affine(&mut self, guess_v: f64) -> Affine {
        let (i, g) = if guess_v <= self.dark_v {
            (0.0, 0.0)
        } else if guess_v < self.full_v {
            let g = self.ampere / (self.full_v - self.dark_v);
            (g * (guess_v - self.dark_v), g)
        } else {
            let g = LEANS * self.ampere;
            (self.ampere + g * (guess_v - self.full_v), g)
        };
        Affine { g, i: i - g * guess_v }
    }

    fn is_curved(&self) -> bool {
        true
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn has_no_jumps() {
        let mut strip = Strip { ampere: 0.06, dark_v: 8.4, full_v: 10.0 };
        let mut before = 0.0;
        for step in 0..=1_400 {
            let volt = f64::from(step) * 0.01;
            let now = strip.affine(volt).at(volt);
            assert!((0.0..4e-4).contains(&(now - before)), "{volt} V");
            before = now;
        }
        assert!((before / 0.06 - 1.004).abs() < 1e-9);
    }
}
