//! `musterbench lot open`: opens a lot.

use super::which::{Records, keep_sample};
use crate::cli::command_result::{CommandResult, Exit, OrExit, bad_input};
use crate::cli::{output, word};
use crate::lot::modules_csv;
use crate::lot::order::{FILE, MOST, Order, Parcel, SETTLING, Sample, Which};
use crate::lot::serials::Serials;
use crate::lot::standing::Lot;
use crate::plain::plain;
use crate::quantity::source::Source;
use crate::record::durable;
use crate::record::folder::LotFolder;
use crate::record::names;
use crate::record::plain_file;
use crate::report::lot_text::sample;
use crate::script::shipped;
use jiff::civil::Date;
use std::path::PathBuf;

/// The script that each module goes through, where none is named.
const MUSTER: &str = "muster";

/// The script that a sample goes through.
const LONG: &str = "thorough";

/// Its arguments.
#[derive(Debug, clap::Args)]
pub struct Given {
    /// Name of the lot: letters, digits, spaces, dots, - and _
    #[arg(value_name = "LOT")]
    lot: String,

    /// The kind of its modules: a module sheet, or the name of a shipped one
    #[arg(long, value_name = "FILE", default_value = shipped::usual_kind())]
    kind: String,

    /// How many modules were ordered
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=i64::from(MOST)))]
    count: u32,

    /// Who sells them
    #[arg(long = "from", value_name = "TEXT")]
    seller: Option<String>,

    /// Number or name of the order
    #[arg(long, value_name = "TEXT")]
    order: Option<String>,

    /// When they were ordered, such as 2026-03-02
    #[arg(long, value_name = "DATE", value_parser = word::date)]
    ordered: Option<Date>,

    /// The last day on which modules can be sent back
    #[arg(long, value_name = "DATE", value_parser = word::date)]
    return_by: Option<Date>,

    /// What came when, such as 2026-03-09=20; again for each parcel
    #[arg(long = "parcel", value_name = "DATE=N", value_parser = parcel)]
    parcels: Vec<Parcel>,

    /// What stands on the modules of this batch
    #[arg(long, value_name = "TEXT")]
    marks: Option<String>,

    /// The script that each module goes through
    #[arg(long, value_name = "F", default_value = MUSTER)]
    script: String,

    /// Load sheet, where they are tested on real loads
    #[arg(long, value_name = "FILE")]
    loads: Option<String>,

    /// What the modules are called, {} for the number, such as pier-{} [default: the lot's name and a number]
    #[arg(long, value_name = "PATTERN", conflicts_with = "serials")]
    serial: Option<String>,

    /// What the modules are called: a file, a line each
    #[arg(long, value_name = "FILE")]
    serials: Option<PathBuf>,

    /// So many of them, drawn now, go through the script `thorough` too: switches and slider are proved on them
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=i64::from(MOST)))]
    sample: Option<u32>,

    /// This one goes through `thorough` too; can be given again
    #[arg(long, value_name = "SERIAL", conflicts_with = "sample")]
    sample_serial: Vec<String>,

    /// The number that the sample is drawn from [default: one by the clock]
    #[arg(long, value_name = "N", requires = "sample")]
    seed: Option<u32>,

    /// Who opens it; kept with the sample
    #[arg(long, value_name = "NAME", default_value = "nobody named", hide_default_value = true)]
    by: String,

    /// A module that is known to be good, by which the bench is tried
    #[arg(long, value_name = "SERIAL")]
    reference: Option<String>,

    #[command(flatten)]
    records: Records,
}

/// `2026-03-09=20`.
fn parcel(text: &str) -> Result<Parcel, String> {
    let (came, count) = text
        .split_once('=')
        .ok_or_else(|| "say when it came and how many, such as 2026-03-09=20".to_owned())?;
    let count = count.parse().ok().filter(|count| (1..=MOST).contains(count));
    let count = count.ok_or_else(|| format!("a parcel holds 1 to {MOST} modules"))?;
    Ok(Parcel { came: word::date(came)?, count })
}

/// Carries the command out.
///
/// # Errors
/// When the lot is there already, or what is said of it does not go together.
pub fn run(given: &Given) -> CommandResult {
    names::check("lot", &given.lot).or_bad_input()?;
    shipped::module_sheet(&given.kind).or_bad_input()?;
    let order = Order {
        seller: given.seller.clone(),
        order: given.order.clone(),
        ordered: given.ordered,
        return_by: given.return_by,
        parcels: given.parcels.clone(),
        marks: given.marks.clone(),
        loads: given.loads.clone(),
        reference: given.reference.clone(),
        sample: which(given).map(|which| Sample { which, script: LONG.into() }),
        serials: serials(given)?,
        ..Order::of(&given.lot, &given.kind, given.count, &given.script, SETTLING)
    };
    order.serials.check(order.count).map_err(bad_input)?;
    if let Some(reference) = &order.reference {
        names::check("module", reference).or_bad_input()?;
    }
    let text = order.to_toml();
    // What is written must be what is read: a line of words too long or with a control character is told here.
    Order::parse(&Source::new(FILE, &text)).or_bad_input()?;

    let folder = LotFolder::open(&given.records.path, &given.lot)?;
    let path = folder.path().join(FILE);
    if path.exists() {
        return Err(bad_input(format!(
            "{} is there already: correct it by hand, or give the lot another name",
            path.display()
        )));
    }
    durable::create(folder.disk(), &path, text.as_bytes())?;
    let mut lot = Lot::of(folder)?;
    keep_sample(&mut lot, &given.by)?;
    modules_csv::write(&lot)?;
    let first = lot.modules.first().map(|module| module.serial.as_str()).unwrap_or_default();
    let last = lot.modules.last().map(|module| module.serial.as_str()).unwrap_or_default();
    output::print(&format!(
        "Lot {}: {} of {}, serials {} to {}.\n{}What was ordered stands in {}; it may be corrected by hand.\n",
        plain(&given.lot),
        order.count,
        plain(&order.kind),
        plain(first),
        plain(last),
        sample(&lot),
        plain(&path.display().to_string()),
    ))?;
    Ok(Exit::Pass)
}

/// Which modules are of the sample.
fn which(given: &Given) -> Option<Which> {
    if !given.sample_serial.is_empty() {
        return Some(Which::Named(given.sample_serial.clone()));
    }
    // The lowest digits of the clock: nobody can choose them.
    let by_clock = || jiff::Timestamp::now().as_nanosecond().rem_euclid(100_000) as u32;
    let seed = || given.seed.unwrap_or_else(by_clock);
    given.sample.map(|count| Which::Drawn { count, seed: seed() })
}

fn serials(given: &Given) -> Result<Serials, crate::cli::command_result::CommandError> {
    let Some(file) = &given.serials else {
        let pattern = given.serial.clone().unwrap_or_else(|| format!("{}-{{}}", given.lot));
        return Ok(Serials::Pattern(pattern));
    };
    let bytes = plain_file::read(file).or_bad_input()?;
    let text = String::from_utf8(bytes).map_err(|_| {
        bad_input(format!(
            "{} is not UTF-8: save it as UTF-8 text, a serial a line",
            file.display()
        ))
    })?;
    let lines = text.lines().map(str::trim).filter(|line| !line.is_empty());
    Ok(Serials::List(lines.map(str::to_owned).collect()))
}
