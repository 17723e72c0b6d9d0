//! The examples in the description of the file formats are what it says they are.

use musterbench::layout::{self, plan::AddressPlan};
use musterbench::load::sheet::LoadSheet;
use musterbench::quantity::source::Source;
use musterbench::script::check;
use musterbench::script::expand;
use musterbench::script::module_sheet::ModuleSheet;
use musterbench::script::steps::Script;
use std::path::Path;

fn example(first_line: &str) -> Source {
    let text = include_str!("../../docs/file-formats.md");
    let begin = format!("```toml\n# {first_line}\n");
    let (_, rest) = text.split_once(&begin).expect(first_line);
    let (block, _) = rest.split_once("\n```\n").expect("the end of the example");
    Source::new(first_line, block)
}

#[test]
fn examples_read_and_fit_together() {
    let script = Script::parse("example", example("script")).unwrap_or_else(|e| panic!("{e}"));
    let module = ModuleSheet::parse(&example("module sheet")).unwrap_or_else(|e| panic!("{e}"));
    let loads = LoadSheet::parse(&example("load sheet")).unwrap_or_else(|e| panic!("{e}"));
    let plan = expand(&script, &module, Some(&loads), None).unwrap_or_else(|e| panic!("{e}"));
    assert_eq!(check::check(&plan), []);
    let layout = AddressPlan::parse(example("address plan"), Path::new(""));
    let layout = layout.unwrap_or_else(|e| panic!("{e}"));
    assert_eq!((layout.modules.len(), layout::check::check(&layout)), (2, Vec::new()));
}

/// Every key of the shipped module sheets is described.
#[test]
fn every_shipped_key_is_described() {
    let text = include_str!("../../docs/file-formats.md");
    for shipped in musterbench::script::shipped::MODULE_SHEETS {
        for line in shipped.text.lines() {
            if let Some((key, _)) = line.split_once(" = ").filter(|(k, _)| !k.contains('#')) {
                assert!(text.contains(&format!("{key} = ")), "{key} is not described");
            }
        }
    }
}
