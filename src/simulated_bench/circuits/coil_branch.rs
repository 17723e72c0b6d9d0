//! A coil that is switched onto the module's rail, with its freewheeling diode.

/// Drop of the freewheeling diode, volts.
const FREEWHEEL_V: f64 = 0.7;

/// One coil.
#[derive(Clone, Debug)]
pub struct CoilBranch {
    ohm: f64,
    henry: f64,
    driven: bool,
    current_a: f64,
    /// Voltage across it at the end of the last step.
    volt: f64,
}

impl CoilBranch {
    /// A coil without current.
    pub fn new(ohm: f64, tau_s: f64) -> Self {
        CoilBranch { ohm, henry: ohm * tau_s, driven: false, current_a: 0.0, volt: 0.0 }
    }

    /// Switches it onto the rail or off.
    pub fn drive(&mut self, on: bool) {
        self.driven = on;
    }

    /// Whether it is switched onto the rail.
    pub fn is_driven(&self) -> bool {
        self.driven
    }

    /// The current through it, amperes.
    pub fn current_a(&self) -> f64 {
        self.current_a
    }

    /// What it takes from the rail, amperes: the freewheeling current does not come from there.
    pub fn drawn_a(&self) -> f64 {
        if self.driven { self.current_a } else { 0.0 }
    }

    /// Whether current flows or is about to.
    pub fn is_active(&self) -> bool {
        self.driven || self.current_a > 0.0
    }

    /// Time constant, seconds.
    pub fn tau_s(&self) -> f64 {
        self.henry / self.ohm
    }

    /// Whether the current still changes by more than `rate`, amperes a second.
    pub fn is_moving(&self, rail_v: f64, rate: f64) -> bool {
        let volt = if self.driven { rail_v } else { -FREEWHEEL_V };
        (self.driven || self.current_a > 0.0)
            && ((volt - self.ohm * self.current_a) / self.henry).abs() > rate
    }

    /// The current at the end of a trapezoidal step of `h` seconds that ends with `rail_v` on the
    /// rail.
    fn current_after(&self, h: f64, rail_v: f64) -> f64 {
        let (before, after) = match (self.driven, self.current_a > 0.0) {
            (true, _) => (self.volt, rail_v),
            (false, true) => (-FREEWHEEL_V, -FREEWHEEL_V),
            (false, false) => return 0.0,
        };
        let half = h / (2.0 * self.henry);
        ((self.current_a * (1.0 - half * self.ohm) + half * (before + after))
            / (1.0 + half * self.ohm))
            .max(0.0)
    }

    /// What it will take from the rail at the end of such a step, amperes.
    pub fn drawn_after_a(&self, h: f64, rail_v: f64) -> f64 {
        if self.driven { self.current_after(h, rail_v) } else { 0.0 }
    }

    /// Takes such a step.
    pub fn step(&mut self, h: f64, rail_v: f64) {
        self.current_a = self.current_after(h, rail_v);
        self.volt = rail_v;
    }

    /// Tells the voltage on the rail at the instant of switching.
    pub fn begin(&mut self, rail_v: f64) {
        self.volt = rail_v;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rise of the current in an R-L circuit, `i = V/R (1 − e^(−t/τ))`, any circuits textbook
    /// (Hayt, Kemmerly: Engineering Circuit Analysis, chapter 8).
    #[test]
    fn rises_as_the_textbook_says() {
        let (ohm, tau_s, rail_v) = (150.0, 0.002, 14.6);
        let mut coil = CoilBranch::new(ohm, tau_s);
        coil.drive(true);
        coil.begin(rail_v);
        let h = tau_s / 10.0;
        for n in 1..=60 {
            coil.step(h, rail_v);
            let t = f64::from(n) * h;
            let want = rail_v / ohm * (1.0 - (-t / tau_s).exp());
            assert!((coil.current_a() - want).abs() < 4e-4 * rail_v / ohm, "at {t} s");
        }
    }

    #[test]
    fn freewheels_to_nothing() {
        let mut coil = CoilBranch::new(100.0, 0.002);
        coil.drive(true);
        for _ in 0..100 {
            coil.step(2e-4, 10.0);
        }
        coil.drive(false);
        assert_eq!(coil.drawn_a(), 0.0);
        assert!(coil.current_a() > 0.09);
        for _ in 0..100 {
            coil.step(2e-4, 10.0);
        }
        assert_eq!(coil.current_a(), 0.0);
        assert!(!coil.is_active());
    }
}
