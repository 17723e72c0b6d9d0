//! Takes the space of a file before it is needed.

use rustix::fs::{FallocateFlags, fallocate};
use rustix::io::Errno;
use std::fs::File;
use std::io;
use std::os::unix::fs::{FileExt, MetadataExt};

/// Backs the file with real blocks from `from` on, `bytes` long, so that writing there later does
/// not need space any more. What is reserved reads as zeros.
///
/// File systems that write every change to a new place may still ask for space later; a journal
/// notices that as a failed write and ends the run.
///
/// # Errors
/// When there is not enough space.
pub fn reserve(file: &File, from: u64, bytes: u64) -> io::Result<()> {
    match fallocate(file, FallocateFlags::empty(), from, bytes) {
        Ok(()) if is_backed(file, from + bytes)? => Ok(()),
        // Some file systems do not know the call, some only say that they did it.
        Ok(()) | Err(Errno::OPNOTSUPP | Errno::NOSYS | Errno::INVAL) => {
            write_zeros(file, from, bytes)
        }
        Err(refused) => Err(refused.into()),
    }
}

/// Whether as many blocks are in use as the length needs (`st_blocks` counts 512 bytes each).
fn is_backed(file: &File, length: u64) -> io::Result<bool> {
    let meta = file.metadata()?;
    Ok(meta.len() >= length && meta.blocks() * 512 >= length)
}

fn write_zeros(file: &File, from: u64, bytes: u64) -> io::Result<()> {
    let zeros = [0; 4096];
    let mut at = from;
    while at < from + bytes {
        let length = zeros.len().min((from + bytes - at) as usize);
        file.write_all_at(&zeros[..length], at)?;
        at += length as u64;
    }
    // Blocks are often chosen only now, and only now may the disk turn out to be full.
    file.sync_all()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_ways_give_real_blocks_that_read_as_zeros() {
        for way in [reserve, write_zeros] {
            let file = tempfile::tempfile().expect("a file");
            file.write_all_at(b"kept", 0).expect("written");
            way(&file, 4, 100_000).expect("reserved");
            file.sync_all().expect("synced");
            assert!(is_backed(&file, 100_004).expect("known"));
            let mut all = vec![1; 100_004];
            file.read_exact_at(&mut all, 0).expect("read");
            assert!(all.starts_with(b"kept") && all[4..].iter().all(|b| *b == 0));
        }
    }

    #[test]
    fn a_hole_is_not_taken_for_space() {
        let file = tempfile::tempfile().expect("a file");
        file.set_len(1 << 20).expect("stretched");
        assert!(!is_backed(&file, 1 << 20).expect("known"));
    }

    #[test]
    fn too_much_is_refused() {
        let file = tempfile::tempfile().expect("a file");
        assert!(reserve(&file, 0, 1 << 45).is_err());
    }
}
