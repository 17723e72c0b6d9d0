//! What is true of a whole run: the first columns of every row of its report.

use super::table::yes_or_no;
use serde::{Deserialize, Serialize};

/// What is true of a whole run.
#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
pub struct Facts {
    /// The module's name.
    pub module: String,
    /// The lot's name.
    pub lot: String,
    /// The run's number, from 1 for each module.
    pub run: u32,
    /// When it began, RFC 3339.
    pub started: String,
    /// Who ran it; may be empty.
    pub operator: String,
    /// Serial number of the jig.
    pub jig: String,
    /// Its firmware.
    pub firmware: String,
    /// Whether the jig is a simulated bench.
    #[serde(deserialize_with = "yes_or_no")]
    pub simulated: bool,
    /// Name of the script.
    pub script: String,
}
