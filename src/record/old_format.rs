//! Records of before there was a format number: their reports closed with a row of their own, had
//! small languages in two cells, and had no facts file beside them.

use super::facts::{FORMAT, Facts};
use super::row::{Background, KeptReading, Row};
use super::run_record::{Closing, Planned, RunEnding, RunRecord, tally};
use super::table::{Raw, Table, figure, yes_or_no};
use crate::judge::limits_from::LimitsFrom;
use crate::judge::reading::{Blame, Verdict};
use crate::measure::budget::{Budget, Source};
use crate::measure::uncertainty::Component;
use crate::signal::target::Position;
use crc::{CRC_32_ISO_HDLC, Crc};
use serde::Deserialize;

/// How the header of such a report begins.
const HEADER: &[u8] = b"module,lot,run,started,operator,jig,firmware,simulated,script,step,output,\
    position,quantity,value,unit,uncertainty,lower_limit,upper_limit,verdict,blame,note";

/// What the row that closes such a report has for its quantity.
const CLOSING: &str = "readings";

/// How such a journal begins.
const JOURNAL: &[u8] = b"musterbench journal 1\n";

/// Why a run without its closing row is taken for cut off.
const NOT_CLOSED: &str = "the closing row is missing";

/// Whether the bytes are those of such a report.
pub fn is_report(bytes: &[u8]) -> bool {
    bytes.starts_with(HEADER)
}

/// Whether the bytes are those of such a journal.
pub fn is_journal(bytes: &[u8]) -> bool {
    bytes.starts_with(JOURNAL)
}

/// The first columns of every row.
#[derive(Deserialize)]
struct OldFacts {
    module: String,
    lot: String,
    run: u32,
    started: String,
    operator: String,
    jig: String,
    firmware: String,
    #[serde(deserialize_with = "yes_or_no")]
    simulated: bool,
    script: String,
}

/// The other columns; the last ones came one after the other.
#[derive(Deserialize)]
struct OldRow {
    step: String,
    output: Option<u8>,
    position: Option<Position>,
    quantity: String,
    #[serde(deserialize_with = "figure")]
    value: Option<f64>,
    unit: String,
    #[serde(deserialize_with = "figure")]
    uncertainty: Option<f64>,
    #[serde(deserialize_with = "figure")]
    lower_limit: Option<f64>,
    #[serde(deserialize_with = "figure")]
    upper_limit: Option<f64>,
    verdict: Verdict,
    blame: Option<Blame>,
    note: String,
    #[serde(default)]
    calibration: Option<String>,
    #[serde(default)]
    budget: Option<String>,
    #[serde(default)]
    limits_from: Option<String>,
    #[serde(default, deserialize_with = "figure")]
    risk: Option<f64>,
    #[serde(default, deserialize_with = "figure")]
    guard_band: Option<f64>,
    #[serde(default, deserialize_with = "figure")]
    outside: Option<f64>,
    #[serde(default)]
    settled_by: Option<String>,
}

/// Reads such a report.
///
/// # Errors
/// Why it cannot be read.
pub fn report(bytes: &[u8]) -> Result<RunRecord, &'static str> {
    let table = Table::read(bytes).map_err(|_| "it is no CSV file")?;
    let mut facts = None;
    let mut readings = Vec::new();
    let mut closing: Option<OldRow> = None;
    let damaged = "a row is damaged";
    for raw in table.rows() {
        let row: OldRow = raw.read().map_err(|_| damaged)?;
        if closing.is_some() {
            return Err(damaged);
        }
        if facts.is_none() {
            facts = Some(facts_of(&raw).ok_or(damaged)?);
        }
        if row.quantity == CLOSING {
            closing = Some(row);
        } else {
            readings.push(row.kept().ok_or(damaged)?);
        }
    }
    let closing = match closing {
        None => Closing::cut_short(&tally(&readings), RunEnding::CutOff, NOT_CLOSED),
        Some(row) if row.value != Some(readings.len() as f64) => return Err("rows are missing"),
        Some(row) => row.closing(),
    };
    let facts = facts.ok_or("it has no rows")?;
    Ok(RunRecord { facts, planned: Planned::default(), self_test: None, readings, closing })
}

fn facts_of(raw: &Raw<'_>) -> Option<Facts> {
    let old: OldFacts = raw.read().ok()?;
    Some(Facts {
        format: FORMAT,
        module: old.module,
        lot: old.lot,
        run: old.run,
        started: old.started,
        simulated: old.simulated,
        operator: old.operator,
        jig: old.jig,
        firmware: old.firmware,
        script: old.script,
        ..Facts::default()
    })
}

impl OldRow {
    fn kept(self) -> Option<KeptReading> {
        let background = Background {
            budget: match &self.budget {
                None => None,
                Some(text) => Some(budget(text)?),
            },
            limits_from: self.limits_from.map(|words| LimitsFrom::Words { words }),
        };
        let row = Row {
            step: self.step,
            time: None,
            output: self.output,
            position: self.position,
            style: None,
            quantity: self.quantity,
            bound: None,
            value: self.value,
            unit: self.unit,
            uncertainty: self.uncertainty,
            lower_limit: self.lower_limit,
            upper_limit: self.upper_limit,
            verdict: self.verdict,
            blame: self.blame,
            note: self.note,
            calibration: self.calibration,
            risk: self.risk,
            guard_band: self.guard_band,
            outside: self.outside,
            settled_by: self.settled_by,
            repeats: None,
            repeats_failed: None,
            spread: None,
            drift: None,
            drift_uncertainty: None,
        };
        Some(KeptReading { row, background })
    }

