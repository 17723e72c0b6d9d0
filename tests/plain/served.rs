//! The simulated bench on a pseudo-terminal, as a serial device for the host's end.

use crate::kit::noting::setup;
use core::time::Duration;
use musterbench::link::client::Jig;
use musterbench::link::error::LinkError;
use musterbench::link::serial::SerialTransport;
use musterbench::link::transport::{Transport, TransportError};
use musterbench::simulated_bench::served::serve;
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicBool, Ordering};
use std::sync::mpsc;

static GO_ON: AtomicBool = AtomicBool::new(false);

/// Serves a bench while `client` is at work with its path.
fn while_served(path_at: Option<&Path>, client: impl FnOnce(&str)) {
    let stop = AtomicBool::new(false);
    /// Stops the server also when the client panics.
    struct Stop<'a>(&'a AtomicBool);
    impl Drop for Stop<'_> {
        fn drop(&mut self) {
            self.0.store(true, Ordering::Relaxed);
        }
    }
    std::thread::scope(|scope| {
        let (tell, ready) = mpsc::channel::<PathBuf>();
        let server = scope.spawn(|| {
            serve(setup(3), path_at, &stop, None, move |path| tell.send(path.into()).unwrap())
        });
        let stopping = Stop(&stop);
        client(ready.recv().expect("a path").to_str().unwrap());
        drop(stopping);
        server.join().unwrap().expect("served to the end");
    });
}

fn open(path: &str) -> Jig {
    let device = SerialTransport::open(path).unwrap_or_else(|e| panic!("{e}"));
    Jig::open(Box::new(device)).unwrap_or_else(|e| panic!("{e}"))
}

#[test]
fn clients_come_and_go() {
    while_served(None, |path| {
        let mut first = open(path);
        assert!(first.identity().simulated);
        assert_eq!(first.identity().serial, "SIM-3");
        first.send("OUTP1 ON").unwrap();
        let end = first.clock_us().unwrap() + 200_000;
        first.wait_until_us(end, &GO_ON).unwrap();
        assert!(first.clock_us().unwrap() >= end);
        assert_eq!(first.ask("OUTP1?").unwrap(), "1");

        // One at a time.
        let second = SerialTransport::open(path).err().map(|e| e.to_string());
        assert!(second.as_ref().is_some_and(|e| e.contains("another program")), "{second:?}");
    });
}

#[test]
fn a_client_that_is_killed_leaves_the_feed_off() {
    while_served(None, |path| {
        // A plain client that seals nothing, then goes without a word.
        let mut plain = SerialTransport::open(path).unwrap();
        plain.send(b"OUTP1 ON\nOUTP1?\n").unwrap();
        let mut answer = [0; 16];
        let count = plain.receive(&mut answer, Duration::from_secs(10)).unwrap();
        assert_eq!(answer[..count], *b"1\n");
        drop(plain);

        let mut jig = open(path);
        assert_eq!(jig.ask("OUTP1?").unwrap(), "0");
        jig.close();
        let mut again = open(path);
        assert_eq!(again.ask("OUTP1?").unwrap(), "0");
    });
}

#[test]
fn the_lasting_name_leads_there_and_goes_with_the_bench() {
    let folder = tempfile::tempdir().unwrap();
    let name = folder.path().join("bench");
    while_served(Some(&name), |path| {
        assert_eq!(Path::new(path), name);
        let jig = open(path);
        assert!(jig.identity().simulated);
    });
    assert!(!name.is_symlink());
}

#[test]
fn a_second_bench_at_the_same_name_is_refused_and_the_first_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let name = folder.path().join("bench");
    while_served(Some(&name), |path| {
        let refused = serve(setup(3), Some(&name), &GO_ON, None, |_| ()).unwrap_err();
        assert!(refused.to_string().contains("--path-at"), "{refused}");
        assert!(open(path).identity().simulated);
    });
}

#[test]
fn a_name_that_is_taken_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let name = folder.path().join("notes");
    std::fs::write(&name, "mine").unwrap();
    let refused = serve(setup(3), Some(&name), &GO_ON, None, |_| ()).unwrap_err();
    assert!(refused.to_string().contains("--path-at"), "{refused}");
}

#[test]
fn a_device_that_goes_is_noticed() {
    let mut device = None;
    while_served(None, |path| {
        device = Some(SerialTransport::open(path).unwrap());
    });
    let mut device = device.unwrap();
    let gone = device.receive(&mut [0; 16], Duration::from_secs(10));
    assert!(matches!(gone, Err(TransportError::Gone { .. })), "{gone:?}");
    let refused = Jig::open(Box::new(device)).err();
    assert!(matches!(refused, Some(LinkError::Transport(_))), "{refused:?}");
}
