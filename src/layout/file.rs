//! The plan's file, changed in one step: either the whole change is in it, or it stands as it was.

use super::error::LayoutError;
use super::plan::{AddressPlan, folder_of};
use crate::quantity::source::Source;
use crate::record::disk::Disk;
use crate::record::{durable, folder};
use std::path::Path;

/// What a file is to hold, and what is told of it.
pub struct Draft<T> {
    /// Its new text.
    pub text: String,
    /// What is told.
    pub told: T,
}

/// Changes a plan's file: `make` is given the plan, and the text where there is a file, and says what it is to
/// hold. On an error the file stands untouched.
///
/// # Errors
/// When the plan is not in order, `make` refuses, or the file cannot be written.
pub fn change<T>(
    file: &Path,
    make: impl FnOnce(&AddressPlan, Option<&str>) -> Result<Draft<T>, LayoutError>,
) -> Result<T, LayoutError> {
    // Behind a link it is the plan that is replaced, not the link.
    let target = file.canonicalize().unwrap_or_else(|_| file.to_path_buf());
    let folder = Some(folder_of(&target)).filter(|f| !f.as_os_str().is_empty());
    let folder = folder.unwrap_or(Path::new("."));
    if !folder.is_dir() {
        let folder = folder.display();
        return Err(LayoutError::Refused(format!("there is no folder {folder}: make it first")));
    }
    // Two that change it at once must not lose each other's change.
    let _lock = folder::lock(folder)?;
    let old = old_text(file)?;
    let source = old.clone().unwrap_or_else(|| Source::new(file.display().to_string(), ""));
    let plan = AddressPlan::parse(source, folder_of(file))?.sound()?;
    let Draft { text, told } = make(&plan, old.as_ref().map(Source::text))?;
    durable::replace(&Disk::default(), &target, text.as_bytes())?;
    Ok(told)
}

/// The plan that a text is, as if it stood in the file; `None` where it is none.
pub fn read_back(file: &Path, text: &str) -> Option<AddressPlan> {
    let source = Source::new(file.display().to_string(), text);
    AddressPlan::parse(source, folder_of(file)).ok().filter(|plan| plan.wrong.is_empty())
}

/// What stands in the file; `None` when there is none.
fn old_text(file: &Path) -> Result<Option<Source>, LayoutError> {
    match std::fs::metadata(file) {
        Err(e) if e.kind() == std::io::ErrorKind::NotFound => Ok(None),
        // It would be replaced in spite of that, since it is the folder that counts then.
        Ok(about) if about.is_file() && about.permissions().readonly() => {
            Err(LayoutError::Refused(format!(
                "{} is read-only: make it writable, or give another plan with --layout",
                file.display()
            )))
        }
        _ => Ok(Some(Source::read(file)?)),
    }
}
