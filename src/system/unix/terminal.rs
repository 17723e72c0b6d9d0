//! The person's terminal.

use super::ready::ready;
use crate::system::typed::Typed;
use core::time::Duration;
use rustix::event::{PollFd, PollFlags};
use rustix::termios::{
    LocalModes, OptionalActions, QueueSelector, Termios, tcflush, tcgetattr, tcsetattr,
};
use std::io::{self, IsTerminal};

/// An output of which the system knows whether it is a terminal.
pub use std::os::fd::AsFd as AsStream;

/// Makes the terminal ready for colours; whether it knows any.
pub fn prepare() -> bool {
    true
}

/// Whether somebody sits at the standard input.
pub fn is_someone_there() -> bool {
    io::stdin().is_terminal()
}

/// Throws away what was typed up to now and not read, a line that is not ended included. Does nothing
/// where nobody types.
pub fn forget_typed() {
    // What is no terminal holds nothing that a person typed.
    let _ = tcflush(io::stdin(), QueueSelector::IFlush);
}

/// While it lives, each key is told at once and not shown. Ctrl-C stays what it is.
#[derive(Debug)]
pub struct SingleKeys(Option<Termios>);

impl SingleKeys {
    /// From now on. Does nothing where nobody types.
    pub fn begin() -> Self {
        let input = io::stdin();
        let Ok(before) = tcgetattr(&input) else { return SingleKeys(None) };
        let mut now = before.clone();
        now.local_modes.remove(LocalModes::ICANON | LocalModes::ECHO);
        let set = tcsetattr(&input, OptionalActions::Now, &now);
        SingleKeys(set.ok().map(|()| before))
    }
}

impl Drop for SingleKeys {
    fn drop(&mut self) {
        if let Some(before) = &self.0 {
            let _ = tcsetattr(io::stdin(), OptionalActions::Now, before);
        }
    }
}

/// Waits until something was typed, no longer than `at_most`.
pub fn wait_typed(at_most: Duration) -> Typed {
    let input = io::stdin();
    let mut watched = [PollFd::new(&input, PollFlags::IN)];
    match ready(&mut watched, at_most) {
        Ok(0) => Typed::Nothing,
        Ok(_) => Typed::Something,
        Err(_) => Typed::Gone,
    }
}

/// Takes what was typed, past every buffer of the standard library: what stands in none can be thrown
/// away. `None`: the keyboard is gone.
pub fn take_typed(into: &mut Vec<u8>) -> Option<()> {
    let mut bytes = [0; 256];
    match rustix::io::read(io::stdin(), &mut bytes) {
        Ok(0) => None,
        Err(rustix::io::Errno::INTR) => Some(()),
        Err(_) => None,
        Ok(count) => {
            into.extend_from_slice(&bytes[..count]);
            Some(())
        }
    }
}
