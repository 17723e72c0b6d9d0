//! The jig's language: IEEE 488.2 messages with a SCPI-1999 tree, one definition for both ends.
//!
//! Stands on the ground: knows no jig and no transport. `no_std`, no allocator.
//!
//! | file | holds |
//! | --- | --- |
//! | [`line`] | bytes to lines |
//! | [`seal`], [`checksum`] | sealed lines and trailers |
//! | [`message`] | a line to units, with the header path |
//! | [`tree`], [`header`] | the table of headers; finding and writing them |
//! | [`scan`], [`number`], [`channel_list`] | the syntax of parameters |
//! | [`parameters`] | parameters by type, with their errors |
//! | [`response`] | answers |
//! | [`status`], [`error`] | status registers and the error queue |
//! | [`channel`], [`preamble`] | channel descriptions and what goes before a block |
//!
//! # How a jig uses it
//!
//! ```
//! use musterbench::wire::{
//!     error::{Error, ErrorCode},
//!     line::{Framer, Line},
//!     message::{Message, Unit},
//!     number,
//!     response::{Response, Sink},
//!     status::Status,
//!     tree::Node,
//! };
//!
//! /// Asks for all parameters, ends them, and only then acts.
//! fn carry_out(
//!     unit: Unit,
//!     status: &mut Status,
//!     limit_s: &mut f64,
//!     response: &mut Response<impl Sink>,
//! ) -> Result<(), Error> {
//!     let mut parameters = unit.parameters;
//!     match (unit.node, unit.query) {
//!         (Node::Silence, false) => {
//!             let seconds = parameters.numeric(number::Unit::Second)?.resolve(0.1..=60.0, 5.0)?;
//!             parameters.finish()?;
//!             *limit_s = seconds;
//!             Ok(())
//!         }
//!         (Node::Silence, true) => {
//!             parameters.finish()?;
//!             response.number(*limit_s).map_err(|_| ErrorCode::QueryDeadlocked.into())
//!         }
//!         (Node::ErrorNext, _) => {
//!             parameters.finish()?;
//!             let error = status.next_error();
//!             response.text(format_args!("{error}")).map_err(|_| ErrorCode::QueryDeadlocked.into())
//!         }
//!         _ => Err(ErrorCode::HardwareMissing.into()),
//!     }
//! }
//!
//! let (mut framer, mut status, mut limit_s) = (Framer::new(), Status::new(), 5.0);
//! let mut answers = heapless::Vec::<u8, 256>::new();
//! for &byte in b"syst:sil 250 ms;sil?\nSYSTem:SILence 1,2\n:SYST:ERR?\n" {
//!     match framer.push(byte) {
//!         None => {}
//!         Some(Line::TooLong) => status.report(ErrorCode::InputOverrun),
//!         Some(Line::Whole(line)) => {
//!             let mut response = Response::new(&mut answers);
//!             let mut message = Message::new(line);
//!             while let Some(unit) = message.next() {
//!                 response.unit();
//!                 let done = unit
//!                     .and_then(|u| carry_out(u, &mut status, &mut limit_s, &mut response));
//!                 if let Err(error) = done {
//!                     status.report(error);
//!                     if error.code.is_command_error() {
//!                         message.discard();
//!                     }
//!                 }
//!             }
//!             if response.any() {
//!                 answers.put(b"\n").expect("room for the terminator");
//!             }
//!         }
//!     }
//! }
//! assert_eq!(answers, b"2.5E-1\n-108,\"Parameter not allowed\"\n");
//! assert_eq!(limit_s, 0.25);
//! ```
//!
//! Before [`message::Message`] sees a line, [`seal::open`] checks and takes off its seal.

pub mod channel;
pub mod channel_list;
pub mod checksum;
pub mod error;
pub mod header;
pub mod line;
pub mod message;
pub mod number;
pub mod parameters;
pub mod preamble;
pub mod response;
pub mod scan;
pub mod seal;
pub mod status;
pub mod tree;

/// The longest line that the jig takes, terminator not counted. Beyond: error -363.
pub const LINE_MAX: usize = 512;

/// How many commands for the feed may wait in the jig, the one that goes out included.
pub const COMMANDS_MAX: usize = 8;

/// Counts that the jig holds for the fast capture unit.
pub const FAST_COUNTS: usize = 32_768;

/// Counts that the jig holds for the watch.
pub const WATCH_COUNTS: usize = 8_192;

/// How often the jig looks at the current of a soft start, in microseconds. The charge is added up
/// from straight lines between these looks.
pub const CHARGE_PERIOD_US: u64 = 100;

/// The largest block of samples that one answer to a *sealed* line carries, in bytes.
pub const SEALED_BLOCK_MAX: usize = 4096;

/// The version of the language that both ends must share (`SYSTem:PROTocol?`): `major.minor`.
/// Ends with the same major number understand each other.
pub const PROTOCOL: &str = "1.0";
