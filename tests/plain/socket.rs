//! The simulated bench behind a socket.

use crate::kit::program::{Served, assert_one_sentence, complaint, facts, musterbench, refused};
use crate::kit::program::{said, short_script};
use musterbench::link::client::Jig;
use musterbench::link::socket::SocketTransport;
use musterbench::link::transport::Transport;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Command, Stdio};
use std::time::{Duration, Instant};

const LONG: Duration = Duration::from_secs(60);

/// A bench behind a free port of this computer.
fn bench() -> Served {
    Served::start(Path::new("."), &["--listen", "127.0.0.1:0"])
}

fn open(port: &str) -> Jig {
    let socket = SocketTransport::open(port).unwrap_or_else(|e| panic!("{e}"));
    Jig::open(Box::new(socket)).unwrap_or_else(|e| panic!("{e}"))
}

/// A client that seals nothing.
fn call(bench: &Served) -> TcpStream {
    let place = bench.path.strip_prefix("tcp:").expect("a socket");
    let stream = TcpStream::connect(place).expect("somebody listens");
    stream.set_read_timeout(Some(LONG)).expect("set");
    stream
}

fn answer(stream: &mut TcpStream) -> String {
    let (mut line, mut byte) = (Vec::new(), [0]);
    while line.last() != Some(&b'\n') {
        assert_eq!(stream.read(&mut byte).expect("it answers"), 1, "it is closed");
        line.push(byte[0]);
    }
    String::from_utf8(line).expect("text")
}

#[test]
fn clients_come_and_go_and_each_leaves_the_feed_off() {
    let bench = bench();
    let mut plain = call(&bench);
    plain.write_all(b"OUTP1 ON\nOUTP1?\n").expect("sent");
    assert_eq!(answer(&mut plain), "1\n");
    // It goes without a word.
    drop(plain);
    let mut jig = open(&bench.path);
    assert!(jig.identity().simulated);
    assert_eq!(jig.ask("OUTP1?").expect("an answer"), "0");
    jig.send("OUTP1 ON").expect("carried out");
    drop(jig);
    assert_eq!(open(&bench.path).ask("OUTP1?").expect("an answer"), "0");
}

#[test]
fn one_client_at_a_time() {
    let bench = bench();
    let mut first = call(&bench);
    first.write_all(b"*IDN?\n").expect("sent");
    assert!(answer(&mut first).starts_with("musterbench,"));
    let mut second = SocketTransport::open(&bench.path).expect("it is let in to be told");
    let turned_away = second.receive(&mut [0; 16], LONG).expect_err("closed").to_string();
    assert!(turned_away.contains("one program at a time"), "{turned_away}");
    first.write_all(b"OUTP1?\n").expect("sent");
    assert_eq!(answer(&mut first), "0\n");
}

/// Whoever sends without end and fetches nothing is not collected, and harms nobody after it.
#[test]
fn a_client_that_floods_harms_nobody() {
    let bench = bench();
    let mut flood = call(&bench);
    flood.set_write_timeout(Some(Duration::from_millis(200))).expect("set");
    let questions = "*IDN?\n".repeat(10_000);
    let stuck = (0..1000).find_map(|_| flood.write_all(questions.as_bytes()).err());
    assert!(stuck.is_some(), "it takes 70 MB of questions");
    drop(flood);
    // What is on its way yet goes with whoever sent it.
    let began = Instant::now();
    while SocketTransport::open(&bench.path)
        .and_then(|mut socket| socket.receive(&mut [0; 16], Duration::from_millis(50)))
        .is_err()
    {
        assert!(began.elapsed() < LONG, "it is never free again");
    }
    assert_eq!(open(&bench.path).ask("OUTP1?").expect("an answer"), "0");
}

/// A short run on the bench there.
fn short_run(folder: &Path, port: &str) -> Command {
    let mut command = musterbench(folder);
    command.args(["test", "--module", "P4-1", "--unattended", "--port", port]);
    command.args(["--script", &short_script(folder)]);
    command
}

#[test]
fn a_whole_run_goes_over_a_socket() {
    let folder = tempfile::tempdir().expect("a folder");
    let bench = bench();
    let output = short_run(folder.path(), &bench.path).output().expect("it starts");
    assert_eq!(output.status.code(), Some(0), "{}", complaint(&output).1);
    assert!(said(&output).contains("simulated"), "{}", said(&output));
    assert_eq!(facts(folder.path(), 1)["facts"]["simulated"], true);
}

/// The bench goes in the middle of a run: what was read stays, and it is the bench's trouble.
#[test]
fn a_bench_that_goes_ends_the_run() {
    let folder = tempfile::tempdir().expect("a folder");
    let bench = bench();
    let child = short_run(folder.path(), &bench.path)
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("it starts");
    let journal = folder.path().join("records/unsorted/P4-1/run-001.journal");
    let began = Instant::now();
    while !journal.exists() {
        assert!(began.elapsed() < LONG, "it does not begin");
        std::thread::sleep(Duration::from_millis(5));
    }
    drop(bench);
    let output = child.wait_with_output().expect("it ends");
    assert_eq!(output.status.code(), Some(4), "{}", said(&output));
    assert!(folder.path().join("records/unsorted/P4-1/run-001.csv").exists());
}

#[test]
fn what_others_can_reach_is_asked_for_by_name() {
    let folder = tempfile::tempdir().expect("a folder");
    for (arguments, why) in [
        (&["simulate", "--listen", "0.0.0.0:0"][..], "--listen-on-all"),
        (&["simulate", "--listen", "[::]:0"], "--listen-on-all"),
        (&["simulate", "--listen", "127.0.0.1"], "say a host of this computer and a port"),
        (&["simulate", "--listen", "5025"], "say a host of this computer and a port"),
    ] {
        let text = refused(folder.path(), arguments);
        assert_one_sentence(&text);
        assert!(text.contains(why), "{text}");
    }
    let open = Served::start(folder.path(), &["--listen", "0.0.0.0:0", "--listen-on-all"]);
    assert!(open.path.starts_with("tcp:0.0.0.0:"), "{}", open.path);
    let here = open.path.replace("0.0.0.0", "127.0.0.1");
    assert!(self::open(&here).identity().simulated);
}

#[test]
fn a_port_that_is_taken_or_empty_is_a_sentence() {
    let folder = tempfile::tempdir().expect("a folder");
    let bench = bench();
    let taken = bench.path.strip_prefix("tcp:").expect("a socket");
    let text = refused(folder.path(), &["simulate", "--listen", taken]);
    assert_one_sentence(&text);
    assert!(text.contains("take another port"), "{text}");
    let port = bench.path.clone();
    drop(bench);
    let output = musterbench(folder.path())
        .args(["test", "--module", "P4-1", "--unattended", "--port", &port])
        .output()
        .expect("it starts");
    let (code, text) = complaint(&output);
    assert_eq!(code, 4, "{text}");
    assert!(text.contains("nothing listens there"), "{text}");
}
