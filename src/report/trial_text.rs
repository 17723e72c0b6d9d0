//! How good the bench is, in words and as JSON.

use super::amount::amount;
use super::risk_text;
use super::screen::Screen;
use super::table::{Column, table};
use crate::judge::reading::Verdict;
use crate::plain::plain;
use crate::trial::judged::{GOOD, Judged, MOST, Part, Share, verdict};
use crate::trial::study::{Analysis, Study};
use serde::Serialize;
use std::fmt::Write;

/// In words, lines ended.
pub fn text(study: &Study, judged: &[Judged<'_>], screen: Screen) -> String {
    let mut text = String::new();
    if study.simulated {
        let _ = writeln!(text, "{}: no real bench was tried", screen.warning("SIMULATED"));
    }
    let _ = writeln!(
        text,
        "{} of {} by {}; {} that all have{}",
        counted(study.reports, "report"),
        counted(study.modules.len(), "module"),
        counted(study.operators.len(), "operator"),
        counted(study.series.len(), "reading"),
        match study.left_out {
            0 => String::new(),
            n => format!(", {n} left out that not all have"),
        },
    );
    if study.jigs.len() > 1 {
        let jigs: Vec<String> = study.jigs.iter().map(|jig| plain(jig)).collect();
        let jigs = jigs.join(", ");
        let _ = writeln!(text, "Several jigs ({jigs}): what they differ by counts as scatter");
    }
    if !study.differs.is_empty() {
        let _ = writeln!(
            text,
            "The reports differ in: {}; what that does counts as scatter",
            study.differs.join(", ")
        );
    }
    if study.operators.len() < 2 {
        text.push_str("One operator only: what operators differ by stays unknown\n");
    }
    text.push_str("\nStandard deviations; share: what the bench's scatter takes of the limits\n");
    text.push_str(&readings(judged, screen));
    if judged.iter().filter_map(|j| j.parts).any(|p| parts(&p).any(|(_, p)| p.is_none)) {
        text.push_str(
            "* no more than chance makes: counted as none, and pooled with what is repeated\n",
        );
    }
    if judged.iter().any(|j| j.parts.is_some_and(|p| p.anew.is_some())) {
        text.push_str(
            "anew: what the modules themselves do differently at each operation; it is part of what is \
             repeated, and not the bench's\n",
        );
    }
    let _ = writeln!(text, "\n{}", sentence(judged, screen));
    if let Some((risks, j)) = worst_risk(judged) {
        let _ = writeln!(
            text,
            "With modules that scatter like these, simple acceptance would pass {} of them though \
             outside and fail {} though inside, at the most ({}).",
            risk_text::share(risks.consumer),
            risk_text::share(risks.producer),
            name(j),
        );
    }
    text.push_str(
        "A trial shows how much readings scatter, not whether they are right: that is for \
         `calibrate` and `recheck`.\n",
    );
    text
}

fn counted(n: usize, what: &str) -> String {
    if n == 1 { format!("1 {what}") } else { format!("{n} {what}s") }
}

fn name(judged: &Judged<'_>) -> String {
    let key = &judged.series.key;
    let place =
        if key.place.is_empty() { String::new() } else { format!(" {}", plain(&key.place)) };
    format!("{}{place}, {}", key.quantity.replace('_', " "), plain(&key.step))
}

fn parts(parts: &crate::trial::judged::Parts) -> impl Iterator<Item = (&'static str, Part)> {
    [
        ("repeatability", Some(parts.repeatability)),
        ("anew", parts.anew),
        ("operators", parts.operators),
        ("interaction", parts.interaction),
        ("modules", Some(parts.modules)),
    ]
    .into_iter()
    .filter_map(|(name, part)| part.map(|part| (name, part)))
}

/// A row a reading: its name on the left, then the numbers in columns.
fn readings(judged: &[Judged<'_>], screen: Screen) -> String {
    let columns = [
        Column::Words("reading"),
        Column::Number("repeated"),
        Column::Number("anew"),
        Column::Number("operators"),
        Column::Number("both"),
        Column::Number("modules"),
        Column::Number("share"),
        Column::Words(""),
    ];
    table(screen, 0, columns, judged.iter().map(row))
}

fn row(j: &Judged<'_>) -> [String; 8] {
    let shown = |part: Option<Part>| {
        part.map_or("-".into(), |part| {
            let star = if part.is_none { "*" } else { "" };
            amount(part.deviation, &j.series.key.unit) + star
        })
    };
    let p = j.parts.as_ref();
    let [repeated, anew, operators, both, modules] = [
        p.map(|p| p.repeatability),
        p.and_then(|p| p.anew),
        p.and_then(|p| p.operators),
        p.and_then(|p| p.interaction),
        p.map(|p| p.modules),
    ]
    .map(shown);
    let share = match (p, j.share) {
        (None, _) => "-".into(),
        (Some(_), None) => "no limits".into(),
        (Some(_), Some(share)) => percent(share.share),
    };
    let told = match &j.series.analysis {
        Err(why) => format!("cannot be told: {}", plain(why)),
        Ok(_) => j.verdict.map_or(String::new(), |verdict| word(verdict).into()),
    };
    [name(j), repeated, anew, operators, both, modules, share, told]
}

fn percent(share: f64) -> String {
    if share.is_finite() && share < 10.0 {
        format!("{:.1} %", 100.0 * share)
    } else {
        "over 1000 %".into()
    }
}

const fn word(verdict: Verdict) -> &'static str {
    match verdict {
        Verdict::Pass => "good enough",
        Verdict::Fail => "not good enough",
        Verdict::Indeterminate => "cannot be told",
    }
}

/// The reading that decides: of those with the worst verdict the one with the largest share.
fn deciding<'a, 'j>(judged: &'j [Judged<'a>]) -> Option<(&'j Judged<'a>, Share)> {
    let worst = verdict(judged);
    judged
        .iter()
        .filter(|j| j.verdict == Some(worst))
        .filter_map(|j| Some((j, j.share?)))
        .max_by(|a, b| a.1.share.total_cmp(&b.1.share))
}

