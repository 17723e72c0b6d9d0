//! A hand at the bench that does as it is told. Only a simulated bench has one.

/// What it does.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum HandAct {
    /// Sets the address switches: bit 0 is switch 1, a one is `on`.
    Switches(u32),
    /// Moves the slider of the auxiliary supply.
    Auxiliary(bool),
    /// Takes the module out of the jig (`false`), or seats it.
    Module(bool),
    /// Presses the start button and holds it, or lets it go.
    Button(bool),
    /// Puts a reference resistor with a reference meter in series where the current of a channel
    /// flows: in place of the real load at a clamp (101–108), or of the module between the feed
    /// wires (2). A resistance of 0 puts back what was there.
    Reference {
        /// The channel.
        channel: u16,
        /// The resistance.
        milliohm: u32,
    },
}

/// There is nothing that could do that.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct NotFitted;

/// The hand, and the reference meter that it connects.
pub trait Hand {
    /// Does it.
    ///
    /// # Errors
    /// [`NotFitted`] where this hand cannot reach.
    fn act(&mut self, act: HandAct) -> Result<(), NotFitted>;

    /// What the reference meter shows, in amperes.
    fn reference_meter(&mut self) -> f64;
}
