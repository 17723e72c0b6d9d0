//! The serial devices of this computer.

use super::error::LinkError;
use super::handshake;
use super::identity::Identity;
use super::serial::SerialTransport;
use crate::system::serial;
use core::time::Duration;
use serialport::{SerialPortType, UsbPortInfo};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// A serial device that could be a jig.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Port {
    /// Its path or name, as `--port` takes it.
    pub name: String,
    /// A name that stays when it is plugged in elsewhere, where the system gives one.
    pub lasting_name: Option<PathBuf>,
    /// What the device says of itself, or how it is attached.
    pub about: String,
}

/// All serial devices, in order of name. Nothing is opened and nothing is sent.
pub fn list() -> Vec<Port> {
    let mut found = BTreeMap::new();
    for (name, about) in known_to_the_system() {
        found.insert(name, about);
    }
    for name in usb_device_files(Path::new("/dev")) {
        found.entry(name).or_insert_with(|| "USB serial".into());
    }
    let lasting = lasting_names(Path::new("/dev/serial/by-id"));
    found
        .into_iter()
        .map(|(name, about)| Port {
            lasting_name: lasting.get(Path::new(&name)).cloned(),
            name,
            about,
        })
        .collect()
}

/// How long a device that is asked on the off chance may keep silent.
const ASK_PATIENCE: Duration = Duration::from_secs(2);

/// Asks all these devices at the same time which jig each one is. This writes to them.
pub fn ask(ports: &[Port]) -> Vec<Result<Identity, LinkError>> {
    let ask_one = |name: &str| {
        let mut device = SerialTransport::open(name)?;
        handshake::recognise_within(ASK_PATIENCE, &mut device)
    };
    std::thread::scope(|scope| {
        let asked: Vec<_> =
            ports.iter().map(|port| scope.spawn(move || ask_one(&port.name))).collect();
        let answer = |thread: std::thread::ScopedJoinHandle<'_, _>| {
            thread.join().unwrap_or_else(|panic| std::panic::resume_unwind(panic))
        };
        asked.into_iter().map(answer).collect()
    })
}

/// What the system lists, with what it knows about each.
fn known_to_the_system() -> Vec<(String, String)> {
    let ports = serial::listed();
    let names: Vec<String> = ports.iter().map(|port| port.port_name.clone()).collect();
    let ports = ports.into_iter().filter(|port| !waits_for_a_call(&port.port_name, &names));
    ports.map(|p| (p.port_name, about(&p.port_type))).collect()
}

/// macOS has each device twice: one to call out on, and one that waits for a carrier first.
fn waits_for_a_call(name: &str, all: &[String]) -> bool {
    name.strip_prefix("/dev/tty.").is_some_and(|end| all.contains(&format!("/dev/cu.{end}")))
}

fn about(port_type: &SerialPortType) -> String {
    match port_type {
        SerialPortType::UsbPort(usb) => {
            let words = [&usb.manufacturer, &usb.product, &usb.serial_number];
            let words: Vec<&str> = words.into_iter().flatten().map(String::as_str).collect();
            let ids = format!("USB {:04x}:{:04x} {}", usb.vid, usb.pid, words.join(" "));
            let ids = super::printable::printable(ids.trim_end().as_bytes());
            match jig_by_identity(usb) {
                Some(mark) => format!("{mark}; {ids}"),
                None => ids,
            }
        }
        SerialPortType::BluetoothPort => "Bluetooth".into(),
        SerialPortType::PciPort => "built in".into(),
        SerialPortType::Unknown => "serial".into(),
    }
}

/// What a jig says of itself on USB. The pair of numbers is one that others share.
const JIG_NUMBERS: (u16, u16) = (0x16c0, 0x27dd);
const JIG_MAKER: &str = "musterbench";

/// Whether it is a jig, as far as its USB identity tells. Some systems tell only the numbers.
fn jig_by_identity(usb: &UsbPortInfo) -> Option<&'static str> {
    if (usb.vid, usb.pid) != JIG_NUMBERS {
        return None;
    }
    let maker = usb.manufacturer.as_deref().unwrap_or_default();
    Some(if maker == JIG_MAKER { "a jig" } else { "may be a jig" })
}

/// Device files that carry a USB serial name: seen also where the system's listing is empty.
fn usb_device_files(directory: &Path) -> Vec<String> {
    let Ok(entries) = directory.read_dir() else { return Vec::new() };
    let is_usb = |name: &str| name.starts_with("ttyACM") || name.starts_with("ttyUSB");
    let names = entries.flatten().filter_map(|e| e.file_name().into_string().ok());
    names.filter(|n| is_usb(n)).map(|n| directory.join(n).display().to_string()).collect()
}

/// Device file to lasting name, from a directory of symbolic links.
fn lasting_names(directory: &Path) -> BTreeMap<PathBuf, PathBuf> {
    let Ok(entries) = directory.read_dir() else { return BTreeMap::new() };
    let link = |e: std::fs::DirEntry| Some((e.path().canonicalize().ok()?, e.path()));
    entries.flatten().filter_map(link).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn finds_device_files_and_their_lasting_names() {
        let dev = tempfile::tempdir().unwrap();
        let dev = dev.path().canonicalize().unwrap();
        for name in ["ttyACM0", "ttyUSB3", "tty0", "null"] {
            std::fs::write(dev.join(name), "").unwrap();
        }
        let mut names = usb_device_files(&dev);
        names.sort();
        assert_eq!(names, ["ttyACM0", "ttyUSB3"].map(|n| dev.join(n).display().to_string()));

        let by_id = dev.join("by-id");
        std::fs::create_dir(&by_id).unwrap();
        #[cfg(unix)]
        {
            let link = by_id.join("usb-jig-0001");
            std::os::unix::fs::symlink("../ttyACM0", &link).unwrap();
            std::os::unix::fs::symlink("../gone", by_id.join("usb-gone")).unwrap();
            let lasting = lasting_names(&by_id);
            assert_eq!(lasting.len(), 1);
            assert_eq!(lasting[&dev.join("ttyACM0")], link);
        }
        assert!(usb_device_files(Path::new("/no/such/directory")).is_empty());
    }

    #[test]
    fn a_jig_is_told_by_its_identity() {
        let usb = |vid, pid, maker: Option<&str>| UsbPortInfo {
            vid,
            pid,
            serial_number: Some("0001".into()),
            manufacturer: maker.map(String::from),
            product: None,
        };
        let told = |usb| about(&SerialPortType::UsbPort(usb));
        let ours = told(usb(0x16c0, 0x27dd, Some("musterbench")));
        assert_eq!(ours, "a jig; USB 16c0:27dd musterbench 0001");
        let unknown = told(usb(0x16c0, 0x27dd, Some("another")));
        assert_eq!(unknown, "may be a jig; USB 16c0:27dd another 0001");
        assert_eq!(told(usb(0x16c0, 0x27dd, None)), "may be a jig; USB 16c0:27dd 0001");
        assert_eq!(told(usb(0x0403, 0x27dd, None)), "USB 0403:27dd 0001");
    }

    #[test]
    fn a_device_that_is_there_twice_is_listed_once() {
        let all = ["/dev/cu.jig", "/dev/tty.jig", "/dev/tty.other"].map(String::from);
        let left: Vec<&String> = all.iter().filter(|name| !waits_for_a_call(name, &all)).collect();
        assert_eq!(left, ["/dev/cu.jig", "/dev/tty.other"]);
    }

    #[test]
    fn listing_never_panics() {
        for port in list() {
            assert!(!port.name.is_empty());
        }
    }
}
