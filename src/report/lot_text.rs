//! Lots and their modules, for people.

use super::screen::Screen;
use super::table::{Column, table};
use super::wrap::wrap;
use crate::lot::fate::Fate;
use crate::lot::modules_csv::newest_in_brief;
use crate::lot::standing::{Lot, Module};
use crate::plain::plain;

/// The lots, a line each, lines ended.
pub fn lots(lots: &[Lot], screen: Screen) -> String {
    if lots.is_empty() {
        return "No lot is open: open one with `musterbench lot open`.\n".into();
    }
    let columns = [
        Column::Code("lot"),
        Column::Code("kind"),
        Column::Number("modules"),
        Column::Words("fates"),
        Column::Words("return by"),
        Column::Words(""),
    ];
    let row = |lot: &Lot| {
        [
            plain(&lot.name()),
            plain(&lot.order.kind),
            lot.order.count.to_string(),
            counts(lot),
            lot.order.return_by.map(|day| day.to_string()).unwrap_or_default(),
            lot.closed().map_or(String::new(), |_| "closed".into()),
        ]
    };
    table(screen, 0, columns, lots.iter().map(row))
}

/// How many modules have each fate: `12 accepted, 1 on hold`.
pub fn counts(lot: &Lot) -> String {
    let some = lot.counts().into_iter().filter(|(_, count)| *count > 0);
    some.map(|(fate, count)| format!("{count} {fate}")).collect::<Vec<_>>().join(", ")
}

/// A lot with all its modules, lines ended.
pub fn lot(lot: &Lot, screen: Screen) -> String {
    let order = &lot.order;
    let width = usize::from(screen.width);
    let mut text =
        format!("Lot {}: {} of {}\n", plain(&lot.name()), order.count, plain(&order.kind));
    if lot.modules.iter().any(Module::is_simulated) {
        text.push_str("SIMULATED: no real module was tested\n");
    }
    let dates = [("ordered", order.ordered), ("return by", order.return_by)];
    let dates = dates.iter().filter_map(|(what, day)| Some((*what, day.as_ref()?.to_string())));
    let words = [("from", &order.seller), ("order", &order.order), ("marks", &order.marks)];
    let words = words.iter().filter_map(|(what, text)| Some((*what, plain(text.as_ref()?))));
    let told: Vec<String> =
        words.chain(dates).map(|(what, text)| format!("{what} {text}")).collect();
    if !told.is_empty() {
        text.push_str(&(wrap(&told.join(", "), width, 0) + "\n"));
    }
    if let Some(closed) = lot.closed() {
        let (by, reason) = (plain(&closed.by), plain(&closed.reason));
        text.push_str(&(wrap(&format!("Closed by {by}: {reason}"), width, 0) + "\n"));
    }
    let (came, count) = (order.came(), order.count);
    if came != count {
        text.push_str(&format!("{came} of {count} have come.\n"));
    }
    text.push_str(&format!("{}\n", counts(lot)));
    text.push_str(&wrap(&sample(lot), width, 0));
    text.push('\n');
    let columns = [
        Column::Code("serial"),
        Column::Code("fate"),
        Column::Number("tries"),
        Column::Words("why"),
        Column::Words("newest check"),
        Column::Words("where"),
    ];
    text + &table(screen, 0, columns, lot.modules.iter().map(row))
}

/// The sample of a lot, and who of it has passed its script; ended where there is one.
pub fn sample(lot: &Lot) -> String {
    let Some(script) = lot.order.sample.as_ref().map(|sample| plain(&sample.script)) else {
        return String::new();
    };
    let of = |has_passed| {
        let those = lot.modules.iter().filter(move |module| module.sample == Some(has_passed));
        let serials: Vec<String> = those.map(|module| plain(&module.serial)).collect();
        (!serials.is_empty()).then(|| serials.join(", "))
    };
    let passed = of(true).map(|serials| format!("passed by {serials}"));
    let open = of(false).map(|serials| format!("not yet by {serials}"));
    let told: Vec<String> = passed.into_iter().chain(open).collect();
    format!("Sample, to pass {script}: {}.\n", told.join("; "))
}

fn row(module: &Module) -> [String; 6] {
    let struck = module.ruling.not_counted.len();
    let tries = match struck {
        0 => module.tries.len().to_string(),
        _ => format!("{}, {struck} not counted", module.tries.len()),
    };
    let foreign = if module.is_ordered { "" } else { " (not of the order)" };
    let whereabouts = module.whereabouts.as_ref().map_or(String::new(), |(is, at)| match at {
        Some(at) => format!("{is}, {}", plain(at)),
        None => is.to_string(),
    });
    let why = match module.ruling.fate {
        Fate::Waiting if module.tries.is_empty() => String::new(),
        _ => plain(&module.ruling.reason),
    };
    [
        plain(&module.serial),
        module.ruling.fate.to_string(),
        tries,
        format!("{why}{foreign}"),
        newest_in_brief(module).unwrap_or_default(),
        whereabouts,
    ]
}

/// A module in a line: `pier-07: on hold; Ines decided: cracked housing`.
pub fn module_line(module: &Module) -> String {
    let Module { serial, ruling, .. } = module;
    let mut line = format!("{}: {}; {}", plain(serial), ruling.fate, plain(&ruling.reason));
    if let Some((is, at)) = &module.whereabouts {
        let at = at.as_deref().map(|at| format!(", {}", plain(at))).unwrap_or_default();
        line.push_str(&format!("; {is}{at}"));
    }
    line
}
