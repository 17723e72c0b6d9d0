//! Serial devices where there are terminals: Linux, macOS and the like.

use super::ready::ready;
use crate::system::serial::{BAUD, CannotOpen, Lost};
use core::time::Duration;
use rustix::event::{PollFd, PollFlags};
use rustix::fs::{FileType, FlockOperation, Mode, OFlags, flock, fstat, open};
use rustix::io::{Errno, read, write};
use rustix::termios::{
    ControlModes, OptionalActions, QueueSelector, SpecialCodeIndex, ioctl_tiocexcl, ioctl_tiocnxcl,
    isatty, tcflush, tcgetattr, tcsetattr,
};
use std::os::fd::OwnedFd;
use std::time::Instant;

/// Bytes written at once: what the smallest driver takes without blocking once it is ready.
const WRITE_CHUNK: usize = 64;

/// An open device. Closing it lets go of its lock.
#[derive(Debug)]
pub struct Device(OwnedFd);

impl Device {
    /// Opens a device for this program alone, at 115200 8N1, with its buffers empty.
    ///
    /// # Errors
    /// See [`CannotOpen`].
    pub fn open(name: &str) -> Result<Self, CannotOpen> {
        // Without O_NONBLOCK opening may wait for a carrier.
        let flags = OFlags::RDWR | OFlags::NOCTTY | OFlags::NONBLOCK | OFlags::CLOEXEC;
        let device = open(name, flags, Mode::empty()).map_err(cannot_open)?;
        let is_device = fstat(&device)
            .is_ok_and(|stat| FileType::from_raw_mode(stat.st_mode) == FileType::CharacterDevice);
        if !is_device || !isatty(&device) {
            return Err(CannotOpen::NotSerial);
        }
        // Whoever has it shall not notice us: so this comes before any setting is touched. The lock
        // holds against the superuser too, who may open what TIOCEXCL forbids to all others.
        lock(&device)?;
        ioctl_tiocexcl(&device).map_err(cannot_open)?;
        set_up(&device).map_err(cannot_open)?;
        Ok(Device(device))
    }

    /// Takes what has come; waits for the first byte until `end`. 0: nothing came.
    ///
    /// # Errors
    /// See [`Lost`].
    pub fn read(&mut self, into: &mut [u8], end: Instant) -> Result<usize, Lost> {
        loop {
            let events = self.wait(PollFlags::IN, end)?;
            if events.contains(PollFlags::IN) {
                match read(&self.0, &mut *into) {
                    // Somebody else was faster, or the other end is gone: the next look tells.
                    Ok(0) | Err(Errno::AGAIN | Errno::INTR) => {}
                    Ok(count) => return Ok(count),
                    Err(e) => return Err(lost(e)),
                }
            }
            if events.intersects(PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL) {
                return Err(Lost::HungUp);
            }
            if Instant::now() >= end {
                return Ok(0);
            }
        }
    }

    /// Sends some bytes, as many as it takes; says how many.
    ///
    /// # Errors
    /// [`Lost::Stuck`] when it takes none until `end`, else see [`Lost`].
    pub fn write(&mut self, bytes: &[u8], end: Instant) -> Result<usize, Lost> {
        loop {
            let events = self.wait(PollFlags::OUT, end)?;
            if events.intersects(PollFlags::HUP | PollFlags::ERR | PollFlags::NVAL) {
                return Err(Lost::HungUp);
            }
            if events.contains(PollFlags::OUT) {
                match write(&self.0, &bytes[..bytes.len().min(WRITE_CHUNK)]) {
                    Ok(0) | Err(Errno::AGAIN | Errno::INTR) => {}
                    Ok(count) => return Ok(count),
                    Err(e) => return Err(lost(e)),
                }
            }
            if Instant::now() >= end {
                // Else closing the device would wait for these bytes to drain.
                let _ = tcflush(&self.0, QueueSelector::OFlush);
                return Err(Lost::Stuck);
            }
        }
    }

    /// What the device is ready for, at the latest at `end`.
    fn wait(&self, wanted: PollFlags, end: Instant) -> Result<PollFlags, Lost> {
        let left = end.saturating_duration_since(Instant::now()).min(LONGEST_POLL);
        let mut watched = [PollFd::new(&self.0, wanted)];
        ready(&mut watched, left).map_err(lost)?;
        Ok(watched[0].revents())
    }
}

/// How often a lock is tried, and how long apart: one that is held for a moment only, by whoever
/// looks whether there is one, keeps nobody out.
const LOCK_TRIES: u32 = 5;
const LOCK_APART: Duration = Duration::from_millis(20);

fn lock(device: &OwnedFd) -> Result<(), CannotOpen> {
    for left in (0..LOCK_TRIES).rev() {
        match flock(device, FlockOperation::NonBlockingLockExclusive) {
            Ok(()) => return Ok(()),
            Err(_) if left > 0 => std::thread::sleep(LOCK_APART),
            Err(_) => {}
        }
    }
    Err(CannotOpen::Taken)
}

impl Drop for Device {
    fn drop(&mut self) {
        // A pseudo-terminal would keep others out for as long as it is served.
        let _ = ioctl_tiocnxcl(&self.0);
    }
}

/// A wait looks up at least so often.
const LONGEST_POLL: Duration = Duration::from_secs(1);

/// Bytes as they are, 8N1, no flow control; a read never waits (VMIN = VTIME = 0).
fn set_up(device: &OwnedFd) -> rustix::io::Result<()> {
    let mut settings = tcgetattr(device)?;
    settings.make_raw();
    settings.control_modes |= ControlModes::CREAD | ControlModes::CLOCAL;
    settings.control_modes &= !(ControlModes::CSTOPB | ControlModes::CRTSCTS);
    settings.special_codes[SpecialCodeIndex::VMIN] = 0;
    settings.special_codes[SpecialCodeIndex::VTIME] = 0;
    settings.set_speed(BAUD)?;
    tcsetattr(device, OptionalActions::Now, &settings)?;
    tcflush(device, QueueSelector::IOFlush)
}

fn cannot_open(error: Errno) -> CannotOpen {
    match error {
        Errno::NOENT | Errno::NXIO | Errno::NODEV => CannotOpen::Missing,
        Errno::ACCESS | Errno::PERM => CannotOpen::Forbidden,
        Errno::BUSY => CannotOpen::Taken,
        Errno::NOTTY | Errno::ISDIR | Errno::INVAL => CannotOpen::NotSerial,
        other => CannotOpen::System(std::io::Error::from(other).to_string()),
    }
}

fn lost(error: Errno) -> Lost {
    match error {
        Errno::IO | Errno::NXIO | Errno::NODEV | Errno::PIPE => Lost::HungUp,
        other => Lost::System(std::io::Error::from(other).to_string()),
    }
}

#[cfg(test)]
#[path = "serial_tests.rs"]
mod tests;
