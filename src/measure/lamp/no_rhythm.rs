//! Why a record tells no rhythm.

/// Why there is no rhythm.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum NoRhythm {
    /// Not enough samples.
    #[error("the record is too short to tell a rhythm")]
    TooShort,
    /// One level only.
    #[error(
        "no change seen in the feed current: the lamp is dark or steady, or two lamps take turns; \
         look at it"
    )]
    NoChange,
    /// A change that does not stand clear of the noise.
    #[error("the feed current changes too little to tell a rhythm; look at the lamp")]
    Faint,
    /// Fewer than two whole cycles.
    #[error("fewer than two whole cycles seen")]
    TooFewCycles,
    /// Changes, but in no rhythm.
    #[error("the feed current changes, but in no rhythm")]
    Irregular,
}
