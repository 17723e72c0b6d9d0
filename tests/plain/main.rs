//! The tests that need nothing but the program: `cargo test --test plain`, or one folder or file of
//! them by its name, `cargo test --test plain roll_call::`.

#[macro_use]
#[path = "../kit/mod.rs"]
mod kit;

mod bad_files;
mod bad_line;
mod bad_line_link;
mod calibration;
mod crashes;
mod disk;
mod every_address;
mod faults;
mod file_formats;
mod honesty;
mod jig;
mod labels;
mod layout;
mod link;
mod muster;
mod overhead;
mod program;
#[cfg(unix)]
mod prompts;
#[cfg(unix)]
mod readme;
mod roll_call;
mod runs;
mod same_verdicts;
mod scpi_second_opinion;
#[cfg(unix)]
mod served;
mod shared_records;
mod socket;
mod sound_modules;
mod trial;
mod voltage;
mod wire_language_doc;
mod wire_language_on_the_bench;
