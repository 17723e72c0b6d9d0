//! What is printed, and where: for people in lines that fit their terminal, for programs as it is.
//!
//! Nothing that came from outside gets to a terminal raw: all that is printed goes through here, and
//! what a terminal would obey is taken out, but for the program's own colours.

use super::command_result::{CommandError, CommandResult, OrExit};
use crate::plain::{escaped, plain_lines, shown};
use crate::report::screen::Screen;
use crate::report::wrap::wrap_hanging;
use crate::system::terminal;
use anstream::ColorChoice;
use std::io::{self, ErrorKind, IsTerminal, Write};
use std::process::ExitCode;
use std::sync::Mutex;
use std::sync::mpsc::Sender;

/// The fewest columns that text is laid out for.
const NARROWEST: u16 = 20;

/// Makes the terminal ready. One that knows no colours gets none.
pub fn prepare() {
    if !terminal::prepare() {
        ColorChoice::Never.write_global();
    }
}

/// What the standard output shows.
pub fn screen() -> Screen {
    not_too_narrow(Screen::of(&io::stdout()))
}

fn not_too_narrow(screen: Screen) -> Screen {
    Screen { width: screen.width.max(NARROWEST), ..screen }
}

/// Prints text for people to the standard output.
///
/// # Errors
/// When it cannot be written for another reason than a reader that left.
pub fn print(text: &str) -> Result<(), CommandError> {
    let end = if text.ends_with('\n') { "\n" } else { "" };
    write(&(wrap_hanging(&shown(text), screen().width.into()) + end))
}

/// Shows text for people on a terminal that is cleared before; elsewhere it is printed as any other text.
///
/// # Errors
/// As for [`print()`].
pub fn page(text: &str) -> Result<(), CommandError> {
    if io::stdout().is_terminal() {
        write(CLEARED)?;
    }
    print(text)
}

/// Clears a terminal and goes to its first line (ECMA-48, ED and CUP).
const CLEARED: &str = "\x1b[2J\x1b[H";

/// Draws text for people anew over what stood on a terminal, on the standard output or the error output;
/// elsewhere it is printed as any other text.
///
/// # Errors
/// As for [`print()`].
pub fn redraw(text: &str, on_error_output: bool) -> Result<(), CommandError> {
    let drawn = |screen: Screen, is_terminal: bool| {
        let text = wrap_hanging(&shown(text), screen.width.into());
        if !is_terminal {
            return text + "\n";
        }
        format!("{HOME}{}{END_OF_LINE}\n{END_OF_SCREEN}", text.replace('\n', ROW_END))
    };
    if on_error_output {
        let mut out = io::stderr().lock();
        let text = drawn(not_too_narrow(Screen::of(&io::stderr())), io::stderr().is_terminal());
        // Nothing better can be done when that is closed.
        let _ = out.write_all(text.as_bytes()).and_then(|()| out.flush());
        return Ok(());
    }
    write(&drawn(screen(), io::stdout().is_terminal()))
}

/// ECMA-48: CUP, EL, ED.
const HOME: &str = "\x1b[H";
const END_OF_LINE: &str = "\x1b[K";
const END_OF_SCREEN: &str = "\x1b[J";
const ROW_END: &str = "\x1b[K\n";

/// What the error output shows.
pub fn error_screen() -> Screen {
    not_too_narrow(Screen::of(&io::stderr()))
}

/// Prints a line for whoever reads along; whether they still do.
///
/// # Errors
/// When it cannot be written for another reason than a reader that left.
pub fn stream(text: &str) -> Result<bool, CommandError> {
    let mut out = io::stdout().lock();
    match out.write_all(escaped(text).as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() == ErrorKind::BrokenPipe => Ok(false),
        Err(e) => Err(anyhow::anyhow!("cannot write the output: {e}")).or_bench(),
        Ok(()) => Ok(true),
    }
}

/// Who shows what [`tell`] is given, while somebody owns the screen.
static TELLER: Mutex<Option<Sender<String>>> = Mutex::new(None);

/// From now on what is told goes to whoever owns the screen; `None`: to the error output again.
pub fn divert(teller: Option<Sender<String>>) {
    if let Ok(mut current) = TELLER.lock() {
        *current = teller;
    }
}

/// Prints data for programs to the standard output: its lines stay whole.
///
/// # Errors
/// As for [`print()`].
pub fn data(text: &str) -> Result<(), CommandError> {
    write(&escaped(text))
}

/// Prints data, or text for people.
///
/// # Errors
/// As for [`print()`].
pub fn print_as(is_data: bool, text: &str) -> Result<(), CommandError> {
    if is_data { data(text) } else { print(text) }
}

/// Whoever reads along may stop at any time (`| head`): that is no error.
fn write(text: &str) -> Result<(), CommandError> {
    let mut out = io::stdout().lock();
    match out.write_all(text.as_bytes()).and_then(|()| out.flush()) {
        Err(e) if e.kind() == ErrorKind::BrokenPipe => Ok(()),
        written => written.map_err(|e| anyhow::anyhow!("cannot write the output: {e}")).or_bench(),
    }
}

/// Tells the person at the terminal something, on the error output.
pub fn tell(text: &str) {
    let diverted = TELLER.lock().ok().and_then(|teller| teller.clone());
    if diverted.is_some_and(|teller| teller.send(text.into()).is_ok()) {
        return;
    }
    let fitted = wrap_hanging(&shown(text), not_too_narrow(Screen::of(&io::stderr())).width.into());
    // Nothing better can be done when that is closed.
    let _ = writeln!(io::stderr(), "{fitted}");
}

/// Asks the person at the terminal, on the error output; the line goes on. `bell` rings for it.
pub fn ask(text: &str, bell: bool) {
    let mut out = io::stderr().lock();
    let bell = if bell { "\x07" } else { "" };
    let _ = write!(out, "{bell}{}", shown(text)).and_then(|()| out.flush());
}

/// Prints the sentence, if there is one, and gives the exit code.
pub fn exit_code(result: CommandResult) -> ExitCode {
    let exit = result.unwrap_or_else(|error| {
        let shown = plain_lines(&error.error.to_string());
        tell(&format!("musterbench: {shown}"));
        error.exit
    });
    ExitCode::from(exit as u8)
}
