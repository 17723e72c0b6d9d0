use super::*;
use crate::quantity::source::Source;
use crate::script::address::set_to;
use crate::script::module_sheet::ModuleSheet;
use crate::signal::telegram::highest_address;

fn sheet(text: &str) -> ModuleSheet {
    ModuleSheet::parse(&Source::new("sheet.toml", text)).unwrap()
}

fn set(sheet: &ModuleSheet, first: i64, format: Format) -> BankSetting {
    let (address, switches) = set_to(sheet, first, format).unwrap();
    BankSetting { switches, count: sheet.switches.weights.len() as u8, address, format }
}

#[test]
fn every_single_switch_the_groups_beside_and_the_other_format_are_tried() {
    let sheet = sheet(include_str!("../../../../fixtures/modules/pier-four.toml"));
    let list = candidates(&sheet, set(&sheet, 181, Format::Dcc));
    let has = |first, format| list.iter().any(|c| c.first == first && c.format == format);
    assert!(has(181, Format::Trinary));
    assert!(has(177, Format::Dcc) && has(185, Format::Dcc));
    // Group 46 is switches 3 (2), 4 (4) and 8 (40): without the first, 44, without the last, 6.
    assert!(has(173, Format::Dcc) && has(21, Format::Dcc));
    assert!(!has(181, Format::Dcc));
    assert!(list.len() <= 16, "{}", list.len());
}

#[test]
fn nothing_beyond_the_addresses_of_the_format_is_tried() {
    let sheet = sheet(include_str!("../../../../fixtures/modules/jetty-two.toml"));
    for candidate in candidates(&sheet, set(&sheet, 1, Format::Trinary)) {
        assert!(candidate.first >= 1);
        assert!(candidate.first < highest_address(candidate.format, sheet.numbering));
    }
}
