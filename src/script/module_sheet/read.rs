//! A module sheet from its TOML.

use super::{ModuleSheet, PositionNames, Rhythm, SwitchBank};
use crate::quantity::located::Located;
use crate::quantity::range::{Limits, Toleranced};
use crate::quantity::source::Source;
use crate::quantity::table::Table;
use crate::quantity::unit::Units;
use crate::quantity::value::Value;
use crate::signal::dcc::Numbering;
use crate::signal::target::Format;
use std::path::Path;
use uom::si::f64::{ElectricCurrent, ElectricPotential, ElectricalResistance, Ratio, Time};

pub(crate) const FORMATS: [(&str, Format); 2] =
    [("dcc", Format::Dcc), ("trinary", Format::Trinary)];

/// The ways of counting, as a file names them.
pub(crate) const NUMBERINGS: [(&str, Numbering); 2] =
    [("rcn-213", Numbering::Rcn213), ("from-group-zero", Numbering::FromGroupZero)];

/// The feed voltages that a module may be made for, in volts: no logic lives below (common practice, no
/// source), and above is more than README.md and docs/jig.md allow.
const FEED_V: (f64, f64) = (5.0, 24.0);

/// Wires that must be apart have at least so many ohms between them, unless the sheet says
/// otherwise: less than 2 mA flows at the voltages of a bench (common practice, no source).
const APART_OHM: f64 = 10_000.0;

impl ModuleSheet {
    /// Reads a module sheet from a file.
    ///
    /// # Errors
    /// When the file cannot be read or something in it is wrong.
    pub fn read(path: &Path) -> Result<ModuleSheet, Located> {
        ModuleSheet::parse(&Source::read(path)?)
    }

    /// Reads a module sheet from its text.
    ///
    /// # Errors
    /// When something in it is wrong.
    pub fn parse(source: &Source) -> Result<ModuleSheet, Located> {
        let mut top = source.table()?;
        let kind = slug(&top.need("kind", "the kind's name, such as \"pier-four\"")?)?;
        let title = top.need("title", "one line for people")?.line_of_text()?;
        let mut commands = top.need_table("commands", "how the module is commanded")?;
        let mut switches = top.need_table("switches", "the bank of address switches")?;
        let mut feed = top.need_table("feed", "what it must draw from its feed")?;
        let auxiliary = top.take("auxiliary").map(Value::table).transpose()?;
        let mut outputs = top.need_table("outputs", "what its outputs must do")?;
        let mut contacts = top.need_table("contacts", "what its contact inputs must do")?;
        let mut lamp = top.need_table("lamp", "the rhythm of its status lamp")?;
        let production_spread = top.take("production").map(Value::table).transpose()?;
        let production_spread = production_spread.map(production).transpose()?;
        top.finish()?;

        let try_address = integer(&mut switches, "try_address", 1..=2044)? as u16;
        let lamp_inverted = lamp.take("inverted").map(Value::table).transpose()?;
        let lamps = lamp.take("lamps").map_or(Ok(1), |v| v.integer(1..=2))? as u8;
        let sheet = ModuleSheet {
            origin: source.origin(),
            kind,
            title,
            outputs: integer(&mut outputs, "count", 1..=4)? as u8,
            packets_needed: integer(&mut commands, "packets_needed", 1..=2)? as u8,
            repeat: integer(&mut commands, "repeat", 1..=20)? as u8,
            direction_of_a: integer(&mut commands, "direction_of_a", 0..=1)? as u8,
            numbering: match commands.take("numbering") {
                None => Numbering::default(),
                Some(value) => value.choice(&NUMBERINGS)?,
            },
            switches: switch_bank(switches)?,
            try_address,
            feed: feed_voltage(&need(&mut feed, "voltage", "16 V ±5 %")?)?,
            polarity_matters: truth(&mut feed, "polarity_matters")?,
            try_inverted: feed.take("try_inverted").map_or(Ok(true), |v| v.truth())?,
            keeps_position: truth(&mut outputs, "keep_position")?,
            boot: need(&mut feed, "boot", "800 ms")?.quantity_within("1 ms", "30 s")?,
            charge: limits(&mut feed, "charge")?,
            idle_current: limits(&mut feed, "idle_current")?,
            auxiliary_current: auxiliary.map(auxiliary_current).transpose()?,
            response: bounded(&mut outputs, "response")?,
            contact_response: bounded(&mut contacts, "response")?,
            contact_closure: need(&mut contacts, "closure", "150 ms")?
                .quantity_within("1 ms", "10 s")?,
            gap: no_overlap(bounded(&mut outputs, "gap")?),
            bounce: bounded(&mut outputs, "bounce")?,
            contact_resistance: limits(&mut outputs, "contact_resistance")?,
            coil_current: limits(&mut feed, "coil_current")?,
            positions: position_names(&mut outputs)?,
            rest: need(&mut outputs, "rest", "400 ms")?.quantity_within("0 ms", "60 s")?,
            feed_resistance: limits(&mut feed, "resistance")?,
            feed_to_commons: apart(&mut feed, "to_commons")?,
            between_commons: apart(&mut outputs, "between_commons")?,
            lamps,
            lamp_current: lamp_current(&mut lamp, lamps)?,
            lamp: rhythm(&mut lamp)?,
            lamp_inverted: lamp_inverted.map(inverted).transpose()?,
            output_rating: need(&mut outputs, "rating", "2 A")?.quantity()?,
            production_spread,
        };
        if sheet.repeat < sheet.packets_needed {
            return Err(commands.error(format!(
                "`repeat` is {}, but the module acts only after {} packets",
                sheet.repeat, sheet.packets_needed
            )));
        }
        for table in [commands, feed, outputs, contacts, lamp] {
            table.finish()?;
        }
        Ok(sheet)
    }
}

