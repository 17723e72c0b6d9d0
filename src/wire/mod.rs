//! The jig's language: IEEE 488.2 messages with a SCPI-1999 tree, one definition for both ends.
//!
//! Stands on the ground: knows no jig and no transport. `no_std`, no allocator.
//!
//! | file | holds |
//! | --- | --- |
//! | [`line`] | bytes to lines |
//! | [`seal`], [`checksum`] | sealed lines and trailers |
//! | `table` | **the table**: every header, with the types of its parameters and its answer |
//! | [`tree`] | a type for each of its lines |
//! | [`unit`], `define` | a command or query by its type, and what makes one out of a line of the table |
//! | [`request`], [`answers`] | what a host says in one line and what it gets for it |
//! | `values` | the same as values, for a host and a jig in one process |
//! | [`pattern`], [`header`] | how headers are spelt; finding and writing them |
//! | [`message`] | a line to units, with the header path |
//! | [`scan`], [`number`], [`channel_list`] | the syntax of parameters |
//! | [`parameters`], [`writer`] | data elements read from a line or an answer, and written |
//! | [`data`], [`words`], [`setting`], [`suffix`], [`channels`], [`sequence`] | the types of parameters and answers |
//! | [`status`], [`event`] | status registers, and the bits of the standard event register |
//! | [`error`], [`refusal`] | errors with their numbers, the standard's and our own; their queue |
//! | [`channel`], [`preamble`] | channel descriptions and what goes before a block |
//! | [`limits`], [`version`] | the bounds of the language, and its version |
//!
//! # How a host uses it
//!
//! ```
//! use musterbench::wire::answers::Answers;
//! use musterbench::wire::request::Request;
//! use musterbench::wire::suffix::Supply;
//! use musterbench::wire::tree::{command, query};
//! use musterbench::wire::writer::Writer;
//!
//! let request = (command::Output { supply: Supply::Feed, on: true }, query::Clock {});
//! let mut line = String::new();
//! request.write(&mut Writer::new(&mut line))?;
//! assert_eq!(line, "OUTP1 ON;:SYST:CLOC?");
//! let ((), clock_us) = request.read(&mut Answers::new(b"120045"))?;
//! assert_eq!(clock_us, 120_045);
//! # Ok::<(), Box<dyn std::error::Error>>(())
//! ```
//!
//! # How a jig uses it
//!
//! ```
//! use musterbench::wire::{
//!     data::Seconds,
//!     error::{Error, ErrorCode},
//!     line::{Framer, Received},
//!     message::Message,
//!     status::Status,
//!     tree::{Command, Order, Query},
//!     unit::Reply,
//!     writer::{Sink, Writer},
//! };
//!
//! /// An order comes with its parameters read, all of them, and only then is carried out.
//! fn carry_out(
//!     order: Order<'_>,
//!     status: &mut Status,
//!     limit: &mut Seconds,
//!     answer: &mut Writer<'_, impl Sink>,
//! ) -> Result<(), Error> {
//!     match order {
//!         Order::Command(Command::Silence(it)) => {
//!             *limit = it.limit.resolve(&(Seconds(0.1)..=Seconds(60.0)), Seconds(5.0))?;
//!         }
//!         Order::Query(Query::Silence(it)) => answer.reply(&it, &*limit)?,
//!         Order::Query(Query::ErrorNext(it)) => answer.reply(&it, &status.next_error().into())?,
//!         _ => return Err(ErrorCode::HardwareMissing.into()),
//!     }
//!     Ok(())
//! }
//!
//! let (mut framer, mut status, mut limit) = (Framer::new(), Status::new(), Seconds(5.0));
//! let mut answers = heapless::Vec::<u8, 256>::new();
//! for &byte in b"syst:sil 250 ms;sil?\nSYSTem:SILence 1,2\n:SYST:ERR?\n" {
//!     match framer.push(byte) {
//!         None => {}
//!         Some(Received::TooLong) => status.report(ErrorCode::InputOverrun),
//!         Some(Received::Damaged) => status.report(ErrorCode::Communication),
//!         Some(Received::Whole(line)) => {
//!             let mut answer = Writer::new(&mut answers);
//!             let mut message = Message::new(line);
//!             while let Some(unit) = message.next() {
//!                 answer.unit();
//!                 let done = unit
//!                     .and_then(|unit| unit.read())
//!                     .and_then(|order| carry_out(order, &mut status, &mut limit, &mut answer));
//!                 if let Err(error) = done {
//!                     status.report(error);
//!                     if error.code.is_command_error() {
//!                         message.discard();
//!                     }
//!                 }
//!             }
//!             if answer.any() {
//!                 answers.put(b"\n").expect("room for the terminator");
//!             }
//!         }
//!     }
//! }
//! assert_eq!(answers, b"2.5E-1\n-108,\"Parameter not allowed\"\n");
//! assert_eq!(limit, Seconds(0.25));
//! ```
//!
//! Before [`message::Message`] sees a line, [`seal::open`] checks and takes off its seal.

pub mod answers;
pub mod channel;
pub mod channel_list;
pub mod channels;
pub mod checksum;
pub mod data;
mod define;
pub mod error;
pub mod event;
pub mod header;
pub mod limits;
pub mod line;
pub mod message;
pub mod number;
pub mod parameters;
pub mod pattern;
pub mod preamble;
pub mod refusal;
pub mod request;
#[cfg(test)]
mod sample;
pub mod scan;
pub mod seal;
pub mod sequence;
pub mod setting;
pub mod status;
pub mod suffix;
mod table;
pub mod tree;
pub mod unit;
#[cfg(feature = "host")]
pub mod values;
pub mod version;
pub mod words;
pub mod writer;

pub use limits::WATCH_COUNTS;
pub use limits::{CHARGE_PERIOD_US, COMMANDS_MAX, FAST_COUNTS, LINE_MAX, SEALED_BLOCK_MAX};
pub use version::PROTOCOL;
