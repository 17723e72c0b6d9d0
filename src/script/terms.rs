//! The terms that scripts, plans and runs share.

use crate::signal::target::Format;

/// Which loads are connected.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LoadChoice {
    /// None.
    None,
    /// The jig's own resistors.
    Jig,
    /// The real loads of the load sheet.
    Real,
}

/// Polarity of the feed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Polarity {
    /// First wire to the module's first terminal.
    Normal,
    /// Swapped.
    Inverted,
}

impl Polarity {
    /// The other one.
    pub const fn other(self) -> Self {
        match self {
            Polarity::Normal => Polarity::Inverted,
            Polarity::Inverted => Polarity::Normal,
        }
    }
}

/// How acceptance is decided (JCGM 106).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Rule {
    /// `pass` only when the whole coverage interval lies inside the limits, `fail` only when it
    /// lies outside, else `indeterminate`.
    Guarded,
    /// The value alone decides.
    Simple,
}

impl Rule {
    /// As a script names it.
    pub const fn word(self) -> &'static str {
        match self {
            Rule::Guarded => "guarded",
            Rule::Simple => "simple",
        }
    }
}

/// How a bank of address switches shall stand, and what that means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct BankSetting {
    /// Which switches are on (bit 0 is switch 1).
    pub switches: u32,
    /// How many switches there are.
    pub count: u8,
    /// The first address that this means.
    pub address: u16,
    /// The format that this means.
    pub format: Format,
}

impl core::fmt::Display for BankSetting {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        write!(f, "{} {}", self.address, self.format)
    }
}

/// Something that the operator does by hand.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum HandTask {
    /// With the power off: seat the module, set the switches and the slider.
    Prepare {
        /// How the switches shall stand; `None`: as they are.
        bank: Option<BankSetting>,
        /// Where the slider goes; `None`: this kind has none.
        auxiliary: Option<bool>,
    },
    /// With the power off: set the switches anew, and touch nothing else.
    Switches(BankSetting),
    /// Move the slider of the auxiliary supply.
    Auxiliary(bool),
    /// Anything else, in the script's own words; a simulated hand nods.
    Other(String),
}

/// What makes an output move.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum By {
    /// A command on the feed.
    Command,
    /// Its contact input, closed for the sheet's time.
    Contact,
    /// A command to `to` while the *other* position's contact is held closed: nothing may move.
    CommandAgainstContact,
}

/// A quantity that a step measures over a window.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Measured {
    /// Feed current at rest with the auxiliary supply off, against the sheet.
    IdleCurrent,
    /// Rise of the feed current by the auxiliary supply: this measurement minus the idle current,
    /// whichever of the two comes last gives the reading.
    AuxiliaryCurrent,
    /// Voltage of the feed, against the sheet.
    FeedVoltage,
    /// Voltage of the load supply, against the load sheet.
    LoadVoltage,
    /// Total current of the load supply, against the loads that are on.
    LoadTotal,
    /// How the real loads start when they are switched on at rest, past the module: inrush and its
    /// decay, start current, rise time.
    LoadStart,
}

impl Measured {
    /// As scripts and reports name it.
    pub const fn name(self) -> &'static str {
        match self {
            Measured::IdleCurrent => "idle current",
            Measured::AuxiliaryCurrent => "auxiliary current",
            Measured::FeedVoltage => "feed voltage",
            Measured::LoadVoltage => "load voltage",
            Measured::LoadTotal => "load total",
            Measured::LoadStart => "load start",
        }
    }
}

/// `output 1`, `outputs 1, 2 and 3`.
pub(super) fn listed(what: &str, names: &[String]) -> String {
    match names {
        [] => format!("no {what}"),
        [one] => format!("{what} {one}"),
        [first @ .., last] => format!("{what}s {} and {last}", first.join(", ")),
    }
}
