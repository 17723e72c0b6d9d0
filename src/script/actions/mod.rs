//! What a script can do: the list of all actions, and what each of them says.
//!
//! An action is written as a step of a script (a [`Verb`]), and becomes one or more actions of a plan
//! ([`Action`]). This file holds the two lists and the data. The file that bears an action's name says
//! how it is read and expanded ([`Written`]), and how it is timed, checked and told ([`Planned`]); the
//! run carries it out. Whoever adds one to a list is told by the compiler what is missing.
//!
//! [`Written`]: expansion::Written
//! [`Planned`]: planned::Planned

mod ask;
mod both_polarities;
pub(super) mod expansion;
mod feed;
pub(super) mod foreseen;
mod heat;
mod hook_up;
mod keys;
mod lamp;
mod loads;
mod measure;
mod operate;
pub mod plan;
pub(super) mod planned;
pub(super) mod read;
mod repeat;
mod send;
mod switches;
mod wait;

use crate::script::terms::{BankSetting, By, HandTask, LoadChoice, Measured, Polarity};
use crate::signal::target::{Clamp, Position};
use core::time::Duration;
use std::ops::Range;

/// Makes the two lists, and a macro for each that calls something of whatever it is.
macro_rules! actions {
    (
        ($d:tt)
        written { $($(#[$verb_doc:meta])* $key:literal $verb:ident,)* }
        planned { $($(#[$action_doc:meta])* $action:ident($data:ty),)* }
    ) => {
        /// What a step of a script says.
        #[derive(Clone, Debug, PartialEq)]
        pub enum Verb {
            $($(#[$verb_doc])* $verb($verb),)*
        }

        impl Verb {
            /// The words that begin a step: each step has exactly one of them.
            pub const KEYS: &[&str] = &[$($key),*];
        }

        /// One action of a plan.
        #[derive(Clone, Debug, PartialEq)]
        pub enum Action {
            $($(#[$action_doc])* $action($data),)*
        }

        /// The readers of all verbs, each with its key, by a trait of all verbs.
        macro_rules! verb_readers {
            ($d trait_of_all:ident) => {
                [$((
                    $key,
                    |table| {
                        <$crate::script::actions::$verb as $d trait_of_all>::read(table)
                            .map($crate::script::actions::Verb::$verb)
                    },
                )),*]
            };
        }

        /// Does something with a verb, whichever it is.
        macro_rules! on_verb {
            ($d verb:expr, $d one:ident => $d does:expr) => {
                match $d verb {
                    $($crate::script::actions::Verb::$verb($d one) => $d does,)*
                }
            };
        }

        /// Does something with an action, whichever it is.
        macro_rules! on_action {
            ($d action:expr, $d one:ident => $d does:expr) => {
                match $d action {
                    $($crate::script::actions::Action::$action($d one) => $d does,)*
                }
            };
        }
    };
}

actions! {
    ($)
    written {
        /// The operator does something by hand.
        "ask" Ask,
        /// Feed on or off.
        "feed" Feed,
        /// Connect loads.
        "loads" Loads,
        /// Let time pass.
        "wait" Wait,
        /// Send outputs to positions, nothing judged.
        "send" SendOutputs,
        /// Move outputs and judge.
        "operate" OperateOutputs,
        /// Measure a quantity.
        "measure" Measure,
        /// Does the module answer, the feed as it is and the other way round?
        "try" BothPolarities,
        /// Every switch is shown in both places.
        "switches" EverySwitch,
        /// Watch the lamp, or judge what was watched.
        "lamp" Lamp,
        /// Steps several times over.
        "repeat" Repeat,
    }
    planned {
        /// The operator does something by hand.
        Ask(HandTask),
        /// With everything off: resistance between feed wires and commons, against the sheet.
        HookUp(HookUp),
        /// Feed on: soft start with its charge, then the boot time, all outputs watched: none may
        /// move.
        FeedOn(FeedOn),
        /// Feed off.
        FeedOff(FeedOff),
        /// Connect loads to clamps (and disconnect all others). The load supply goes on only while
        /// something is captured.
        Loads(ConnectLoads),
        /// Let time pass.
        Wait(Wait),
        /// Send an output to a position, nothing judged.
        Send(Send),
        /// Move an output and judge all that has to do with it: response time, load current, gap,
        /// bounce, drop, coil pulse, and that no other output moved.
        Operate(Operate),
        /// Measure a quantity over a window.
        Measure(MeasureOver),
        /// Does the module answer with the feed as it is? One output that answers will do.
        Answer(Answer),
        /// Does the module answer at the address and in the format that its switches are set for?
        /// Where it does not: as which switch stood the other way would it?
        ProveSwitches(ProveSwitches),
        /// Judge what was proven so: is a switch stuck?
        JudgeSwitches(JudgeSwitches),
        /// Begin to watch the lamp through the feed current.
        WatchLamp(WatchLamp),
        /// Judge the rhythm of what was watched since.
        JudgeLamp(JudgeLamp),
    }
}

pub(crate) use on_action;
pub(super) use {on_verb, verb_readers};

impl Verb {
    /// How a step is written that does less of the same in less time, each as it stands between the commas
    /// of a script; none where it can only be left out.
    pub fn shorter(&self) -> Vec<String> {
        on_verb!(self, verb => expansion::Written::shorter(verb))
    }
}

/// A step of a script, and where it stands.
#[derive(Clone, Debug, PartialEq)]
pub struct WrittenStep {
    /// Its bytes in the file.
    pub span: Range<usize>,
    /// Its line, from 1.
    pub line: usize,
    /// What it says.
    pub verb: Verb,
}

/// Which outputs a step means.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Outputs {
    /// All that the module has.
    All,
    /// These (1 to 4), in this order.
    These(Vec<u8>),
}

/// What the operator is asked for.
#[derive(Clone, Debug, PartialEq)]
pub enum Ask {
    /// To seat the module and set its switches; the slider, on a kind that has one.
    Prepare {
        /// Where the slider goes.
        auxiliary: bool,
    },
    /// To move the slider (left out for a kind that has none).
    Slider(bool),
    /// To do what the text says.
    ByHand(String),
}

/// Resistances with everything off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct HookUp;

/// The feed as a step sets it.
#[derive(Clone, Debug, PartialEq)]
pub enum Feed {
    /// On.
    On {
        /// Polarity.
        polarity: Polarity,
        /// Compare the positions with those before the feed went off.
        compare: bool,
    },
    /// Off.
    Off,
}

/// Feed on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FeedOn {
    /// Polarity.
    pub polarity: Polarity,
    /// Compare the positions with those before the feed went off (`keeps_position`).
    pub compare: bool,
    /// How long the outputs are watched, counted from switching on; the boot time lies inside.
    pub window: Duration,
}

/// Feed off.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct FeedOff;

/// Loads, as a step names them.
#[derive(Clone, Debug, PartialEq)]
pub struct Loads {
    /// Which.
    pub choice: LoadChoice,
    /// Where; those of outputs that the module lacks are left out when `None` (all) is meant.
    pub clamps: Option<Vec<Clamp>>,
}

/// Loads at clamps.
#[derive(Clone, Debug, PartialEq)]
pub struct ConnectLoads {
    /// Which.
    pub choice: LoadChoice,
    /// Where.
    pub clamps: Vec<Clamp>,
}

/// Time that passes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Wait(pub Duration);

/// Outputs and where they go. The positions are dealt out over the outputs.
#[derive(Clone, Debug, PartialEq)]
pub struct SendOutputs {
    /// The positions.
    pub positions: Vec<Position>,
    /// The outputs.
    pub outputs: Outputs,
}

/// An output and where it goes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Send {
    /// The output.
    pub output: u8,
    /// The position.
    pub to: Position,
}

/// Outputs to move. Each goes through all the positions before the next one.
#[derive(Clone, Debug, PartialEq)]
pub struct OperateOutputs {
    /// The positions.
    pub positions: Vec<Position>,
    /// The outputs.
    pub outputs: Outputs,
    /// By what.
    pub by: By,
}

/// An output to move.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Operate {
    /// The output.
    pub output: u8,
    /// The position.
    pub to: Position,
    /// By what.
    pub by: By,
    /// How long is captured after the trigger.
    pub window: Duration,
    /// How long after that the load's current may be judged; nothing where it may within the capture.
    pub settles: Duration,
}

/// What a step measures.
#[derive(Clone, Debug, PartialEq)]
pub enum Measure {
    /// Resistance between feed wires and commons.
    HookUp,
    /// A quantity. The auxiliary current is left out for a kind that has no such supply.
    Quantity(MeasureOver),
}

/// A quantity to measure.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct MeasureOver {
    /// What.
    pub what: Measured,
    /// Over how long.
    pub window: Duration,
}

/// The feed is on before and after. Left out where the sheet forbids the other way round.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct BothPolarities;

/// Whether the module answers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Answer {
    /// How the feed is.
    pub polarity: Polarity,
}

/// At as few addresses as can be. The feed is on before and after, and the module stands at the last
/// of the addresses then.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct EverySwitch;

/// The setting to prove.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct ProveSwitches(pub BankSetting);

/// What was proven, to be judged.
#[derive(Clone, Debug, PartialEq)]
pub struct JudgeSwitches {
    /// Switches (from 1) that no address shows in both places.
    pub never: Vec<u8>,
}

/// What is done about the lamp.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Lamp {
    /// Begin to watch it.
    Watch,
    /// Judge what was watched.
    Judge {
        /// Watch on until the slowest good lamp has blinked so often.
        blinks: u32,
    },
}

/// The lamp is watched from now on.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct WatchLamp;

/// The lamp's rhythm is judged.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct JudgeLamp;

/// Steps to repeat.
#[derive(Clone, Debug, PartialEq)]
pub struct Repeat {
    /// How often.
    pub times: u32,
    /// Which.
    pub steps: Vec<WrittenStep>,
}

#[cfg(test)]
mod tests {
    use super::Verb;

    /// People are told of every word that a step may begin with.
    #[test]
    fn every_key_stands_in_the_docs() {
        let docs = include_str!("../../../docs/file-formats.md");
        for key in Verb::KEYS {
            assert!(
                docs.contains(&format!("{key} = ")),
                "docs/file-formats.md says nothing of `{key}`"
            );
        }
    }
}
