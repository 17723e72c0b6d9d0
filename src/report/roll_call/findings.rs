//! What a roll-call means, in sentences.

use super::called::named;
use crate::judge::reading::Verdict;
use crate::plain::plain;
use crate::report::amount::amount;
use crate::roll_call::answer::{Contacts, Module, RollCall, Sense, Short, Silence};
use crate::roll_call::candidates::Why;
use crate::script::address::switches_in_words;
use crate::script::module_sheet::ModuleSheet;

/// What was found, and what to do about it.
pub(super) fn findings(roll: &RollCall, sheet: &ModuleSheet) -> (Vec<String>, Vec<String>) {
    let mut found = Vec::new();
    let mut to_do = Vec::new();
    if let Some(silence) = &roll.silence {
        silent(silence, roll, &mut found, &mut to_do);
    }
    if let Some(own) = roll.own() {
        where_it_is(own, roll, sheet, &mut found, &mut to_do);
        outputs(own, roll, sheet, &mut found, &mut to_do);
    }
    let others = roll.modules.len().saturating_sub(1);
    if others > 0 {
        found.push(format!("{} modules answer on this feed.", others + 1));
    }
    if roll.restless {
        found.push("The feed current is so restless that not every stir was looked into.".into());
    }
    if roll.stopped_at_first {
        found
            .push("The roll-call stopped at this answer; --all goes on over all addresses.".into());
    }
    (found, to_do)
}

fn where_it_is(
    own: &Module,
    roll: &RollCall,
    sheet: &ModuleSheet,
    found: &mut Vec<String>,
    to_do: &mut Vec<String>,
) {
    let at = |target| named(target, sheet.numbering);
    of_kind(roll, sheet, found, to_do);
    if own.inverted {
        found.push("It answers with the feed the other way round only.".into());
        to_do.push("turn the power off and swap the two feed wires".into());
    }
    if !roll.wanted {
        found.extend(reading(own, sheet));
        to_do.push("test it from here: `musterbench test --as-found` with the report below".into());
    } else if own.first == roll.expected {
        if roll.verdict() == Verdict::Pass {
            found.push("Every output answers where it should, the right way round.".into());
        }
        let at_once = roll.likely_took.is_none();
        if !at_once && !own.inverted && !roll.is_stubborn(own) {
            found.push(
                "It did not answer there at first: it needs longer to boot than its sheet says, \
                 or it misses commands."
                    .into(),
            );
        }
    } else {
        let why = roll.likely.iter().find(|c| c.first == own.first).map(|c| c.why);
        let (here, there) = (at(own.first), at(roll.expected));
        found.push(format!("Its first address is {here}, not {there}{}.", words(why)));
        found.extend(reading(own, sheet));
        let format_switch = sheet.switches.format_switch;
        to_do.push(match (why, format_switch) {
            (Some(Why::OtherFormat), Some(switch)) => {
                format!("turn the power off and set switch {switch} the other way")
            }
            _ => format!(
                "turn the power off and set the switches for {there} (`musterbench address` draws \
                 them), or use it at {here}"
            ),
        });
    }
    if roll.is_stubborn(own) {
        found.push(format!(
            "It answers only when a command is sent {} times in a row; its sheet sends {}.",
            own.copies, roll.copies.alone
        ));
        to_do.push(
            "test it on arrival (`musterbench test`): it wants more than its kind does".into(),
        );
    }
}

/// Of which kind it seems to be, where it is not the one that was asked for, or that is not certain.
fn of_kind(roll: &RollCall, sheet: &ModuleSheet, found: &mut Vec<String>, to_do: &mut Vec<String>) {
    match roll.fits.as_slice() {
        [] => {}
        [one] if roll.kind.is_some() && roll.wanted => {
            found.push(format!(
                "It answers as a {one} does, and not as the kind that was asked for."
            ));
            to_do.push(format!("give its own module sheet: --module-sheet {one}"));
        }
        [one] if *one == sheet.kind => {
            if !roll.wanted {
                found.push(format!("It answers as a {one} does."));
            }
        }
        several => found.push(format!("It answers as a {} may.", several.join(" or a "))),
    }
}

fn words(why: Option<Why>) -> String {
    match why {
        None => String::new(),
        Some(Why::GroupBelow) => {
            ": one group lower. It may count groups the other way (`numbering` in its sheet), or a \
             switch may be set wrongly"
                .into()
        }
        Some(Why::GroupAbove) => {
            ": one group higher. It may count groups the other way (`numbering` in its sheet), or \
             a switch may be set wrongly"
                .into()
        }
        Some(Why::Switch(switch)) => format!(": as if switch {switch} were set the other way"),
        Some(Why::OtherFormat) => ": it listens to the other format".into(),
        Some(Why::AsAnother) => ": its switches are set as those of another kind should be".into(),
        Some(Why::Usual) => ": where modules of its kind are tried first".into(),
    }
}

/// How the module must read its switches.
fn reading(own: &Module, sheet: &ModuleSheet) -> Option<String> {
    let address = own.first.address(sheet.numbering)?;
    let switches = sheet.switches.switches_for(address, own.first.format)?;
    let count = u8::try_from(sheet.switches.weights.len()).ok()?;
    Some(format!("So it reads its switches as {}.", switches_in_words(switches, count)))
}

