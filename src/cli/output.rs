//! The standard output. Whoever reads it may stop at any time (`| head`): that is no error.

use super::command_result::{CommandError, OrExit};
use crate::report::screen::Screen;
use std::io::{self, ErrorKind, Write};

/// What the standard output shows.
pub fn screen() -> Screen {
    Screen::of(&io::stdout())
}

/// Prints text to the standard output.
///
/// # Errors
/// When it cannot be written for another reason than a reader that left.
pub fn print(text: &str) -> Result<(), CommandError> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() == ErrorKind::BrokenPipe => Ok(()),
        written => written.map_err(|e| anyhow::anyhow!("cannot write the output: {e}")).or_bench(),
    }
}

/// Tells the person at the terminal something, on the error output.
pub fn tell(text: &str) {
    // Nothing better can be done when that is closed.
    let _ = writeln!(io::stderr(), "{text}");
}
