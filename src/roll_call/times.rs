//! How long a module is given, by its sheet.

use crate::quantity::range::Limits;
use crate::quantity::unit::{Units, duration};
use crate::script::module_sheet::ModuleSheet;
use crate::script::plan::By;
use crate::script::timing::longest_move;
use core::time::Duration;
use uom::si::f64::Time;

/// How much longer than its limits a module is given.
const GRACE: Duration = Duration::from_millis(5);
/// Beyond the sheet's time a module may still be busy with itself.
const BOOTED: Duration = Duration::from_millis(50);

/// How long a module is given.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Times {
    /// A sound coil begins to pull no later than this after the command, since by then the contact
    /// has closed.
    pub response: Duration,
    /// After this a sound output stands where it was sent.
    pub longest_move: Duration,
    /// A rest after which a module takes the next command, and a slow one has moved.
    pub rest: Duration,
    /// From power until it is ready.
    pub boot: Duration,
    /// A little more than one period of its lamp.
    pub blink: Duration,
    /// Closing a contact input, until a slow output has moved.
    pub contact: Duration,
}

impl Times {
    /// What a sheet gives it.
    pub fn of(sheet: &ModuleSheet) -> Times {
        let longest_move = longest_move(sheet, By::Command) + GRACE;
        let rest = longest_move.max(duration(sheet.rest));
        let slowest_hz = sheet.lamp.rate.lower.map_or(1.0, Units::si).max(0.3);
        let closure = duration(sheet.contact_closure);
        Times {
            response: upper(&sheet.response),
            longest_move,
            rest,
            boot: duration(sheet.boot) + BOOTED,
            blink: Duration::from_secs_f64(1.25 / slowest_hz),
            contact: closure.max(rest) + sheet.contact_response.upper.map_or(closure, duration),
        }
    }
}

fn upper(limits: &Limits<Time>) -> Duration {
    limits.upper.map_or(Duration::ZERO, duration)
}
