//! The program, with an operator at a terminal.

use super::jig::{EmulatedJig, Event};
use musterbench::jig::board::FeedDrive;
use musterbench::system::pseudo_terminal::PseudoTerminal;
use std::ffi::OsStr;
use std::fs::File;
use std::io::Read;
use std::path::Path;
use std::process::{Child, Command, Stdio};
use tempfile::TempDir;

/// The end of every question to the operator.
pub const ANSWER: &str = musterbench::report::prompt::ANSWER;

/// Starts `musterbench test` on a jig; the terminal is where the operator types.
pub fn test(port: &str, arguments: &[&OsStr]) -> (Child, PseudoTerminal) {
    test_in(Path::new("."), port, arguments)
}

/// The same in a folder.
pub fn test_in(folder: &Path, port: &str, arguments: &[&OsStr]) -> (Child, PseudoTerminal) {
    let terminal = PseudoTerminal::open().expect("a terminal");
    let keyboard = File::options().read(true).write(true).open(terminal.path()).expect("opened");
    let program = Command::new(env!("CARGO_BIN_EXE_musterbench"))
        .args([
            "test",
            "--emulated",
            "--port",
            port,
            "--module",
            "pier-07",
            "--module-sheet",
            "pier-four",
        ])
        .args(arguments)
        .current_dir(folder)
        .stdin(keyboard)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("the program");
    (program, terminal)
}

/// A script that turns the feed on and leaves it so.
const STAYS_ON: &str = r#"
title = "On"
steps = [
  { ask = "prepare" },
  { feed = "on" },
  { wait = "60 s" },
  { feed = "off" },
]
"#;

/// A run of that script.
pub struct StaysOn {
    pub program: Child,
    _keyboard: PseudoTerminal,
    _folder: TempDir,
}

/// Starts it, and waits until the feed is on.
pub fn stays_on(jig: &EmulatedJig) -> StaysOn {
    let folder = records();
    let script = folder.path().join("on.toml");
    std::fs::write(&script, STAYS_ON).expect("written");
    let arguments =
        ["--script".as_ref(), script.as_os_str(), "--records".as_ref(), folder.path().as_ref()];
    let (mut program, mut keyboard) = test(jig.path(), &arguments);
    answer(&mut program, &mut keyboard);
    jig.wait_for(|_, event| *event == Event::Feed(FeedDrive::Full));
    StaysOn { program, _keyboard: keyboard, _folder: folder }
}

/// Says that it is done, once the program has asked: what is typed before is no answer. Returns what
/// the program has told until then.
pub fn answer(program: &mut Child, keyboard: &mut PseudoTerminal) -> String {
    let told = program.stderr.as_mut().expect("piped");
    let (mut heard, mut byte) = (Vec::new(), [0]);
    while !heard.ends_with(ANSWER.as_bytes()) {
        told.read_exact(&mut byte).expect("it asks");
        heard.push(byte[0]);
    }
    keyboard.write(b"\n").expect("typed");
    String::from_utf8_lossy(&heard).into_owned()
}

/// A folder for records; in memory where the system has such a place: on a busy computer the disk takes
/// seconds to store a reading, and the jig lets go of a host that is silent for five.
pub fn records() -> TempDir {
    let memory = Path::new("/dev/shm");
    let made = if memory.is_dir() { tempfile::tempdir_in(memory) } else { tempfile::tempdir() };
    made.expect("a folder")
}
