//! Journals as they are found after a crash. Any bytes are a journal or none; what a damaged one gives
//! is part of what was written, and never a pass that cannot be looked up.
#![no_main]

use libfuzzer_sys::fuzz_target;
use musterbench::judge::reading::Verdict;
use musterbench::record::journal::parse;
use musterbench::record::run_record::RunEnding;

fuzz_target!(|bytes: &[u8]| {
    let Some(contents) = parse(bytes) else { return };
    let (read, closed) = (contents.readings.len(), contents.closing.is_some());
    let lost = contents.lost;
    let Some(record) = contents.record("fuzzed") else { return };
    assert_eq!(record.readings.len(), read);
    if lost > 0 || !closed {
        assert_ne!(record.closing.verdict, Verdict::Pass);
        assert_ne!(record.closing.ending, RunEnding::Complete);
    }
    // What is found can be written as a report.
    let report = record.report();
    let _ = record.facts_file(&report).to_json();
});