/// A name that can stand in a file name: lower-case letters, digits, hyphens between them.
fn slug(value: &Value<'_>) -> Result<String, Located> {
    let what = "a short name of lower-case letters, digits and hyphens, such as \"pier-four\"";
    let text = value.text(what)?;
    let good = |c: char| c.is_ascii_lowercase() || c.is_ascii_digit() || c == '-';
    if (1..=40).contains(&text.len())
        && text.chars().all(good)
        && !text.starts_with('-')
        && !text.ends_with('-')
    {
        Ok(text.to_owned())
    } else {
        Err(value.error(format!("`{}` is {what}", value.key())))
    }
}

fn need<'s>(table: &mut Table<'s>, key: &'static str, example: &str) -> Result<Value<'s>, Located> {
    table.need(key, &format!("for example \"{example}\""))
}

fn limits<Q: Units>(table: &mut Table<'_>, key: &'static str) -> Result<Limits<Q>, Located> {
    need(table, key, Q::RANGE_EXAMPLE)?.limits()
}

/// Limits on the resistance between wires that must be apart; they need not be stated.
fn apart(
    table: &mut Table<'_>,
    key: &'static str,
) -> Result<Limits<ElectricalResistance>, Located> {
    let usual = Limits { lower: Some(ElectricalResistance::from_si(APART_OHM)), upper: None };
    table.take(key).map_or(Ok(usual), |value| value.limits())
}

/// Limits with an upper one: how long to wait and look depends on it.
fn bounded<Q: Units>(table: &mut Table<'_>, key: &'static str) -> Result<Limits<Q>, Located> {
    let value = need(table, key, Q::RANGE_EXAMPLE)?;
    let limits = value.limits::<Q>()?;
    match limits.upper {
        Some(upper) if upper.si() <= 10.0 => Ok(limits),
        Some(_) => Err(value.error(format!("`{}` may be at most 10 s", value.key()))),
        None => Err(value.error(format!(
            "`{}` needs an upper limit, such as \"{}\": the run must know how long to look",
            value.key(),
            Q::RANGE_EXAMPLE
        ))),
    }
}

/// Extra-low voltage only.
fn feed_voltage(value: &Value<'_>) -> Result<Toleranced<ElectricPotential>, Located> {
    let voltage: Toleranced<ElectricPotential> = value.toleranced()?;
    if voltage.lower.si() < FEED_V.0 || voltage.upper.si() > FEED_V.1 {
        let (least, most) = FEED_V;
        return Err(value.error(format!(
            "`{}` lies within {least} V and {most} V, tolerance included: extra-low voltage only",
            value.key()
        )));
    }
    Ok(voltage)
}

/// Below zero both positions are closed at once. No sheet can allow that.
fn no_overlap(gap: Limits<Time>) -> Limits<Time> {
    Limits { lower: gap.lower.or(Some(Time::from_si(0.0))), ..gap }
}

