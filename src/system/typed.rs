//! What comes from a keyboard.

/// What has come from the keyboard.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Typed {
    /// Nothing, for as long as was waited.
    Nothing,
    /// Something: it can be read now, without waiting. On most terminals that is a whole line.
    Something,
    /// The keyboard is gone: nothing will ever come.
    Gone,
}
