//! A script that finds what a given one finds, in less time.
//!
//! The given script is tried first: what it finds becomes a list of [`cases`], each a bench with a fault on
//! it. Then the script is changed step by step ([`change`]), the largest saving first; a change stands if every
//! case is still found ([`search`]). At last both scripts are tried on fresh benches ([`proof`]), and each
//! step of the new one is left out once, to see what it alone finds ([`alone`]).
//!
//! From the bottom up:
//!
//! | file | holds |
//! | --- | --- |
//! | [`draft`] | a script as it is rewritten, step by step |
//! | [`change`] | what can be changed of it |
//! | [`tried`] | its plans for all kinds of modules, and runs of them |
//! | [`cases`] | what must be found |
//! | [`search`] | the changes that lose nothing |
//! | [`proof`] | both scripts on fresh benches |
//! | [`alone`] | what each step alone finds |
//! | [`proposal`] | all of it |

pub mod alone;
pub mod cases;
pub mod change;
pub mod draft;
pub mod proof;
pub mod proposal;
pub mod search;
pub mod tried;
