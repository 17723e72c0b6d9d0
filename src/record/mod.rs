//! What is kept of runs, durable.
//!
//! ```text
//! records/<lot>/lot.csv                      a row a run
//! records/<lot>/<module>/run-001.csv         a finished report, a row a reading
//! records/<lot>/<module>/run-001.facts.json  what the run was of, and the proof that it is whole
//! records/<lot>/<module>/run-001.captures.gz captures of its steps that did not pass
//! records/<lot>/<module>/run-002.journal     a run that goes on, or was cut off
//! records/_passed/<kind>-on-<jig>.captures.gz  those of the last run that passed
//! ```
//!
//! Reads events and readings; knows neither the run nor the jig. From the bottom up:
//!
//! | file | holds |
//! | --- | --- |
//! | [`cell`], [`digits`], [`table`] | cells, and tables whose columns are the fields of a struct |
//! | [`facts`], [`row`], [`run_record`] | what is true of a run, of a reading, and all of a run |
//! | [`disk`], [`names`], [`folder`], [`durable`], [`aside`], [`plain_file`] | where files lie, and how they are written |
//! | [`journal`] | the run that goes on |
//! | [`run_files`], [`report`], [`lot_csv`] | the run that is over |
//! | [`old_format`], [`recover`], [`check`], [`last_run`] | what is done with records later |
//! | [`captures`], `keeper`, [`queue`] | what keeps a run, on a thread of its own |
//! | [`recorder`], [`samples`] | who listens to a run |

pub mod aside;
pub mod captures;
pub mod cell;
pub mod channel_unit;
pub mod check;
pub mod digits;
pub mod disk;
pub mod durable;
mod error;
#[cfg(test)]
pub(crate) mod example;
pub mod export;
pub mod facts;
pub mod folder;
pub mod journal;
mod keeper;
pub mod last_run;
pub mod lot_csv;
pub mod names;
pub mod old_format;
pub mod plain_file;
pub mod queue;
pub mod recorder;
pub mod recover;
pub mod report;
pub mod row;
pub mod run_files;
pub mod run_record;
pub mod samples;
pub mod table;

pub use error::RecordError;
pub use keeper::OnDisk;