fn integer(
    table: &mut Table<'_>,
    key: &'static str,
    range: std::ops::RangeInclusive<i64>,
) -> Result<i64, Located> {
    let what = format!("a whole number from {} to {}", range.start(), range.end());
    table.need(key, &what)?.integer(range)
}

fn truth(table: &mut Table<'_>, key: &'static str) -> Result<bool, Located> {
    table.need(key, "true or false")?.truth()
}

fn switch_bank(mut table: Table<'_>) -> Result<SwitchBank, Located> {
    let what = "what each switch adds when it is on, switch 1 first, such as [1, 2, 4, 8]";
    let list = table.need("weights", what)?;
    let whole = list.error("`weights` has 1 to 20 switches");
    let weights: Vec<u16> = list
        .list(what)?
        .iter()
        .map(|w| w.integer(0..=2048).map(|w| w as u16))
        .collect::<Result<_, _>>()?;
    if !(1..=20).contains(&weights.len()) {
        return Err(whole);
    }
    let format_switch = match table.take("format_switch") {
        None => None,
        Some(value) => {
            let switch = value.integer(1..=weights.len() as i64)? as u8;
            if weights[usize::from(switch) - 1] != 0 {
                return Err(value.error(format!(
                    "switch {switch} chooses the format, so its weight must be 0"
                )));
            }
            Some(switch)
        }
    };
    let formats = FORMATS.map(|f| f.0);
    let which = crate::quantity::value::alternatives(&formats);
    let (format_when_on, format_when_off) = if format_switch.is_some() {
        let on = table.need("format_when_on", &which)?.choice(&FORMATS)?;
        let off = table.need("format_when_off", &which)?.choice(&FORMATS)?;
        (on, off)
    } else {
        let only = table.need("format", &which)?.choice(&FORMATS)?;
        (only, only)
    };
    let usual_format = match table.take("usual_format") {
        None => format_when_on,
        Some(value) => {
            let usual = value.choice(&FORMATS)?;
            if usual != format_when_on && usual != format_when_off {
                return Err(value.error("no place of its switches chooses this format"));
            }
            usual
        }
    };
    let base = integer(&mut table, "base", -10_000..=10_000)? as i32;
    let step = integer(&mut table, "step", 1..=64)? as u16;
    table.finish()?;
    Ok(SwitchBank {
        weights,
        format_switch,
        format_when_on,
        format_when_off,
        usual_format,
        base,
        step,
    })
}

/// Both or none: one name alone would leave the reader to guess the other.
fn position_names(outputs: &mut Table<'_>) -> Result<PositionNames, Located> {
    let Some(value) = outputs.take("positions") else { return Ok(PositionNames::default()) };
    let example = "a word or two, such as \"straight\"";
    let mut table = value.table()?;
    let [a, b] = [table.need("a", example)?, table.need("b", example)?];
    let names = [position_name(&a)?, position_name(&b)?];
    if names[0] == names[1] {
        return Err(b.error("both positions have the same name: nobody could tell them apart"));
    }
    table.finish()?;
    Ok(PositionNames(Some(names)))
}

/// Short enough for a line of 80 columns that has more to say.
fn position_name(value: &Value<'_>) -> Result<String, Located> {
    const LONGEST: usize = 16;
    let name = value.line_of_text()?;
    if name.chars().count() > LONGEST {
        return Err(value.error(format!("a position's name has at most {LONGEST} characters")));
    }
    Ok(name)
}

fn auxiliary_current(
    mut table: Table<'_>,
) -> Result<Limits<uom::si::f64::ElectricCurrent>, Located> {
    let current = limits(&mut table, "current")?;
    table.finish()?;
    Ok(current)
}

/// More than the whole width is no production that anybody would sell.
fn production(mut table: Table<'_>) -> Result<Ratio, Located> {
    let spread = need(&mut table, "spread", "15 %")?.quantity_within("0.1 %", "100 %")?;
    table.finish()?;
    Ok(spread)
}

fn rhythm(table: &mut Table<'_>) -> Result<Rhythm, Located> {
    Ok(Rhythm { rate: limits(table, "rate")?, duty: limits(table, "duty")? })
}

/// What the lamp draws; it need not be stated.
fn lamp_current(lamp: &mut Table<'_>, lamps: u8) -> Result<Limits<ElectricCurrent>, Located> {
    let Some(value) = lamp.take("current") else { return Ok(Limits { lower: None, upper: None }) };
    if lamps > 1 {
        return Err(value.error(
            "of two lamps that light in turn the feed current tells only what they differ by: leave `current` out"
                .to_owned(),
        ));
    }
    value.limits()
}

