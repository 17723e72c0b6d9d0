//! A file's text with its name.

use super::located::{Located, Place};
use super::origin::Origin;
use crate::refused::words;
use std::io::Read;
use std::ops::Range;
use std::path::Path;

/// The largest file that is read. A sheet or script is a few kilobytes.
pub const FILE_MAX: u64 = 1 << 20;

/// What follows the name of a file that comes with the program, where people read it.
const SHIPPED: &str = " (shipped)";

/// The text of a file, with the name that errors show.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Source {
    name: String,
    text: String,
}

impl Source {
    /// A text that is already at hand. A byte order mark is taken off.
    pub fn new(name: impl Into<String>, text: &str) -> Source {
        let text = text.strip_prefix('\u{FEFF}').unwrap_or(text);
        Source { name: name.into(), text: text.to_owned() }
    }

    /// A file that comes with the program.
    pub fn shipped(name: &str, text: &str) -> Source {
        Source::new(format!("{name}{SHIPPED}"), text)
    }

    /// What a record says of it.
    pub fn origin(&self) -> Origin {
        let name = self.name.strip_suffix(SHIPPED).unwrap_or(&self.name);
        let file = Path::new(name).file_name().unwrap_or(name.as_ref());
        Origin::of(&file.to_string_lossy(), &self.text)
    }

    /// Reads a file.
    ///
    /// # Errors
    /// When it cannot be read, is no plain file, is larger than [`FILE_MAX`] or is not UTF-8.
    pub fn read(path: &Path) -> Result<Source, Located> {
        let name = path.display().to_string();
        let whole = |message: String| Located { file: name.clone(), place: None, message };
        let cannot = |e: std::io::Error| whole(format!("cannot be read: {}", words(&e)));
        // Asked before it is opened: opening a pipe that nobody writes to would hang.
        if !std::fs::metadata(path).map_err(cannot)?.is_file() {
            return Err(whole("is not a plain file; give the path of a TOML file".into()));
        }
        let mut bytes = Vec::new();
        let file = std::fs::File::open(path).map_err(cannot)?;
        file.take(FILE_MAX + 1).read_to_end(&mut bytes).map_err(cannot)?;
        Source::from_bytes(name.clone(), &bytes)
    }

    /// The text in the bytes of a file.
    ///
    /// # Errors
    /// When there are more than [`FILE_MAX`] of them or they are not UTF-8.
    pub fn from_bytes(name: impl Into<String>, bytes: &[u8]) -> Result<Source, Located> {
        let name = name.into();
        if bytes.len() as u64 > FILE_MAX {
            let message =
                "is larger than 1 MiB, so it is hardly a sheet or a script; check the path";
            return Err(Located { file: name, place: None, message: message.into() });
        }
        match core::str::from_utf8(bytes) {
            Ok(text) => Ok(Source::new(name, text)),
            Err(e) => {
                let good = String::from_utf8_lossy(&bytes[..e.valid_up_to()]);
                let place = Place::in_text(&good, good.len()..good.len());
                let message = "is not UTF-8 from here on; save the file as UTF-8 text";
                Err(Located { file: name, place: Some(place), message: message.into() })
            }
        }
    }

    /// The name that errors show.
    pub fn name(&self) -> &str {
        &self.name
    }

    /// The text, without byte order mark.
    pub fn text(&self) -> &str {
        &self.text
    }

    /// An error at a byte range of the text.
    pub fn error(&self, span: Range<usize>, message: impl Into<String>) -> Located {
        let place = Some(Place::in_text(&self.text, span));
        Located { file: self.name.clone(), place, message: message.into() }
    }

    /// An error on a line (from 1), marked from its first character that is not blank.
    pub fn error_on_line(&self, line: usize, message: impl Into<String>) -> Located {
        let start: usize = self.text.split_inclusive('\n').take(line - 1).map(str::len).sum();
        let rest = &self.text[start..];
        let text = rest.lines().next().unwrap_or("");
        let blank = text.len() - text.trim_start().len();
        self.error(start + blank..start + text.len(), message)
    }

    /// The line (from 1) in which a byte stands.
    pub fn line_of(&self, at: usize) -> usize {
        1 + self.text.as_bytes()[..at.min(self.text.len())].iter().filter(|b| **b == b'\n').count()
    }
}
