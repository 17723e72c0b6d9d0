//! Devices that are no jigs.

use musterbench::system::pseudo_terminal::PseudoTerminal;
use std::sync::Arc;
use std::sync::atomic::{AtomicBool, Ordering};
use std::thread::JoinHandle;
use std::time::Duration;

/// A device that is no jig: answers whatever comes as `answer` says.
pub struct Pretender {
    path: String,
    stop: Arc<AtomicBool>,
    thread: Option<JoinHandle<()>>,
}

impl Pretender {
    /// Plugs it in.
    pub fn start(answer: impl Fn(&[u8]) -> Vec<u8> + Send + 'static) -> Self {
        let mut line = PseudoTerminal::open().expect("a pseudo-terminal");
        let path = line.path().display().to_string();
        let stop = Arc::new(AtomicBool::new(false));
        let asked = stop.clone();
        let thread = std::thread::spawn(move || {
            let mut bytes = [0; 1024];
            while !asked.load(Ordering::Relaxed) {
                line.wait(Duration::from_millis(10), false).expect("waited");
                let count = line.read(&mut bytes).expect("read");
                if count > 0 {
                    line.write(&answer(&bytes[..count])).expect("sent");
                }
            }
        });
        Pretender { path, stop, thread: Some(thread) }
    }

    /// The device.
    pub fn path(&self) -> &str {
        &self.path
    }
}

impl Drop for Pretender {
    fn drop(&mut self) {
        self.stop.store(true, Ordering::Relaxed);
        if let Some(thread) = self.thread.take() {
            let _ = thread.join();
        }
    }
}
