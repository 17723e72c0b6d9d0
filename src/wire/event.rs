//! Bits of the standard event status register (`*ESR?`; IEEE 488.2, 11.5.1).

/// `*OPC`: all that was pending is done.
pub const OPERATION_COMPLETE: u8 = 1 << 0;
/// A query error (-400 to -499).
pub const QUERY_ERROR: u8 = 1 << 2;
/// A device-dependent error (-300 to -399).
pub const DEVICE_ERROR: u8 = 1 << 3;
/// An execution error (-200 to -299).
pub const EXECUTION_ERROR: u8 = 1 << 4;
/// A command error (-100 to -199).
pub const COMMAND_ERROR: u8 = 1 << 5;
/// The jig has been switched on.
pub const POWER_ON: u8 = 1 << 7;
