//! What only Linux has, on the other systems: there is none of it, and that is said.

/// Who else has a device open.
pub mod holders {
    use crate::system::serial::Holder;

    /// This system does not tell.
    pub fn holders(_: &str) -> Vec<Holder> {
        Vec::new()
    }
}

/// A serial device for other programs, whose other end is ours.
pub mod pseudo_terminal {
    use core::time::Duration;
    use std::io;
    use std::path::Path;

    /// There is never one.
    #[derive(Debug)]
    pub enum PseudoTerminal {}

    impl PseudoTerminal {
        /// Refuses.
        ///
        /// # Errors
        /// [`io::ErrorKind::Unsupported`].
        pub fn open() -> io::Result<Self> {
            let why = "this system has none that a program can serve: say --listen 127.0.0.1:5025";
            Err(io::Error::new(io::ErrorKind::Unsupported, why))
        }

        /// The device, as other programs open it.
        pub fn path(&self) -> &Path {
            match *self {}
        }

        /// Takes what has come.
        ///
        /// # Errors
        /// Never.
        pub fn read(&mut self, _: &mut [u8]) -> io::Result<usize> {
            match *self {}
        }

        /// Sends what fits.
        ///
        /// # Errors
        /// Never.
        pub fn write(&mut self, _: &[u8]) -> io::Result<usize> {
            match *self {}
        }

        /// Whether a user has closed the device.
        ///
        /// # Errors
        /// Never.
        pub fn was_closed(&mut self) -> io::Result<bool> {
            match *self {}
        }

        /// Waits.
        ///
        /// # Errors
        /// Never.
        pub fn wait(&self, _: Duration, _: bool) -> io::Result<()> {
            match *self {}
        }
    }
}

/// A name for a pseudo-terminal.
pub mod lasting_name {
    use std::io;
    use std::path::Path;

    /// There is never one.
    pub enum LastingName {}

    impl LastingName {
        /// Refuses.
        ///
        /// # Errors
        /// [`io::ErrorKind::Unsupported`].
        pub fn make(_: &Path, _: &Path) -> io::Result<LastingName> {
            Err(io::ErrorKind::Unsupported.into())
        }
    }
}
