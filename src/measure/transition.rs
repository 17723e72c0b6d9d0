//! Reference level instants and the duration of a transition.
//!
//! Source: IEEE Std 181-2011, 5.3.3 (reference level instants by linear interpolation between the
//! samples on either side) and 5.3.4 (transition duration, 10 % to 90 % by default).

use super::level::StateLevels;

/// Which way a transition goes.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Direction {
    /// From the low to the high state.
    Rising,
    /// From the high to the low state.
    Falling,
}

/// Instants of one transition, in samples from the start of the record.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Transition {
    /// 10 % of the way.
    pub begin: f64,
    /// Half-way.
    pub middle: f64,
    /// 90 % of the way.
    pub end: f64,
}

impl Transition {
    /// Transition duration in samples.
    pub fn duration(&self) -> f64 {
        self.end - self.begin
    }
}

/// Where the straight line from `a` to `b` reaches `level`, as a share of the way. The caller sees
/// to it that the level lies between them.
pub fn interpolate(a: f64, b: f64, level: f64) -> f64 {
    if a == b { 0.0 } else { ((level - a) / (b - a)).clamp(0.0, 1.0) }
}

/// First instant at or after sample `from` at which the waveform crosses `level` in the given
/// direction, in samples.
pub fn first_crossing(
    values: &[f32],
    from: usize,
    level: f64,
    direction: Direction,
) -> Option<f64> {
    let beyond = |v: f32| match direction {
        Direction::Rising => f64::from(v) >= level,
        Direction::Falling => f64::from(v) <= level,
    };
    values.get(from..)?.windows(2).position(|w| !beyond(w[0]) && beyond(w[1])).map(|i| {
        let i = i + from;
        i as f64 + interpolate(f64::from(values[i]), f64::from(values[i + 1]), level)
    })
}

/// The first whole transition at or after sample `from`.
pub fn first_transition(
    values: &[f32],
    from: usize,
    levels: &StateLevels,
    direction: Direction,
) -> Option<Transition> {
    let (first, last) = match direction {
        Direction::Rising => (0.1, 0.9),
        Direction::Falling => (0.9, 0.1),
    };
    let begin = first_crossing(values, from, levels.reference(first), direction)?;
    let middle = first_crossing(values, begin as usize, levels.reference(0.5), direction)?;
    let end = first_crossing(values, middle as usize, levels.reference(last), direction)?;
    Some(Transition { begin, middle, end })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const UNIT: StateLevels = StateLevels { low: 0.0, high: 1.0 };

    /// Closed form of a single pole: 10 % to 90 % takes τ ln 9 and 50 % is reached after τ ln 2.
    #[test]
    fn a_single_pole_takes_ln_9_time_constants() {
        let tau = 40.0;
        let v: Vec<f32> = (0..1000)
            .map(|i| if i < 100 { 0.0 } else { 1.0 - (-f64::from(i - 100) / tau).exp() } as f32)
            .collect();
        let t = first_transition(&v, 0, &UNIT, Direction::Rising).unwrap();
        assert!((t.duration() - tau * 9f64.ln()).abs() < 0.02, "{}", t.duration());
        assert!((t.middle - 100.0 - tau * 2f64.ln()).abs() < 0.01, "{}", t.middle);
    }

    /// A straight ramp of n samples: 10 % to 90 % takes 0.8 n (definition of the reference levels).
    #[test]
    fn a_ramp_takes_eight_tenths() {
        let v: Vec<f32> = (0..=50).map(|i| 1.0 - i as f32 / 50.0).collect();
        let t = first_transition(&v, 0, &UNIT, Direction::Falling).unwrap();
        assert!((t.duration() - 40.0).abs() < 1e-4 && (t.middle - 25.0).abs() < 1e-4);
    }

    #[test]
    fn no_crossing_no_instant() {
        assert_eq!(first_crossing(&[0.0, 0.4, 0.2], 0, 0.5, Direction::Rising), None);
        assert_eq!(first_crossing(&[1.0, 1.0], 0, 0.5, Direction::Rising), None);
        assert_eq!(first_crossing(&[], 3, 0.5, Direction::Rising), None);
    }

    proptest! {
        #[test]
        fn a_crossing_lies_between_the_samples_on_either_side(
            v in prop::collection::vec(-1.0f32..1.0, 2..100), level in -0.9f64..0.9,
        ) {
            if let Some(t) = first_crossing(&v, 0, level, Direction::Rising) {
                let i = (t.floor() as usize).min(v.len() - 2);
                prop_assert!(t >= 0.0 && t <= (v.len() - 1) as f64);
                prop_assert!(
                    f64::from(v[i]) <= level + 1e-6 || (t - t.floor()) < 1e-9
                );
            }
        }
    }
}
