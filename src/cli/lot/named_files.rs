//! The sheets and scripts that a lot names: whether they are there, told at the line that names them.

use crate::cli::command_result::{CommandError, OrExit};
use crate::lot::order::FILE;
use crate::lot::standing::Lot;
use crate::quantity::located::Located;
use crate::quantity::source::Source;
use crate::quantity::table::Table;
use crate::script::shipped;

/// Makes sure that all of them can be read.
///
/// # Errors
/// That of the first that cannot.
pub fn check(lot: &Lot) -> Result<(), CommandError> {
    let source = Source::read(&lot.folder.path().join(FILE)).or_bad_input()?;
    read_all(&source).or_bad_input()
}

fn read_all(source: &Source) -> Result<(), Located> {
    let mut top = source.table()?;
    named(&mut top, "kind", |name| shipped::module_sheet(name).map(drop))?;
    named(&mut top, "script", |name| shipped::script(name).map(drop))?;
    named(&mut top, "settling_script", |name| shipped::script(name).map(drop))?;
    named(&mut top, "loads", |name| shipped::load_sheet(name).map(drop))?;
    match top.take("sample") {
        Some(sample) => {
            named(&mut sample.table()?, "script", |name| shipped::script(name).map(drop))
        }
        None => Ok(()),
    }
}

fn named(
    table: &mut Table<'_>,
    key: &'static str,
    read: impl Fn(&str) -> Result<(), Located>,
) -> Result<(), Located> {
    let Some(value) = table.take(key) else { return Ok(()) };
    read(&value.line_of_text()?).map_err(|error| {
        // The place in that file is part of the sentence; the mark is at the lot's own line.
        let told = error.to_string();
        value.error(told.lines().next().unwrap_or_default())
    })
}
