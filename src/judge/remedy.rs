//! What would settle a reading whose uncertainty straddles a limit.
//!
//! A guarded verdict is reached as soon as the expanded uncertainty is smaller than the way to the
//! limits (JCGM 106:2012, 8.3). Each line of the budget can be made smaller in one way only: which
//! of them, taken together, would be enough is worked out from the budget itself.

use super::verdict::Window;
use crate::measure::budget::Source;
use crate::measure::uncertainty::{Estimate, NORMAL_95};

/// More than so many times as long is no window that anyone would wait for.
const LONGEST: f64 = 100.0;

/// A way to make lines of a budget smaller.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Way {
    /// A longer window: the scatter of a mean falls with its root.
    LongerWindow,
    /// Calibration instead of the channel's class.
    Calibration,
    /// More time until the values stand still.
    LaterWindow,
    /// A newer calibration, from a better reference.
    BetterCalibration,
    /// Samples that follow each other faster.
    FasterSamples,
    /// A range whose counts are worth less.
    FinerRange,
}

impl Way {
    /// All of them, the easiest first.
    const ALL: [Way; 6] = [
        Way::LongerWindow,
        Way::Calibration,
        Way::LaterWindow,
        Way::BetterCalibration,
        Way::FasterSamples,
        Way::FinerRange,
    ];

    /// The lines that it makes smaller.
    const fn sources(self) -> &'static [Source] {
        match self {
            Way::LongerWindow => &[Source::Noise],
            Way::Calibration => &[Source::Offset, Source::Gain],
            Way::LaterWindow => &[Source::Unsettled],
            Way::BetterCalibration => &[Source::Calibration, Source::Drift],
            Way::FasterSamples => &[Source::Sampling],
            Way::FinerRange => &[Source::Resolution, Source::Linearity],
        }
    }

    const fn words(self) -> &'static str {
        match self {
            Way::LongerWindow => "a longer window",
            Way::Calibration => "a calibration of the channel",
            Way::LaterWindow => "a capture that goes on until the values stand still",
            Way::BetterCalibration => "a fresh calibration from a better reference",
            Way::FasterSamples => "a faster sampling rate",
            Way::FinerRange => "a jig with a finer range",
        }
    }
}

/// What would settle a reading.
#[derive(Clone, Debug, PartialEq)]
pub enum Remedy {
    /// A window this many times as long, by itself.
    Longer(u32),
    /// These ways together, at the least.
    Ways(Vec<Way>),
    /// Nothing that this jig can do: an instrument of at most this expanded uncertainty.
    Instrument(f64),
    /// Nothing at all: the value lies on the limit.
    OnTheLimit,
}

/// What would settle an estimate whose interval straddles a limit of the window. `None` where it
/// does not.
pub fn remedy(estimate: &Estimate, window: &Window) -> Option<Remedy> {
    let expanded = estimate.expanded();
    let away = way_to_a_limit(estimate.value, window)?;
    if !expanded.is_finite() || away > expanded {
        return None;
    }
    if away <= 0.0 {
        return Some(Remedy::OnTheLimit);
    }
    let allowed = (away / NORMAL_95).powi(2);
    let without = |ways: &[Way]| -> f64 {
        let goes = |source| ways.iter().any(|way| way.sources().contains(&source));
        let rest = estimate.budget.lines().filter(|line| !goes(line.source));
        rest.map(|line| line.standard.powi(2)).sum()
    };
    let all = without(&[]);
    let helps = |way: &Way| without(&[*way]) < all;
    let useful: Vec<Way> = Way::ALL.into_iter().filter(helps).collect();
    let rest = without(&[Way::LongerWindow]);
    let times = (all - rest) / (allowed - rest);
    if rest < allowed && times <= LONGEST {
        // Its degrees of freedom grow with it: the factor of the normal distribution is near enough.
        return Some(Remedy::Longer(times.ceil().max(2.0) as u32));
    }
    let others: Vec<Way> = useful.into_iter().filter(|way| *way != Way::LongerWindow).collect();
    let single = others.iter().find(|way| without(&[**way]) < allowed).map(|way| vec![*way]);
    Some(match single.or_else(|| enough_together(&without, allowed)) {
        Some(ways) => Remedy::Ways(ways),
        None => Remedy::Instrument(away),
    })
}

