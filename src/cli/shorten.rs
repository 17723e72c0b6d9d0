//! `musterbench script shorten`: a script that finds the same in less time.

use super::command_result::{CommandResult, Exit, OrExit, bad_input};
use super::finds::known;
use super::out_file::OutFile;
use super::{interrupt, output, word};
use crate::finds::shorten::proposal::{Asked, NoProposal, Stage, propose};
use crate::finds::shorten::tried::Kinds;
use crate::report::counting::Counting;
use crate::report::finds::proposal;
use crate::script::shipped;
use crate::simulated_bench::faults::{Fault, catalogue};
use std::path::PathBuf;

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// The script: a file, or the name of a shipped one
    #[arg(value_name = "FILE")]
    script: String,

    /// Write the proposed script to this file
    #[arg(long, value_name = "FILE")]
    out: PathBuf,

    /// Write over the file if it is there already
    #[arg(long)]
    replace: bool,

    /// This fault must not be lost (`musterbench faults` lists them); can be given again [default: all that
    /// the script finds]
    #[arg(long = "keep", value_name = "NAME", value_parser = known)]
    keep: Vec<&'static Fault>,

    /// Module sheet: a file, or the name of a shipped one; given again, the script is for all of them
    #[arg(long = "module-sheet", value_name = "FILE", default_value = shipped::usual_kind())]
    module_sheets: Vec<String>,

    /// Load sheet: a file, or the name of a shipped one
    #[arg(long, value_name = "FILE")]
    loads: Option<String>,

    /// First address at which the module should answer [default: the script's; else none is wanted, and
    /// that of the module sheet is tried first]
    #[arg(long, value_name = "N", value_parser = word::whole_number, allow_negative_numbers = true)]
    address: Option<i64>,

    /// Draw benches and modules from this number
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = word::seed)]
    seed: u64,
}

/// Carries the command out.
///
/// # Errors
/// What is wrong with the script or a sheet, or keeps the file from being written.
pub fn run(given: &Given) -> CommandResult {
    let out = OutFile { path: &given.out, replace: given.replace, own: None };
    out.target()?;
    let script = shipped::script(&given.script).or_bad_input()?;
    let sheets = given.module_sheets.iter().map(|name| shipped::module_sheet(name));
    let kinds = Kinds {
        modules: sheets.collect::<Result<_, _>>().or_bad_input()?,
        loads: given.loads.as_deref().map(shipped::load_sheet).transpose().or_bad_input()?,
        address: given.address,
    };
    let stop = interrupt::flag()?;
    let all: Vec<&'static Fault> = catalogue().collect();
    let asked = Asked { script: &script, kinds: &kinds, keep: &given.keep, seed: given.seed };
    let mut bar = (Stage::Given, Counting::of(words(Stage::Given)));
    let proposed = propose(&asked, &all, stop, &mut |stage, n, all| {
        if bar.0 != stage {
            bar = (stage, Counting::of(words(stage)));
        }
        bar.1.at(n, all);
    });
    drop(bar);
    let proposed = match proposed {
        Ok(proposed) => proposed,
        Err(NoProposal::Stopped) => {
            output::tell(&NoProposal::Stopped.to_string());
            return Ok(Exit::Stopped);
        }
        Err(NoProposal::Wrong(why)) => return Err(why).or_bad_input(),
        Err(why) => return Err(bad_input(why.to_string())),
    };
    let told = proposal::text(&script, &kinds, &proposed, output::screen());
    if !proposed.proof.holds() {
        output::print(&told)?;
        output::tell("no shorter script was found that loses nothing: none is written");
        return Ok(Exit::Indeterminate);
    }
    out.write(&proposal::toml(&script, &kinds, given.seed, &proposed))?;
    output::print(&told)?;
    Ok(Exit::Pass)
}

fn words(stage: Stage) -> &'static str {
    match stage {
        Stage::Given => "runs of the given script",
        Stage::Changes => "changes",
        Stage::Proof => "fresh benches",
        Stage::Alone => "runs without a step",
    }
}
