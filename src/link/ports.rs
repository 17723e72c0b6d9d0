//! The serial devices of this computer.

use super::error::LinkError;
use super::handshake;
use super::identity::Identity;
use super::serial::SerialTransport;
use core::time::Duration;
use serialport::SerialPortType;
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
    // Without this directory the enumeration of `serialport` panics (a container, say).
    if cfg!(target_os = "linux") && !Path::new("/sys/class/tty").is_dir() {
        return Vec::new();
    }
    let ports = serialport::available_ports().unwrap_or_default();
    ports.into_iter().map(|p| (p.port_name, about(&p.port_type))).collect()
}

fn about(port_type: &SerialPortType) -> String {
    match port_type {
        SerialPortType::UsbPort(usb) => {
            let words = [&usb.manufacturer, &usb.product, &usb.serial_number];
            let words: Vec<&str> = words.into_iter().flatten().map(String::as_str).collect();
            let ids = format!("USB {:04x}:{:04x} {}", usb.vid, usb.pid, words.join(" "));
            super::printable::printable(ids.trim_end().as_bytes())
        }
        SerialPortType::BluetoothPort => "Bluetooth".into(),
        SerialPortType::PciPort => "built in".into(),
        SerialPortType::Unknown => "serial".into(),
    }
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
    fn listing_never_panics() {
        for port in list() {
            assert!(!port.name.is_empty());
        }
    }
}
