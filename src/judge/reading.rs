//! One measured value with unit, uncertainty, limits and verdict.

use super::remedy::Remedy;
use crate::measure::budget::Budget;
use crate::signal::target::Position;
use std::fmt;

/// Where a value stands against its limits.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Inside.
    Pass,
    /// The uncertainty straddles a limit.
    Indeterminate,
    /// Outside.
    Fail,
}

impl fmt::Display for Verdict {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Verdict::Pass => "pass",
            Verdict::Indeterminate => "indeterminate",
            Verdict::Fail => "fail",
        })
    }
}

/// Whose fault a failed reading most likely is.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Blame {
    /// The module itself.
    Module,
    /// A switch, slider or polarity that the user sets.
    Setting,
    /// A lead or clamp between jig and module.
    Lead,
    /// A load.
    Load,
    /// The jig.
    Jig,
    /// Cannot be told.
    Unsure,
}

impl fmt::Display for Blame {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Blame::Module => "module",
            Blame::Setting => "setting",
            Blame::Lead => "lead",
            Blame::Load => "load",
            Blame::Jig => "jig",
            Blame::Unsure => "unsure",
        })
    }
}

/// What was measured. Its name stands in the report's `quantity` column.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Quantity {
    /// Resistance between the feed wires with everything off.
    FeedResistance,
    /// Resistance between the feed wires and the commons with everything off.
    FeedToCommons,
    /// The lowest resistance between two commons with everything off.
    CommonToCommon,
    /// Charge of the soft start.
    StartCharge,
    /// Feed voltage.
    FeedVoltage,
    /// Feed current at rest, auxiliary supply off.
    IdleCurrent,
    /// What the auxiliary supply adds.
    AuxiliaryCurrent,
    /// Voltage of the load supply.
    LoadVoltage,
    /// Total load current.
    LoadTotal,
    /// Load current at a clamp.
    LoadCurrent,
    /// First current of a load that is switched on at rest: inrush, start current.
    InrushCurrent,
    /// Time in which half of what that is above the settled current is gone.
    InrushDecay,
    /// From 10 % to 90 % of the final current of a load.
    RiseTime,
    /// Current at the clamp that must be open.
    OpenCurrent,
    /// From command to first closure.
    ResponseTime,
    /// From contact closure to first closure.
    ContactResponseTime,
    /// Between opening of the old and closing of the new position; negative is an overlap.
    Gap,
    /// Bounce after the first closure.
    BounceTime,
    /// Resistance of the closed output.
    ContactResistance,
    /// Peak of the coil's pulse in the feed current, above idle.
    CoilCurrent,
    /// Number of outputs that moved though they should not (1 is the unit).
    UnwantedMoves,
    /// Number of outputs that did not end where they should.
    WrongPositions,
    /// Whether the module answers commands, the feed the right way round: 1 is yes.
    Answers,
    /// The same, the feed the other way round.
    AnswersInverted,
    /// Number of address switches that stay the same wherever they are set (1 is the unit).
    StuckSwitches,
    /// Rate of the lamp.
    LampRate,
    /// Duty of the lamp.
    LampDuty,
    /// What the operator saw the lamp do: no measured value, so none at all.
    LampSeen,
}

