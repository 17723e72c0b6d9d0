//! A name for a pseudo-terminal that does not change from one time to the next.

use std::io;
use std::path::{Path, PathBuf};

/// A symbolic link to a pseudo-terminal; removed when dropped.
pub struct LastingName {
    at: PathBuf,
    to: PathBuf,
}

impl LastingName {
    /// Makes the link. One that leads to a pseudo-terminal that is gone is replaced; anything else that
    /// stands there is not touched.
    ///
    /// # Errors
    /// [`io::ErrorKind::AlreadyExists`], or what the system says.
    pub fn make(at: &Path, to: &Path) -> io::Result<LastingName> {
        // One that leads to the very terminal that is being named cannot be another bench's.
        let is_left_behind =
            |old: PathBuf| old.parent() == to.parent() && (old == to || !old.exists());
        if std::fs::read_link(at).is_ok_and(is_left_behind) {
            std::fs::remove_file(at)?;
        }
        std::os::unix::fs::symlink(to, at)?;
        Ok(LastingName { at: at.into(), to: to.into() })
    }
}

impl Drop for LastingName {
    fn drop(&mut self) {
        // Another one may have put its own there.
        if std::fs::read_link(&self.at).is_ok_and(|to| to == self.to) {
            let _ = std::fs::remove_file(&self.at);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_link_comes_and_goes() {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path().join("jig");
        let to = Path::new("/dev/pts/12345");
        let link = LastingName::make(&at, to).unwrap();
        assert_eq!(std::fs::read_link(&at).unwrap(), to);
        // A later one takes the name over, and the earlier one leaves it alone.
        let later = LastingName::make(&at, Path::new("/dev/pts/12346")).unwrap();
        drop(link);
        assert!(at.is_symlink());
        drop(later);
        assert!(!at.is_symlink());
    }

    #[test]
    fn the_link_spares_what_stands_there() {
        let folder = tempfile::tempdir().unwrap();
        let at = folder.path().join("notes");
        std::fs::write(&at, "mine").unwrap();
        let refused = LastingName::make(&at, Path::new("/dev/pts/1")).err().unwrap();
        assert_eq!(refused.kind(), io::ErrorKind::AlreadyExists);
        assert_eq!(std::fs::read_to_string(&at).unwrap(), "mine");
        let elsewhere = folder.path().join("elsewhere");
        std::os::unix::fs::symlink(&at, &elsewhere).unwrap();
        assert!(LastingName::make(&elsewhere, Path::new("/dev/pts/1")).is_err());
    }
}
