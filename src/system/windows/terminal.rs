//! The person's terminal.
//!
//! The console gives a line only to whoever waits for the whole of it, and what it holds back of one cannot be
//! thrown away. So keys are taken one by one, and the line is kept, shown and mended here.

use super::console::{self, Input};
use crate::system::typed::Typed;
use core::time::Duration;
use std::io::{self, IsTerminal, Read, Write};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Instant;

/// An output of which the system knows whether it is a console.
pub use std::os::windows::io::AsHandle as AsStream;

/// How often a pipe is looked at.
const LOOK: Duration = Duration::from_millis(10);

/// Makes the console ready for colours; whether it knows any. What is not ASCII goes to it as it is: the
/// standard library hands it UTF-16.
pub fn prepare() -> bool {
    console::obey_colours()
}

/// Whether somebody sits at the standard input.
pub fn is_someone_there() -> bool {
    io::stdin().is_terminal()
}

/// Throws away what was typed up to now and not read, a line that is not ended included. Does nothing
/// where nobody types.
pub fn forget_typed() {
    if let Input::Console = console::input() {
        console::flush();
        let mut keys = keys();
        keys.line.clear();
        keys.ready.clear();
    }
}

/// While it lives, each key is told at once and not shown. Ctrl-C stays what it is.
#[derive(Debug)]
pub struct SingleKeys(());

impl SingleKeys {
    /// From now on. Does nothing where nobody types.
    pub fn begin() -> Self {
        keys().single = true;
        SingleKeys(())
    }
}

impl Drop for SingleKeys {
    fn drop(&mut self) {
        keys().single = false;
    }
}

/// Waits until something was typed, no longer than `at_most`.
pub fn wait_typed(at_most: Duration) -> Typed {
    let end = Instant::now() + at_most;
    loop {
        let left = end.saturating_duration_since(Instant::now());
        match console::input() {
            Input::File => return Typed::Something,
            Input::Pipe => match console::pipe_holds_something() {
                Ok(true) => return Typed::Something,
                // Reading tells that it is gone.
                Err(_) => return Typed::Something,
                Ok(false) if left.is_zero() => return Typed::Nothing,
                Ok(false) => std::thread::sleep(left.min(LOOK)),
            },
            Input::Console => {
                let Ok(pressed) = console::keys() else { return Typed::Gone };
                let mut keys = keys();
                let shown = keys.take(&pressed);
                let _ = io::stderr().write_all(shown.as_bytes());
                if !keys.ready.is_empty() {
                    return Typed::Something;
                }
                drop(keys);
                if left.is_zero() {
                    return Typed::Nothing;
                }
                console::wait(left);
            }
        }
    }
}

/// Takes what was typed. `None`: the keyboard is gone.
pub fn take_typed(into: &mut Vec<u8>) -> Option<()> {
    if let Input::Console = console::input() {
        into.append(&mut keys().ready);
        return Some(());
    }
    let mut bytes = [0; 256];
    match io::stdin().lock().read(&mut bytes) {
        Ok(0) | Err(_) => None,
        Ok(count) => {
            into.extend_from_slice(&bytes[..count]);
            Some(())
        }
    }
}

fn keys() -> MutexGuard<'static, Keys> {
    static KEYS: Mutex<Keys> = Mutex::new(Keys::NONE);
    KEYS.lock().unwrap_or_else(PoisonError::into_inner)
}

/// What was typed at the console.
#[derive(Debug)]
struct Keys {
    /// Each key counts by itself.
    single: bool,
    /// The line that is not ended yet.
    line: Vec<u16>,
    /// What can be read.
    ready: Vec<u8>,
}

impl Keys {
    const NONE: Keys = Keys { single: false, line: Vec::new(), ready: Vec::new() };

    /// Takes keys in; what is to be shown of them.
    fn take(&mut self, pressed: &[u16]) -> String {
        let mut shown = Vec::new();
        for unit in pressed {
            match (u8::try_from(*unit), self.single) {
                (_, true) => self.line.push(*unit),
                (Ok(b'\r' | b'\n'), false) => {
                    shown.push(u16::from(b'\n'));
                    self.line.push(u16::from(b'\n'));
                    self.end_line();
                }
                (Ok(8), false) => {
                    if self.line.pop().is_some() {
                        shown.extend("\u{8} \u{8}".encode_utf16());
                    }
                }
                (Ok(0..32), false) => {}
                _ => {
                    self.line.push(*unit);
                    shown.push(*unit);
                }
            }
        }
        if self.single {
            self.end_line();
        }
        String::from_utf16_lossy(&shown)
    }

    fn end_line(&mut self) {
        self.ready.extend(String::from_utf16_lossy(&self.line).into_bytes());
        self.line.clear();
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn typed(keys: &mut Keys, text: &str) -> String {
        keys.take(&text.encode_utf16().collect::<Vec<_>>())
    }

    #[test]
    fn a_line_is_told_when_it_ends_and_mended_before() {
        let mut keys = Keys::NONE;
        assert_eq!(typed(&mut keys, "Kaj\u{8}i 3ü"), "Kaj\u{8} \u{8}i 3ü");
        assert!(keys.ready.is_empty());
        assert_eq!(typed(&mut keys, "\rnext"), "\nnext");
        assert_eq!(String::from_utf8(keys.ready).expect("text"), "Kai 3ü\n");
    }

    #[test]
    fn a_single_key_is_told_at_once_and_not_shown() {
        let mut keys = Keys { single: true, ..Keys::NONE };
        assert_eq!(typed(&mut keys, "a\r"), "");
        assert_eq!(keys.ready, b"a\r");
    }
}
