//! From sheets to what stands on the simulated bench.
//!
//! A sheet states limits; a simulated module needs values. Each value is the middle of its limits,
//! so that a sound module drawn around it stands well inside them. What no sheet states is chosen
//! here, with its reason.

use crate::load::Circuit;
use crate::load::kind::Simulated;
use crate::load::sheet::LoadSheet;
use crate::quantity::range::Limits;
use crate::quantity::unit::Units;
use crate::script::module_sheet::ModuleSheet;
use crate::simulated_bench::faults::Fault;
use crate::simulated_bench::kind::Kind;
use crate::simulated_bench::loads::LoadModel;
use crate::simulated_bench::{LOAD_SUPPLY_V, Seeds, Setup};

/// Drop of a module's rectifier, two diodes in series (common practice, no source), in volts.
const RECTIFIER_V: f64 = 1.4;
/// What a reservoir has of its own, ohms.
const RESERVOIR_OHM: f64 = 0.1;
/// The jig's current limit during the soft start, in amperes.
const SOFT_START_A: f64 = 0.25;

/// Values of a module whose sheet sets no limit at all (`"any"`): those of a usual kind (common
/// practice, no source).
mod usual {
    /// Feed current at rest, amperes.
    pub const IDLE_A: f64 = 0.02;
    /// What the auxiliary supply adds, amperes.
    pub const AUXILIARY_A: f64 = 0.03;
    /// Charge of the soft start, coulombs.
    pub const CHARGE_C: f64 = 0.005;
    /// Peak of the coil current, amperes.
    pub const COIL_A: f64 = 0.1;
    /// Rate of the lamp, hertz.
    pub const LAMP_HZ: f64 = 1.0;
    /// Duty of the lamp.
    pub const LAMP_DUTY: f64 = 0.5;
}

