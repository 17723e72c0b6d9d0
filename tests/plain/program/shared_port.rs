//! A port that somebody else holds, or reads: a sentence, no hang, and the feed is off.

use crate::kit::program::{Served, complaint, musterbench, short_script, signal};
use musterbench::link::client::Jig;
use musterbench::link::serial::SerialTransport;
use rustix::fs::OFlags;
use rustix::process::Signal;
use std::fs::OpenOptions;
use std::io::Read;
use std::os::unix::fs::OpenOptionsExt;
use std::path::Path;
use std::process::{Child, Command, Output, Stdio};
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;
use std::time::{Duration, Instant};

/// Longer than a program that cannot go on may take, on the busiest machine.
const HANGS: Duration = Duration::from_secs(240);

fn start(folder: &Path, port: &str, script: &str) -> Child {
    let mut command: Command = musterbench(folder);
    command.args(["test", "--module", "P4-1", "--unattended", "--port", port, "--script", script]);
    command.stdout(Stdio::piped()).stderr(Stdio::piped()).spawn().expect("it starts")
}

/// Waits for a program's end, which must come.
fn ended(mut child: Child) -> Output {
    let began = Instant::now();
    while child.try_wait().expect("it is there").is_none() {
        assert!(began.elapsed() < HANGS, "it hangs");
        std::thread::sleep(Duration::from_millis(20));
    }
    child.wait_with_output().expect("it ended")
}

/// Waits until a run goes on.
fn wait_for_run(folder: &Path) {
    let journal = folder.join("records/unsorted/P4-1/run-001.journal");
    let began = Instant::now();
    while !journal.exists() {
        assert!(began.elapsed() < HANGS, "it does not begin");
        std::thread::sleep(Duration::from_millis(5));
    }
}

fn is_off(port: &str) {
    let mut jig = Jig::open(Box::new(SerialTransport::open(port).expect("free"))).expect("a jig");
    assert_eq!(jig.ask("OUTP1?;:OUTP2?").expect("an answer"), "0;0");
}

/// The lock holds root off too, which these tests may be.
#[test]
fn a_second_test_on_a_port_is_refused_and_the_first_goes_on() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = short_script(folder.path());
    let bench = Served::start(folder.path(), &[]);
    let first = start(folder.path(), &bench.path, &script);
    wait_for_run(folder.path());
    let second = ended(start(folder.path(), &bench.path, &script));
    let (code, text) = complaint(&second);
    assert_eq!(code, 4, "{text}");
    assert!(text.contains("another program"), "{text}");
    let first = ended(first);
    assert_eq!(first.status.code(), Some(0), "{first:?}");
    is_off(&bench.path);
}

/// Somebody who was there before, asks for no lock and takes what comes.
struct Thief {
    begin: Arc<AtomicBool>,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<usize>>,
}

impl Thief {
    /// Reads this often, from when it is told to begin.
    fn at(port: &str, every: Duration) -> Self {
        let flags = (OFlags::NONBLOCK | OFlags::NOCTTY).bits() as i32;
        let mut device =
            OpenOptions::new().read(true).custom_flags(flags).open(port).expect("opened");
        let [begin, stop] = core::array::from_fn(|_| Arc::new(AtomicBool::new(false)));
        let (has_begun, is_over) = (Arc::clone(&begin), Arc::clone(&stop));
        let thread = std::thread::spawn(move || {
            let (mut bytes, mut taken) = ([0; 256], 0);
            while !is_over.load(Ordering::Relaxed) {
                if has_begun.load(Ordering::Relaxed) {
                    taken += device.read(&mut bytes).unwrap_or(0);
                }
                std::thread::sleep(every);
            }
            taken
        });
        Thief { begin, stop, thread: Some(thread) }
    }

    fn begin(&self) {
        self.begin.store(true, Ordering::Relaxed);
    }

    /// How many bytes it has taken.
    fn leave(mut self) -> usize {
        self.stop.store(true, Ordering::Relaxed);
        self.thread.take().map_or(0, |thread| thread.join().expect("no panic"))
    }
}

#[test]
fn a_foreign_reader_makes_no_run_hang_and_changes_no_verdict() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = short_script(folder.path());
    let bench = Served::start(folder.path(), &[]);
    for every in [Duration::from_micros(200), Duration::from_millis(7), Duration::from_millis(60)] {
        let thief = Thief::at(&bench.path, every);
        thief.begin();
        let output = ended(start(folder.path(), &bench.path, &script));
        let taken = thief.leave();
        let (code, text) = complaint(&output);
        println!("read every {every:?}: {taken} bytes taken, exit code {code}: {}", text.trim());
        assert!(matches!(code, 0 | 4), "{code}: {text}");
        assert!(taken > 0 || code == 0, "{text}");
        is_off(&bench.path);
    }
}

#[test]
fn ctrl_c_ends_a_run_whose_answers_are_taken() {
    let folder = tempfile::tempdir().expect("a folder");
    let script = short_script(folder.path());
    let bench = Served::start(folder.path(), &[]);
    let thief = Thief::at(&bench.path, Duration::from_micros(100));
    let child = start(folder.path(), &bench.path, &script);
    wait_for_run(folder.path());
    thief.begin();
    std::thread::sleep(Duration::from_millis(500));
    signal(child.id(), Signal::INT);
    let (code, text) = complaint(&ended(child));
    assert!(matches!(code, 4 | 5), "{code}: {text}");
    thief.leave();
    is_off(&bench.path);
}
