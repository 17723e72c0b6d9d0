//! What a kind of module must do.

mod read;

pub(crate) use read::{FORMATS, NUMBERINGS};

use crate::quantity::origin::Origin;
use crate::quantity::range::{Limits, Toleranced};
use crate::signal::dcc::Numbering;
use crate::signal::target::{Format, Position};
use uom::si::f64::{
    ElectricCharge, ElectricCurrent, ElectricPotential, ElectricalResistance, Frequency, Ratio,
    Time,
};

/// The bank of small switches that sets the address.
#[derive(Clone, Debug, PartialEq)]
pub struct SwitchBank {
    /// What each switch adds when it is on, switch 1 first; 0 for the format switch.
    pub weights: Vec<u16>,
    /// The switch (from 1) that chooses the format, if there is one.
    pub format_switch: Option<u8>,
    /// The format while the format switch is on; without a format switch the only format.
    pub format_when_on: Format,
    /// The format while it is off.
    pub format_when_off: Format,
    /// The format that it is used in unless told otherwise.
    pub usual_format: Format,
    /// First address = sum of the weights × `step` + `base`.
    pub base: i32,
    /// See `base`; 4 where the switches count groups of four addresses.
    pub step: u16,
}

/// Blinking of the status lamp.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Rhythm {
    /// Changes on-off-on a second.
    pub rate: Limits<Frequency>,
    /// Share of the time that it is on.
    pub duty: Limits<Ratio>,
}

/// What positions `a` and `b` mean to people, where a sheet says so.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PositionNames(pub Option<[String; 2]>);

impl PositionNames {
    /// A position as people read it: `b`, or `b (diverging)`.
    pub fn of(&self, position: Position) -> String {
        match &self.0 {
            Some(names) => format!("{position} ({})", names[position.index()]),
            None => position.to_string(),
        }
    }

    /// What they mean, in a sentence.
    pub fn legend(&self) -> Option<String> {
        let [a, b] = self.0.as_ref()?;
        Some(format!("Position a is {a}, position b is {b}."))
    }
}

/// A module sheet.
#[derive(Clone, Debug, PartialEq)]
pub struct ModuleSheet {
    /// Which sheet it is.
    pub origin: Origin,
    /// The kind's name, a slug (`pier-four`).
    pub kind: String,
    /// One line for people.
    pub title: String,
    /// Number of outputs, 1 to 4.
    pub outputs: u8,
    /// How many identical packets it wants before it acts (1 or 2).
    pub packets_needed: u8,
    /// How often a command is sent.
    pub repeat: u8,
    /// The direction bit that means position `a` (0 or 1).
    pub direction_of_a: u8,
    /// How the addresses of its packets count (without meaning for trinary).
    pub numbering: Numbering,
    /// The address switches.
    pub switches: SwitchBank,
    /// First address that it is tried at when neither script nor user names one.
    pub try_address: u16,
    /// Feed voltage that it is made for.
    pub feed: Toleranced<ElectricPotential>,
    /// Whether a wrong polarity of the feed matters to it.
    pub polarity_matters: bool,
    /// Whether it may be tried with the feed the wrong way round.
    pub try_inverted: bool,
    /// Whether the outputs stay where they were when power goes and comes.
    pub keeps_position: bool,
    /// From power to ready.
    pub boot: Time,
    /// Charge that the soft start fills in.
    pub charge: Limits<ElectricCharge>,
    /// Feed current at rest, auxiliary supply off.
    pub idle_current: Limits<ElectricCurrent>,
    /// What the auxiliary supply adds when its slider is on; `None`: no auxiliary supply.
    pub auxiliary_current: Option<Limits<ElectricCurrent>>,
    /// From the end of the last packet needed to the first closure.
    pub response: Limits<Time>,
    /// From the contact input's closure to the first closure of the output.
    pub contact_response: Limits<Time>,
    /// How long a contact input is closed.
    pub contact_closure: Time,
    /// Between the opening of the old position and the closing of the new one.
    pub gap: Limits<Time>,
    /// Bounce after the first closure.
    pub bounce: Limits<Time>,
    /// Resistance of a closed output.
    pub contact_resistance: Limits<ElectricalResistance>,
    /// Peak of the feed current above idle while an output moves.
    pub coil_current: Limits<ElectricCurrent>,
    /// What the positions mean to people.
    pub positions: PositionNames,
    /// Rest between two operations.
    pub rest: Time,
    /// Resistance between the feed wires before power.
    pub feed_resistance: Limits<ElectricalResistance>,
    /// Resistance between the feed wires and the commons before power.
    pub feed_to_commons: Limits<ElectricalResistance>,
    /// Resistance between any two commons before power.
    pub between_commons: Limits<ElectricalResistance>,
    /// How many status lamps it has; two light in turn.
    pub lamps: u8,
    /// Rhythm of a healthy module.
    pub lamp: Rhythm,
    /// What the lamp draws when lit; open where the sheet does not say.
    pub lamp_current: Limits<ElectricCurrent>,
    /// Rhythm with the feed inverted, where the lamp tells it.
    pub lamp_inverted: Option<Rhythm>,
    /// Most current that an output may switch.
    pub output_rating: ElectricCurrent,
    /// Standard deviation of the production as a share of the width between two limits, where the
    /// maker states it or a lot has shown it.
    pub production_spread: Option<Ratio>,
}