impl Quantity {
    /// The name in the report, in words with underscores.
    pub const fn name(self) -> &'static str {
        match self {
            Quantity::FeedResistance => "feed_resistance",
            Quantity::FeedToCommons => "feed_to_commons_resistance",
            Quantity::CommonToCommon => "common_to_common_resistance",
            Quantity::StartCharge => "start_charge",
            Quantity::FeedVoltage => "feed_voltage",
            Quantity::IdleCurrent => "idle_current",
            Quantity::AuxiliaryCurrent => "auxiliary_current",
            Quantity::LoadVoltage => "load_voltage",
            Quantity::LoadTotal => "load_total",
            Quantity::LoadCurrent => "load_current",
            Quantity::InrushCurrent => "inrush_current",
            Quantity::InrushDecay => "inrush_decay",
            Quantity::RiseTime => "rise_time",
            Quantity::OpenCurrent => "open_current",
            Quantity::ResponseTime => "response_time",
            Quantity::ContactResponseTime => "contact_response_time",
            Quantity::Gap => "gap",
            Quantity::BounceTime => "bounce_time",
            Quantity::ContactResistance => "contact_resistance",
            Quantity::CoilCurrent => "coil_current",
            Quantity::UnwantedMoves => "unwanted_moves",
            Quantity::WrongPositions => "wrong_positions",
            Quantity::Answers => "answers",
            Quantity::AnswersInverted => "answers_inverted",
            Quantity::StuckSwitches => "stuck_switches",
            Quantity::LampRate => "lamp_rate",
            Quantity::LampDuty => "lamp_duty",
            Quantity::LampSeen => "lamp_seen",
        }
    }

    /// Whether its value is a yes (1) or a no (0).
    pub const fn is_yes_or_no(self) -> bool {
        matches!(self, Quantity::Answers | Quantity::AnswersInverted)
    }

    /// Whether it is counted, or seen by a person: exact, so that no risk belongs to it.
    pub const fn is_counted(self) -> bool {
        self.is_yes_or_no()
            || matches!(
                self,
                Quantity::UnwantedMoves
                    | Quantity::WrongPositions
                    | Quantity::StuckSwitches
                    | Quantity::LampSeen
            )
    }

    /// The SI unit without prefix, as in the report's `unit` column.
    pub const fn unit(self) -> &'static str {
        match self {
            Quantity::FeedResistance
            | Quantity::FeedToCommons
            | Quantity::CommonToCommon
            | Quantity::ContactResistance => "ohm",
            Quantity::StartCharge => "C",
            Quantity::FeedVoltage | Quantity::LoadVoltage => "V",
            Quantity::IdleCurrent
            | Quantity::AuxiliaryCurrent
            | Quantity::LoadTotal
            | Quantity::LoadCurrent
            | Quantity::InrushCurrent
            | Quantity::OpenCurrent
            | Quantity::CoilCurrent => "A",
            Quantity::ResponseTime
            | Quantity::ContactResponseTime
            | Quantity::Gap
            | Quantity::InrushDecay
            | Quantity::RiseTime
            | Quantity::BounceTime => "s",
            Quantity::UnwantedMoves
            | Quantity::WrongPositions
            | Quantity::Answers
            | Quantity::AnswersInverted
            | Quantity::StuckSwitches
            | Quantity::LampDuty
            | Quantity::LampSeen => "1",
            Quantity::LampRate => "Hz",
        }
    }
}

/// What stands behind the channel that a reading was taken with.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub enum Backing {
    /// Nothing needs to: times and counts.
    #[default]
    NotNeeded,
    /// The class that the jig states, and no calibration.
    Uncalibrated,
    /// The calibration of this name.
    Calibration(String),
}

/// What is said of a reading without a calibration that would need one.
pub const UNCALIBRATED: &str = "uncalibrated";

impl Backing {
    /// In a word: empty, [`UNCALIBRATED`], or the calibration's name.
    pub fn word(&self) -> &str {
        match self {
            Backing::NotNeeded => "",
            Backing::Uncalibrated => UNCALIBRATED,
            Backing::Calibration(name) => name,
        }
    }
}

/// A reading.
#[derive(Clone, Debug, PartialEq)]
pub struct Reading {
    /// Name of the step.
    pub step: String,
    /// Output that it belongs to.
    pub output: Option<u8>,
    /// Position that it belongs to.
    pub position: Option<Position>,
    /// What was measured.
    pub quantity: Quantity,
    /// The value in the quantity's unit; `None` where nothing could be measured (no closure seen).
    pub value: Option<f64>,
    /// Expanded uncertainty, 95 %, same unit.
    pub uncertainty: Option<f64>,
    /// Lower limit, same unit.
    pub lower_limit: Option<f64>,
    /// Upper limit, same unit.
    pub upper_limit: Option<f64>,
    /// The verdict.
    pub verdict: Verdict,
    /// Whose fault, for a reading that does not pass.
    pub blame: Option<Blame>,
    /// What a person should know.
    pub note: String,
    /// What stands behind the channel.
    pub backing: Backing,
    /// What the uncertainty is made of, where there is a value.
    pub budget: Option<Budget>,
    /// Where the limits come from; empty where the reading does not say.
    pub limits_from: String,
    /// The chance that the verdict is wrong: that the true value is outside though it passes, inside
    /// though it fails. `None` for counts, and where nothing was decided or limited.
    pub risk: Option<f64>,
    /// How far inside its limits the value has to lie to pass, and outside to fail, in its unit: its
    /// expanded uncertainty, zero for simple acceptance. `None` for counts, and where there is no
    /// value or no limit.
    pub guard_band: Option<f64>,
    /// The chance that the true value lies outside the limits, whatever the verdict: the risk of
    /// accepting. `None` as for [`Reading::guard_band`].
    pub outside: Option<f64>,
    /// What would settle it, where its uncertainty straddles a limit.
    pub settled_by: Option<Remedy>,
}

impl Reading {
    /// A reading of which nothing else is known: no value, no limits, no place.
    pub fn bare(step: &str, quantity: Quantity, verdict: Verdict) -> Self {
        Reading {
            step: step.into(),
            output: None,
            position: None,
            quantity,
            value: None,
            uncertainty: None,
            lower_limit: None,
            upper_limit: None,
            verdict,
            blame: None,
            note: String::new(),
            backing: Backing::default(),
            budget: None,
            limits_from: String::new(),
            risk: None,
            guard_band: None,
            outside: None,
            settled_by: None,
        }
    }
}
