//! A plain client on the jig's line: it seals nothing.

use core::time::Duration;
use musterbench::link::serial::SerialTransport;
use musterbench::link::transport::Transport;

/// How long an answer may take in real time, on a machine as busy as may be.
const PATIENCE: Duration = Duration::from_secs(120);

/// The client.
pub struct Client(SerialTransport);

impl Client {
    /// Opens the jig's line, and waits until it has booted.
    pub fn open(path: &str) -> Self {
        let mut client = Client(SerialTransport::open(path).unwrap_or_else(|e| panic!("{e}")));
        assert!(client.ask("*IDN?").starts_with("musterbench,jig,"));
        client
    }

    /// Sends a line that answers nothing.
    pub fn say(&mut self, line: &str) {
        self.send(format!("{line}\n").as_bytes());
    }

    /// Sends bytes as they are.
    pub fn send(&mut self, bytes: &[u8]) {
        self.0.send(bytes).unwrap_or_else(|e| panic!("{e}"));
    }

    /// Sends a line and takes its answer.
    pub fn ask(&mut self, line: &str) -> String {
        self.say(line);
        let mut answer = Vec::new();
        let mut bytes = [0; 256];
        while !answer.ends_with(b"\n") {
            let count = self.0.receive(&mut bytes, PATIENCE).unwrap_or_else(|e| panic!("{e}"));
            assert!(count > 0, "no answer to {line}: {:?}", String::from_utf8_lossy(&answer));
            answer.extend_from_slice(&bytes[..count]);
        }
        String::from_utf8_lossy(&answer).trim_end().to_owned()
    }

    /// Sends a line and takes the block that it answers: `#`, how many digits, as many digits of its
    /// length, and its bytes.
    pub fn ask_block(&mut self, line: &str) -> Vec<u8> {
        self.say(line);
        let mut answer = Vec::new();
        let mut bytes = [0; 4096];
        let (mut begin, mut end) = (2, usize::MAX);
        while answer.len() < end {
            let count = self.0.receive(&mut bytes, PATIENCE).unwrap_or_else(|e| panic!("{e}"));
            assert!(count > 0, "{line}: only {} bytes of its block", answer.len());
            answer.extend_from_slice(&bytes[..count]);
            if end == usize::MAX && answer.len() >= 11 {
                let digits = usize::from(answer[1] - b'0');
                let length = String::from_utf8_lossy(&answer[2..2 + digits]);
                begin = 2 + digits;
                end = begin + length.parse::<usize>().expect("a length") + 1;
            }
        }
        assert_eq!((answer.len(), answer[end - 1]), (end, b'\n'), "{line}");
        answer[begin..end - 1].to_vec()
    }

    /// Asks until the answer is as wanted; the silence limit is kept away meanwhile.
    pub fn ask_until(&mut self, line: &str, wanted: &str) {
        for _ in 0..100_000 {
            if self.ask(line) == wanted {
                return;
            }
        }
        panic!("{line} never answers {wanted}");
    }
}
