//! What a reading has to be: limits out of the module sheet, in SI units.

use super::reading::Quantity;
use super::risk::Production;
use super::verdict::Window;
use crate::quantity::range::Limits;
use crate::quantity::unit::Units;
use crate::script::module_sheet::ModuleSheet;

/// The share of the smallest expected load current that still counts as an open contact (common
/// practice, no source).
pub const OPEN_SHARE: f64 = 0.05;

/// The current that always counts as an open contact, in amperes: what a jig's channels can tell
/// from none (common practice, no source).
pub const OPEN_LEAST_A: f64 = 1.5e-3;

/// Limits as plain numbers in SI units.
macro_rules! window {
    ($limits:expr) => {{
        let limits: &Limits<_> = $limits;
        Window { lower: limits.lower.map(Units::si), upper: limits.upper.map(Units::si) }
    }};
}

/// The limits that the module sheet sets for a quantity; open where the limits come from
/// elsewhere (the load sheet, the loads that are on).
pub fn of_sheet(sheet: &ModuleSheet, quantity: Quantity) -> Window {
    match quantity {
        Quantity::FeedResistance => window!(&sheet.feed_resistance),
        Quantity::FeedToCommons => window!(&sheet.feed_to_commons),
        Quantity::CommonToCommon => window!(&sheet.between_commons),
        Quantity::StartCharge => window!(&sheet.charge),
        Quantity::FeedVoltage => Window::between(sheet.feed.lower.si(), sheet.feed.upper.si()),
        Quantity::IdleCurrent => window!(&sheet.idle_current),
        Quantity::AuxiliaryCurrent => {
            sheet.auxiliary_current.as_ref().map_or(Window::OPEN, |l| window!(l))
        }
        Quantity::ResponseTime => window!(&sheet.response),
        Quantity::ContactResponseTime => window!(&sheet.contact_response),
        Quantity::Gap => window!(&sheet.gap),
        Quantity::BounceTime => window!(&sheet.bounce),
        Quantity::ContactResistance => window!(&sheet.contact_resistance),
        Quantity::CoilCurrent => window!(&sheet.coil_current),
        Quantity::LampRate => window!(&sheet.lamp.rate),
        Quantity::LampDuty => window!(&sheet.lamp.duty),
        Quantity::LampCurrent => window!(&sheet.lamp_current),
        Quantity::Answers => Window::at_least(1.0),
        // Where polarity matters it must answer one way round only.
        Quantity::AnswersInverted if sheet.polarity_matters => Window::at_most(0.0),
        Quantity::AnswersInverted => Window::at_least(1.0),
        Quantity::UnwantedMoves | Quantity::WrongPositions | Quantity::StuckSwitches => {
            Window::at_most(0.0)
        }
        Quantity::LoadVoltage
        | Quantity::LoadTotal
        | Quantity::LampSeen
        | Quantity::LoadCurrent
        | Quantity::InrushCurrent
        | Quantity::InrushDecay
        | Quantity::RiseTime
        | Quantity::OpenCurrent => Window::OPEN,
    }
}

/// The key of the module sheet that sets the limits of a quantity; `None` where every module must do
/// the same, or the limits come from elsewhere.
pub const fn sheet_key(quantity: Quantity) -> Option<&'static str> {
    match quantity {
        Quantity::FeedResistance => Some("feed.resistance"),
        Quantity::FeedToCommons => Some("feed.to_commons"),
        Quantity::CommonToCommon => Some("outputs.between_commons"),
        Quantity::StartCharge => Some("feed.charge"),
        Quantity::FeedVoltage => Some("feed.voltage"),
        Quantity::IdleCurrent => Some("feed.idle_current"),
        Quantity::AuxiliaryCurrent => Some("auxiliary.current"),
        Quantity::ResponseTime => Some("outputs.response"),
        Quantity::ContactResponseTime => Some("contacts.response"),
        Quantity::Gap => Some("outputs.gap"),
        Quantity::BounceTime => Some("outputs.bounce"),
        Quantity::ContactResistance => Some("outputs.contact_resistance"),
        Quantity::CoilCurrent => Some("feed.coil_current"),
        Quantity::LampRate => Some("lamp.rate"),
        Quantity::LampDuty => Some("lamp.duty"),
        Quantity::LampCurrent => Some("lamp.current"),
        Quantity::AnswersInverted => Some("feed.polarity_matters"),
        Quantity::Answers
        | Quantity::UnwantedMoves
        | Quantity::WrongPositions
        | Quantity::StuckSwitches
        | Quantity::LoadVoltage
        | Quantity::LoadTotal
        | Quantity::LampSeen
        | Quantity::LoadCurrent
        | Quantity::InrushCurrent
        | Quantity::InrushDecay
        | Quantity::RiseTime
        | Quantity::OpenCurrent => None,
    }
}

/// What the sheet states about the production that a quantity comes from: only of the module's own
/// quantities, within the sheet's own limits.
pub fn production(sheet: &ModuleSheet, quantity: Quantity, window: &Window) -> Option<Production> {
    let is_of_the_bench = quantity == Quantity::FeedVoltage;
    let share = sheet.production_spread.filter(|_| !is_of_the_bench)?.si();
    Production::within(window, share).filter(|_| *window == of_sheet(sheet, quantity))
}

/// The limit of the current at a clamp that must be open, from the smallest current that its load
/// would draw.
pub fn open_current(expected_lower_a: f64) -> Window {
    Window::at_most((OPEN_SHARE * expected_lower_a).max(OPEN_LEAST_A))
}
