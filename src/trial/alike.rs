//! Whether reports are of like things, and so may be looked at together.

use super::read::Report;
use crate::record::facts::{Facts, KEPT_APART, Said, TOLD};
use std::collections::HashMap;
use std::path::PathBuf;

/// Why reports do not belong together.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum NotAlike {
    /// Some are simulated, some are not.
    #[error("{} is simulated and {} is not: a trial is of one or of the other", simulated.display(), real.display())]
    Mixed {
        /// A simulated one.
        simulated: PathBuf,
        /// One that is not.
        real: PathBuf,
    },
    /// They are of unlike things.
    #[error(
        "{} and {} differ in {what} ({one} and {other}): a trial is of one kind of module, tested in \
         one way; give reports that agree in it",
        first.display(),
        second.display()
    )]
    Unlike {
        /// One of them.
        first: PathBuf,
        /// Another.
        second: PathBuf,
        /// What they differ in.
        what: &'static str,
        /// What the first says of it.
        one: String,
        /// What the second says of it.
        other: String,
    },
    /// A run was given twice.
    #[error("{} and {} are the same run: give each report once", first.display(), second.display())]
    Twice {
        /// The first of them.
        first: PathBuf,
        /// The second.
        second: PathBuf,
    },
}

/// What reports of like things differ in all the same, in words.
///
/// # Errors
/// When they are not of like things, or a run was given twice.
pub fn alike(reports: &[(PathBuf, Report)]) -> Result<Vec<&'static str>, NotAlike> {
    let of = |simulated| reports.iter().find(|(_, r)| r.facts.simulated == simulated);
    if let (Some((simulated, _)), Some((real, _))) = (of(true), of(false)) {
        let (simulated, real) = (simulated.clone(), real.clone());
        return Err(NotAlike::Mixed { simulated, real });
    }
    for (what, of) in KEPT_APART {
        if let Some(((first, one), (second, other))) = two_values(reports, of) {
            let (first, second) = (first.clone(), second.clone());
            return Err(NotAlike::Unlike { first, second, what, one, other });
        }
    }
    let mut seen: HashMap<&Facts, &PathBuf> = HashMap::new();
    for (second, report) in reports {
        if let Some(first) = seen.insert(&report.facts, second) {
            return Err(NotAlike::Twice { first: first.clone(), second: second.clone() });
        }
    }
    let differs = TOLD.iter().filter(|(_, of)| two_values(reports, *of).is_some());
    Ok(differs.map(|(what, _)| *what).collect())
}

/// A report, and what it says.
type Saying<'r> = (&'r PathBuf, String);

/// Two reports that say unlike things, each with what it says. What one does not know is no difference.
fn two_values(reports: &[(PathBuf, Report)], of: Said) -> Option<(Saying<'_>, Saying<'_>)> {
    let mut known = reports.iter().filter_map(|(path, r)| Some((path, of(&r.facts)?)));
    let first = known.next()?;
    known.find(|(_, value)| *value != first.1).map(|second| (first, second))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::record::example::facts;

    fn reports(all: impl IntoIterator<Item = Facts>) -> Vec<(PathBuf, Report)> {
        let one = |(n, facts): (u32, Facts)| {
            let facts = Facts { run: n, ..facts };
            (PathBuf::from(format!("{n}.csv")), Report { facts, rows: vec![] })
        };
        (1..).zip(all).map(one).collect()
    }

    #[test]
    fn what_keeps_runs_apart_is_refused_and_named() {
        let some = |text: &str| Some(text.to_owned());
        for (other, what) in [
            (Facts { kind: some("jetty-two"), ..facts() }, "kind"),
            (Facts { module_sheet_digest: some("sha256:1"), ..facts() }, "module sheet"),
            (Facts { script_digest: some("sha256:1"), ..facts() }, "script"),
            (Facts { load_sheet_digest: some("sha256:1"), ..facts() }, "load sheet"),
            (Facts { command_format_found: some("trinary"), ..facts() }, "command format"),
            (Facts { rule: some("simple"), ..facts() }, "rule of decision"),
        ] {
            let base = Facts { command_format_found: some("dcc"), ..facts() };
            // An old report that knows nothing, between them, hides nothing.
            let old = Facts { run: 9, ..Facts { simulated: true, ..Facts::default() } };
            let other = Facts {
                command_format_found: other.command_format_found.clone().or(some("dcc")),
                ..other
            };
            let error = alike(&reports([old, base, other])).expect_err("must be refused");
            let NotAlike::Unlike { what: named, .. } = &error else { panic!("{error}") };
            assert_eq!(*named, what);
            assert!(error.to_string().contains("2.csv and 3.csv differ in "), "{error}");
        }
    }

    #[test]
    fn what_may_differ_is_told() {
        let newer = Facts { program: Some("9.9.9".into()), jig: "SIM-8".into(), ..facts() };
        assert_eq!(alike(&reports([facts(), newer])), Ok(vec!["version of the program"]));
        assert_eq!(alike(&reports([facts(), facts()])), Ok(vec![]));
        let mut twice = reports([facts(), facts()]);
        twice[1].1 = twice[0].1.clone();
        assert!(matches!(alike(&twice), Err(NotAlike::Twice { .. })));
    }
}