/// What is put on the bench: a module of the sheet's kind, unpacked with its switches at the
/// sheet's usual address and its slider off, and the loads of the load sheet with the supply set
/// for them. `loads` are those that the plan uses ([`crate::script::plan::Plan::loads`]): without,
/// the supply stands as the jig's own loads want it.
pub fn setup(
    sheet: &ModuleSheet,
    loads: Option<&LoadSheet>,
    faults: Vec<(&'static Fault, f64)>,
    seeds: impl Into<Seeds>,
) -> Setup {
    let bank = &sheet.switches;
    Setup {
        kind: kind(sheet),
        loads: load_models(loads),
        load_supply_v: loads.map_or(LOAD_SUPPLY_V, |sheet| sheet.supply.nominal.si()),
        faults,
        placed: Vec::new(),
        seeds: seeds.into(),
        switches: bank.switches_for(sheet.try_address, bank.usual_format).unwrap_or(0),
        auxiliary: false,
        beside: Vec::new(),
    }
}

/// A module of the sheet's kind.
pub fn kind(sheet: &ModuleSheet) -> Kind {
    let feed_v = sheet.feed.nominal.si();
    let idle_a = middle_or(sheet.idle_current, usual::IDLE_A);
    let auxiliary_a = sheet.auxiliary_current.map_or(0.0, |a| middle_or(a, usual::AUXILIARY_A));
    let lamp_duty = middle_or(sheet.lamp.duty, usual::LAMP_DUTY);
    // A small lamp, but no more than a share of what the module draws.
    let lamp_a = middle_or(sheet.lamp_current, (0.008_f64).min(0.4 * idle_a));
    let lamp_hz = middle_or(sheet.lamp.rate, usual::LAMP_HZ);
    let charge_c = middle_or(sheet.charge, usual::CHARGE_C);
    Kind {
        outputs: sheet.outputs,
        packets_needed: sheet.packets_needed,
        direction_of_a: sheet.direction_of_a,
        numbering: sheet.numbering,
        switch_weights: sheet.switches.weights.clone(),
        format_switch: sheet.switches.format_switch,
        format_when_on: sheet.switches.format_when_on,
        format_when_off: sheet.switches.format_when_off,
        address_base: sheet.switches.base,
        address_step: sheet.switches.step,
        polarity_matters: sheet.polarity_matters,
        keeps_position: sheet.keeps_position,
        // The sheet's time is when the module must be ready: a sound one is a little earlier.
        boot_s: 0.8 * sheet.boot.si(),
        reservoir_f: reservoir_f(charge_c, idle_a + auxiliary_a, feed_v),
        reservoir_ohm: RESERVOIR_OHM,
        // The idle current is a mean over the blinking lamp; of two in turn one is always lit.
        logic_a: (idle_a - if sheet.lamps > 1 { lamp_a } else { lamp_duty * lamp_a }).max(0.0),
        lamp_a,
        lamps: sheet.lamps,
        lamp_difference: None,
        lamp_hz,
        lamp_duty,
        lamp_inverted_hz: sheet.lamp_inverted.map_or(lamp_hz, |r| middle_or(r.rate, lamp_hz)),
        auxiliary_a,
        response_s: middle(sheet.response),
        contact_response_s: middle(sheet.contact_response),
        gap_s: middle(sheet.gap),
        bounce_s: middle(sheet.bounce),
        contact_ohm: contact_ohm(sheet),
        coil_a: middle_or(sheet.coil_current, usual::COIL_A),
        feed_v,
    }
}

/// The reservoir that takes this charge in a soft start.
///
/// Of the limited current, the module itself draws a share while the reservoir fills.
fn reservoir_f(charge_c: f64, drawn_a: f64, feed_v: f64) -> f64 {
    let share = (1.0 - drawn_a / SOFT_START_A).max(0.2);
    charge_c * share / (feed_v - RECTIFIER_V)
}

/// A new contact has a third of what the sheet allows; the leads come on top of it.
fn contact_ohm(sheet: &ModuleSheet) -> f64 {
    sheet.contact_resistance.upper.map_or(0.05, |upper| upper.si() / 3.0)
}

/// The middle of limits of which the upper one is always set.
fn middle<Q: Units>(limits: Limits<Q>) -> f64 {
    middle_or(limits, 0.0)
}

/// The middle of limits. Where a side is open: half the upper one, or twice the lower one; where
/// both are, `usual`.
fn middle_or<Q: Units>(limits: Limits<Q>, usual: f64) -> f64 {
    match (limits.lower, limits.upper) {
        (Some(lower), Some(upper)) => (lower.si() + upper.si()) / 2.0,
        (None, Some(upper)) => upper.si() / 2.0,
        (Some(lower), None) => lower.si() * 2.0,
        (None, None) => usual,
    }
}

/// The loads of a load sheet at their nominal values.
pub fn load_models(loads: Option<&LoadSheet>) -> [LoadModel; 8] {
    core::array::from_fn(|i| {
        let load = loads.and_then(|sheet| sheet.clamps[i].as_ref());
        load.map_or(LoadModel::OPEN, |load| load_model(&load.circuit))
    })
}

fn load_model(circuit: &Circuit) -> LoadModel {
    LoadModel::parallel(circuit.parts.iter().map(|part| {
        let Simulated { kind, values } = part.kind().simulated();
        // That the bench knows every kind with all its values is tested below.
        LoadModel::of(kind, &values).unwrap_or_default()
    }))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::load::kinds::Part;
    use crate::quantity::source::Source;
    use crate::script::module_sheet::Rhythm;
    use crate::script::shipped;
    use crate::simulated_bench::SimulatedBoard;

    #[test]
    fn every_shipped_kind_and_load_goes_on_the_bench() {
        for module in shipped::MODULE_SHEETS {
            let sheet = shipped::module_sheet(module.name).unwrap();
            for loads in shipped::LOAD_SHEETS {
                let loads = shipped::load_sheet(loads.name).unwrap();
                let setup = setup(&sheet, Some(&loads), Vec::new(), 1);
                let k = &setup.kind;
                for value in [
                    k.boot_s,
                    k.reservoir_f,
                    k.logic_a,
                    k.lamp_a,
                    k.lamp_hz,
                    k.lamp_duty,
                    k.response_s,
                    k.gap_s,
                    k.bounce_s,
                    k.contact_ohm,
                    k.coil_a,
                    k.feed_v,
                ] {
                    assert!(value > 0.0 && value.is_finite(), "{}: {k:?}", module.name);
                }
                assert!(k.gap_s < k.response_s, "a contact opens before the other closes");
                assert_eq!(k.auxiliary_a > 0.0, sheet.auxiliary_current.is_some());
                let mut board = SimulatedBoard::new(setup);
                board.advance_to(100_000);
            }
        }
    }

    fn any<Q>() -> Limits<Q> {
        Limits { lower: None, upper: None }
    }

    /// A limit that nobody cares about must not put a module on the bench that cannot live.
    #[test]
    fn a_sheet_without_limits_still_makes_a_module() {
        let mut sheet = shipped::module_sheet("jetty-two").unwrap();
        let limited = kind(&sheet);
        sheet.charge = any();
        (sheet.idle_current, sheet.coil_current) = (any(), any());
        sheet.auxiliary_current = Some(any());
        sheet.contact_resistance = any();
        sheet.lamp = Rhythm { rate: any(), duty: any() };
        sheet.lamp_inverted = Some(sheet.lamp);
        let k = kind(&sheet);
        for (value, like) in [
            (k.reservoir_f, limited.reservoir_f),
            (k.logic_a, limited.logic_a),
            (k.coil_a, limited.coil_a),
            (k.auxiliary_a, limited.auxiliary_a),
            (k.contact_ohm, limited.contact_ohm),
            (k.lamp_a, limited.lamp_a),
            (k.lamp_hz, limited.lamp_hz),
            (k.lamp_duty, limited.lamp_duty),
            (k.lamp_inverted_hz, limited.lamp_hz),
        ] {
            assert!((0.3..=3.0).contains(&(value / like)), "{k:?}");
        }
    }

    /// The bench has a circuit for every kind of load, with just the values that the kind states.
    #[test]
    fn every_kind_of_load_goes_on_the_bench() {
        for (key, example) in Part::EXAMPLES {
            let text = format!(
                "title = \"t\"\nsupply = {{ kind = \"dc\", voltage = \"12 V ±5 %\" }}\n\
                 [[load]]\nname = \"n\"\nat = \"1a\"\n{key} = {example}\n"
            );
            let sheet = LoadSheet::parse(&Source::new("example.toml", &text)).unwrap();
            let part = sheet.clamps[0].as_ref().unwrap().circuit.parts[0].kind();
            let Simulated { kind, values } = part.simulated();
            let made = LoadModel::of(kind, &values);
            assert!(made.as_ref().is_ok_and(|model| !model.is_open()), "{key}: {made:?}");
        }
    }

    #[test]
    fn unused_clamps_are_open() {
        let loads = shipped::load_sheet("crane-yard").unwrap();
        let models = load_models(Some(&loads));
        assert_eq!(models[1], LoadModel::OPEN);
        assert!(!models[0].is_open());
        assert_eq!(load_models(None), [const { LoadModel::OPEN }; 8]);
    }
}
