//! A script from its TOML.

use super::module_sheet::FORMATS;
use super::plan::{By, LoadChoice, Measured, Polarity, Rule};
use super::steps::{Outputs, Script, Verb, WrittenStep};
use crate::quantity::located::Located;
use crate::quantity::source::Source;
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use crate::quantity::unit::duration;
use crate::quantity::value::Value;
use crate::signal::target::{Clamp, Position};
use std::path::Path;
use uom::si::f64::Time;

/// The words that begin a step: each step has exactly one of them.
const VERBS: [&str; 11] = [
    "ask", "feed", "loads", "wait", "send", "operate", "measure", "try", "switches", "lamp",
    "repeat",
];

const POSITIONS: [(&str, Position); 2] = [("a", Position::A), ("b", Position::B)];
const ON_OFF: [(&str, bool); 2] = [("on", true), ("off", false)];
const A_STEP: &str = "a step such as { feed = \"on\" }";

impl Script {
    /// Reads a script from a file.
    ///
    /// # Errors
    /// When the file cannot be read or something in it is wrong.
    pub fn read(path: &Path) -> Result<Script, Located> {
        let name = path.file_stem().map_or_else(String::new, |s| s.to_string_lossy().into_owned());
        Script::parse(&name, Source::read(path)?)
    }

    /// Reads a script from its text.
    ///
    /// # Errors
    /// When something in it is wrong.
    pub fn parse(name: &str, source: Source) -> Result<Script, Located> {
        let mut top = source.table()?;
        let title = top.need("title", "one line that says what it is for")?.line_of_text()?;
        let rule = match top.take("rule") {
            None => Rule::Guarded,
            Some(v) => v.choice(&[("guarded", Rule::Guarded), ("simple", Rule::Simple)])?,
        };
        let calibration_max_days = calibration_max_age(top.take("calibration_max_age"))?;
        let address = match top.take("address") {
            None => None,
            Some(v) => Some((v.integer(1..=2044)? as u16, v.span())),
        };
        let format = match top.take("format") {
            None => None,
            Some(v) => Some((v.choice(&FORMATS)?, v.span())),
        };
        let steps = steps(top.need("steps", "a list of steps")?)?;
        top.finish()?;
        let name = name.to_owned();
        Ok(Script {
            source: source.clone(),
            name,
            title,
            rule,
            calibration_max_days,
            address,
            format,
            steps,
        })
    }
}

/// How many days old a calibration may be unless the script says otherwise: a year (common
/// practice, no source).
const CALIBRATION_MAX_DAYS: u32 = 365;

/// An age in days: `"365 days"`.
fn calibration_max_age(value: Option<Value<'_>>) -> Result<u32, Located> {
    const WHAT: &str = "an age in days, from \"1 day\" to \"3650 days\"";
    let Some(value) = value else { return Ok(CALIBRATION_MAX_DAYS) };
    let text = value.text(WHAT)?;
    text.strip_suffix(" days")
        .or(text.strip_suffix(" day"))
        .and_then(|number| number.parse().ok())
        .filter(|days| (1..=3650).contains(days))
        .ok_or_else(|| value.error(format!("`calibration_max_age` is {WHAT}")))
}

fn steps(value: Value<'_>) -> Result<Vec<WrittenStep>, Located> {
    let empty = value.error(format!("`{}` holds no step", value.key()));
    let steps = value.list("a list of steps such as [{ feed = \"on\" }]")?;
    if steps.is_empty() {
        return Err(empty);
    }
    steps.into_iter().map(step).collect()
}

fn step(value: Value<'_>) -> Result<WrittenStep, Located> {
    let (span, line) = (value.span(), value.line());
    if !value.is_table() {
        return Err(value.error(format!("a member of `steps` is {A_STEP}")));
    }
    let mut table = value.table()?;
    let verbs: Vec<&str> = VERBS.into_iter().filter(|v| table.has(v)).collect();
    let verb = match verbs.as_slice() {
        [one] => *one,
        [] => {
            if let Some((span, verb)) = table.nearest_to(&VERBS) {
                let message = format!("no step begins so; did you mean `{verb}`?");
                return Err(table.source().error(span, message));
            }
            let list = VERBS.map(|v| format!("`{v}`")).join(", ");
            return Err(table.error(format!("a step needs one of {list}")));
        }
        [one, two, ..] => {
            return Err(table.error(format!(
                "a step does one thing, but this one has `{one}` and `{two}`: make it two steps"
            )));
        }
    };
    let verb = match verb {
        "ask" => ask(&mut table)?,
        "feed" => feed(&mut table)?,
        "loads" => loads(&mut table)?,
        "wait" => wait(&mut table)?,
        "send" => send(&mut table)?,
        "operate" => operate(&mut table)?,
        "measure" => measure(&mut table)?,
        "try" => try_out(&mut table)?,
        "switches" => switches(&mut table)?,
        "lamp" => lamp(&mut table)?,
        _ => repeat(&mut table)?,
    };
    table.finish()?;
    Ok(WrittenStep { span, line, verb })
}

