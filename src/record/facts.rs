//! What is true of a whole run: what was tested, with what, and how it was to be judged.
//!
//! The fields are the first columns of every row of the run's report, and of its row in `lot.csv`.

use super::table::yes_or_no;
use serde::{Deserialize, Serialize};

/// The number of the format that records have now.
pub const FORMAT: u32 = 1;

/// What is true of a whole run. What nobody knows is empty: older records say less.
#[derive(Clone, Debug, PartialEq, Eq, Hash, Default, Serialize, Deserialize)]
pub struct Facts {
    /// The number of the record's format.
    pub format: u32,
    /// The module's name.
    pub module: String,
    /// The lot's name.
    pub lot: String,
    /// The run's number, from 1 for each module.
    pub run: u32,
    /// When it began, RFC 3339.
    pub started: String,
    /// Whether the jig is a simulated bench.
    #[serde(deserialize_with = "yes_or_no")]
    pub simulated: bool,
    /// Version of the program.
    pub program: Option<String>,
    /// Who ran it; may be empty.
    pub operator: String,
    /// Serial number of the jig.
    pub jig: String,
    /// Its firmware.
    pub firmware: String,
    /// Its calibration, where it has one.
    pub jig_calibration: Option<String>,
    /// Name of the script.
    pub script: String,
    /// The first digits of its digest.
    pub script_digest: Option<String>,
    /// The rule of decision: `guarded` or `simple`.
    pub rule: Option<String>,
    /// The kind of module.
    pub kind: Option<String>,
    /// Name of the module sheet.
    pub module_sheet: Option<String>,
    /// The first digits of its digest.
    pub module_sheet_digest: Option<String>,
    /// Name of the load sheet, where real loads are used.
    pub load_sheet: Option<String>,
    /// The first digits of its digest.
    pub load_sheet_digest: Option<String>,
    /// How the addresses count, where there is more than one way.
    pub numbering: Option<String>,
    /// The first address that somebody asked for.
    pub address_wanted: Option<u16>,
    /// The first address that the module was seen to answer at, as it was set to begin with.
    pub address_found: Option<u16>,
    /// The command format that somebody asked for.
    pub command_format_wanted: Option<String>,
    /// The command format that the module was seen to answer in.
    pub command_format_found: Option<String>,
}

/// What a run says of one thing; `None` where nobody knows.
pub type Said = fn(&Facts) -> Option<String>;

/// Runs that differ in one of these are of unlike things: nothing of them is ever taken together.
pub const KEPT_APART: [(&str, Said); 6] = [
    ("kind", |facts| facts.kind.clone()),
    ("module sheet", |facts| named(&facts.module_sheet, &facts.module_sheet_digest)),
    ("script", |facts| named(&Some(facts.script.clone()), &facts.script_digest)),
    ("load sheet", load_sheet),
    ("command format", |facts| facts.command_format_found.clone()),
    ("rule of decision", |facts| facts.rule.clone()),
];

/// Where runs that are taken together differ in one of these, that is told.
pub const TOLD: [(&str, Said); 4] = [
    ("version of the program", |facts| facts.program.clone()),
    ("firmware of the jig", |facts| Some(facts.firmware.clone())),
    ("calibration of the jig", |facts| facts.jig_calibration.clone()),
    ("numbering", |facts| facts.numbering.clone()),
];

/// The name of a sheet with its digest, as far as that is known.
fn named(name: &Option<String>, digest: &Option<String>) -> Option<String> {
    digest.as_ref().map(|digest| format!("{} {digest}", name.as_deref().unwrap_or("?")))
}

/// The load sheet; none at all is something too, where the record is of a time when that was told.
fn load_sheet(facts: &Facts) -> Option<String> {
    facts.kind.as_ref()?;
    Some(named(&facts.load_sheet, &facts.load_sheet_digest).unwrap_or_else(|| "none".into()))
}
