//! What the module reads from its switches.

use crate::signal::target::Format;
use crate::simulated_bench::kind::Kind;

/// First address and format, from the switches as they are set (bit 0 is switch 1).
pub fn read(kind: &Kind, set: u32) -> (i32, Format) {
    let on = |index: u8| set >> index & 1 == 1;
    let format = match kind.format_switch {
        Some(n) if !on(n - 1) => kind.format_when_off,
        _ => kind.format_when_on,
    };
    let sum: i32 = (0u8..)
        .zip(&kind.switch_weights)
        .filter(|(i, _)| on(*i))
        .map(|(_, weight)| i32::from(*weight))
        .sum();
    (sum * i32::from(kind.address_step) + kind.address_base, format)
}
