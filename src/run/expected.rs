//! What a load must draw.

use super::ongoing::OngoingRun;
use crate::judge::expect::OPEN_SHARE;
use crate::judge::limits_from::LimitsFrom;
use crate::judge::verdict::Window;
use crate::load::Circuit;
use crate::load::jig::PATH_OHM;
use crate::load::told;
use crate::load::window_words::WindowParts;
use crate::load::{Expectation, Fed, explained, window};
use crate::load::{jig_loads, planned_resistance};
use crate::measure::budget::Source;
use crate::measure::uncertainty::{Component, Estimate};
use crate::procedure::channels::Channels;
use crate::quantity::range::Toleranced;
use crate::quantity::unit::Units;
use crate::script::plan::{LoadChoice, Rule};
use crate::signal::target::Clamp;
use crate::wire::channel::{CLAMP_CURRENT, JIG_LOAD};
use uom::si::f64::{ElectricPotential, ElectricalResistance, Time};

/// What is said of a current that no verdict may rest on.
pub(super) const COULD_BE_NOTHING: &str =
    "not judged: the load draws so little that to this jig it could be nothing";

/// What is said of a current that is there, but whose limits are closer than the jig can tell.
pub(super) const TOO_CLOSE: &str =
    "there, but not judged further: its limits leave less than the jig can tell";

/// Where less than this share of the limits is left to pass, sound loads would stay open as often as not:
/// then a current is not held against them, unless it lies outside for certain.
const LEFT: f64 = 0.5;

/// The window of a load's current, where it comes from, and how much of the voltage's uncertainty
/// comes through.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Expected {
    pub window: Window,
    /// Standard uncertainty of the window by that of the voltage, amperes.
    pub by_voltage: f64,
    /// The same window with what it is made of.
    made_of: Expectation,
}

impl Expected {
    /// The lower limit, amperes.
    pub fn lower(&self) -> f64 {
        self.window.lower.unwrap_or(0.0)
    }

    /// A current with the uncertainty of the window it is compared with.
    pub fn compared(&self, current: Estimate) -> Estimate {
        compared(current, self.by_voltage)
    }

    /// Whether the limits are too close for a current.
    pub fn is_too_close(&self, current: &Estimate, rule: Rule) -> bool {
        is_too_close(&self.window, current, rule)
    }

    /// Where the window comes from.
    pub fn limits_from(&self) -> Option<LimitsFrom> {
        WindowParts::of(&self.made_of).map(|window| LimitsFrom::Load { window })
    }
}

/// Whether limits are so close that a sound load would stay open, and this current does not lie outside for
/// certain.
pub(super) fn is_too_close(limits: &Window, current: &Estimate, rule: Rule) -> bool {
    let Window { lower: Some(lower), upper: Some(upper) } = *limits else { return false };
    let expanded = current.expanded();
    rule == Rule::Guarded
        && (1.0 - LEFT) * (upper - lower) < 2.0 * expanded
        && (lower - expanded..=upper + expanded).contains(&current.value)
}

/// A current with the uncertainty of a window it is compared with.
pub(super) fn compared(current: Estimate, by_voltage: f64) -> Estimate {
    current.with(Component::standard(by_voltage).from(Source::Supply))
}

impl OngoingRun<'_, '_> {
    /// The circuit of the load that is connected at a clamp.
    pub fn circuit(&self, clamp: Clamp) -> Option<Circuit> {
        match self.state.loads {
            LoadChoice::None => None,
            LoadChoice::Jig => Some(jig_load(&self.channels(), clamp)),
            LoadChoice::Real => {
                let sheet = self.plan.loads.as_ref()?;
                Some(sheet.clamps[clamp.index()].as_ref()?.circuit.clone())
            }
        }
    }

    /// What the load at a clamp must draw at a measured supply voltage, through a contact that is
    /// within its limits.
    pub fn expected(&self, clamp: Clamp, supply: Estimate) -> Option<Expected> {
        Some(expected(&self.circuit(clamp)?, supply, self.contact_limit() + PATH_OHM))
    }

    /// The same past the module, through the bypass.
    pub fn expected_past_module(&self, clamp: Clamp, supply: Estimate) -> Option<Expected> {
        Some(expected(&self.circuit(clamp)?, supply, PATH_OHM))
    }

    /// The smallest current at a clamp that counts as closed, at a supply voltage.
    pub fn least_closed(&self, clamp: Clamp, supply: Estimate) -> f64 {
        let share =
            self.least_expected(clamp, supply.value).map_or(0.0, |least| OPEN_SHARE * least);
        share.max(self.could_be_nothing(clamp.channel(CLAMP_CURRENT)))
    }

    /// Whether the load at a clamp tells by its current whether the contact is closed.
    pub fn tells_by_current(&self, clamp: Clamp) -> bool {
        self.state.is_loaded(clamp) && self.state.telling[clamp.index()]
    }

    /// Whether the load that is connected at a clamp draws enough for that, at the lowest voltage that
    /// its supply may have.
    pub fn draws_enough(&self, clamp: Clamp) -> bool {
        let real = self.plan.loads.as_ref().filter(|_| self.state.loads == LoadChoice::Real);
        let supply = real.map_or_else(|| jig_loads().supply, |sheet| sheet.supply);
        let least = self.least_expected(clamp, supply.lower.si());
        least.is_some_and(|least| self.is_told(clamp.channel(CLAMP_CURRENT), least))
    }

