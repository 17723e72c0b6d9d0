//! Where the limits of a reading come from: as data for the record, and in words.

use crate::load::window_words::WindowParts;
use serde::{Deserialize, Serialize};

/// Where limits come from.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "from", rename_all = "snake_case")]
pub enum LimitsFrom {
    /// A key of the module sheet.
    ModuleSheet {
        /// The key, with its table.
        key: String,
    },
    /// What every module must do, whatever its kind.
    EveryModule,
    /// The supply that the load sheet states.
    LoadSupply,
    /// The supply that the jig's own loads want.
    JigLoadSupply,
    /// The circuit at the clamp, once it has settled.
    Load {
        /// What its window is made of.
        window: WindowParts,
    },
    /// The circuit at the clamp, at the first instant.
    FirstInstant {
        /// What its window is made of.
        window: WindowParts,
        /// How far below that a filament that is not quite cold begins, as a share.
        not_quite_cold: f64,
    },
    /// The circuits of all loads that are on.
    LoadsOn {
        /// How many they are.
        loads: usize,
    },
    /// How fast the load's own current decays.
    LoadTime {
        /// The voltage of its supply, volts.
        supply_v: f64,
    },
    /// How fast the load's own current rises.
    CoilTime,
    /// Only in words: older records know no more.
    Words {
        /// The words.
        words: String,
    },
    /// What still counts as an open contact.
    OpenContact {
        /// The share of the smallest current that the load would draw.
        share: f64,
        /// That current, amperes.
        smallest_a: f64,
    },
}

impl LimitsFrom {
    /// In words.
    pub fn words(&self) -> String {
        match self {
            LimitsFrom::ModuleSheet { key } => format!("module sheet, `{key}`"),
            LimitsFrom::EveryModule => "what every module must do".into(),
            LimitsFrom::LoadSupply => "load sheet, `supply`".into(),
            LimitsFrom::JigLoadSupply => "the supply of the jig's own loads".into(),
            LimitsFrom::Load { window } => window.words(),
            LimitsFrom::FirstInstant { window, not_quite_cold } => {
                let colder = if *not_quite_cold > 0.0 {
                    let share = 100.0 * not_quite_cold;
                    format!("; {share:.0} % below that for a lamp that is not quite cold")
                } else {
                    String::new()
                };
                format!("at the first instant, {}{colder}", window.words())
            }
            LimitsFrom::LoadsOn { loads: 0 } => "no load is on".into(),
            LimitsFrom::LoadsOn { loads: 1 } => "the load that is on".into(),
            LimitsFrom::LoadsOn { loads } => format!("the sum of the {loads} loads that are on"),
            LimitsFrom::LoadTime { supply_v } => {
                format!("the load's own time at {supply_v:.2} V")
            }
            LimitsFrom::Words { words } => words.clone(),
            LimitsFrom::CoilTime => {
                "ln 9 of L/R, from the coil's inductance, resistance and temperature".into()
            }
            LimitsFrom::OpenContact { share, smallest_a } => format!(
                "an open contact: at most {:.0} % of the {:.1} mA that its load would draw at \
                 least, or what the jig can tell from none",
                100.0 * share,
                1e3 * smallest_a
            ),
        }
    }
}
