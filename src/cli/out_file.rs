//! A file that the user wants something written to: what stands there already is not lost by accident.

use super::command_result::{CommandError, bad_input};
use crate::plain::plain;
use crate::record::disk::Disk;
use crate::record::durable;
use std::fs::{self, File};
use std::io::Read;
use std::path::{Path, PathBuf};

/// Where something is to be written.
#[derive(Clone, Copy, Debug)]
pub struct OutFile<'a> {
    /// The path as given.
    pub path: &'a Path,
    /// Whether what is there may be replaced (`--replace`).
    pub replace: bool,
    /// A text by which a file is known that this command wrote and may replace by itself.
    pub own: Option<&'a str>,
}

/// So many bytes hold the text by which a file is known.
const LOOK: u64 = 4096;

impl OutFile<'_> {
    /// Where to write, where nothing is in the way. Behind a link it is the file, not the link.
    ///
    /// # Errors
    /// When a device, a pipe or a folder is there, or a file that may not be replaced.
    pub fn target(&self) -> Result<PathBuf, CommandError> {
        let shown = plain(&self.path.display().to_string());
        let Ok(about) = fs::symlink_metadata(self.path) else { return Ok(self.path.into()) };
        if about.is_symlink() && !self.replace {
            return Err(bad_input(format!(
                "{shown} is a link: give the name of the file itself, or --replace to write over what \
                 it leads to"
            )));
        }
        let target = self.path.canonicalize().unwrap_or_else(|_| self.path.into());
        let Ok(about) = fs::metadata(&target) else { return Ok(target) };
        if !about.is_file() {
            let what = if about.is_dir() { "a folder" } else { "a device or a pipe, and no file" };
            return Err(bad_input(format!("{shown} is {what}: give the name of a file")));
        }
        if self.replace || self.own.is_some_and(|own| holds(&target, own)) {
            return Ok(target);
        }
        let why = match self.own {
            Some(_) => "was not written by this command",
            None => "is there already",
        };
        Err(bad_input(format!("{shown} {why}: give another name, or --replace to write over it")))
    }

    /// Writes it in one step.
    ///
    /// # Errors
    /// The same, and when the system refuses.
    pub fn write(&self, text: &str) -> Result<(), CommandError> {
        Ok(durable::replace(&Disk::default(), &self.target()?, text.as_bytes())?)
    }
}

/// Whether a text stands near the beginning of a file.
fn holds(path: &Path, text: &str) -> bool {
    let mut bytes = Vec::new();
    let read = File::open(path).and_then(|file| file.take(LOOK).read_to_end(&mut bytes));
    read.is_ok() && bytes.windows(text.len()).any(|window| window == text.as_bytes())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn out(path: &Path, replace: bool) -> Result<(), String> {
        let told = OutFile { path, replace, own: Some("MINE") }.write("MINE, new\n");
        told.map_err(|error| error.error.to_string())
    }

    #[test]
    fn only_what_this_command_wrote_is_replaced_unasked() {
        let folder = tempfile::tempdir().expect("a folder");
        let at = |name: &str| folder.path().join(name);
        for (name, text, kept) in
            [("none", None, false), ("own", Some("MINE, old"), false), ("x", Some("theirs"), true)]
        {
            if let Some(text) = text {
                fs::write(at(name), text).expect("written");
            }
            assert_eq!(out(&at(name), false).is_err(), kept, "{name}");
            let now = fs::read_to_string(at(name)).expect("there");
            assert_eq!(now == "theirs", kept, "{name}");
        }
        out(&at("x"), true).expect("told to");
        assert_eq!(fs::read_to_string(at("x")).expect("there"), "MINE, new\n");
    }

    #[cfg(unix)]
    #[test]
    fn links_devices_pipes_and_folders_stay() {
        let folder = tempfile::tempdir().expect("a folder");
        let (file, link) = (folder.path().join("file"), folder.path().join("link"));
        fs::write(&file, "theirs").expect("written");
        std::os::unix::fs::symlink(&file, &link).expect("a link");
        assert!(out(&link, false).expect_err("refused").contains("is a link"));
        assert_eq!(fs::read_to_string(&file).expect("there"), "theirs");
        out(&link, true).expect("told to");
        assert!(link.is_symlink() && fs::read_to_string(&file).expect("there").starts_with("MINE"));
        let pipe = folder.path().join("pipe");
        let mode = rustix::fs::Mode::RUSR | rustix::fs::Mode::WUSR;
        rustix::fs::mknodat(rustix::fs::CWD, &pipe, rustix::fs::FileType::Fifo, mode, 0)
            .expect("a pipe");
        for strange in [&pipe, Path::new("/dev/null"), folder.path()] {
            for replace in [false, true] {
                let why = out(strange, replace).expect_err("refused");
                assert!(why.contains("give the name of a file"), "{why}");
            }
        }
    }
}
