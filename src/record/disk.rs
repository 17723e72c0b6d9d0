//! What the records ask of the file system to change it.
//!
//! All of it stands behind one trait, so that the tests can put a slow disk in its place, one that fails,
//! and one that forgets at a power cut what was not flushed.

use crate::system::files;
use std::fmt::Debug;
use std::fs::{self, File, OpenOptions};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::Arc;

/// A file system, as far as it is changed. What each does by default is what the system does.
pub trait FileSystem: Debug + Send + Sync {
    /// Makes a folder.
    ///
    /// # Errors
    /// When the system refuses; so do all others.
    fn make_folder(&self, path: &Path) -> io::Result<()> {
        fs::create_dir(path)
    }

    /// Makes a file where none is, or (`new` is false) an empty one of what is there.
    ///
    /// # Errors
    /// See [`FileSystem::make_folder`].
    fn create(&self, path: &Path, new: bool) -> io::Result<File> {
        OpenOptions::new()
            .read(true)
            .write(true)
            .create(true)
            .truncate(!new)
            .create_new(new)
            .open(path)
    }

    /// Writes bytes into a file.
    ///
    /// # Errors
    /// See [`FileSystem::make_folder`].
    fn write(&self, file: &File, path: &Path, bytes: &[u8], at: u64) -> io::Result<()> {
        let _ = path;
        files::write_at(file, bytes, at)
    }

    /// Takes space of a file that reads as zeros.
    ///
    /// # Errors
    /// See [`FileSystem::make_folder`].
    fn reserve(&self, file: &File, path: &Path, from: u64, bytes: u64) -> io::Result<()> {
        let _ = path;
        files::reserve(file, from, bytes)
    }

    /// Cuts a file to a length.
    ///
    /// # Errors
    /// See [`FileSystem::make_folder`].
    fn cut(&self, file: &File, path: &Path, length: u64) -> io::Result<()> {
        let _ = path;
        file.set_len(length)
    }

    /// Makes durable what was written into a file.
    ///
    /// # Errors
    /// See [`FileSystem::make_folder`].
    fn sync(&self, file: &File, path: &Path) -> io::Result<()> {
        let _ = path;
        file.sync_data()
    }

    /// Gives a file another name, in place of a file that may have that name.
    ///
    /// # Errors
    /// See [`FileSystem::make_folder`].
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        files::rename(from, to)
    }

    /// Gives a file another name that no file has.
    ///
    /// # Errors
    /// See [`FileSystem::make_folder`].
    fn rename_new(&self, from: &Path, to: &Path) -> io::Result<()> {
        files::rename_new(from, to)
    }

    /// Removes a file.
    ///
    /// # Errors
    /// See [`FileSystem::make_folder`].
    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)
    }

    /// Makes durable which files are in a folder.
    ///
    /// # Errors
    /// See [`FileSystem::make_folder`].
    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        files::sync_folder(path)
    }
}

#[derive(Debug)]
struct System;

impl FileSystem for System {}

/// The disk that records lie on.
#[derive(Clone, Debug)]
pub struct Disk(Arc<dyn FileSystem>);

impl Default for Disk {
    /// The one of this system.
    fn default() -> Self {
        Disk(Arc::new(System))
    }
}

impl Disk {
    /// Another one.
    pub fn of(file_system: Arc<dyn FileSystem>) -> Self {
        Disk(file_system)
    }

    /// How it is changed, but for what is in files.
    pub fn system(&self) -> &dyn FileSystem {
        &*self.0
    }

    /// Makes a file, as [`FileSystem::create`].
    ///
    /// # Errors
    /// When the system refuses.
    pub fn create(&self, path: &Path, new: bool) -> io::Result<DiskFile> {
        Ok(self.file(self.0.create(path, new)?, path))
    }

    /// Opens a file that is there, to write into it.
    ///
    /// # Errors
    /// When the system refuses.
    pub fn open(&self, path: &Path) -> io::Result<DiskFile> {
        Ok(self.file(OpenOptions::new().read(true).write(true).open(path)?, path))
    }

    fn file(&self, file: File, path: &Path) -> DiskFile {
        DiskFile { disk: self.clone(), path: path.to_path_buf(), file }
    }
}

/// A file that is open for writing.
#[derive(Debug)]
pub struct DiskFile {
    disk: Disk,
    path: PathBuf,
    file: File,
}

impl DiskFile {
    /// The file, to read it and to lock it.
    pub fn file(&self) -> &File {
        &self.file
    }

    /// Where it lies.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Its disk.
    pub fn disk(&self) -> &Disk {
        &self.disk
    }

    /// Gives it another name, that no file has.
    ///
    /// # Errors
    /// See [`DiskFile::write`].
    pub fn rename(&mut self, to: &Path) -> io::Result<()> {
        self.disk.0.rename_new(&self.path, to)?;
        self.path = to.to_path_buf();
        Ok(())
    }

    /// Writes bytes.
    ///
    /// # Errors
    /// When the system refuses; so do the others.
    pub fn write(&self, bytes: &[u8], at: u64) -> io::Result<()> {
        self.disk.0.write(&self.file, &self.path, bytes, at)
    }

    /// Takes space, as [`files::reserve`] says.
    ///
    /// # Errors
    /// See [`DiskFile::write`].
    pub fn reserve(&self, from: u64, bytes: u64) -> io::Result<()> {
        self.disk.0.reserve(&self.file, &self.path, from, bytes)
    }

    /// Cuts it to a length.
    ///
    /// # Errors
    /// See [`DiskFile::write`].
    pub fn cut(&self, length: u64) -> io::Result<()> {
        self.disk.0.cut(&self.file, &self.path, length)
    }

    /// Makes durable what was written.
    ///
    /// # Errors
    /// See [`DiskFile::write`].
    pub fn sync(&self) -> io::Result<()> {
        self.disk.0.sync(&self.file, &self.path)
    }
}
