//! A serial device: USB serial or a UART at 115200 8N1.

use super::transport::{Transport, TransportError};
use core::time::Duration;
use serialport::{ClearBuffer, DataBits, FlowControl, Parity, SerialPort, StopBits};
use std::io::{ErrorKind, Read, Write};
use std::time::Instant;

/// The line's speed, in bits per second. USB serial ignores it.
pub const BAUD: u32 = 115_200;

/// How long a device may refuse to take bytes before it counts as gone.
const WRITE_GUARD: Duration = Duration::from_secs(3);

/// Bytes written at once: what the smallest driver takes without blocking once it is ready.
const WRITE_CHUNK: usize = 64;

/// A serial device with the real clocks.
pub struct SerialTransport {
    port: Box<dyn SerialPort>,
    name: String,
    start: Instant,
}

impl SerialTransport {
    /// Opens a device for this program alone, and throws away what lies in its buffers.
    ///
    /// # Errors
    /// [`TransportError::Open`] with the reason and what to do.
    pub fn open(name: &str) -> Result<Self, TransportError> {
        let open = |reason: String| TransportError::Open { port: name.into(), reason };
        let builder = serialport::new(name, BAUD)
            .data_bits(DataBits::Eight)
            .parity(Parity::None)
            .stop_bits(StopBits::One)
            .flow_control(FlowControl::None)
            .dtr_on_open(true);
        #[cfg(unix)]
        let builder = builder.exclusive(true);
        let port = builder.open().map_err(|e| open(open_reason(&e)))?;
        port.clear(ClearBuffer::All).map_err(|e| open(e.to_string()))?;
        Ok(SerialTransport { port, name: name.into(), start: Instant::now() })
    }

    fn gone(&self, reason: impl ToString) -> TransportError {
        TransportError::Gone { port: self.name.clone(), reason: reason.to_string() }
    }
}

/// Why a device cannot be opened, and what to do about it.
fn open_reason(error: &serialport::Error) -> String {
    use serialport::ErrorKind as Kind;
    match error.kind() {
        Kind::Io(ErrorKind::NotFound) => {
            "there is no such device; `musterbench ports` lists the devices that there are".into()
        }
        Kind::Io(ErrorKind::PermissionDenied) => {
            "this user may not open it; join the group that owns it (often `dialout`)".into()
        }
        Kind::NoDevice if cfg!(unix) => {
            "another program has it open; close that program first".into()
        }
        // The system's words for a file that is no terminal line.
        _ if error.description == "Not a typewriter" || error.description == "Is a directory" => {
            "it is no serial device; `musterbench ports` lists those that there are".into()
        }
        _ => error.to_string(),
    }
}

impl Transport for SerialTransport {
    fn send(&mut self, bytes: &[u8]) -> Result<(), TransportError> {
        self.port.set_timeout(WRITE_GUARD).map_err(|e| self.gone(e))?;
        let mut left = bytes;
        while !left.is_empty() {
            match self.port.write(&left[..left.len().min(WRITE_CHUNK)]) {
                Ok(0) => return Err(self.gone("it takes no more bytes")),
                Ok(n) => left = &left[n..],
                Err(e) if e.kind() == ErrorKind::Interrupted => {}
                Err(e) if e.kind() == ErrorKind::TimedOut => {
                    // Else closing the device would wait for these bytes to drain.
                    let _ = self.port.clear(ClearBuffer::Output);
                    return Err(self.gone("it takes no more bytes"));
                }
                Err(e) => return Err(self.gone(e)),
            }
        }
        Ok(())
    }

    fn receive(&mut self, into: &mut [u8], timeout: Duration) -> Result<usize, TransportError> {
        let end = Instant::now() + timeout;
        loop {
            let left = end.saturating_duration_since(Instant::now());
            self.port.set_timeout(left).map_err(|e| self.gone(e))?;
            match self.port.read(into) {
                // A terminal line that is readable but has nothing has been hung up.
                Ok(0) => return Err(self.gone("it was unplugged or closed")),
                Ok(n) => return Ok(n),
                Err(e) if e.kind() == ErrorKind::TimedOut => return Ok(0),
                Err(e) if e.kind() == ErrorKind::Interrupted => {}
                Err(e) if e.kind() == ErrorKind::BrokenPipe => {
                    return Err(self.gone("it was unplugged or closed"));
                }
                Err(e) => return Err(self.gone(e)),
            }
        }
    }

    fn now(&self) -> Duration {
        self.start.elapsed()
    }

    fn pause(&mut self, time: Duration) {
        std::thread::sleep(time);
    }

    fn time_of_day(&self) -> jiff::ZonedDateTime {
        jiff::ZonedDateTime::now()
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
