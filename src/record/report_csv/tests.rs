use super::*;
use crate::record::example::{facts, reading};

#[test]
fn a_report_looks_as_documented() {
    let mut report = header();
    report.extend(reading_line(&facts(), &reading(Verdict::Fail, Some(Blame::Lead))));
    let closing = Closing {
        verdict: Verdict::Fail,
        blame: Some(Blame::Lead),
        readings: 1,
        note: COMPLETE.into(),
    };
    report.extend(closing_line(&facts(), &closing));
    assert_eq!(
        String::from_utf8(report.clone()).expect("text"),
        "module,lot,run,started,operator,jig,firmware,simulated,script,step,output,position,\
         quantity,value,unit,uncertainty,lower_limit,upper_limit,verdict,blame,note,calibration,\
         budget,limits_from,risk,guard_band,outside,settled_by\r\n\
         P4-017,quay,3,2026-01-05T09:00:00+00:00,\"'=Ines, the \"\"keeper\"\"\",SIM-7,1.0,yes,\
         arrival,\"output 2 to b, by command\",2,b,load_current,0.30000000000000004,A,1.5E-7,-0.5,\
         ,fail,lead,'@seen again,SIM-7 2026-01-05T09:00:00+00:00,\
         noise 7.500e-8 dof 49.0,module sheet,0.0125,1.5E-7,0.0125,\r\n\
         P4-017,quay,3,2026-01-05T09:00:00+00:00,\"'=Ines, the \"\"keeper\"\"\",SIM-7,1.0,yes,\
         arrival,,,,readings,1,1,,,,fail,lead,complete,,,,,,,\r\n"
    );
    let read = summarise(&report).expect("a report");
    assert_eq!(read, Summary { facts: facts(), closing, failed: 1, indeterminate: 0 });
}

#[test]
fn a_report_without_its_closing_row_never_passes() {
    let mut report = header();
    report.extend(reading_line(&facts(), &reading(Verdict::Pass, None)));
    let read = summarise(&report).expect("a report");
    assert_eq!(read.closing.verdict, Verdict::Indeterminate);
    assert!(read.closing.note.starts_with(CUT_SHORT));
}

#[test]
fn lost_rows_and_foreign_files_are_noticed() {
    let mut report = header();
    let closing =
        Closing { verdict: Verdict::Pass, blame: None, readings: 1, note: COMPLETE.into() };
    report.extend(closing_line(&facts(), &closing));
    assert_eq!(summarise(&report), Err("rows are missing"));
    assert_eq!(summarise(b""), Err("it is empty"));
    assert_eq!(summarise(b"a,b\r\n1,2\r\n"), Err("its columns are not those of a report"));
    assert_eq!(summarise(&header()), Err("it has no rows"));
}

#[test]
fn reports_of_earlier_versions_are_read() {
    let shorter = |bytes: Vec<u8>| {
        let line = String::from_utf8(bytes).expect("text");
        let at = line.rfind(',').expect("a last column");
        format!("{}\r\n", &line[..at]).into_bytes()
    };
    let mut report = shorter(header());
    report.extend(shorter(reading_line(&facts(), &reading(Verdict::Pass, None))));
    assert_eq!(summarise(&report).expect("a report").closing.readings, 1);
}

#[test]
fn columns_that_a_later_version_adds_do_no_harm() {
    let longer = |bytes: Vec<u8>, more: &str| {
        let line = String::from_utf8(bytes).expect("text");
        line.replace("\r\n", &format!(",{more}\r\n")).into_bytes()
    };
    let mut report = longer(header(), "weather");
    report.extend(longer(reading_line(&facts(), &reading(Verdict::Pass, None)), "fog"));
    assert_eq!(summarise(&report).expect("a report").closing.readings, 1);
}

fn report(rows: usize) -> Vec<u8> {
    let mut bytes = header();
    for _ in 0..rows {
        bytes.extend(reading_line(&facts(), &reading(Verdict::Pass, None)));
    }
    let closing =
        Closing { verdict: Verdict::Pass, blame: None, readings: rows, note: "complete".into() };
    bytes.extend(closing_line(&facts(), &closing));
    bytes
}

fn read(bytes: &[u8]) -> Result<Vec<(usize, Row)>, String> {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("run-001.csv");
    std::fs::write(&path, bytes).unwrap();
    super::rows(&path).map(|(_, rows)| rows).map_err(|e| e.to_string())
}

#[test]
fn rows_hold_what_was_written() {
    let rows = read(&report(2)).unwrap();
    assert_eq!(rows.iter().map(|r| r.0).collect::<Vec<_>>(), [2, 3]);
    let (row, reading) = (&rows[1].1, reading(Verdict::Pass, None));
    assert_eq!((row.value, row.uncertainty), (reading.value, reading.uncertainty));
    assert_eq!((row.lower_limit, row.upper_limit), (reading.lower_limit, reading.upper_limit));
    assert_eq!((row.step.as_str(), row.place().as_str()), (reading.step.as_str(), "2b"));
    assert_eq!(row.note, "@seen again");
    assert_eq!(row.budget.unwrap().to_string(), reading.budget.unwrap().to_string());
}

#[test]
fn a_report_without_budgets_is_read_too() {
    let text = String::from_utf8(report(1)).unwrap();
    let older: String =
        text.lines().map(|l| l.rsplitn(7, ',').last().unwrap().to_owned() + "\r\n").collect();
    let rows = read(older.as_bytes()).unwrap();
    assert_eq!((rows[0].1.budget, rows[0].1.limits_from.as_deref()), (None, None));
    assert_eq!((rows[0].1.risk, rows[0].1.guard_band, rows[0].1.outside), (None, None, None));
}

#[test]
fn a_damaged_cell_is_told_with_its_row() {
    let text = String::from_utf8(report(3)).unwrap();
    let bad = text.replacen("noise ", "hum ", 1);
    let why = read(bad.as_bytes()).unwrap_err();
    assert!(why.contains("row 2 is damaged"), "{why}");
}
