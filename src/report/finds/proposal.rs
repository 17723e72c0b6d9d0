//! A proposed shorter script: as TOML with a comment on each step, and its proof for people.

use crate::finds::share::Share;
use crate::finds::shorten::alone::Alone;
use crate::finds::shorten::proof::Proven;
use crate::finds::shorten::proposal::Proposal;
use crate::finds::shorten::tried::Kinds;
use crate::plain::plain;
use crate::report::screen::Screen;
use crate::report::severity::said;
use crate::report::table::{Column, table};
use crate::script::steps::Script;
use std::fmt::Write;

/// The script, with a comment on each step.
pub fn toml(script: &Script, kinds: &Kinds, seed: u64, proposal: &Proposal) -> String {
    let takes: Vec<String> = kinds
        .modules
        .iter()
        .zip(&proposal.takes)
        .map(|(module, [given, proposed])| {
            let [given, proposed] = [given, proposed].map(core::time::Duration::as_secs_f64);
            format!("{proposed:.1} s instead of {given:.1} s on {}", plain(&module.kind))
        })
        .collect();
    let all = proposal.proof.all();
    let about = format!(
        "Made from {} by `musterbench script shorten`, drawn from {seed}: {}.\nSimulated: of {} runs on fresh \
         benches with a fault that {0} finds, this one finds {}.\n",
        plain(&script.name),
        takes.join(", "),
        all.runs,
        all.of,
    );
    let comments: Vec<String> = proposal.alone.iter().map(comment).collect();
    proposal.draft.toml(&about, &comments)
}

fn comment(alone: &Alone) -> String {
    match alone {
        Alone::Finds(names) if names.is_empty() => "Finds nothing alone.".into(),
        Alone::Finds(names) => format!("Alone finds {}.", names.join(", ")),
        Alone::KeepsSoundOnes => "Without it sound modules do not pass.".into(),
        Alone::IsNeeded => "What follows needs it.".into(),
    }
}

/// What the proof says, lines ended.
pub fn text(script: &Script, kinds: &Kinds, proposal: &Proposal, screen: Screen) -> String {
    let mut text = String::new();
    // Writing to memory cannot fail.
    let _ = write(&mut text, script, kinds, proposal, screen);
    text
}

fn write(
    text: &mut String,
    script: &Script,
    kinds: &Kinds,
    proposal: &Proposal,
    screen: Screen,
) -> std::fmt::Result {
    writeln!(text, "{}: no real bench was tried", screen.warning("SIMULATED"))?;
    let name = plain(&script.name);
    writeln!(text, "A shorter {name}; {} changes were tried", proposal.tried)?;
    for (module, [given, proposed]) in kinds.modules.iter().zip(&proposal.takes) {
        let [given, proposed] = [given, proposed].map(core::time::Duration::as_secs_f64);
        writeln!(text, "{}: {proposed:.1} s instead of {given:.1} s", plain(&module.kind))?;
    }
    let proof = &proposal.proof;
    let all = proof.all();
    writeln!(
        text,
        "\nOn fresh benches, of what {name} finds: {}{}",
        of(all),
        all.value().map_or(String::new(), |_| {
            format!(", so at least {:.1} %", 100.0 * all.interval().0)
        })
    )?;
    writeln!(text, "Of sound modules that {name} passes: {} pass\n", of(proof.sound))?;
    let columns = [
        Column::Words("module"),
        Column::Code("fault"),
        Column::Number("severity"),
        Column::Number("found before"),
        Column::Number("of these now"),
    ];
    let missed = proof.faults.iter().filter(|one| one.proposed.of < one.proposed.runs);
    let rows: Vec<[String; 5]> = missed.map(|proven| row(kinds, proven)).collect();
    if rows.is_empty() {
        return writeln!(text, "Nothing was missed.");
    }
    writeln!(text, "Missed at least once:")?;
    text.push_str(&table(screen, 0, columns, rows));
    Ok(())
}

fn row(kinds: &Kinds, proven: &Proven) -> [String; 5] {
    let kept = &proven.kept;
    let lost = if proven.is_lost() { ", lost" } else { "" };
    [
        plain(&kinds.modules[kept.kind].kind),
        kept.fault.name.into(),
        said(kept.severity, kept.fault.unit),
        of(proven.given),
        format!("{}{lost}", of(proven.proposed)),
    ]
}

fn of(share: Share) -> String {
    format!("{} of {}", share.of, share.runs)
}
