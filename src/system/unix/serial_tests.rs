//! Over pseudo-terminals: the other end is the test's.

use super::*;
use core::time::Duration;
use rustix::fs::{Mode, OFlags};
use rustix::pty::{OpenptFlags, grantpt, openpt, ptsname, unlockpt};
use std::fs::File;
use std::io::{Read, Write};
use std::os::fd::OwnedFd;
use std::sync::atomic::{AtomicBool, Ordering};
use std::time::Instant;

/// The other end of a device, and its name.
fn pair() -> (File, String) {
    let ours = openpt(OpenptFlags::RDWR | OpenptFlags::NOCTTY).unwrap();
    grantpt(&ours).unwrap();
    unlockpt(&ours).unwrap();
    let name = ptsname(&ours, Vec::new()).unwrap().into_string().unwrap();
    (ours.into(), name)
}

/// Opens a device as somebody does who knows of no lock.
fn intruder(name: &str) -> OwnedFd {
    rustix::fs::open(name, OFlags::RDWR | OFlags::NOCTTY | OFlags::NONBLOCK, Mode::empty()).unwrap()
}

fn within(time: Duration) -> Instant {
    Instant::now() + time
}

const SOON: Duration = Duration::from_millis(50);
const LONG: Duration = Duration::from_secs(20);

#[test]
fn bytes_pass_as_they_are() {
    let (mut other, name) = pair();
    let mut device = Device::open(&name).unwrap();
    let all: Vec<u8> = (0..=255).collect();
    other.write_all(&all).unwrap();
    let mut came = Vec::new();
    let mut buffer = [0; 300];
    while came.len() < all.len() {
        let count = device.read(&mut buffer, within(LONG)).unwrap();
        assert!(count > 0, "{} came", came.len());
        came.extend_from_slice(&buffer[..count]);
    }
    assert_eq!(came, all);
    let mut left = &all[..];
    while !left.is_empty() {
        left = &left[device.write(left, within(LONG)).unwrap()..];
    }
    let mut went = vec![0; all.len()];
    other.read_exact(&mut went).unwrap();
    assert_eq!(went, all);
}

#[test]
fn a_wait_for_nothing_ends_in_its_time() {
    let (_other, name) = pair();
    let mut device = Device::open(&name).unwrap();
    assert_eq!(device.read(&mut [0; 8], within(SOON)).unwrap(), 0);
    assert_eq!(device.read(&mut [0; 8], Instant::now()).unwrap(), 0);
}

#[test]
fn a_device_that_takes_nothing_is_given_up() {
    let (_other, name) = pair();
    let mut device = Device::open(&name).unwrap();
    let stuck = (0..100_000).find_map(|_| device.write(&[7; 64], within(SOON)).err());
    assert!(matches!(stuck, Some(Lost::Stuck)), "{stuck:?}");
}

#[test]
fn a_device_whose_other_end_goes_is_gone() {
    let (other, name) = pair();
    let mut device = Device::open(&name).unwrap();
    drop(other);
    let gone = device.read(&mut [0; 8], within(LONG));
    assert!(matches!(gone, Err(Lost::HungUp)), "{gone:?}");
    let gone = device.write(&[7], within(LONG));
    assert!(matches!(gone, Err(Lost::HungUp)), "{gone:?}");
}

/// The superuser may open what is for one program only; the lock stands all the same.
#[test]
fn a_device_is_for_one_program() {
    let (_other, name) = pair();
    let first = Device::open(&name).unwrap();
    assert!(matches!(Device::open(&name), Err(CannotOpen::Taken)));
    drop(first);
    Device::open(&name).unwrap();
}

/// Somebody else reads too and takes all that comes, again and again just after the device has said
/// that there is something: every wait still ends in its time.
#[test]
fn a_second_reader_makes_no_wait_last() {
    let (mut other, name) = pair();
    let thief = intruder(&name);
    let mut device = Device::open(&name).unwrap();
    let stop = AtomicBool::new(false);
    std::thread::scope(|scope| {
        scope.spawn(|| {
            let mut loot = [0; 64];
            while !stop.load(Ordering::Relaxed) {
                let _ = rustix::io::read(&thief, &mut loot);
            }
        });
        scope.spawn(|| {
            while !stop.load(Ordering::Relaxed) {
                let _ = other.write(b"x");
                std::thread::sleep(Duration::from_micros(50));
            }
        });
        let mut longest = Duration::ZERO;
        for _ in 0..200 {
            let begin = Instant::now();
            let end = begin + Duration::from_millis(5);
            while Instant::now() < end {
                device.read(&mut [0; 64], end).unwrap();
            }
            longest = longest.max(begin.elapsed());
        }
        stop.store(true, Ordering::Relaxed);
        // Far more than any busy computer needs, and far less than for ever.
        assert!(longest < LONG, "{longest:?}");
    });
}
