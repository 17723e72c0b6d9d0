//! `musterbench lot close`: closes a lot.

use super::which::{Because, Records, keep, keep_sample};
use crate::cli::command_result::{CommandResult, Exit, bad_input};
use crate::cli::output;
use crate::lot::decision::What;
use crate::lot::fate::Fate;
use crate::lot::standing::Lot;
use crate::plain::plain;
use crate::report::lot_text::counts;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Name of the lot
    #[arg(value_name = "LOT")]
    lot: String,

    #[command(flatten)]
    because: Because,

    /// Close it though modules wait, are to be repeated, or are on hold
    #[arg(long)]
    unfinished: bool,

    #[command(flatten)]
    records: Records,
}

/// `pier-03 has`, `pier-03 and pier-07 have`.
fn in_words(serials: &[&str]) -> String {
    match serials {
        [] => String::new(),
        [one] => format!("{} has", plain(one)),
        [first @ .., last] => format!("{} and {} have", plain(&first.join(", ")), plain(last)),
    }
}

/// Carries the command out.
///
/// # Errors
/// When it is closed already, or something is left to do.
pub fn run(given: &Given) -> CommandResult {
    let mut lot = Lot::read(&given.records.path, &given.lot)?;
    let name = plain(&lot.name());
    if let Some(closed) = lot.closed() {
        return Err(bad_input(format!("the lot {name} was closed by {} already", closed.by)));
    }
    let is_left = |fate: Fate| !matches!(fate, Fate::Accepted | Fate::Rejected);
    let left = lot.modules.iter().filter(|module| is_left(module.ruling.fate)).count();
    if left > 0 && !given.unfinished {
        return Err(bad_input(format!(
            "the lot {name} is not finished ({}): go on with it, or give --unfinished",
            counts(&lot)
        )));
    }
    keep_sample(&mut lot, "lot.toml")?;
    let left: Vec<&str> = lot.sample_left().iter().map(|module| module.serial.as_str()).collect();
    if let (Some(sample), false, false) = (&lot.order.sample, left.is_empty(), given.unfinished) {
        return Err(bad_input(format!(
            "of the sample of the lot {name} {} not passed {} yet: test {} by `musterbench test --lot {name} \
             --module-sheet {} --script {}`, or give --unfinished",
            in_words(&left),
            plain(&sample.script),
            if left.len() == 1 { "it" } else { "each" },
            plain(&lot.order.kind),
            plain(&sample.script),
        )));
    }
    let decided = given.because.decision(What::Close { last: lot.last_runs() })?;
    keep(&mut lot, &[decided])?;
    output::print(&format!("Lot {name} is closed: {}. Later runs are checks.\n", counts(&lot)))?;
    Ok(Exit::Pass)
}
