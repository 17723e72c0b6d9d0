//! Serial devices. Windows opens one for one program only.

use crate::system::serial::{BAUD, CannotOpen, Lost, listed};
use core::time::Duration;
use serialport::{ClearBuffer, DataBits, FlowControl, Parity, SerialPort, StopBits};
use std::io::{ErrorKind, Read, Write};
use std::time::Instant;

/// To Windows a wait of 0 is one without end.
const SHORTEST: Duration = Duration::from_millis(1);

/// An open device.
pub struct Device(Box<dyn SerialPort>);

impl Device {
    /// Opens a device, at 115200 8N1, with its buffers empty.
    ///
    /// # Errors
    /// See [`CannotOpen`].
    pub fn open(name: &str) -> Result<Self, CannotOpen> {
        let port = serialport::new(name, BAUD)
            .data_bits(DataBits::Eight)
            .parity(Parity::None)
            .stop_bits(StopBits::One)
            .flow_control(FlowControl::None)
            .dtr_on_open(true)
            .open()
            .map_err(|error| cannot_open(name, &error))?;
        port.clear(ClearBuffer::All).map_err(|error| cannot_open(name, &error))?;
        Ok(Device(port))
    }

    /// Takes what has come; waits for the first byte until `end`. 0: nothing came.
    ///
    /// # Errors
    /// See [`Lost`].
    pub fn read(&mut self, into: &mut [u8], end: Instant) -> Result<usize, Lost> {
        self.wait_until(end)?;
        match self.0.read(into) {
            Ok(count) => Ok(count),
            Err(e) if matches!(e.kind(), ErrorKind::TimedOut | ErrorKind::Interrupted) => Ok(0),
            Err(e) => Err(lost(e)),
        }
    }

    /// Sends some bytes, as many as it takes; says how many.
    ///
    /// # Errors
    /// [`Lost::Stuck`] when it takes none until `end`, else see [`Lost`].
    pub fn write(&mut self, bytes: &[u8], end: Instant) -> Result<usize, Lost> {
        self.wait_until(end)?;
        match self.0.write(bytes) {
            Ok(0) => Err(Lost::Stuck),
            Ok(count) => Ok(count),
            Err(e) if e.kind() == ErrorKind::TimedOut => {
                let _ = self.0.clear(ClearBuffer::Output);
                Err(Lost::Stuck)
            }
            Err(e) => Err(lost(e)),
        }
    }

    fn wait_until(&mut self, end: Instant) -> Result<(), Lost> {
        let left = end.saturating_duration_since(Instant::now());
        self.0.set_timeout(left.max(SHORTEST)).map_err(|e| Lost::System(e.to_string()))
    }
}

/// The library calls it the same whether a device is missing or taken: the system's list tells.
fn cannot_open(name: &str, error: &serialport::Error) -> CannotOpen {
    let is_listed = || listed().iter().any(|port| port.port_name.eq_ignore_ascii_case(name));
    match error.kind() {
        serialport::ErrorKind::NoDevice if is_listed() => CannotOpen::Taken,
        serialport::ErrorKind::NoDevice => CannotOpen::Missing,
        _ => CannotOpen::System(error.to_string()),
    }
}

fn lost(error: std::io::Error) -> Lost {
    match error.kind() {
        ErrorKind::BrokenPipe | ErrorKind::NotConnected => Lost::HungUp,
        _ => Lost::System(error.to_string()),
    }
}