fn sentence(judged: &[Judged<'_>], screen: Screen) -> String {
    let overall = verdict(judged);
    let head = screen.verdict_as(overall, &word(overall).to_uppercase());
    let missing = judged.iter().find_map(|j| {
        let why = j.series.analysis.as_ref().err().filter(|_| j.verdict.is_some())?;
        Some(format!("{}: {}", name(j), plain(why)))
    });
    if let Some(missing) = missing.filter(|_| overall == Verdict::Indeterminate) {
        return format!("{head}: {missing}");
    }
    let Some((worst, share)) = deciding(judged) else {
        return format!("{head}: no reading of these has limits");
    };
    let (taken, most) = (percent(share.share), percent(MOST));
    let interval = format!("{} to {} at 95 %", percent(share.from), percent(share.to));
    let of = name(worst);
    match overall {
        Verdict::Pass if share.share <= GOOD => format!(
            "{head}: the bench's own scatter takes {taken} of the limits at the most ({interval}; \
             {of}); up to {most} will do"
        ),
        Verdict::Pass => format!(
            "{head}: the bench's own scatter takes {taken} of the limits at the most ({interval}; \
             {of}); up to {most} will do, and below {} would be better",
            percent(GOOD)
        ),
        Verdict::Fail => format!(
            "{head}: the bench's own scatter takes {taken} of the limits ({interval}; {of}), and \
             {most} is the most that will do; widen the limits if you may, or look for what makes \
             the readings differ"
        ),
        Verdict::Indeterminate => format!(
            "{head}: the bench's own scatter takes {taken} of the limits, but that may as well be \
             {interval} ({of}), and {most} is the most that will do; more passes, or more \
             operators, would tell"
        ),
    }
}

fn worst_risk<'a, 'j>(
    judged: &'j [Judged<'a>],
) -> Option<(crate::judge::risk::Risks, &'j Judged<'a>)> {
    judged
        .iter()
        .filter_map(|j| Some((j.risks?, j)))
        .max_by(|a, b| a.0.consumer.total_cmp(&b.0.consumer))
}

/// As one line of JSON. Values in the unit of each reading; deviations are standard deviations.
pub fn json(study: &Study, judged: &[Judged<'_>]) -> String {
    let line = Line {
        simulated: study.simulated,
        verdict: word(verdict(judged)),
        modules: &study.modules,
        operators: &study.operators,
        jigs: &study.jigs,
        differs: &study.differs,
        reports: study.reports,
        left_out: study.left_out,
        most: MOST,
        readings: judged.iter().map(reading).collect(),
    };
    // Strings and numbers only: cannot fail.
    serde_json::to_string(&line).unwrap_or_default() + "\n"
}

#[derive(Serialize)]
struct Line<'a> {
    simulated: bool,
    verdict: &'a str,
    modules: &'a [String],
    operators: &'a [String],
    jigs: &'a [String],
    differs: &'a [&'static str],
    reports: usize,
    left_out: usize,
    most: f64,
    readings: Vec<Reading<'a>>,
}

#[derive(Serialize)]
struct Reading<'a> {
    quantity: &'a str,
    step: &'a str,
    place: &'a str,
    unit: &'a str,
    mean: f64,
    lower_limit: Option<f64>,
    upper_limit: Option<f64>,
    missing: Option<&'a str>,
    parts: Vec<Deviation>,
    bench: Option<f64>,
    dof: Option<f64>,
    f_modules: Option<(f64, f64)>,
    f_operators: Option<(f64, f64)>,
    f_interaction: Option<(f64, f64)>,
    share: Option<f64>,
    share_from: Option<f64>,
    share_to: Option<f64>,
    consumer_risk: Option<f64>,
    producer_risk: Option<f64>,
    verdict: Option<&'a str>,
}

#[derive(Serialize)]
struct Deviation {
    source: &'static str,
    deviation: f64,
    is_none: bool,
}

fn reading<'a>(j: &'a Judged<'a>) -> Reading<'a> {
    let series = j.series;
    let (f_modules, f_operators, f_interaction) = match &series.analysis {
        Ok(Analysis::Modules(table, _)) => (table.between.against(&table.within), None, None),
        Ok(Analysis::Crossed(table, _)) => (
            table.first.against(&table.interaction),
            table.second.against(&table.interaction),
            table.interaction.against(&table.within),
        ),
        Err(_) => (None, None, None),
    };
    let deviation =
        |(source, p): (_, Part)| Deviation { source, deviation: p.deviation, is_none: p.is_none };
    Reading {
        quantity: &series.key.quantity,
        step: &series.key.step,
        place: &series.key.place,
        unit: &series.key.unit,
        mean: series.mean,
        lower_limit: series.limits.lower,
        upper_limit: series.limits.upper,
        missing: series.analysis.as_ref().err().map(String::as_str),
        parts: j.parts.iter().flat_map(parts).map(deviation).collect(),
        bench: j.parts.map(|p| p.bench),
        dof: j.parts.map(|p| p.dof),
        f_modules,
        f_operators,
        f_interaction,
        share: j.share.map(|s| s.share),
        share_from: j.share.map(|s| s.from),
        share_to: j.share.map(|s| s.to),
        consumer_risk: j.risks.map(|r| r.consumer),
        producer_risk: j.risks.map(|r| r.producer),
        verdict: j.verdict.map(word),
    }
}
