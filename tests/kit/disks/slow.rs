//! A disk that takes its time to make durable what was written.

use super::jumping_clock::JumpingClock;
use core::time::Duration;
use musterbench::record::disk::FileSystem;
use std::fs::File;
use std::io;
use std::path::Path;
use std::sync::Arc;
use std::sync::atomic::{AtomicUsize, Ordering};

#[derive(Debug)]
pub struct SlowDisk {
    pub clock: Arc<JumpingClock>,
    pub delay: Duration,
    /// How often it was asked to.
    pub syncs: AtomicUsize,
}

impl SlowDisk {
    pub fn new(clock: &Arc<JumpingClock>, delay: Duration) -> Self {
        SlowDisk { clock: Arc::clone(clock), delay, syncs: AtomicUsize::new(0) }
    }

    fn take_time(&self) {
        self.syncs.fetch_add(1, Ordering::Relaxed);
        self.clock.sleep(self.delay);
    }
}

// What a slow disk keeps from being slow is the system's memory for it: only what waits for the disk
// itself takes time.
impl FileSystem for SlowDisk {
    fn sync(&self, _: &File, _: &Path) -> io::Result<()> {
        self.take_time();
        Ok(())
    }

    fn sync_folder(&self, _: &Path) -> io::Result<()> {
        self.take_time();
        Ok(())
    }
}
