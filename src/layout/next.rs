//! The next addresses that are free.

use super::check::Register;
use super::on_feed::on_feed;
use crate::script::address::addresses;
use crate::script::module_sheet::ModuleSheet;
use crate::script::setting::called;
use crate::signal::dcc::Numbering;
use crate::signal::target::Format;

/// The lowest first address from `from` on, else the lowest of all, that a kind can be set to and on
/// which no module listens. Figures are counted in `counted`.
pub fn next_free(
    register: &Register<'_>,
    sheet: &ModuleSheet,
    format: Format,
    counted: Numbering,
    from: u16,
) -> Option<u16> {
    let outputs = u16::from(sheet.outputs);
    let figure = |address: u16| called(format, sheet.numbering, address, counted);
    let is_free = |address: u16| {
        figure(address).is_some()
            && on_feed(format, sheet.numbering, address).is_some_and(|o| !register.is_taken(o))
    };
    let mut free = addresses(sheet, format)
        .into_iter()
        .filter(|first| (*first..first + outputs).all(is_free))
        .filter_map(figure)
        .peekable();
    let lowest = free.peek().copied();
    free.find(|first| *first >= from).or(lowest)
}
