//! What happens at the jig's pins, and what may befall it.

use musterbench::jig::board::{FeedDrive, Supply};

/// What happened at the pins, with the emulated time in nanoseconds.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Event {
    /// The feed's wires: 0 both low, 1 A high, 2 B high.
    Wires(u8),
    /// What the hardware makes of pins, pump and latch: how the feed is driven.
    Feed(FeedDrive),
    /// Likewise of the load supply.
    Loads(bool),
    /// What stands at the shift registers' outputs.
    Switches(u64),
    /// The hardware cut a supply off.
    CutOff(Supply),
    /// The program has closed the device.
    Closed,
    /// Bytes have left for the host.
    Sent(usize),
    /// What the test asked for has been done: by a hand, or to the firmware.
    Hand,
    /// So many bytes have come from the host, and the first of them.
    Came(usize, u8),
}

/// How the host is connected.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Line {
    /// By a UART at 115200 baud: closing it tells the jig nothing.
    Uart,
    /// By USB.
    Usb,
}

/// What befalls the firmware's main loop.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ail {
    /// It panics.
    Panic,
    /// It hangs, with interrupts going on.
    Hang,
    /// It hangs, and no interrupt is served any more.
    HangDead,
    /// The processor faults.
    Fault,
    /// The stack grows beyond its end.
    StackOverflow,
}
