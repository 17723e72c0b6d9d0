//! What kind of module the bench simulates: plain numbers in SI units.

use crate::signal::dcc::Numbering;
use crate::signal::target::Format;

/// A kind of module. Nominal values; each module drawn from it has its own spread.
#[derive(Clone, Debug, PartialEq)]
pub struct Kind {
    /// Number of outputs.
    pub outputs: u8,
    /// Identical packets wanted before it acts.
    pub packets_needed: u8,
    /// Direction bit that means position `a`.
    pub direction_of_a: u8,
    /// How the addresses of its packets count.
    pub numbering: Numbering,
    /// What each switch adds when it is on, switch 1 first.
    pub switch_weights: Vec<u16>,
    /// The switch (from 1) that chooses the format.
    pub format_switch: Option<u8>,
    /// Format while that switch is on; without such a switch the only format.
    pub format_when_on: Format,
    /// Format while it is off.
    pub format_when_off: Format,
    /// First address = sum × step + base.
    pub address_base: i32,
    /// See `address_base`.
    pub address_step: u16,
    /// Whether it listens only with the feed the right way round.
    pub polarity_matters: bool,
    /// Whether outputs stay where they were over a loss of power (else they go to `a` at boot).
    pub keeps_position: bool,
    /// From power to ready, seconds.
    pub boot_s: f64,
    /// Reservoir behind the rectifier, farads.
    pub reservoir_f: f64,
    /// What the reservoir is filled through, ohms: its own resistance, or a resistor before it. What
    /// else hangs on the rail does not go through it.
    pub reservoir_ohm: f64,
    /// Feed current at rest without lamp and auxiliary, amperes.
    pub logic_a: f64,
    /// What the lamp draws while it is lit, amperes.
    pub lamp_a: f64,
    /// How many lamps it has, 1 or 2. Two light in turn.
    pub lamps: u8,
    /// By which share the second lamp draws more than the first; `None`: drawn for each module,
    /// from -0.2 to 0.2.
    pub lamp_difference: Option<f64>,
    /// Lamp rate when healthy, hertz.
    pub lamp_hz: f64,
    /// Lamp duty when healthy.
    pub lamp_duty: f64,
    /// Lamp rate with the feed inverted, hertz.
    pub lamp_inverted_hz: f64,
    /// What the auxiliary supply draws, amperes; 0: none.
    pub auxiliary_a: f64,
    /// From the end of the last packet to the first closure, seconds.
    pub response_s: f64,
    /// From the contact's closure to the first closure, seconds.
    pub contact_response_s: f64,
    /// Both contacts open for so long, seconds.
    pub gap_s: f64,
    /// Bounce after the first closure, seconds.
    pub bounce_s: f64,
    /// Resistance of a closed output, ohms.
    pub contact_ohm: f64,
    /// Coil current while it operates, amperes.
    pub coil_a: f64,
    /// Nominal feed voltage, volts.
    pub feed_v: f64,
}

impl Kind {
    /// A kind that no module sheet describes: for tests, and for whoever wants a module without one.
    pub fn example() -> Self {
        Kind {
            outputs: 4,
            packets_needed: 1,
            direction_of_a: 0,
            numbering: Numbering::Rcn213,
            switch_weights: vec![1, 2, 4, 8, 16, 32, 64, 0],
            format_switch: Some(8),
            format_when_on: Format::Trinary,
            format_when_off: Format::Dcc,
            address_base: -3,
            address_step: 4,
            polarity_matters: false,
            keeps_position: true,
            boot_s: 0.4,
            reservoir_f: 470e-6,
            reservoir_ohm: 0.1,
            logic_a: 0.025,
            lamp_a: 0.008,
            lamps: 1,
            lamp_difference: None,
            lamp_hz: 0.8,
            lamp_duty: 0.5,
            lamp_inverted_hz: 2.5,
            auxiliary_a: 0.030,
            response_s: 0.040,
            contact_response_s: 0.050,
            gap_s: 0.004,
            bounce_s: 0.002,
            contact_ohm: 0.06,
            coil_a: 0.090,
            feed_v: 16.0,
        }
    }
}
