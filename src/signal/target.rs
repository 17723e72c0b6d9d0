//! What a command is aimed at: an output's position, through a command format.

use core::fmt;

/// How commands are coded on the feed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Format {
    /// The open packet standard (NMRA S-9.1, S-9.2, S-9.2.1).
    Dcc,
    /// The older three-state pulse code.
    Trinary,
}

impl fmt::Display for Format {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Format::Dcc => "dcc",
            Format::Trinary => "trinary",
        })
    }
}

/// One of the two positions of an output's change-over.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
#[cfg_attr(feature = "host", derive(serde::Serialize, serde::Deserialize))]
#[cfg_attr(feature = "host", serde(rename_all = "lowercase"))]
pub enum Position {
    /// Position `a`.
    A,
    /// Position `b`.
    B,
}

impl Position {
    /// The other position.
    pub const fn other(self) -> Self {
        match self {
            Position::A => Position::B,
            Position::B => Position::A,
        }
    }

    /// 0 for `a`, 1 for `b`.
    pub const fn index(self) -> usize {
        match self {
            Position::A => 0,
            Position::B => 1,
        }
    }
}

impl fmt::Display for Position {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(match self {
            Position::A => "a",
            Position::B => "b",
        })
    }
}

/// A clamp: one of the eight switched contacts `1a` … `4b`.
///
/// Clamps are numbered 0 to 7 in the order 1a, 1b, 2a … 4b wherever a channel number is built from
/// them: channel 101 is the current at clamp 1a, 108 the current at clamp 4b.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub struct Clamp {
    /// The output, 1 to 4.
    pub output: u8,
    /// The position.
    pub position: Position,
}

impl Clamp {
    /// All eight, in channel order.
    pub const ALL: [Clamp; 8] = {
        let mut all = [Clamp { output: 1, position: Position::A }; 8];
        let mut i = 0;
        while i < 8 {
            all[i] = Clamp {
                output: 1 + (i / 2) as u8,
                position: if i % 2 == 0 { Position::A } else { Position::B },
            };
            i += 1;
        }
        all
    };

    /// 0 to 7, the offset within a bank of channels.
    pub const fn index(self) -> usize {
        (self.output as usize - 1) * 2 + self.position.index()
    }

    /// The channel of this clamp in the bank that starts at `first` (101, 201, 301, 311, 321, 401).
    pub const fn channel(self, first: u16) -> u16 {
        first + self.index() as u16
    }
}

impl fmt::Display for Clamp {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}{}", self.output, self.position)
    }
}