fn outputs(
    own: &Module,
    roll: &RollCall,
    sheet: &ModuleSheet,
    found: &mut Vec<String>,
    to_do: &mut Vec<String>,
) {
    let rows = roll.rows();
    let mut crossed = Vec::new();
    for row in &rows {
        let output = row.output;
        let Some(answer) = row.found else {
            found.push(format!("Output {output} does not answer anywhere in its group."));
            continue;
        };
        if own.first.plus(i32::from(output) - 1) != Some(answer.target) {
            crossed.push(output.to_string());
        }
        if answer.sense == Sense::Swapped {
            found.push(format!("Output {output} goes to b when it is sent to a, and to a for b."));
        }
        if let Some(only) = answer.only {
            found.push(format!(
                "Output {output} answers to commands to {} only.",
                plain(&sheet.positions.of(only))
            ));
        }
        for also in &answer.also {
            found.push(format!("Output {also} moves along with output {output}."));
        }
        if own.shows() && answer.output.is_none() {
            found.push(format!("Output {output} takes commands, but no load shows that it moves."));
        }
    }
    if !crossed.is_empty() {
        found.push(format!("Outputs {} answer to each other's commands.", crossed.join(" and ")));
    }
    let is_mixed = !crossed.is_empty()
        || rows.iter().any(|r| r.found.is_some_and(|a| a.sense == Sense::Swapped));
    if is_mixed {
        to_do.push(
            "turn the power off and look at the leads of these outputs; if they are right, the \
             module is at fault (`musterbench test` tells the two apart)"
                .into(),
        );
    }
    if !own.shows() {
        found.push(
            "No load shows a move, only coils pull: which way each output goes is not known."
                .into(),
        );
        to_do.push(
            "look whether the leads from the outputs go to the jig, and whether it has loads of \
             its own"
                .into(),
        );
    }
    let is_bad = |answer: &crate::roll_call::answer::Answer| {
        answer.only.is_some() || !answer.also.is_empty() || own.shows() && answer.output.is_none()
    };
    if rows.iter().any(|r| r.found.is_none_or(is_bad)) {
        to_do.push("test it on arrival (`musterbench test`): that says what is at fault".into());
    }
}

fn silent(silence: &Silence, roll: &RollCall, found: &mut Vec<String>, to_do: &mut Vec<String>) {
    match silence {
        Silence::Shorted { what, ohm } => {
            let measured = ohm.map_or(String::new(), |o| format!(" ({})", amount(o, "ohm")));
            found.push(match what {
                Short::FeedWires => format!(
                    "The feed wires are shorted{measured}: no power was given, and nothing was asked."
                ),
                Short::FeedToCommons => format!(
                    "A feed wire touches a common{measured}: no power was given, and nothing was \
                     asked."
                ),
                Short::Commons => format!(
                    "Two commons touch{measured}: no power was given, and nothing was asked."
                ),
                Short::Tripped => "The feed has tripped: it is shorted or overloaded.".into(),
            });
            to_do.push("leave the power off, and look for wires or strands that touch".into());
        }
        Silence::Dark { current_a } => {
            found.push(format!(
                "It draws no current ({}), so nothing was asked.",
                amount(*current_a, "A")
            ));
            to_do.push("turn the power off, seat the module, and check both feed leads".into());
        }
        Silence::Unmoved { current_a, feed_v, contacts, hears_broadcast } => {
            let formats: Vec<String> = roll.formats.iter().map(ToString::to_string).collect();
            let volts = feed_v.map_or(String::new(), |v| format!(" at {}", amount(v, "V")));
            found.push(format!(
                "It answers to nothing in {}, though it draws {}{volts}.",
                formats.join(" or "),
                amount(*current_a, "A")
            ));
            unmoved(*contacts, *hears_broadcast, roll, found, to_do);
        }
    }
}

fn unmoved(
    contacts: Contacts,
    hears_broadcast: bool,
    roll: &RollCall,
    found: &mut Vec<String>,
    to_do: &mut Vec<String>,
) {
    if hears_broadcast {
        found.push(
            "It moves on the broadcast to all modules: it hears dcc, but no address is its own."
                .into(),
        );
        to_do.push(
            "turn the power off and set other switches: these may mean the broadcast group or \
             none (all on, or all off)"
                .into(),
        );
        return;
    }
    match contacts {
        Contacts::Work => {
            found.push("Its contact inputs move it, so outputs and coils work.".into());
            to_do.push(
                "check the format (another one with --format) and the module sheet; if both are \
                 right, turn the power off, seat it again and ask again; reject it only if it stays \
                 silent"
                    .into(),
            );
        }
        Contacts::Dead => {
            found.push("Its contact inputs do not move it either.".into());
            to_do.push(
                "check the feed leads (a weak one drops the voltage when a coil pulls) and the \
                 module sheet; if both are right, turn the power off, seat it again and ask again; \
                 reject it only if it stays silent"
                    .into(),
            );
        }
        Contacts::Untried => to_do.push(
            "try its contact inputs by hand: if they move it, check format and module sheet; if \
             not, check the feed leads"
                .into(),
        ),
    }
    if !roll.both_polarities {
        found.push(
            "The feed was not turned round: its sheet says that this does not matter, or \
                    must not be tried."
                .into(),
        );
    }
}