fn ask(table: &mut Table<'_>) -> Result<Verb, Located> {
    #[derive(Clone, Copy)]
    enum Task {
        Prepare,
        Slider,
        Other,
    }
    let tasks = [("prepare", Task::Prepare), ("slider", Task::Slider), ("other", Task::Other)];
    match table.need("ask", "what to ask for")?.choice(&tasks)? {
        Task::Prepare => {
            let auxiliary = table.take("auxiliary").map(|v| v.choice(&ON_OFF)).transpose()?;
            Ok(Verb::Prepare { auxiliary: auxiliary.unwrap_or(false) })
        }
        Task::Slider => {
            let to = table.need("auxiliary", "where the slider goes, \"on\" or \"off\"")?;
            Ok(Verb::Slider(to.choice(&ON_OFF)?))
        }
        Task::Other => Ok(Verb::ByHand(table.need("say", "what to do, in words")?.line_of_text()?)),
    }
}

fn feed(table: &mut Table<'_>) -> Result<Verb, Located> {
    let on = table.need("feed", "\"on\" or \"off\"")?.choice(&ON_OFF)?;
    let polarity = table.take("polarity");
    let compare = table.take("compare");
    if !on {
        return match polarity.or(compare) {
            None => Ok(Verb::FeedOff),
            Some(v) => Err(v.error(format!("`{}` goes with feed = \"on\" only", v.key()))),
        };
    }
    let polarities = [("normal", Polarity::Normal), ("inverted", Polarity::Inverted)];
    let polarity = polarity.map(|v| v.choice(&polarities)).transpose()?;
    let compare = compare.map(|v| v.truth()).transpose()?;
    Ok(Verb::FeedOn {
        polarity: polarity.unwrap_or(Polarity::Normal),
        compare: compare.unwrap_or(false),
    })
}

fn loads(table: &mut Table<'_>) -> Result<Verb, Located> {
    let choices = [("jig", LoadChoice::Jig), ("real", LoadChoice::Real), ("off", LoadChoice::None)];
    let choice = table.need("loads", "\"jig\", \"real\" or \"off\"")?.choice(&choices)?;
    let clamps = if choice == LoadChoice::None {
        Some(Vec::new())
    } else {
        table.take("at").map(clamps).transpose()?.flatten()
    };
    Ok(Verb::Loads { choice, clamps })
}

/// `"all"` (`None`), `"1a"`, `["1a", "2b"]`, or `"a"` for that position of every output.
pub(crate) fn clamps(value: Value<'_>) -> Result<Option<Vec<Clamp>>, Located> {
    const WHAT: &str = "\"all\", or clamps such as \"1a\" or [\"1a\", \"2b\"]";
    let mut found: Vec<Clamp> = Vec::new();
    let alone = !value.is_list();
    for member in value.one_or_more() {
        let text = member.text(WHAT)?;
        if text == "all" && alone {
            return Ok(None);
        }
        let clamp = Clamp::ALL.into_iter().find(|c| c.to_string() == text).ok_or_else(|| {
            let text = crate::quantity::located::quoted(text);
            member.error(format!("there is no clamp {text}: they are 1a, 1b, 2a to 4b, or \"all\""))
        })?;
        if found.contains(&clamp) {
            return Err(member.error(format!("clamp {clamp} is named twice")));
        }
        found.push(clamp);
    }
    Ok(Some(found))
}

fn wait(table: &mut Table<'_>) -> Result<Verb, Located> {
    let time: Time =
        table.need("wait", "a time such as \"500 ms\"")?.quantity_within("1 ms", "3600 s")?;
    Ok(Verb::Wait(duration(time)))
}

fn send(table: &mut Table<'_>) -> Result<Verb, Located> {
    let positions = positions(table.need("send", "\"a\" or \"b\", or a list of them")?)?;
    Ok(Verb::Send { positions, outputs: outputs(table)? })
}

