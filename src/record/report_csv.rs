//! The report of one run: RFC 4180 CSV, one row a reading, and a last row that closes it.

use super::cell;
use super::error::{RecordError, io_error};
use crate::judge::reading::{Blame, Reading, Verdict};
use crate::judge::remedy::Remedy;
use crate::judge::summary::Summary as Tally;
use std::path::Path;

/// The columns, in order. They are fixed; new ones go last.
pub const COLUMNS: [&str; 28] = [
    "module",
    "lot",
    "run",
    "started",
    "operator",
    "jig",
    "firmware",
    "simulated",
    "script",
    "step",
    "output",
    "position",
    "quantity",
    "value",
    "unit",
    "uncertainty",
    "lower_limit",
    "upper_limit",
    "verdict",
    "blame",
    "note",
    "calibration",
    "budget",
    "limits_from",
    "risk",
    "guard_band",
    "outside",
    "settled_by",
];

/// How many of them the first version had: its reports are read too.
const OLDEST: usize = 21;

/// How many of the columns say the same in every row of a report: the run's facts.
pub const FACTS: usize = 9;

/// What the closing row has in its `quantity` column; its value is how many readings the report
/// holds, so that a report that lost rows is noticed.
pub const CLOSING: &str = "readings";

/// The note of a closing row when every step was carried out.
pub const COMPLETE: &str = "complete";

/// How the note of a closing row begins when the run was cut short.
pub const CUT_SHORT: &str = "cut short: ";

/// What is true of a whole run.
#[derive(Clone, Debug, PartialEq, Eq)]
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
    pub simulated: bool,
    /// Name of the script.
    pub script: String,
}

impl Facts {
    /// The first cells of every row.
    pub fn cells(&self) -> [String; FACTS] {
        [
            cell::text(&self.module),
            cell::text(&self.lot),
            self.run.to_string(),
            self.started.clone(),
            cell::text(&self.operator),
            cell::text(&self.jig),
            cell::text(&self.firmware),
            cell::yes_no(self.simulated),
            cell::text(&self.script),
        ]
    }

    /// Reads them back from the first cells of a row; `None` when they are not facts.
    pub fn from_cells(row: &csv::StringRecord) -> Option<Self> {
        let text = |i: usize| row.get(i).map(|c| cell::bare(c).into_owned());
        Some(Facts {
            module: text(0)?,
            lot: text(1)?,
            run: row.get(2)?.parse().ok()?,
            started: row.get(3)?.into(),
            operator: text(4)?,
            jig: text(5)?,
            firmware: text(6)?,
            simulated: match row.get(7)? {
                "yes" => true,
                "no" => false,
                _ => return None,
            },
            script: text(8)?,
        })
    }
}

/// How a run came out, as its closing row tells it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Closing {
    /// The verdict on the module.
    pub verdict: Verdict,
    /// Whose fault, when it does not pass.
    pub blame: Option<Blame>,
    /// How many readings the run took.
    pub readings: usize,
    /// [`COMPLETE`], or [`CUT_SHORT`] and why.
    pub note: String,
}

/// One CSV line with its line end.
pub fn line<I, T>(cells: I) -> Vec<u8>
where
    I: IntoIterator<Item = T>,
    T: AsRef<[u8]>,
{
    let mut writer =
        csv::WriterBuilder::new().terminator(csv::Terminator::CRLF).from_writer(Vec::new());
    // Writing to memory cannot fail.
    writer.write_record(cells).expect("a line in memory");
    writer.into_inner().expect("a line in memory")
}

/// The header line.
pub fn header() -> Vec<u8> {
    line(COLUMNS)
}

/// The line of a reading.
pub fn reading_line(facts: &Facts, reading: &Reading) -> Vec<u8> {
    let shown = |what: Option<String>| what.unwrap_or_default();
    let cells = [
        cell::text(&reading.step),
        shown(reading.output.map(|o| o.to_string())),
        shown(reading.position.map(|p| p.to_string())),
        reading.quantity.name().into(),
        cell::number(reading.value),
        reading.quantity.unit().into(),
        cell::number(reading.uncertainty),
        cell::number(reading.lower_limit),
        cell::number(reading.upper_limit),
        reading.verdict.to_string(),
        shown(reading.blame.map(|b| b.to_string())),
        cell::text(&reading.note),
        cell::text(reading.backing.word()),
        shown(reading.budget.map(|b| b.to_string())),
        cell::text(&reading.limits_from),
        cell::number(reading.risk),
        cell::number(reading.guard_band),
        cell::number(reading.outside),
        shown(reading.settled_by.as_ref().map(|r| cell::text(&told_in(reading, r)))),
    ];
    line(facts.cells().into_iter().chain(cells))
}