    /// The lower limit alone of what [`OngoingRun::expected`] tells, amperes: much quicker.
    fn least_expected(&self, clamp: Clamp, supply_v: f64) -> Option<f64> {
        let fed = fed(supply_v, self.contact_limit() + PATH_OHM);
        Some(window(&self.circuit(clamp)?, &fed, settled()).lower.si())
    }

    /// The largest resistance that a contact may have, ohms.
    fn contact_limit(&self) -> f64 {
        self.plan.module.contact_resistance.upper.map_or(0.0, Units::si)
    }

    /// Whether a current is so large that a channel surely tells it from nothing.
    pub fn is_told(&self, channel: u16, ampere: f64) -> bool {
        ampere >= told::least_told(self.class(channel).offset)
    }

    /// The largest current of a channel that could be nothing, amperes.
    fn could_be_nothing(&self, channel: u16) -> f64 {
        told::could_be_nothing(self.class(channel).offset)
    }
}

/// The window of a circuit's current behind at most `series_ohm`.
///
/// The ends are the extremes at the voltage as measured. Its uncertainty is that of the comparison
/// with them: how far it moves the end that it moves the most.
pub(super) fn expected(circuit: &Circuit, supply: Estimate, series_ohm: f64) -> Expected {
    let made_of = explained(circuit, &fed(supply.value, series_ohm), settled());
    let found = made_of.current;
    let by_voltage = [-supply.standard, supply.standard]
        .map(|by| window(circuit, &fed(supply.value + by, series_ohm), settled()))
        .iter()
        .flat_map(|w| [w.lower - found.lower, w.upper - found.upper])
        .fold(0.0, |most: f64, moved| most.max(moved.si().abs()));
    Expected { window: Window::between(found.lower.si(), found.upper.si()), by_voltage, made_of }
}

/// A load on a voltage as measured, behind at most `series_ohm`.
fn fed(volt: f64, series_ohm: f64) -> Fed {
    let volt = ElectricPotential::from_si(volt.max(0.0));
    Fed::behind(Toleranced { nominal: volt, lower: volt, upper: volt }, series_ohm)
}

/// Long after it was switched on.
fn settled() -> Time {
    Time::from_si(f64::INFINITY)
}

/// What heat and age may add to the tolerance of a jig's own load: a power resistor of 100 ppm/K
/// gets 150 K warmer and moves by 1 % in its life (common practice, no source). It also makes room
/// for the uncertainty of a reading, without which resistors at the end of their tolerance could
/// never be accepted.
const JIG_LOAD_DRIFT: f64 = 0.025;

/// A jig's own load: as the jig describes it, else as the jig's plans have it, with what heat and
/// age add.
fn jig_load(channels: &Channels<'_>, clamp: Clamp) -> Circuit {
    let planned = planned_resistance();
    let (lower, upper) = channels
        .get(clamp.channel(JIG_LOAD))
        .filter(|d| d.minimum > 0.0)
        .map_or((planned.lower.si(), planned.upper.si()), |d| (d.minimum, d.maximum));
    let [nominal, lower, upper] =
        [(lower + upper) / 2.0, lower * (1.0 - JIG_LOAD_DRIFT), upper * (1.0 + JIG_LOAD_DRIFT)]
            .map(ElectricalResistance::from_si);
    Circuit::resistor(Toleranced { nominal, lower, upper })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn volts(value: f64, standard: f64) -> Estimate {
        Estimate::new(value, &[Component::standard(standard)])
    }

    fn resistor(ohm: f64, tolerance: f64) -> Circuit {
        let at = |share: f64| ElectricalResistance::from_si(ohm * (1.0 + share));
        let resistance =
            Toleranced { nominal: at(0.0), lower: at(-tolerance), upper: at(tolerance) };
        Circuit::resistor(resistance)
    }

    /// Ohm's law at the corners.
    #[test]
    fn the_window_of_a_resistor() {
        let e = expected(&resistor(20.0, 0.01), volts(16.0, 0.02), 0.0);
        assert!((e.window.upper.unwrap() - 16.0 / 19.8).abs() < 1e-9);
        assert!((e.window.lower.unwrap() - 16.0 / 20.2).abs() < 1e-9);
        assert!((e.by_voltage - 0.02 / 19.8).abs() < 1e-9);
    }

    /// 5 mA within 7 % leave ±0.35 mA: of ±0.4 mA nothing passes, and only what is farther off fails. 55 mA do
    /// leave enough.
    #[test]
    fn limits_closer_than_the_jig_can_tell_are_none() {
        let small = expected(&resistor(2_400.0, 0.07), volts(12.0, 0.0), 0.0);
        let current = |value: f64| Estimate::new(value, &[Component::standard(0.2e-3)]);
        for (value, is_too_close) in [(5e-3, true), (4.4e-3, true), (4e-3, false), (0.0, false)] {
            assert_eq!(small.is_too_close(&current(value), Rule::Guarded), is_too_close, "{value}");
            assert!(!small.is_too_close(&current(value), Rule::Simple));
        }
        let large = expected(&resistor(220.0, 0.05), volts(12.0, 0.0), 0.0);
        assert!(!large.is_too_close(&current(0.0545), Rule::Guarded));
    }

    #[test]
    fn resistance_on_the_way_lowers_the_lower_limit_alone() {
        let free = expected(&resistor(20.0, 0.01), volts(16.0, 0.0), 0.0);
        let behind = expected(&resistor(20.0, 0.01), volts(16.0, 0.0), 0.5);
        assert_eq!(free.window.upper, behind.window.upper);
        let lowest = 16.0 / (20.2 + 0.5);
        assert!((behind.window.lower.unwrap() - lowest).abs() < 1e-12);
        assert!(behind.window.lower < free.window.lower);
    }
}
