//! What a script can ask for: a file for each kind of action.

pub mod answer;
pub mod by_hand;
pub mod hook_up;
pub mod lamp;
pub mod lamp_question;
pub mod load_start;
pub mod loads_measured;
pub mod measure;
pub mod operate;
pub mod operate_readings;
pub mod power;
pub mod switches;
pub mod trip;