/// What would settle a reading, its amounts with their unit.
fn told_in(reading: &Reading, remedy: &Remedy) -> String {
    remedy.words(|value| format!("{value:.2e} {}", reading.quantity.unit()))
}

/// The line that closes a report.
pub fn closing_line(facts: &Facts, closing: &Closing) -> Vec<u8> {
    let mut cells: [String; COLUMNS.len() - FACTS] = Default::default();
    cells[3] = CLOSING.into();
    cells[4] = closing.readings.to_string();
    cells[5] = "1".into();
    cells[9] = closing.verdict.to_string();
    cells[10] = closing.blame.map(|b| b.to_string()).unwrap_or_default();
    cells[11] = cell::text(&closing.note);
    line(facts.cells().into_iter().chain(cells))
}

/// What a report holds, in short.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Summary {
    /// The facts of its run.
    pub facts: Facts,
    /// How it came out. Of a report without its closing row: worked out from the rows that are
    /// there, and cut short.
    pub closing: Closing,
    /// How many readings fail.
    pub failed: usize,
    /// How many are indeterminate.
    pub indeterminate: usize,
}

/// Reads a report in short.
///
/// # Errors
/// When it cannot be read, or is no report of ours.
pub fn summary(path: &Path) -> Result<Summary, RecordError> {
    let bytes = std::fs::read(path).map_err(io_error("read", path))?;
    summarise(&bytes)
        .map_err(|why| RecordError::Damaged { path: path.to_path_buf(), why: why.into() })
}

/// Reads the bytes of a report in short.
///
/// # Errors
/// Why it is no report of ours.
pub fn summarise(bytes: &[u8]) -> Result<Summary, &'static str> {
    let mut tally = Tally::default();
    let mut facts = None;
    let mut closing = None;
    let mut reader = csv::ReaderBuilder::new().has_headers(false).flexible(true).from_reader(bytes);
    let mut rows = reader.records().map(|row| row.map_err(|_| "it is no CSV file"));
    let header = rows.next().ok_or("it is empty")??;
    let known = header.len().clamp(OLDEST, COLUMNS.len());
    if !header.iter().take(known).eq(COLUMNS.into_iter().take(known)) {
        return Err("its columns are not those of a report");
    }
    for row in rows {
        let row = row?;
        if closing.is_some() || row.len() < OLDEST {
            return Err("a row is damaged");
        }
        facts = facts.or(Some(Facts::from_cells(&row).ok_or("a row is damaged")?));
        let (verdict, blame) = judged(&row).ok_or("a row is damaged")?;
        if &row[12] == CLOSING {
            let readings = row[13].parse().map_err(|_| "a row is damaged")?;
            let note = cell::bare(&row[20]).into_owned();
            closing = Some(Closing { verdict, blame, readings, note });
        } else {
            tally.count(verdict, blame);
        }
    }
    let facts = facts.ok_or("it has no rows")?;
    let closing = closing.unwrap_or_else(|| cut_short(&tally, "the closing row is missing"));
    if closing.readings != tally.readings {
        return Err("rows are missing");
    }
    Ok(Summary { facts, closing, failed: tally.failed, indeterminate: tally.indeterminate })
}

/// Verdict and blame of a row; `None` when it is damaged.
fn judged(row: &csv::StringRecord) -> Option<(Verdict, Option<Blame>)> {
    let blame = match row.get(19)? {
        "" => None,
        name => Some(blame(name)?),
    };
    Some((verdict(row.get(18)?)?, blame))
}

fn verdict(name: &str) -> Option<Verdict> {
    [Verdict::Pass, Verdict::Indeterminate, Verdict::Fail]
        .into_iter()
        .find(|v| v.to_string() == name)
}

fn blame(name: &str) -> Option<Blame> {
    [Blame::Module, Blame::Setting, Blame::Lead, Blame::Load, Blame::Jig, Blame::Unsure]
        .into_iter()
        .find(|b| b.to_string() == name)
}

/// Counts the line of one reading; `None` when it is damaged.
pub fn count_line(tally: &mut Tally, line: &[u8]) -> Option<()> {
    let mut reader = csv::ReaderBuilder::new().has_headers(false).from_reader(line);
    let (verdict, blame) = judged(&reader.records().next()?.ok()?)?;
    tally.count(verdict, blame);
    Some(())
}

/// The closing of a run that did not come to its end; it never passes.
pub fn cut_short(tally: &Tally, why: &str) -> Closing {
    Closing {
        verdict: tally.verdict(false),
        blame: tally.blame(),
        readings: tally.readings,
        note: format!("{CUT_SHORT}{why}"),
    }
}

#[cfg(test)]
#[path = "report_csv/tests.rs"]
mod tests;
