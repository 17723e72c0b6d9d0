//! What is asked at the keyboard of a muster before something is decided.

/// What is asked at the keyboard.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Asking {
    /// Why: a line that is being typed.
    Reason {
        /// The key that asked for it.
        key: char,
        /// The module that it is about.
        serial: String,
        /// What was typed so far.
        line: String,
    },
    /// Once more whether.
    Sure {
        /// The key that asked for it.
        key: char,
        /// The module that it is about.
        serial: String,
        /// Why.
        reason: String,
    },
    /// Whether a module that has its fate is tested again.
    Again {
        /// The station that it is for.
        at: usize,
        /// The module.
        serial: String,
        /// The question.
        question: String,
    },
    /// Whether runs that go on are stopped.
    Stop,
}

impl Asking {
    /// The question, and what was typed of its answer.
    pub fn words(&self) -> String {
        match self {
            Asking::Reason { key, serial, line } => {
                format!("{} {serial}. Why, in a line (empty: leave it): {line}", words(*key))
            }
            Asking::Sure { key, serial, reason } => {
                format!("{} {serial}: {reason}? (y or n)", words(*key))
            }
            Asking::Again { question, .. } => format!("{question} (y or n)"),
            Asking::Stop => {
                "A module is being tested. Stop all the same? Its run is no try then. (y or n)"
                    .into()
            }
        }
    }
}

fn words(key: char) -> &'static str {
    match key {
        'x' => "Reject",
        'h' => "Put on hold",
        's' => "Strike the last try of",
        _ => "Note on",
    }
}
