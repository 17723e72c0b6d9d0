//! The CSV reports and the journal, durable.
//!
//! ```text
//! records/<lot>/lot.csv                      a row a run
//! records/<lot>/<module>/run-001.csv         a finished report, a row a reading
//! records/<lot>/<module>/run-002.journal     a run that goes on, or was cut off
//! ```
//!
//! Reads events and readings; knows neither the run nor the jig.

pub mod cell;
pub mod durable;
mod error;
#[cfg(test)]
pub(crate) mod example;
pub mod facts;
pub mod folder;
pub mod journal;
pub mod last_run;
pub mod lot_csv;
pub mod names;
pub mod recorder;
pub mod recover;
pub mod report_csv;
pub mod row;
pub mod samples;
pub mod space;
pub mod table;

pub use error::RecordError;
