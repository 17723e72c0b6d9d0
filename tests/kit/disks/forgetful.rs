//! A disk that forgets at a power cut what was not flushed.
//!
//! All that a program does to it is written down. From that follows what may be on the disk when the power
//! goes at any moment: what was flushed for certain; of what was not, each sector by itself may be there
//! or not, and of what happened to a folder's names a first part of it.

use musterbench::record::disk::FileSystem;
use rand::RngExt;
use rand_xoshiro::Xoshiro256PlusPlus;
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex};

/// What a disk writes at once or not at all.
const SECTOR: usize = 512;

/// Something that was done to it.
#[derive(Clone, Debug)]
pub enum Deed {
    MakeFolder(PathBuf),
    Create(PathBuf),
    Write(PathBuf, u64, Vec<u8>),
    Reserve(PathBuf, u64),
    Cut(PathBuf, u64),
    Sync(PathBuf),
    Rename(PathBuf, PathBuf),
    Remove(PathBuf),
    SyncFolder(PathBuf),
    /// No deed of the disk: so many readings have been shown.
    Shown(usize),
}

impl Deed {
    /// What it is called in a table.
    pub fn name(&self) -> &'static str {
        match self {
            Deed::MakeFolder(_) => "make a folder",
            Deed::Create(_) => "make a file",
            Deed::Write(..) => "write",
            Deed::Reserve(..) => "take space",
            Deed::Cut(..) => "cut",
            Deed::Sync(_) => "flush a file",
            Deed::Rename(..) => "rename",
            Deed::Remove(_) => "remove",
            Deed::SyncFolder(_) => "flush a folder",
            Deed::Shown(_) => "show readings",
        }
    }
}

/// Passes all on to the system, and writes it down.
#[derive(Clone, Debug, Default)]
pub struct Recording(Arc<Mutex<Vec<Deed>>>);

impl Recording {
    pub fn note(&self, deed: Deed) {
        self.0.lock().expect("no panic").push(deed);
    }

    pub fn deeds(&self) -> Vec<Deed> {
        self.0.lock().expect("no panic").clone()
    }
}

// Never flushed for real: only what was written down counts.
impl FileSystem for Recording {
    fn make_folder(&self, path: &Path) -> io::Result<()> {
        fs::create_dir(path)?;
        self.note(Deed::MakeFolder(path.into()));
        Ok(())
    }
    fn create(&self, path: &Path, new: bool) -> io::Result<File> {
        let mut options = fs::OpenOptions::new();
        options.read(true).write(true).create(true).truncate(!new).create_new(new);
        let file = options.open(path)?;
        self.note(Deed::Create(path.into()));
        Ok(file)
    }
    fn write(&self, file: &File, path: &Path, bytes: &[u8], at: u64) -> io::Result<()> {
        musterbench::system::files::write_at(file, bytes, at)?;
        self.note(Deed::Write(path.into(), at, bytes.into()));
        Ok(())
    }
    fn reserve(&self, file: &File, path: &Path, from: u64, bytes: u64) -> io::Result<()> {
        file.set_len(from + bytes)?;
        self.note(Deed::Reserve(path.into(), from + bytes));
        Ok(())
    }
    fn cut(&self, file: &File, path: &Path, length: u64) -> io::Result<()> {
        file.set_len(length)?;
        self.note(Deed::Cut(path.into(), length));
        Ok(())
    }
    fn sync(&self, _: &File, path: &Path) -> io::Result<()> {
        self.note(Deed::Sync(path.into()));
        Ok(())
    }
    fn rename(&self, from: &Path, to: &Path) -> io::Result<()> {
        fs::rename(from, to)?;
        self.note(Deed::Rename(from.into(), to.into()));
        Ok(())
    }
    fn rename_new(&self, from: &Path, to: &Path) -> io::Result<()> {
        assert!(!to.exists());
        self.rename(from, to)
    }
    fn remove(&self, path: &Path) -> io::Result<()> {
        fs::remove_file(path)?;
        self.note(Deed::Remove(path.into()));
        Ok(())
    }
    fn sync_folder(&self, path: &Path) -> io::Result<()> {
        self.note(Deed::SyncFolder(path.into()));
        Ok(())
    }
}

/// A disk that flushes nothing, for what comes after a power cut: that is tried elsewhere.
#[derive(Debug)]
pub struct Unflushed;

impl FileSystem for Unflushed {
    fn sync(&self, _: &File, _: &Path) -> io::Result<()> {
        Ok(())
    }
    fn sync_folder(&self, _: &Path) -> io::Result<()> {
        Ok(())
    }
}

/// What becomes of what was not flushed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fate {
    /// All of it is gone.
    Gone,
    /// All of it is there.
    There,
    /// Chance decides, for each sector and each folder.
    Chance,
}

/// What is on a disk, and what is only on its way there.
#[derive(Clone, Debug, Default)]
pub struct Twin {
    /// The contents of files, by number.
    files: Vec<Contents>,
    /// The names that are durable.
    names: BTreeMap<PathBuf, Thing>,
    /// What was done to the names of a folder since it was flushed.
    pending: BTreeMap<PathBuf, Vec<Change>>,
    /// The names as the program sees them.
    seen: BTreeMap<PathBuf, Thing>,
}

