//! What is measured: one line for each quantity says all that is laid down of it.

use std::fmt;

/// How a value comes about.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Kind {
    /// Measured: it has an uncertainty, and its verdict a risk.
    Measured,
    /// Counted: exact.
    Counted,
    /// A yes (1) or a no (0): exact.
    YesOrNo,
    /// Seen by a person: no value at all.
    Seen,
}

/// What stands behind a value.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Channel {
    /// No channel: times, rates and counts.
    NotNeeded,
    /// Channels that nobody calibrates: voltages and resistances.
    NeverCalibrated,
    /// The channel of the feed current.
    FeedCurrent,
    /// The channel of the total load current.
    LoadTotal,
    /// The current channel of the clamp that the reading belongs to.
    ClampCurrent,
}

/// What is laid down of a quantity.
struct Definition {
    name: &'static str,
    unit: &'static str,
    kind: Kind,
    channel: Channel,
}

const AMPERE: &str = "A";
const COULOMB: &str = "C";
const HERTZ: &str = "Hz";
const OHM: &str = "ohm";
const ONE: &str = "1";
const SECOND: &str = "s";
const VOLT: &str = "V";

/// `Name: "name_in_the_report", unit, kind, channel;`
macro_rules! quantities {
    ($($(#[doc = $doc:literal])+ $name:ident: $word:literal, $unit:ident, $kind:ident, $channel:ident;)*) => {
        /// What was measured. Its name stands in the report's `quantity` column.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
        pub enum Quantity {
            $($(#[doc = $doc])+ $name),*
        }

        impl Quantity {
            /// All of them.
            pub const ALL: &[Quantity] = &[$(Quantity::$name),*];

            const fn definition(self) -> Definition {
                match self {
                    $(Quantity::$name => Definition {
                        name: $word,
                        unit: $unit,
                        kind: Kind::$kind,
                        channel: Channel::$channel,
                    }),*
                }
            }
        }
    };
}

quantities! {
    /// Resistance between the feed wires with everything off.
    FeedResistance: "feed_resistance", OHM, Measured, NeverCalibrated;
    /// Resistance between the feed wires and the commons with everything off.
    FeedToCommons: "feed_to_commons_resistance", OHM, Measured, NeverCalibrated;
    /// The lowest resistance between two commons with everything off.
    CommonToCommon: "common_to_common_resistance", OHM, Measured, NeverCalibrated;
    /// Charge of the soft start.
    StartCharge: "start_charge", COULOMB, Measured, FeedCurrent;
    /// Feed voltage.
    FeedVoltage: "feed_voltage", VOLT, Measured, NeverCalibrated;
    /// Feed current at rest, auxiliary supply off.
    IdleCurrent: "idle_current", AMPERE, Measured, FeedCurrent;
    /// What the auxiliary supply adds.
    AuxiliaryCurrent: "auxiliary_current", AMPERE, Measured, FeedCurrent;
    /// Voltage of the load supply.
    LoadVoltage: "load_voltage", VOLT, Measured, NeverCalibrated;
    /// Total load current.
    LoadTotal: "load_total", AMPERE, Measured, LoadTotal;
    /// Load current at a clamp.
    LoadCurrent: "load_current", AMPERE, Measured, ClampCurrent;
    /// First current of a load that is switched on at rest: inrush, start current.
    InrushCurrent: "inrush_current", AMPERE, Measured, ClampCurrent;
    /// Time in which half of what that is above the settled current is gone.
    InrushDecay: "inrush_decay", SECOND, Measured, NotNeeded;
    /// From 10 % to 90 % of the final current of a load.
    RiseTime: "rise_time", SECOND, Measured, NotNeeded;
    /// Current at the clamp that must be open.
    OpenCurrent: "open_current", AMPERE, Measured, ClampCurrent;
    /// From command to first closure.
    ResponseTime: "response_time", SECOND, Measured, NotNeeded;
    /// From contact closure to first closure.
    ContactResponseTime: "contact_response_time", SECOND, Measured, NotNeeded;
    /// Between opening of the old and closing of the new position; negative is an overlap.
    Gap: "gap", SECOND, Measured, NotNeeded;
    /// Bounce after the first closure.
    BounceTime: "bounce_time", SECOND, Measured, NotNeeded;
    /// Resistance of the closed output.
    ContactResistance: "contact_resistance", OHM, Measured, NeverCalibrated;
    /// Peak of the coil's pulse in the feed current, above idle.
    CoilCurrent: "coil_current", AMPERE, Measured, FeedCurrent;
    /// Number of outputs that moved though they should not (1 is the unit).
    UnwantedMoves: "unwanted_moves", ONE, Counted, NotNeeded;
    /// Number of outputs that did not end where they should.
    WrongPositions: "wrong_positions", ONE, Counted, NotNeeded;
    /// Whether the module answers commands, the feed the right way round: 1 is yes.
    Answers: "answers", ONE, YesOrNo, NotNeeded;
    /// The same, the feed the other way round.
    AnswersInverted: "answers_inverted", ONE, YesOrNo, NotNeeded;
    /// Number of address switches that stay the same wherever they are set (1 is the unit).
    StuckSwitches: "stuck_switches", ONE, Counted, NotNeeded;
    /// Rate of the lamp.
    LampRate: "lamp_rate", HERTZ, Measured, NotNeeded;
    /// Duty of the lamp.
    LampDuty: "lamp_duty", ONE, Measured, NotNeeded;
    /// By how much the feed current rises while the lamp is lit.
    LampCurrent: "lamp_current", AMPERE, Measured, FeedCurrent;
    /// What the operator saw the lamp do: no measured value, so none at all.
    LampSeen: "lamp_seen", ONE, Seen, NotNeeded;
}

impl Quantity {
    /// The quantity of a name; `None` where this version knows none.
    pub fn named(name: &str) -> Option<Self> {
        Quantity::ALL.iter().copied().find(|quantity| quantity.name() == name)
    }

    /// The name in the report, in words with underscores.
    pub const fn name(self) -> &'static str {
        self.definition().name
    }

    /// The name as people read it.
    pub fn words(self) -> String {
        self.name().replace('_', " ")
    }

    /// The SI unit without prefix, as in the report's `unit` column.
    pub const fn unit(self) -> &'static str {
        self.definition().unit
    }

    /// What stands behind its values.
    pub const fn channel(self) -> Channel {
        self.definition().channel
    }

    /// Whether the module itself draws it anew at each operation: no armature leaves at the same instant
    /// twice, and contacts never bounce twice alike. Such a thing cannot be measured again.
    pub const fn is_drawn_anew(self) -> bool {
        use Quantity::{BounceTime, ContactResponseTime, Gap, ResponseTime};
        matches!(self, ResponseTime | ContactResponseTime | Gap | BounceTime)
    }

    /// Whether its value is a yes (1) or a no (0).
    pub const fn is_yes_or_no(self) -> bool {
        matches!(self.definition().kind, Kind::YesOrNo)
    }

    /// Whether it is counted, or seen by a person: exact, so that no risk belongs to it.
    pub const fn is_counted(self) -> bool {
        !matches!(self.definition().kind, Kind::Measured)
    }
}

impl fmt::Display for Quantity {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(self.name())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_are_told_apart_and_found_again() {
        for &quantity in Quantity::ALL {
            assert_eq!(Quantity::named(quantity.name()), Some(quantity));
        }
        assert_eq!(Quantity::named("readings"), None);
    }

    #[test]
    fn exact_quantities_have_no_unit_and_currents_have_a_channel() {
        for &quantity in Quantity::ALL {
            assert!(!quantity.is_counted() || quantity.unit() == ONE, "{quantity}");
            let is_electrical = [AMPERE, COULOMB, VOLT, OHM].contains(&quantity.unit());
            assert_eq!(quantity.channel() != Channel::NotNeeded, is_electrical, "{quantity}");
        }
    }
}
