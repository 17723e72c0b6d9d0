//! Keeps what was decided, and what became of the modules.

use super::decision::Decision;
use super::decisions;
use super::error::LotError;
use super::modules_csv;
use super::standing::Lot;

/// Keeps decisions, looks anew what becomes of the modules, and writes it down.
///
/// # Errors
/// When something cannot be read or written.
pub fn keep(lot: &mut Lot, decided: &[Decision]) -> Result<(), LotError> {
    let _lock = lot.folder.lock()?;
    if !decided.is_empty() {
        decisions::append(&lot.folder, decided)?;
    }
    lot.look()?;
    modules_csv::write(lot)?;
    Ok(())
}
