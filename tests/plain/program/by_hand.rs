//! What is done by hand: prompts at a terminal, and who may go without.

use crate::kit::program::{
    assert_one_sentence, complaint, musterbench, report, rows, said, short_script,
};
use core::time::Duration;
use musterbench::jig::board::{Board, FeedDrive, Identity};
use musterbench::jig::engine::Engine;
use musterbench::procedure::simulated_set_up::setup;
use musterbench::script::shipped;
use musterbench::simulated_bench::SimulatedBoard;
use musterbench::simulated_bench::pseudo_terminal::PseudoTerminal;
use std::fs::OpenOptions;
use std::path::Path;
use std::process::Output;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// A run whose operator sits at a terminal and types this.
fn with_operator(folder: &Path, typed: &str) -> Output {
    let script = short_script(folder);
    let mut terminal = PseudoTerminal::open().expect("a terminal");
    let input = OpenOptions::new().read(true).write(true).open(terminal.path()).expect("opened");
    terminal.write(typed.as_bytes()).expect("typed");
    let mut command = musterbench(folder);
    command.args(["test", "--module", "P4-1", "--port", "simulated", "--script", &script]);
    command.stdin(input).output().expect("it starts")
}

#[test]
fn the_operator_is_asked_and_says_when_it_is_done() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = with_operator(folder.path(), "\n");
    let (code, asked) = complaint(&output);
    assert_eq!(code, 0, "{asked}");
    assert!(asked.contains("The feed is off") && asked.contains("switch "), "{asked}");
    assert!(asked.contains("SIMULATED"), "{asked}");
}

#[test]
fn the_operator_may_stop() {
    let folder = tempfile::tempdir().expect("a folder");
    let output = with_operator(folder.path(), "q\n");
    assert_eq!(complaint(&output).0, 4);
    assert!(said(&output).contains("stopped by the operator"));
    let rows = rows(&report(folder.path(), 1));
    assert!(rows[0]["note"].starts_with("cut short"), "{rows:?}");
}

/// A simulated board that says it is a real one. It counts how often the feed is turned on.
struct LooksReal {
    board: SimulatedBoard,
    turned_on: u32,
}

impl Board for LooksReal {
    pass_on! { board: now_us, channels, set_inverted, set_soft_start_limit, set_load_supply, cut_off, clear_cut_off, drive, drive_end_us, drive_clear, rest, set_switch, sample, start_scans, next_scan, stop_scans, self_test }

    fn identity(&self) -> Identity<'_> {
        Identity { model: "jig", serial: "0042", firmware: "1.0.0" }
    }
    fn set_feed(&mut self, drive: FeedDrive) {
        self.turned_on += u32::from(drive != FeedDrive::Off);
        self.board.set_feed(drive);
    }
}

/// Ends the serving when dropped.
struct Over<'a>(&'a AtomicBool);

impl Drop for Over<'_> {
    fn drop(&mut self) {
        self.0.store(true, Ordering::Relaxed);
    }
}

/// Serves such a board while `client` is at work; returns how often it turned the feed on.
fn with_real_jig(client: impl FnOnce(&str) + Send) -> u32 {
    let sheet = shipped::module_sheet("pier-four").expect("shipped");
    let board = SimulatedBoard::new(setup(&sheet, None, Vec::new(), 1));
    let mut engine = Engine::boxed(LooksReal { board, turned_on: 0 });
    let mut terminal = PseudoTerminal::open().expect("a terminal");
    let path = terminal.path().display().to_string();
    let over = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            // Also when the client panics.
            let _over = Over(&over);
            client(&path);
        });
        let start = Instant::now();
        let mut bytes = [0; 1024];
        while !over.load(Ordering::Relaxed) {
            terminal.wait(Duration::from_millis(1), false).expect("waited");
            engine.board_mut().board.advance_to(start.elapsed().as_micros() as u64);
            if terminal.was_closed().expect("asked") {
                engine.port_closed();
            }
            let count = terminal.read(&mut bytes).expect("read");
            assert_eq!(engine.receive(&bytes[..count]), count);
            engine.poll();
            let count = engine.transmit(&mut bytes);
            assert_eq!(terminal.write(&bytes[..count]).expect("sent"), count);
        }
    });
    engine.board().turned_on
}

#[test]
fn a_real_jig_is_not_left_alone_with_steps_by_hand() {
    let folder = tempfile::tempdir().expect("a folder");
    let turned_on = with_real_jig(|port| {
        for (unattended, words) in [(true, "--unattended"), (false, "no terminal to ask at")] {
            let mut command = musterbench(folder.path());
            command.args(["test", "--module", "P4-1", "--port", port]);
            command.args(unattended.then_some("--unattended"));
            let (code, text) = complaint(&command.output().expect("it starts"));
            assert_eq!(code, 2, "{text}");
            assert_one_sentence(&text);
            assert!(text.contains("steps by hand") && text.contains(words), "{text}");
        }
    });
    assert_eq!(turned_on, 0);
    assert!(!folder.path().join("records").exists());
}

#[test]
fn a_run_on_a_real_jig_is_not_called_simulated() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = "title = \"No hands\"\nsteps = [ { measure = \"hook-up\" } ]\n";
    std::fs::write(folder.path().join("mine.toml"), script).expect("written");
    with_real_jig(|port| {
        let mut command = musterbench(folder.path());
        command.args(["test", "--module", "P4-1", "--port", port, "--script", "mine.toml"]);
        let output = command.output().expect("it starts");
        assert_eq!(complaint(&output).0, 0, "{}", said(&output));
        assert!(!said(&output).contains("SIMULATED"));
    });
    for row in rows(&report(folder.path(), 1)) {
        assert_eq!((row["simulated"].as_str(), row["jig"].as_str()), ("no", "0042"));
    }
}
