//! What the numeric suffix of a header means.

/// Things that are numbered from 1.
pub trait Suffix: Copy {
    /// The highest number.
    const MAX: u8;

    /// The thing of a number, which has been checked.
    fn from_number(number: u8) -> Self;

    /// Its number.
    fn number(self) -> u8;
}

/// Which of the jig's two supplies.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Supply {
    /// The feed of the module (`OUTPut1`).
    Feed,
    /// The direct-current supply of the loads (`OUTPut2`).
    Loads,
}

impl Supply {
    /// Both.
    pub const ALL: [Supply; 2] = [Supply::Feed, Supply::Loads];
}

impl Suffix for Supply {
    const MAX: u8 = 2;

    fn from_number(number: u8) -> Self {
        if number == 1 { Supply::Feed } else { Supply::Loads }
    }

    fn number(self) -> u8 {
        match self {
            Supply::Feed => 1,
            Supply::Loads => 2,
        }
    }
}

/// Which of the two captures that can run side by side.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CaptureUnit {
    /// `INITiate1`: fast, for transitions and settled windows.
    Capture,
    /// `INITiate2`: slow, goes on while other steps run (lamp rhythm).
    Watch,
}

impl Suffix for CaptureUnit {
    const MAX: u8 = 2;

    fn from_number(number: u8) -> Self {
        if number == 1 { CaptureUnit::Capture } else { CaptureUnit::Watch }
    }

    fn number(self) -> u8 {
        match self {
            CaptureUnit::Capture => 1,
            CaptureUnit::Watch => 2,
        }
    }
}
