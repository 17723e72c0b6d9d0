//! Who else has a device open, where the system tells.

use crate::plain::plain;
use crate::system::serial::Holder;
use std::path::Path;

/// Where pseudo-terminals are.
const PSEUDO_TERMINALS: &str = "/dev/pts";

/// Who serves a pseudo-terminal has this open, and may have the device itself open too.
const OTHER_END: &str = "/dev/ptmx";

/// All other programs that have the device open, as far as this user may see them.
pub fn holders(device: &str) -> Vec<Holder> {
    let Ok(device) = Path::new(device).canonicalize() else { return Vec::new() };
    let Ok(processes) = Path::new("/proc").read_dir() else { return Vec::new() };
    let holds = |process: &Path| {
        let Ok(open) = process.join("fd").read_dir() else { return false };
        let open = open.flatten().filter_map(|fd| std::fs::read_link(fd.path()).ok());
        let (mut holds, mut is_other_end) = (false, false);
        for path in open {
            holds |= path == device;
            is_other_end |= device.starts_with(PSEUDO_TERMINALS) && path == Path::new(OTHER_END);
        }
        holds && !is_other_end
    };
    let name = |process: &Path| {
        let name = std::fs::read(process.join("comm")).unwrap_or_default();
        plain(&String::from_utf8_lossy(name.trim_ascii()))
    };
    let number = |process: &Path| process.file_name()?.to_str()?.parse().ok();
    let mut found: Vec<Holder> = processes
        .flatten()
        .map(|entry| entry.path())
        .filter_map(|path| Some((number(&path)?, path)))
        .filter(|(process, path)| *process != std::process::id() && holds(path))
        .map(|(process, path)| Holder { process, name: name(&path) })
        .collect();
    found.sort_by_key(|holder| holder.process);
    found
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn names_the_program_that_holds_a_file() {
        let file = tempfile::NamedTempFile::new().unwrap();
        let path = file.path().to_str().unwrap();
        assert_eq!(holders(path), [], "only this program has it");
        let stdin = file.reopen().unwrap();
        let mut other = std::process::Command::new("sleep").arg("60").stdin(stdin).spawn().unwrap();
        let found = holders(path);
        other.kill().unwrap();
        other.wait().unwrap();
        assert_eq!(found.len(), 1, "{found:?}");
        assert_eq!(found[0].process, other.id());
    }
}