fn operate(table: &mut Table<'_>) -> Result<Verb, Located> {
    let positions = positions(table.need("operate", "\"a\" or \"b\", or a list of them")?)?;
    let ways = [
        ("command", By::Command),
        ("contact", By::Contact),
        ("command against contact", By::CommandAgainstContact),
    ];
    let by = table.take("by").map(|v| v.choice(&ways)).transpose()?.unwrap_or(By::Command);
    Ok(Verb::Operate { positions, outputs: outputs(table)?, by })
}

fn positions(value: Value<'_>) -> Result<Vec<Position>, Located> {
    let empty = value.error(format!("`{}` names no position", value.key()));
    let found: Vec<Position> =
        value.one_or_more().iter().map(|v| v.choice(&POSITIONS)).collect::<Result<_, _>>()?;
    if found.is_empty() { Err(empty) } else { Ok(found) }
}

/// `"all"` (also when the key is missing), `2`, `[1, 3]` or `"2 to 4"`.
fn outputs(table: &mut Table<'_>) -> Result<Outputs, Located> {
    const WHAT: &str = "\"all\", an output such as 2, a list such as [1, 3] or \"2 to 4\"";
    let Some(value) = table.take("outputs") else { return Ok(Outputs::All) };
    if value.is_integer() || value.is_list() {
        let empty = value.error(format!("`outputs` is {WHAT}"));
        let mut found: Vec<u8> = Vec::new();
        for member in value.one_or_more() {
            let output = member.integer(1..=4)? as u8;
            if found.contains(&output) {
                return Err(member.error(format!("output {output} is named twice")));
            }
            found.push(output);
        }
        return if found.is_empty() { Err(empty) } else { Ok(Outputs::These(found)) };
    }
    let text = value.text(WHAT)?;
    if text == "all" {
        return Ok(Outputs::All);
    }
    let range = text.split_once("to").and_then(|(first, last)| {
        let (first, last) = (first.trim().parse::<u8>().ok()?, last.trim().parse::<u8>().ok()?);
        (1 <= first && first < last && last <= 4).then(|| (first..=last).collect())
    });
    range.map(Outputs::These).ok_or_else(|| value.error(format!("`outputs` is {WHAT}")))
}

fn measure(table: &mut Table<'_>) -> Result<Verb, Located> {
    // `None` is the hook-up, which is an action of its own.
    let quantities = [
        ("hook-up", None),
        ("idle current", Some(Measured::IdleCurrent)),
        ("auxiliary current", Some(Measured::AuxiliaryCurrent)),
        ("feed voltage", Some(Measured::FeedVoltage)),
        ("load voltage", Some(Measured::LoadVoltage)),
        ("load total", Some(Measured::LoadTotal)),
        ("load start", Some(Measured::LoadStart)),
    ];
    let Some(what) = table.need("measure", "what to measure")?.choice(&quantities)? else {
        return Ok(Verb::HookUp);
    };
    let over = match table.take("over") {
        None if what == Measured::LoadStart => Time::from_si(0.0),
        None => Time::from_si(0.5),
        Some(value) if what == Measured::LoadStart => {
            return Err(
                value.error("a load's start takes the time that its sheet says: leave `over` out")
            );
        }
        Some(value) => value.quantity_within("20 ms", "60 s")?,
    };
    Ok(Verb::Measure { what, over: duration(over) })
}

fn try_out(table: &mut Table<'_>) -> Result<Verb, Located> {
    table.need("try", "\"both polarities\"")?.choice(&[("both polarities", ())])?;
    Ok(Verb::BothPolarities)
}

fn switches(table: &mut Table<'_>) -> Result<Verb, Located> {
    table.need("switches", "\"every\"")?.choice(&[("every", ())])?;
    Ok(Verb::EverySwitch)
}

fn lamp(table: &mut Table<'_>) -> Result<Verb, Located> {
    let words = [("watch", true), ("judge", false)];
    let watch = table.need("lamp", "\"watch\" or \"judge\"")?.choice(&words)?;
    if watch {
        return Ok(Verb::WatchLamp);
    }
    let blinks = table.take("blinks").map(|v| v.integer(1..=50)).transpose()?;
    Ok(Verb::JudgeLamp { blinks: blinks.unwrap_or(0) as u32 })
}

fn repeat(table: &mut Table<'_>) -> Result<Verb, Located> {
    let times = table.need("repeat", "how often")?.integer(1..=1000)? as u32;
    let steps = steps(table.need("steps", "the steps to repeat")?)?;
    Ok(Verb::Repeat { times, steps })
}
