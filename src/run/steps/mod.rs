//! What a script can ask for: a file for each kind of action.

pub mod answer;
mod answers_reading;
pub mod by_hand;
pub mod carried_out;
pub mod feed;
pub mod hook_up;
pub mod lamp;
pub mod lamp_question;
pub mod load_start;
pub mod loads;
pub mod loads_measured;
pub mod measure;
pub mod operate;
pub mod operation_capture;
pub mod operation_readings;
pub mod switches;
pub mod trip;
pub mod wait;