#[derive(Clone, Copy, Debug, PartialEq)]
enum Thing {
    Folder,
    File(usize),
}

#[derive(Clone, Debug)]
enum Change {
    Add(PathBuf, Thing),
    Drop(PathBuf),
    Move(PathBuf, PathBuf, Thing),
}

#[derive(Clone, Debug, Default)]
struct Contents {
    durable: Vec<u8>,
    pending: Vec<Pending>,
}

#[derive(Clone, Debug)]
enum Pending {
    Write(usize, Vec<u8>),
    /// Its length, longer or shorter.
    Length(usize),
}

impl Contents {
    fn settled(&self, keep: &mut dyn FnMut() -> bool) -> Vec<u8> {
        let mut bytes = self.durable.clone();
        for pending in &self.pending {
            match pending {
                Pending::Length(length) => {
                    if keep() {
                        bytes.resize(*length, 0);
                    }
                }
                Pending::Write(at, new) => {
                    let mut from = 0;
                    while from < new.len() {
                        let to = (from + SECTOR - (at + from) % SECTOR).min(new.len());
                        if keep() {
                            let end = at + to;
                            if bytes.len() < end {
                                bytes.resize(end, 0);
                            }
                            bytes[at + from..end].copy_from_slice(&new[from..to]);
                        }
                        from = to;
                    }
                }
            }
        }
        bytes
    }
}

fn folder(path: &Path) -> PathBuf {
    path.parent().expect("all lies in a folder").into()
}

impl Twin {
    pub fn with(root: &Path) -> Self {
        let mut twin = Twin::default();
        twin.names.insert(root.into(), Thing::Folder);
        twin
    }

    fn change(&mut self, at: &Path, change: Change) {
        apply(&mut self.seen, &change);
        self.pending.entry(folder(at)).or_default().push(change);
    }

    fn file(&mut self, path: &Path) -> &mut Contents {
        match self.seen.get(path) {
            Some(Thing::File(number)) => &mut self.files[*number],
            _ => panic!("{} is no file that was made here", path.display()),
        }
    }

    pub fn take(&mut self, deed: &Deed) {
        match deed {
            Deed::MakeFolder(path) => self.change(path, Change::Add(path.clone(), Thing::Folder)),
            Deed::Create(path) => {
                self.files.push(Contents::default());
                let number = self.files.len() - 1;
                self.change(path, Change::Add(path.clone(), Thing::File(number)));
            }
            Deed::Write(path, at, bytes) => {
                self.file(path).pending.push(Pending::Write(*at as usize, bytes.clone()));
            }
            Deed::Reserve(path, to) | Deed::Cut(path, to) => {
                self.file(path).pending.push(Pending::Length(*to as usize));
            }
            Deed::Sync(path) => {
                let file = self.file(path);
                file.durable = file.settled(&mut || true);
                file.pending.clear();
            }
            Deed::Rename(from, to) => {
                assert_eq!(folder(from), folder(to));
                let thing = self.seen[from];
                self.change(from, Change::Move(from.clone(), to.clone(), thing));
            }
            Deed::Remove(path) => self.change(path, Change::Drop(path.clone())),
            Deed::SyncFolder(path) => {
                for change in self.pending.remove(path).unwrap_or_default() {
                    apply(&mut self.names, &change);
                }
            }
            Deed::Shown(_) => {}
        }
    }

    /// Puts what is left after a power cut into a folder, in the place of `root`.
    pub fn put(&self, root: &Path, at: &Path, fate: Fate, chance: &mut Xoshiro256PlusPlus) {
        let mut names = self.names.clone();
        for changes in self.pending.values() {
            let kept = match fate {
                Fate::Gone => 0,
                Fate::There => changes.len(),
                Fate::Chance => chance.random_range(0..=changes.len()),
            };
            changes[..kept].iter().for_each(|change| apply(&mut names, change));
        }
        let there = names.clone();
        for (path, thing) in names {
            // What lies in a folder that is gone is gone too.
            let mut above = path.ancestors().skip(1).take_while(|above| above.starts_with(root));
            if !above.all(|above| there.contains_key(above)) {
                continue;
            }
            let place = at.join(path.strip_prefix(root).expect("all lies below the root"));
            match thing {
                Thing::Folder => fs::create_dir_all(place).expect("made"),
                Thing::File(number) => {
                    let mut keep = || match fate {
                        Fate::Gone => false,
                        Fate::There => true,
                        Fate::Chance => chance.random_bool(0.5),
                    };
                    fs::write(place, self.files[number].settled(&mut keep)).expect("written");
                }
            }
        }
    }
}

fn apply(names: &mut BTreeMap<PathBuf, Thing>, change: &Change) {
    match change {
        Change::Add(path, thing) => {
            names.insert(path.clone(), *thing);
        }
        Change::Drop(path) => {
            names.remove(path);
        }
        Change::Move(from, to, thing) => {
            names.remove(from);
            names.insert(to.clone(), *thing);
        }
    }
}
