//! A serial device: USB serial or a UART at 115200 8N1.

use super::real_time::{Carrier, RealTime};
use super::transport::TransportError;
use crate::system::holders::holders;
use crate::system::serial::{CannotOpen, Device, Lost};
use core::time::Duration;
use std::time::Instant;

/// How long a device may refuse to take bytes before it counts as gone.
const WRITE_GUARD: Duration = Duration::from_secs(3);

/// A serial device with the real clocks.
pub type SerialTransport = RealTime<SerialCarrier>;

/// The device itself.
pub struct SerialCarrier {
    device: Device,
    name: String,
}

impl SerialTransport {
    /// Opens a device for this program alone, and throws away what lies in its buffers.
    ///
    /// # Errors
    /// [`TransportError::Open`] with the reason and what to do.
    pub fn open(name: &str) -> Result<Self, TransportError> {
        let device = Device::open(name).map_err(|why| TransportError::Open {
            port: name.into(),
            reason: open_reason(why, name),
        })?;
        Ok(RealTime::over(SerialCarrier { device, name: name.into() }))
    }
}

impl SerialCarrier {
    fn gone(&self, lost: Lost) -> TransportError {
        let reason = match lost {
            Lost::HungUp => "it was unplugged or closed".into(),
            Lost::Stuck => "it takes no more bytes".into(),
            Lost::System(words) => words,
        };
        TransportError::Gone { port: self.name.clone(), reason }
    }
}

/// Why a device cannot be opened, and what to do about it.
fn open_reason(why: CannotOpen, name: &str) -> String {
    match why {
        CannotOpen::Missing => {
            "there is no such device; `musterbench ports` lists the devices that there are".into()
        }
        CannotOpen::Forbidden => {
            "this user may not open it; join the group that owns it (often `dialout`)".into()
        }
        CannotOpen::Taken => match &holders(name)[..] {
            [] => "another program has it open; close that program first".into(),
            others => format!("another program has it open: {}; close it first", named(others)),
        },
        CannotOpen::NotSerial => {
            "it is no serial device; `musterbench ports` lists those that there are".into()
        }
        CannotOpen::System(words) => words,
    }
}

/// Programs, one after the other.
fn named(programs: &[impl ToString]) -> String {
    programs.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ")
}

impl Carrier for SerialCarrier {
    fn send(&mut self, bytes: &[u8]) -> Result<(), TransportError> {
        let end = Instant::now() + WRITE_GUARD;
        let mut left = bytes;
        while !left.is_empty() {
            let count = self.device.write(left, end).map_err(|lost| self.gone(lost))?;
            left = &left[count..];
        }
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], timeout: Duration) -> Result<usize, TransportError> {
        self.device.read(into, Instant::now() + timeout).map_err(|lost| self.gone(lost))
    }

    fn others(&self) -> Option<String> {
        let others = holders(&self.name);
        (!others.is_empty()).then(|| named(&others))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refusal(name: &str) -> String {
        SerialTransport::open(name).err().expect("must not open").to_string()
    }

    #[test]
    fn says_when_there_is_no_such_device() {
        let said = refusal("/dev/no-such-jig");
        assert!(
            said.starts_with("cannot open /dev/no-such-jig: there is no such device"),
            "{said}"
        );
    }

    #[cfg(unix)]
    #[test]
    fn says_when_it_is_no_serial_device() {
        for name in ["/dev/null", "/dev", "Cargo.toml"] {
            let said = refusal(name);
            assert!(said.contains("it is no serial device"), "{said}");
        }
    }
}
