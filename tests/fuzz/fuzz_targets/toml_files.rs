//! Files that people write: scripts, module sheets, load sheets, address plans, calibrations. Whatever
//! stands in them, they are read or refused in a sentence; what is read expands to a plan that can be
//! checked and told.
#![no_main]

use libfuzzer_sys::fuzz_target;
use musterbench::calibration::file::Calibration;
use musterbench::layout::plan::AddressPlan;
use musterbench::load::sheet::LoadSheet;
use musterbench::quantity::source::Source;
use musterbench::script::check::check;
use musterbench::script::expand::expand;
use musterbench::script::module_sheet::ModuleSheet;
use musterbench::script::steps::Script;
use std::path::Path;
use std::sync::LazyLock;

const PIER: &str = include_str!("../../../fixtures/modules/pier-four.toml");
const BASIN: &str = include_str!("../../../fixtures/loads/harbour-basin.toml");
const ARRIVAL: &str = include_str!("../../../fixtures/scripts/arrival.toml");

static SHEET: LazyLock<ModuleSheet> =
    LazyLock::new(|| ModuleSheet::parse(&Source::shipped("pier", PIER)).expect("sound"));
static LOADS: LazyLock<LoadSheet> =
    LazyLock::new(|| LoadSheet::parse(&Source::shipped("basin", BASIN)).expect("sound"));
static SCRIPT: LazyLock<Script> =
    LazyLock::new(|| Script::parse("arrival", Source::shipped("arrival", ARRIVAL)).expect("sound"));

fuzz_target!(|bytes: &[u8]| {
    let Some((kind, text)) = bytes.split_first() else { return };
    let source = match Source::from_bytes("fuzzed", text) {
        Ok(source) => source,
        Err(refused) => return drop(refused.to_string()),
    };
    let refused = match kind % 5 {
        0 => Script::parse("fuzzed", source).and_then(|script| {
            let plan = expand(&script, &SHEET, Some(&LOADS), None)?;
            check(&plan).iter().for_each(|found| drop(found.located(&script).to_string()));
            Ok(())
        }),
        1 => ModuleSheet::parse(&source).and_then(|sheet| {
            let plan = expand(&SCRIPT, &sheet, Some(&LOADS), None)?;
            let _ = check(&plan);
            Ok(())
        }),
        2 => LoadSheet::parse(&source).and_then(|loads| {
            let plan = expand(&SCRIPT, &SHEET, Some(&loads), None)?;
            let _ = check(&plan);
            Ok(())
        }),
        3 => AddressPlan::parse(source, Path::new("/nowhere")).map(drop),
        _ => Calibration::parse(&source).map(drop),
    };
    if let Err(sentence) = refused {
        assert!(!sentence.to_string().is_empty());
    }
});