fn inverted(mut table: Table<'_>) -> Result<Rhythm, Located> {
    let rhythm = rhythm(&mut table)?;
    table.finish()?;
    Ok(rhythm)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::shipped;
    use crate::signal::target::Position;

    #[test]
    fn the_feed_is_extra_low_voltage() {
        let text = shipped::MODULE_SHEETS[0].text;
        let with_feed = |voltage: &str| {
            let text = text.replace("\"16 V ±5 %\"", &format!("\"{voltage}\""));
            assert!(text.contains(voltage));
            ModuleSheet::parse(&Source::new("test.toml", &text))
        };
        for sound in ["16 V", "22 V ±5 %", "6 V ±10 %"] {
            assert!(with_feed(sound).is_ok(), "{sound}");
        }
        for wrong in ["230 V ±5 %", "24 V ±5 %", "5 V ±10 %", "0 V"] {
            let error = with_feed(wrong).unwrap_err().to_string();
            assert!(error.contains("extra-low voltage only"), "{error}");
        }
    }

    #[test]
    fn a_gap_without_a_lower_limit_allows_no_overlap() {
        let text = shipped::MODULE_SHEETS[0].text;
        let with_gap = |gap: &str| {
            let text = text.replace("gap = \"0.5 to 8 ms\"", &format!("gap = \"{gap}\""));
            assert!(text.contains(gap));
            ModuleSheet::parse(&Source::new("test.toml", &text)).unwrap().gap.lower.map(Units::si)
        };
        assert_eq!(with_gap("at most 8 ms"), Some(0.0));
        assert_eq!(with_gap("0.5 to 8 ms"), Some(0.000_5));
    }

    #[test]
    fn a_production_is_stated_or_not() {
        let text = shipped::MODULE_SHEETS[0].text;
        let with = |more: &str| {
            let sheet = ModuleSheet::parse(&Source::new("test.toml", &format!("{text}\n{more}")));
            sheet.map(|s| s.production_spread.map(Units::si)).map_err(|e| e.to_string())
        };
        assert_eq!(with(""), Ok(None));
        assert_eq!(with("[production]\nspread = \"15 %\""), Ok(Some(0.15)));
        for wrong in ["[production]", "[production]\nspread = \"0 %\"", "[production]\nmean = 1"] {
            assert!(with(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn positions_have_two_names_or_none() {
        let text = shipped::MODULE_SHEETS[0].text;
        let without: String = text
            .lines()
            .filter(|line| !line.starts_with("positions"))
            .map(|l| format!("{l}\n"))
            .collect();
        let with = |key: &str| {
            let text = without.replace("[outputs]", &format!("[outputs]\n{key}"));
            let sheet = ModuleSheet::parse(&Source::new("test.toml", &text));
            sheet.map(|s| s.positions.of(Position::B)).map_err(|e| e.to_string())
        };
        assert_eq!(with("").as_deref(), Ok("b"));
        let named = with("positions = { a = \"lowered\", b = \"raised\" }");
        assert_eq!(named.as_deref(), Ok("b (raised)"));
        for wrong in [
            "positions = { a = \"lowered\" }",
            "positions = { a = \"same\", b = \"same\" }",
            "positions = { a = \"\", b = \"raised\" }",
            "positions = { a = \"much longer than a line can hold\", b = \"raised\" }",
            "positions = { a = \"lowered\", b = \"raised\", c = \"half\" }",
            "positions = [\"lowered\", \"raised\"]",
        ] {
            assert!(with(wrong).is_err(), "{wrong}");
        }
    }

    #[test]
    fn the_numbering_is_rcn_213_unless_told() {
        let text = shipped::MODULE_SHEETS[0].text;
        let with = |key: &str| {
            let text = text.replace("direction_of_a = 0", &format!("direction_of_a = 0\n{key}"));
            ModuleSheet::parse(&Source::new("test.toml", &text)).unwrap().numbering
        };
        assert_eq!(with(""), Numbering::Rcn213);
        assert_eq!(with("numbering = \"rcn-213\""), Numbering::Rcn213);
        assert_eq!(with("numbering = \"from-group-zero\""), Numbering::FromGroupZero);
    }
}
