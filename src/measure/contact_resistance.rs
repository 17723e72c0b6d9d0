//! Resistance of a closed contact from the voltages on either side of it.
//!
//! Method: the same two channels are read with the load current on and with it off, and the
//! difference of the two differences is divided by the current ("offset-compensated ohms", common
//! practice of resistance meters): what the two channels disagree by (their offsets, their gains at
//! that voltage) stands in both and falls out. Uncertainty after JCGM 100:2008, 5.1.2.

use super::channel_class::ChannelClass;
use super::mean::Mean;
use super::uncertainty::Estimate;

/// Means of the channels around a contact.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Around {
    /// Voltage before the contact.
    pub supply: Mean,
    /// Voltage behind the contact.
    pub clamp: Mean,
    /// Current through it.
    pub current: Mean,
}

/// The classes of the three channels.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Classes {
    /// Of the voltage before the contact.
    pub supply: ChannelClass,
    /// Of the voltage behind it.
    pub clamp: ChannelClass,
    /// Of the current.
    pub current: ChannelClass,
}

/// Resistance in ohms from readings with the current on and off. `None` when the current is too
/// small to tell anything (less than ten times its offset limit).
pub fn resistance(on: &Around, off: &Around, classes: &Classes) -> Option<Estimate> {
    let current = on.current.less(&off.current, &classes.current);
    if current.value <= (10.0 * classes.current.offset).max(10.0 * classes.current.resolution) {
        return None;
    }
    let supply = on.supply.less(&off.supply, &classes.supply);
    let clamp = on.clamp.less(&off.clamp, &classes.clamp);
    let drop = supply.value - clamp.value;
    let value = drop / current.value;
    let per_amp = 1.0 / current.value;
    let budget = supply.budget.plus(&clamp.budget).scaled(per_amp);
    Some(Estimate::of(value, budget.plus(&current.budget.scaled(value * per_amp))))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn level(v: f32) -> Mean {
        Mean::of(&[v; 20]).unwrap()
    }

    const CLASS: ChannelClass = ChannelClass {
        resolution: 1e-3,
        gain: 5e-3,
        offset: 0.02,
        linearity: 2e-3,
        with_voltage: 0.0,
        corrected: None,
    };
    const CURRENT: ChannelClass = ChannelClass {
        resolution: 1e-4,
        gain: 5e-3,
        offset: 2e-3,
        linearity: 5e-4,
        with_voltage: 0.0,
        corrected: None,
    };

    /// Ohm's law through channels that are wrong by their whole class: 0.2 Ω at 0.5 A.
    #[test]
    fn offset_and_gain_of_the_channels_fall_out() {
        let reads = |v: f64, gain: f64, offset: f64| level((v * (1.0 + gain) + offset) as f32);
        let (amps, ohms, supply) = (0.5, 0.2, 16.0);
        let around = |i: f64| Around {
            supply: reads(supply - i * 0.1, 5e-3, 0.02),
            clamp: reads(supply - i * 0.1 - i * ohms, -5e-3, -0.02),
            current: reads(i, 5e-3, 2e-3),
        };
        let classes = Classes { supply: CLASS, clamp: CLASS, current: CURRENT };
        let r = resistance(&around(amps), &around(0.0), &classes).unwrap();
        assert!((r.value - ohms).abs() <= r.expanded(), "{r:?}");
        assert!(r.expanded() < 0.02, "{r:?}");
    }

    #[test]
    fn without_current_there_is_no_resistance() {
        let around = Around { supply: level(16.0), clamp: level(16.0), current: level(0.001) };
        let classes = Classes { supply: CLASS, clamp: CLASS, current: CURRENT };
        assert!(resistance(&around, &around, &classes).is_none());
    }
}
