//! The calls that the console needs, without what is unsafe about them.

use core::ptr::null_mut;
use core::time::Duration;
use std::io;
use windows_sys::Win32::Foundation::{ERROR_BROKEN_PIPE, HANDLE};
use windows_sys::Win32::Storage::FileSystem::{FILE_TYPE_PIPE, GetFileType};
use windows_sys::Win32::System::Console::{
    ENABLE_VIRTUAL_TERMINAL_PROCESSING, FlushConsoleInputBuffer, GetConsoleMode,
    GetNumberOfConsoleInputEvents, GetStdHandle, INPUT_RECORD, KEY_EVENT, KEY_EVENT_RECORD,
    ReadConsoleInputW, STD_ERROR_HANDLE, STD_HANDLE, STD_INPUT_HANDLE, STD_OUTPUT_HANDLE,
    SetConsoleMode,
};
use windows_sys::Win32::System::Pipes::PeekNamedPipe;
use windows_sys::Win32::System::Threading::WaitForSingleObject;

/// The key whose going up brings a character that was typed by its number.
const ALT: u16 = 0x12;

fn handle(which: STD_HANDLE) -> HANDLE {
    // SAFETY: takes a number and gives a handle that this process keeps.
    unsafe { GetStdHandle(which) }
}

fn mode(of: HANDLE) -> Option<u32> {
    let mut mode = 0;
    // SAFETY: there is room for the answer; a handle that is no console is refused.
    (unsafe { GetConsoleMode(of, &mut mode) } != 0).then_some(mode)
}

/// Lets the console obey colours; whether it does, wherever text goes to a console.
pub fn obey_colours() -> bool {
    [STD_OUTPUT_HANDLE, STD_ERROR_HANDLE].map(handle).into_iter().all(|output| {
        let Some(mode) = mode(output) else { return true };
        // SAFETY: takes numbers only.
        unsafe { SetConsoleMode(output, mode | ENABLE_VIRTUAL_TERMINAL_PROCESSING) != 0 }
    })
}

/// What stands behind the standard input.
pub enum Input {
    /// A console.
    Console,
    /// A pipe.
    Pipe,
    /// A file, or nothing: it never lets wait.
    File,
}

/// What stands behind the standard input.
pub fn input() -> Input {
    let input = handle(STD_INPUT_HANDLE);
    if mode(input).is_some() {
        return Input::Console;
    }
    // SAFETY: takes a handle, and any will do.
    if unsafe { GetFileType(input) } == FILE_TYPE_PIPE { Input::Pipe } else { Input::File }
}

/// Whether a pipe has something to read.
///
/// # Errors
/// When its other end is gone.
pub fn pipe_holds_something() -> io::Result<bool> {
    let mut there = 0;
    let input = handle(STD_INPUT_HANDLE);
    // SAFETY: nothing is read, and there is room for the one answer that is asked for.
    let asked = unsafe { PeekNamedPipe(input, null_mut(), 0, null_mut(), &mut there, null_mut()) };
    match asked {
        0 => Err(io::Error::from_raw_os_error(ERROR_BROKEN_PIPE as i32)),
        _ => Ok(there > 0),
    }
}

/// Throws away what the console holds back.
pub fn flush() {
    // SAFETY: takes a handle, and any will do.
    unsafe { FlushConsoleInputBuffer(handle(STD_INPUT_HANDLE)) };
}

/// Waits until something happens at the console, no longer than that.
pub fn wait(at_most: Duration) {
    let at_most = u32::try_from(at_most.as_millis()).unwrap_or(u32::MAX - 1).max(1);
    // SAFETY: takes a handle and a number.
    unsafe { WaitForSingleObject(handle(STD_INPUT_HANDLE), at_most) };
}

/// The characters (UTF-16) of the keys that were pressed since the last time; nothing is waited for.
///
/// # Errors
/// When the console is gone.
pub fn keys() -> io::Result<Vec<u16>> {
    let input = handle(STD_INPUT_HANDLE);
    let mut units = Vec::new();
    loop {
        let (mut waiting, mut taken) = (0, 0);
        // SAFETY: there is room for the answer.
        if unsafe { GetNumberOfConsoleInputEvents(input, &mut waiting) } == 0 {
            return Err(io::Error::last_os_error());
        }
        if waiting == 0 {
            return Ok(units);
        }
        let mut event = INPUT_RECORD::default();
        // SAFETY: there is room for one event, and one is there.
        if unsafe { ReadConsoleInputW(input, &mut event, 1, &mut taken) } == 0 {
            return Err(io::Error::last_os_error());
        }
        if taken == 1 && u32::from(event.EventType) == KEY_EVENT {
            // SAFETY: its type says that it is of a key.
            pressed(unsafe { &event.Event.KeyEvent }, &mut units);
        }
    }
}

fn pressed(key: &KEY_EVENT_RECORD, into: &mut Vec<u16>) {
    // SAFETY: both of the union's fields are numbers; ReadConsoleInputW fills this one.
    let unit = unsafe { key.uChar.UnicodeChar };
    if unit != 0 && (key.bKeyDown != 0 || key.wVirtualKeyCode == ALT) {
        into.extend(core::iter::repeat_n(unit, key.wRepeatCount.max(1).into()));
    }
}