/// The easiest ways that are enough together, none of which can be left out.
fn enough_together(without: &dyn Fn(&[Way]) -> f64, allowed: f64) -> Option<Vec<Way>> {
    let mut ways = Way::ALL.to_vec();
    if without(&ways) >= allowed {
        return None;
    }
    // The hardest is given up first.
    for at in (0..ways.len()).rev() {
        let way = ways.remove(at);
        if without(&ways) >= allowed {
            ways.insert(at, way);
        }
    }
    Some(ways)
}

/// The way from a value to the limit that is nearest; `None` where nothing is limited.
fn way_to_a_limit(value: f64, window: &Window) -> Option<f64> {
    let ways =
        [window.lower, window.upper].into_iter().flatten().map(|limit| (value - limit).abs());
    ways.min_by(f64::total_cmp).filter(|way| way.is_finite())
}

impl Remedy {
    /// In words. `amount` writes a value of the reading's unit.
    pub fn words(&self, amount: impl Fn(f64) -> String) -> String {
        match self {
            Remedy::Longer(times) => format!("a window {times} times as long"),
            Remedy::Ways(ways) => {
                let words: Vec<&str> = ways.iter().map(|way| way.words()).collect();
                words.join(" and ")
            }
            Remedy::Instrument(needed) => {
                format!("not this jig: an instrument good to ±{} at least", amount(*needed))
            }
            Remedy::OnTheLimit => "nothing: the value lies on the limit".into(),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::judge::reading::Verdict;
    use crate::judge::verdict::verdict;
    use crate::measure::uncertainty::Component;
    use crate::script::plan::Rule;
    use proptest::prelude::*;

    fn parts(noise: f64, gain: f64, linearity: f64, clock: f64) -> [Component; 4] {
        [
            Component::type_a(noise, 1e5).from(Source::Noise),
            Component::standard(gain).from(Source::Gain),
            Component::standard(linearity).from(Source::Linearity),
            Component::standard(clock).from(Source::Clock),
        ]
    }

    fn of(value: f64, parts: &[Component]) -> Option<Remedy> {
        remedy(&Estimate::new(value, parts), &Window::between(0.0, 100.0))
    }

    #[test]
    fn the_easiest_way_that_is_enough_is_told() {
        use Remedy::{Instrument, Longer, OnTheLimit, Ways};
        assert_eq!(of(50.0, &parts(1.0, 1.0, 1.0, 1.0)), None);
        // 1.96 × 1 is more than 1; a quarter of the variance is not.
        assert_eq!(of(1.0, &parts(1.0, 0.0, 0.0, 0.0)), Some(Longer(4)));
        assert_eq!(of(1.0, &parts(0.1, 2.0, 0.0, 0.0)), Some(Ways(vec![Way::Calibration])));
        assert_eq!(
            of(99.0, &parts(2.0, 2.0, 0.0, 0.0)),
            Some(Ways(vec![Way::LongerWindow, Way::Calibration]))
        );
        assert_eq!(of(1.0, &parts(0.1, 0.1, 2.0, 0.0)), Some(Ways(vec![Way::FinerRange])));
        assert_eq!(of(-1.0, &parts(0.1, 0.1, 0.1, 1.0)), Some(Instrument(1.0)));
        assert_eq!(of(0.0, &parts(1.0, 0.0, 0.0, 0.0)), Some(OnTheLimit));
    }

    proptest! {
        /// With the window that is told the same value is decided, and with one less it is not.
        #[test]
        fn the_longer_window_is_enough_and_not_too_long(
            value in -3.0f64..3.0, noise in 0.1f64..3.0, gain in 0.0f64..1.0,
        ) {
            let window = Window::between(0.0, 100.0);
            let after = |times: f64| {
                let parts = parts(noise / times.sqrt(), gain, 0.0, 0.0);
                verdict(Some(&Estimate::new(value, &parts)), &window, Rule::Guarded)
            };
            match of(value, &parts(noise, gain, 0.0, 0.0)) {
                Some(Remedy::Longer(times)) => {
                    let times = f64::from(times);
                    // The factor of many degrees of freedom differs by less than 3 in 10,000.
                    prop_assert!(after(1.002 * times) != Verdict::Indeterminate);
                    prop_assert!(times < 2.5 || after(times - 1.01) == Verdict::Indeterminate);
                }
                Some(_) => {}
                None => prop_assert!(after(1.0) != Verdict::Indeterminate),
            }
        }
    }
}
