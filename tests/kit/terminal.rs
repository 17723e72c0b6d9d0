//! A person at a terminal in front of the program: a pseudo-terminal that is its controlling one, so
//! that Ctrl-C is a signal, as in real life.

use portable_pty::{Child, CommandBuilder, MasterPty, PtySize, native_pty_system};
use std::io::{Read, Write};
use std::path::Path;
use std::sync::{Arc, Mutex};
use std::time::{Duration, Instant};

/// Long enough for a busy machine; a test that gets there has failed.
const PATIENCE: Duration = Duration::from_secs(120);

/// Rows and columns of the terminal.
pub const ROWS: u16 = 24;
pub const COLUMNS: u16 = 80;

/// The program at its terminal.
pub struct Terminal {
    child: Box<dyn Child + Send + Sync>,
    keyboard: Box<dyn Write + Send>,
    said: Arc<Mutex<Vec<u8>>>,
    /// How much of what was said has been waited for.
    heard: usize,
    _line: Box<dyn MasterPty + Send>,
}

impl Terminal {
    /// Starts the program in a folder.
    pub fn start(folder: &Path, arguments: &[&str]) -> Self {
        let mut command = CommandBuilder::new(env!("CARGO_BIN_EXE_musterbench"));
        command.args(arguments);
        Self::start_as(folder, command)
    }

    /// The same with what it prints for programs added to a file in that folder.
    pub fn with_events(folder: &Path, arguments: &str, file: &str) -> Self {
        let mut command = CommandBuilder::new("sh");
        let program = env!("CARGO_BIN_EXE_musterbench");
        command.args(["-c", &format!("exec '{program}' {arguments} >>{file}")]);
        Self::start_as(folder, command)
    }

    fn start_as(folder: &Path, mut command: CommandBuilder) -> Self {
        let size = PtySize { rows: ROWS, cols: COLUMNS, pixel_width: 0, pixel_height: 0 };
        let pair = native_pty_system().openpty(size).expect("a terminal");
        command.cwd(folder);
        command.env("TERM", "xterm-256color");
        command.env_remove("NO_COLOR");
        let child = pair.slave.spawn_command(command).expect("it starts");
        drop(pair.slave);
        let said = Arc::new(Mutex::new(Vec::new()));
        let mut line = pair.master.try_clone_reader().expect("a reader");
        let kept = said.clone();
        std::thread::spawn(move || {
            let mut bytes = [0; 4096];
            // The line ends with an error when the program is gone.
            while let Ok(count @ 1..) = line.read(&mut bytes) {
                kept.lock().expect("kept").extend_from_slice(&bytes[..count]);
            }
        });
        let keyboard = pair.master.take_writer().expect("a keyboard");
        Terminal { child, keyboard, said, heard: 0, _line: pair.master }
    }

    /// Types keys.
    pub fn types(&mut self, keys: &str) {
        self.keyboard
            .write_all(keys.as_bytes())
            .and_then(|()| self.keyboard.flush())
            .expect("typed");
    }

    /// Waits until the program has said these words, after the last ones that were waited for.
    pub fn hears(&mut self, words: &str) {
        let since = Instant::now();
        loop {
            let all = self.everything();
            let rest = &all[self.heard..];
            if let Some(at) = rest.find(words) {
                self.heard += at + words.len();
                return;
            }
            assert!(since.elapsed() < PATIENCE, "{words:?} was not said: {all}");
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// Waits until it has said one of these, and tells which.
    pub fn hears_one_of(&mut self, all: &[&str]) -> usize {
        let since = Instant::now();
        loop {
            let said = self.everything();
            let found = all.iter().enumerate().filter_map(|(which, words)| {
                said[self.heard..].find(words).map(|at| (at + words.len(), which))
            });
            if let Some((end, which)) = found.min() {
                self.heard += end;
                return which;
            }
            assert!(since.elapsed() < PATIENCE, "none of {all:?} was said: {said}");
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// Whether it has said these words since the last ones that were waited for.
    pub fn has_said(&self, words: &str) -> bool {
        self.everything()[self.heard..].contains(words)
    }

    /// Waits until it has said these words, or has ended; whether it has said them.
    pub fn hears_or_ends(&mut self, words: &str) -> bool {
        let since = Instant::now();
        loop {
            if self.has_said(words) {
                self.hears(words);
                return true;
            }
            if self.has_ended() {
                self.settles();
                return self.has_said(words);
            }
            assert!(since.elapsed() < PATIENCE, "{words:?} was not said: {}", self.everything());
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// Whether it has ended.
    pub fn has_ended(&mut self) -> bool {
        self.child.try_wait().expect("asked").is_some()
    }

    /// Kills it, as a power cut would: it can do nothing about it.
    pub fn is_killed(&mut self) {
        let number = self.child.process_id().expect("it runs");
        let process = rustix::process::Pid::from_raw(number as i32).expect("a process");
        rustix::process::kill_process(process, rustix::process::Signal::KILL).expect("killed");
        self.child.wait().expect("it is gone");
    }

    /// All that it has said so far, as text.
    pub fn everything(&self) -> String {
        String::from_utf8_lossy(&self.said.lock().expect("kept")).into_owned()
    }

    /// The same in one line, whatever was broken to fit.
    pub fn text(&self) -> String {
        self.everything().split_whitespace().collect::<Vec<_>>().join(" ")
    }

    /// Waits for its end, and gives its exit code.
    pub fn ends(&mut self) -> u32 {
        let since = Instant::now();
        loop {
            if let Some(status) = self.child.try_wait().expect("asked") {
                self.settles();
                return status.exit_code();
            }
            assert!(since.elapsed() < PATIENCE, "it goes on: {}", self.everything());
            std::thread::sleep(Duration::from_millis(10));
        }
    }

    /// Waits until what was said has come through.
    fn settles(&self) {
        let mut before = usize::MAX;
        while before != self.everything().len() {
            before = self.everything().len();
            std::thread::sleep(Duration::from_millis(100));
        }
    }

    /// Pauses as a person does before the next key. No test passes because of it: it only keeps what
    /// is typed apart, where it is about a line that comes too quickly.
    pub fn pauses(&self) {
        std::thread::sleep(Duration::from_millis(600));
    }

    /// What stands on the screen.
    pub fn screen(&self) -> Vec<String> {
        let size = |n| std::num::NonZero::new(n).expect("not zero");
        let mut parser = vt100::Parser::new(size(ROWS), size(COLUMNS), 0);
        parser.process(&self.said.lock().expect("kept"));
        parser.screen().rows(0, COLUMNS).map(|row| row.trim_end().to_owned()).collect()
    }
}

impl Drop for Terminal {
    fn drop(&mut self) {
        let _ = self.child.kill();
        let _ = self.child.wait();
    }
}
