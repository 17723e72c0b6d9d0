//! Something that is wrong with a plan.

/// How bad a finding is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Gravity {
    /// Works, but most likely not as meant.
    Warning,
    /// Cannot work: the plan is not carried out.
    Error,
}

/// Something that is wrong with a plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// How bad it is.
    pub gravity: Gravity,
    /// The line of the script; 0 where the whole script is meant.
    pub line: usize,
    /// The step; empty where the whole script is meant.
    pub step: String,
    /// A sentence.
    pub message: String,
}
