//! Levels on the feed, and how long they are held.

/// The level of the feed as the command format sees it.
///
/// With normal polarity `High` puts the feed's first wire above its second one.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Level {
    /// First wire below the second.
    Low,
    /// First wire above the second.
    High,
}

impl Level {
    /// The other level.
    pub const fn inverted(self) -> Self {
        match self {
            Level::Low => Level::High,
            Level::High => Level::Low,
        }
    }
}

/// A level and how long it is held.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pulse {
    /// The level.
    pub level: Level,
    /// How long, in microseconds.
    pub duration_us: u32,
}

/// A stretch of constant level that has ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Stretch {
    /// The level.
    pub level: Level,
    /// How long it was held, in microseconds.
    pub duration_us: u32,
    /// When it ended, in microseconds.
    pub end_us: u64,
}
