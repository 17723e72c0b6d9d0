//! Pages, written to files or printed.

use super::Given;
use crate::cli::command_result::{CommandError, CommandResult, Exit, OrExit};
use crate::cli::out_file::OutFile;
use crate::cli::output;
use crate::label::page::{as_html, test_page};
use crate::label::sheet::Sheet;
use crate::label::svg::OWN;
use crate::plain::plain;
use crate::report::planned_modules::json;
use serde::Serialize;
use std::path::{Path, PathBuf};

/// How they are to be printed.
pub const HOW: &str =
    "Print at 100 %, not made to fit the page: `label --test-page` shows whether it is so.";

/// The test page of a sheet.
#[derive(Serialize)]
struct Test<'a> {
    sheet: &'a str,
    places: usize,
    files: Vec<String>,
    pages: Option<Vec<String>>,
}

/// Prints the test page.
///
/// # Errors
/// When something is wrong in the sheet, or the page cannot be written.
pub fn test(given: &Given) -> CommandResult {
    let sheet = Sheet::named(&given.sheet).or_bad_input()?;
    let pages = vec![test_page(&sheet)];
    let files = write(given, &sheet, "Test page", &pages)?;
    let (name, places) = (given.sheet.as_str(), sheet.places());
    let text = match (given.json, files.is_empty()) {
        (true, is_printed) => {
            json(&Test { sheet: name, places, files, pages: is_printed.then_some(pages) })
        }
        (false, true) => as_html(&sheet, "Test page", &pages),
        (false, false) => format!("Test page of {}: {}\n{HOW}\n", plain(name), files.join(", ")),
    };
    output::print_as(given.json || given.out.is_none(), &text)?;
    Ok(Exit::Pass)
}

/// Writes the pages where `--out` says; the files.
///
/// # Errors
/// When one is in the way, or cannot be written.
pub fn write(
    given: &Given,
    sheet: &Sheet,
    title: &str,
    pages: &[String],
) -> Result<Vec<String>, CommandError> {
    let Some(out) = &given.out else { return Ok(Vec::new()) };
    let put = |path: &Path, text: &str| {
        OutFile { path, replace: given.replace, own: Some(OWN) }.write(text)?;
        Ok::<_, CommandError>(plain(&path.display().to_string()))
    };
    if !out.extension().is_some_and(|ending| ending.eq_ignore_ascii_case("svg")) {
        return Ok(vec![put(out, &as_html(sheet, title, pages))?]);
    }
    let several = pages.len() > 1;
    let numbered = |number| if several { with_number(out, number) } else { out.clone() };
    (1..).zip(pages).map(|(number, page)| put(&numbered(number), page)).collect()
}

/// `spring-2.svg`.
fn with_number(path: &Path, number: usize) -> PathBuf {
    let stem = path.file_stem().unwrap_or_default().to_string_lossy();
    path.with_file_name(format!("{stem}-{number}.svg"))
}