    fn closing(self) -> Closing {
        let reason = self.note.strip_prefix("cut short: ").map(str::to_owned);
        Closing {
            verdict: self.verdict,
            blame: self.blame,
            ending: match reason.as_deref() {
                None => RunEnding::Complete,
                Some("stopped by the operator") => RunEnding::Stopped,
                Some("the program ended before the run did") => RunEnding::CutOff,
                Some(_) => RunEnding::Trouble,
            },
            reason,
            steps: 0,
            accepting_risk: None,
            rejecting_risk: None,
            address_found: None,
            command_format_found: None,
            kind_found: None,
            finding: None,
            suspects: None,
        }
    }
}

/// Reads a budget from its cell: `noise 1.25e-5 dof 49; resolution 3.1e-6`. `None` when it is none.
fn budget(text: &str) -> Option<Budget> {
    let mut budget = Budget::default();
    for line in text.split(';').map(str::trim).filter(|line| !line.is_empty()) {
        let mut words = line.split_ascii_whitespace();
        let word = words.next()?;
        let source = *Source::ALL.iter().find(|s| s.word() == word)?;
        let standard: f64 = words.next()?.parse().ok()?;
        let dof = match (words.next(), words.next()) {
            (None, _) => f64::INFINITY,
            (Some("dof"), Some(dof)) => dof.parse().ok()?,
            _ => return None,
        };
        if words.next().is_some() || !(standard.is_finite() && standard >= 0.0 && dof > 0.0) {
            return None;
        }
        budget.add(&Component::type_a(standard, dof).from(source));
    }
    Some(budget)
}

/// The report that such a journal would have become: its frames are length, checksum, kind and a line
/// of the report, and the first that is not whole ends it. `None` when there is nothing to report.
pub fn report_of_journal(bytes: &[u8]) -> Option<Vec<u8>> {
    const CRC: Crc<u32> = Crc::<u32>::new(&CRC_32_ISO_HDLC);
    let mut rest = bytes.strip_prefix(JOURNAL)?;
    let mut header = HEADER.to_vec();
    header.extend(b",calibration,budget,limits_from,risk,guard_band,outside,settled_by\r\n");
    let mut lines = Vec::new();
    while let Some((length, after)) = rest.split_first_chunk::<4>() {
        let Some((crc, after)) = after.split_first_chunk::<4>() else { break };
        let size = u32::from_le_bytes(*length) as usize;
        let Some((framed, after)) = after.split_at_checked(size.saturating_add(1)) else { break };
        let mut digest = CRC.digest();
        digest.update(length);
        digest.update(framed);
        if digest.finalize() != u32::from_le_bytes(*crc) {
            break;
        }
        if let [b'R' | b'C', line @ ..] = framed {
            lines.extend_from_slice(line);
        }
        rest = after;
    }
    (!lines.is_empty()).then(|| [header, lines].concat())
}

#[cfg(test)]
mod tests {
    use super::*;

    /// As the program once wrote it.
    const OLD: &str = "module,lot,run,started,operator,jig,firmware,simulated,script,step,output,\
        position,quantity,value,unit,uncertainty,lower_limit,upper_limit,verdict,blame,note,\
        calibration,budget,limits_from,risk,guard_band,outside,settled_by\r\n\
        P4-017,quay,3,2026-01-05T09:00:00+00:00,\"'=Ines, the \"\"keeper\"\"\",SIM-7,1.0,yes,\
        arrival,\"output 2 to b, by command\",2,b,load_current,0.30000000000000004,A,1.5E-7,-0.5,\
        ,fail,lead,'@seen again,SIM-7 2026-01-05T09:00:00+00:00,\
        noise 7.500e-8 dof 49.0,module sheet,0.0125,1.5E-7,0.0125,\r\n\
        P4-017,quay,3,2026-01-05T09:00:00+00:00,\"'=Ines, the \"\"keeper\"\"\",SIM-7,1.0,yes,\
        arrival,,,,readings,1,1,,,,fail,lead,complete,,,,,,,\r\n";

    #[test]
    fn an_old_report_is_read_with_all_that_it_says() {
        assert!(is_report(OLD.as_bytes()));
        let record = report(OLD.as_bytes()).expect("read");
        assert_eq!((record.facts.module.as_str(), record.facts.run), ("P4-017", 3));
        assert_eq!(record.facts.operator, "=Ines, the \"keeper\"");
        assert_eq!(record.closing.ending, RunEnding::Complete);
        let [kept] = &record.readings[..] else { panic!("{record:?}") };
        assert_eq!((kept.row.value, kept.row.place().as_str()), (Some(0.1 + 0.2), "2b"));
        assert_eq!(kept.row.note, "@seen again");
        let budget = kept.background.budget.expect("a budget");
        assert!((budget.standard() - 7.5e-8).abs() < 1e-12 && (budget.dof() - 49.0).abs() < 1e-9);
    }

    #[test]
    fn lost_rows_of_an_old_report_are_noticed() {
        let lines: Vec<&str> = OLD.split_inclusive("\r\n").collect();
        let without = [lines[0], lines[2]].concat();
        assert_eq!(report(without.as_bytes()), Err("rows are missing"));
        let open = [lines[0], lines[1]].concat();
        let record = report(open.as_bytes()).expect("read");
        assert_eq!(record.closing.ending, RunEnding::CutOff);
        for bad in ["noise", "noise x", "hum 1e-3", "noise 1e-3 49", "noise -1", "noise NaN"] {
            assert_eq!(budget(bad), None, "{bad}");
        }
    }
}
