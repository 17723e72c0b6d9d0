//! What people read.
//!
//! Reads events and readings; knows neither the run nor the jig. What is printed here ends at
//! text: where it goes is the commands' business.

pub mod amount;
mod bar;
pub mod budget_json;
pub mod budget_text;
pub mod calibration_prompt;
pub mod calibration_text;
pub mod channel_name;
pub mod counting;
pub mod fault_list;
pub mod finding;
pub mod finds;
pub mod json_lines;
pub mod lamp_prompt;
pub mod large;
pub mod load_windows;
pub mod lot_json;
pub mod lot_text;
pub mod module_history;
pub mod muster_json;
pub mod muster_screen;
pub mod objection;
pub mod plan_text;
pub mod planned_modules;
pub mod port_list;
pub mod practice_screen;
pub mod progress;
pub mod prompt;
pub mod recheck_text;
pub mod risk_text;
pub mod roll_call;
pub mod sample_text;
pub mod screen;
pub mod search_prompt;
pub mod setting_json;
pub mod setting_text;
mod severity;
pub mod summary;
pub mod suspects;
pub mod switch_bank;
pub mod table;
pub mod trial_text;
pub mod wrap;
