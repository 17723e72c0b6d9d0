//! The bounds of the language.

/// The longest line that the jig takes, terminator not counted. Beyond: error -363.
pub const LINE_MAX: usize = 512;

/// How many commands for the feed may wait in the jig, the one that goes out included.
pub const COMMANDS_MAX: usize = 8;

/// Counts that the jig holds for the fast capture unit.
pub const FAST_COUNTS: usize = 32_768;

/// Counts that the jig holds for the watch.
pub const WATCH_COUNTS: usize = 8_192;

/// How often the jig looks at the current of a soft start, in microseconds. The charge is added up
/// from straight lines between these looks.
pub const CHARGE_PERIOD_US: u64 = 100;

/// The largest block of samples that one answer to a *sealed* line carries, in bytes.
pub const SEALED_BLOCK_MAX: usize = 4096;
