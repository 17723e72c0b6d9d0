//! A pseudo-terminal: a serial device for other programs, whose other end is ours.

use crate::system::unix::ready::ready;
use core::mem::MaybeUninit;
use core::time::Duration;
use rustix::event::{PollFd, PollFlags};
use rustix::fs::inotify;
use rustix::fs::{FlockOperation, Mode, OFlags, flock};
use rustix::io::Errno;
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use rustix::termios::{
    OptionalActions, QueueSelector, ioctl_tiocnxcl, tcflush, tcgetattr, tcsetattr,
};
use std::fs::File;
use std::io::{self, Read, Write};
use std::os::fd::OwnedFd;
use std::path::{Path, PathBuf};

/// Our end of a pseudo-terminal.
#[derive(Debug)]
pub struct PseudoTerminal {
    ours: File,
    /// The other end stays open here too, so that its settings last from one user to the next.
    theirs: OwnedFd,
    /// Tells when a user closes the device: the system does not, as long as we hold it open.
    closings: OwnedFd,
    path: PathBuf,
}

impl PseudoTerminal {
    /// Makes one, raw: every byte passes as it is, nothing is echoed.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn open() -> io::Result<Self> {
        let ours = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY | OpenptFlags::CLOEXEC)?;
        grantpt(&ours)?;
        unlockpt(&ours)?;
        let path = ptsname(&ours, Vec::new())?;
        let path = PathBuf::from(path.into_string().map_err(io::Error::other)?);
        let flags = OFlags::RDWR | OFlags::NOCTTY | OFlags::CLOEXEC;
        let theirs = rustix::fs::open(&path, flags, Mode::empty())?;
        let mut settings = tcgetattr(&theirs)?;
        settings.make_raw();
        tcsetattr(&theirs, OptionalActions::Now, &settings)?;
        rustix::io::ioctl_fionbio(&ours, true)?;
        let closings =
            inotify::init(inotify::CreateFlags::NONBLOCK | inotify::CreateFlags::CLOEXEC)?;
        inotify::add_watch(&closings, &path, inotify::WatchFlags::CLOSE)?;
        Ok(PseudoTerminal { ours: ours.into(), theirs, closings, path })
    }

    /// The device, as other programs open it.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Takes what has come; 0 when nothing has.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn read(&mut self, into: &mut [u8]) -> io::Result<usize> {
        none_if_busy(self.ours.read(into))
    }

    /// Sends what fits; 0 when nothing does.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn write(&mut self, bytes: &[u8]) -> io::Result<usize> {
        none_if_busy(self.ours.write(bytes))
    }

    /// Whether a user has closed the device since the last time. What it left behind in either
    /// direction is thrown away, and the device is free for the next one, as if it had been plugged
    /// in anew.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn was_closed(&mut self) -> io::Result<bool> {
        let mut space = [MaybeUninit::uninit(); 512];
        let mut events = inotify::Reader::new(&self.closings, &mut space);
        let mut closed = false;
        loop {
            match events.next() {
                Ok(_) => closed = true,
                Err(Errno::AGAIN) => break,
                Err(refused) => return Err(refused.into()),
            }
        }
        // Someone who was refused has closed it too: whoever holds the lock is still there.
        closed = closed && flock(&self.theirs, FlockOperation::NonBlockingLockExclusive).is_ok();
        if closed {
            flock(&self.theirs, FlockOperation::Unlock)?;
            tcflush(&self.theirs, QueueSelector::IOFlush)?;
            // The user may have kept others out, which would last longer than itself.
            ioctl_tiocnxcl(&self.theirs)?;
            let mut rest = [0; 256];
            while self.read(&mut rest)? > 0 {}
        }
        Ok(closed)
    }

    /// Waits until there is something to read, a user has closed the device, or bytes can be sent
    /// where that is wanted; no longer than `at_most`.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn wait(&self, at_most: Duration, to_write: bool) -> io::Result<()> {
        let wanted = if to_write { PollFlags::IN | PollFlags::OUT } else { PollFlags::IN };
        let mut watched =
            [PollFd::new(&self.ours, wanted), PollFd::new(&self.closings, PollFlags::IN)];
        ready(&mut watched, at_most)?;
        Ok(())
    }
}

fn none_if_busy(done: io::Result<usize>) -> io::Result<usize> {
    match done {
        Err(e) if matches!(e.kind(), io::ErrorKind::WouldBlock | io::ErrorKind::Interrupted) => {
            Ok(0)
        }
        done => done,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::fs::OpenOptions;

    fn user_of(line: &PseudoTerminal) -> File {
        OpenOptions::new().read(true).write(true).open(line.path()).expect("opened")
    }

    #[test]
    fn every_byte_passes_as_it_is_and_nothing_is_echoed() {
        let mut line = PseudoTerminal::open().expect("made");
        let mut user = user_of(&line);
        let all: Vec<u8> = (0..=255).collect();
        user.write_all(&all).expect("sent");
        let mut got = Vec::new();
        let mut some = [0; 100];
        while got.len() < all.len() {
            line.wait(Duration::from_secs(5), false).expect("waited");
            let n = line.read(&mut some).expect("read");
            got.extend_from_slice(&some[..n]);
        }
        assert_eq!(got, all);
        assert_eq!(line.read(&mut some).expect("read"), 0);

        assert_eq!(line.write(&all).expect("sent"), all.len());
        let mut got = vec![0; all.len()];
        user.read_exact(&mut got).expect("read");
        assert_eq!(got, all);
    }

    #[test]
    fn a_user_that_left_is_noticed_and_leaves_nothing_behind() {
        let mut line = PseudoTerminal::open().expect("made");
        assert!(!line.was_closed().expect("asked"));
        let mut user = user_of(&line);
        rustix::termios::ioctl_tiocexcl(&user).expect("kept others out");
        user.write_all(b"left behind").expect("sent");
        line.write(b"never read").expect("sent");
        assert!(!line.was_closed().expect("asked"));
        drop(user);
        assert!(line.was_closed().expect("asked"));
        assert!(!line.was_closed().expect("asked"));
        assert_eq!(line.read(&mut [0; 100]).expect("read"), 0);

        let mut next = user_of(&line);
        line.write(b"new").expect("sent");
        let mut got = [0; 3];
        next.read_exact(&mut got).expect("read");
        assert_eq!(&got, b"new");
    }
}
