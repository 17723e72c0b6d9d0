//! What is true of a whole run: what was tested, with what, and how it was to be judged.
//!
//! The fields are the first columns of every row of the run's report, and of its row in `lot.csv`.

use super::table::yes_or_no;
use serde::{Deserialize, Serialize};

/// The number of the format that records have now.
pub const FORMAT: u32 = 1;

/// What is true of a whole run. What nobody knows is empty: older records say less.
#[derive(Clone, Debug, PartialEq, Eq, Default, Serialize, Deserialize)]
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

/// Why results of two runs do not belong together: the names of the fields in which they are unlike.
/// What one of them does not know is no difference.
pub fn unlike(one: &Facts, other: &Facts) -> Vec<&'static str> {
    let mut unlike = Vec::new();
    let mut compare = |name, a: &Option<String>, b: &Option<String>| {
        if matches!((a, b), (Some(a), Some(b)) if a != b) {
            unlike.push(name);
        }
    };
    compare("kind", &one.kind, &other.kind);
    compare("module_sheet_digest", &one.module_sheet_digest, &other.module_sheet_digest);
    compare("script_digest", &one.script_digest, &other.script_digest);
    compare("load_sheet_digest", &one.load_sheet_digest, &other.load_sheet_digest);
    compare("command_format_found", &one.command_format_found, &other.command_format_found);
    compare("rule", &one.rule, &other.rule);
    if one.load_sheet_digest.is_some() != other.load_sheet_digest.is_some()
        && one.kind.is_some()
        && other.kind.is_some()
    {
        unlike.push("load_sheet_digest");
    }
    unlike
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::example::facts;

    #[test]
    fn what_differs_is_named_and_what_is_not_known_is_not() {
        let one = facts();
        assert!(unlike(&one, &one).is_empty());
        let other = Facts {
            rule: Some("simple".into()),
            kind: Some("jetty-two".into()),
            script_digest: None,
            operator: "somebody".into(),
            ..facts()
        };
        assert_eq!(unlike(&one, &other), ["kind", "rule"]);
        let loaded = Facts { load_sheet_digest: Some("0123456789ab".into()), ..facts() };
        assert_eq!(unlike(&loaded, &one), ["load_sheet_digest"]);
    }
}
