//! Loads that draw more at first than later do not all go on at once: the load supply would cut off.

use crate::load::jig::{CUT_OFF_A, OVERLOAD_A, PATH_OHM};
use crate::load::sheet::LoadSheet;
use crate::load::start::start;
use crate::load::{Fed, settle_time, settled_current, window};
use crate::quantity::unit::{Units, duration};
use crate::quantity::write;
use crate::script::terms::listed;
use crate::signal::target::Clamp;
use core::cell::RefCell;
use core::time::Duration;
use uom::si::f64::{ElectricCurrent, Time};

/// Loads may draw this share of what the load supply stands together.
const AT_ONCE: f64 = 0.9;
/// After so many times in which half of what a load draws more at first is gone …
const HALVES: f64 = 5.0;
/// … no more than this share of it is left: of a filament, whose end is slow, 0.2 after 4.4 of them
/// (`load::filament`), of a motor or a capacitor much less.
const LEFT: f64 = 0.2;

/// Clamps whose loads go on together, and how long the next ones wait for them.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Group {
    /// The clamps.
    pub clamps: Vec<Clamp>,
    /// What lies between them and the next group.
    pub pause: Duration,
}

/// What the loads of one output draw at most, amperes: at first, and once the pause is over.
#[derive(Clone, Copy)]
struct Draws {
    first: f64,
    later: f64,
    pause: Duration,
}

/// The groups in which loads go on; one, if the load supply stands them all at once. Of the two loads of an
/// output one is on.
pub fn groups(sheet: &LoadSheet, clamps: &[Clamp]) -> Vec<Group> {
    let mut groups: Vec<Group> = Vec::new();
    // What those that are on draw by now, and what the last group draws at first.
    let [mut on, mut at_first, mut later] = [0.0; 3];
    for output in 1..=4 {
        let own: Vec<Clamp> = clamps.iter().copied().filter(|c| c.output == output).collect();
        let Some(draws) = own.iter().filter_map(|&clamp| draws(sheet, clamp)).reduce(Draws::most)
        else {
            continue;
        };
        let fits = on + at_first + draws.first <= AT_ONCE * CUT_OFF_A;
        match groups.last_mut().filter(|_| fits) {
            Some(group) => {
                group.clamps.extend(own);
                group.pause = group.pause.max(draws.pause);
            }
            None => {
                on += later;
                [at_first, later] = [0.0; 2];
                groups.push(Group { clamps: own, pause: draws.pause });
            }
        }
        at_first += draws.first;
        later += draws.later;
    }
    groups
}

/// How much longer it takes until all loads are on than if they went on at once.
pub fn switching_on(loads: Option<&LoadSheet>, clamps: &[Clamp]) -> Duration {
    let groups = loads.map(|sheet| groups(sheet, clamps)).unwrap_or_default();
    groups.split_last().map_or(Duration::ZERO, |(_, before)| before.iter().map(|g| g.pause).sum())
}

/// Loads that alone may draw more at first than the load supply stands: a sentence for all of them.
pub fn cut_off_alone(sheet: &LoadSheet, clamps: &[Clamp]) -> Option<String> {
    let most = |clamp: &Clamp| Some(draws(sheet, *clamp)?.first);
    let too_much: Vec<&Clamp> = clamps.iter().filter(|c| most(c) > Some(CUT_OFF_A)).collect();
    let highest = too_much.iter().filter_map(|clamp| most(clamp)).fold(0.0, f64::max);
    let named: Vec<String> = too_much.iter().map(ToString::to_string).collect();
    (!named.is_empty()).then(|| {
        let [highest, stands] = [highest, CUT_OFF_A].map(|a| write::brief(ElectricCurrent::from_si(a)));
        format!(
            "by the load sheet what hangs at {} may draw {highest} when it is switched on, and a load \
             supply may cut off from {stands} on: limit its first current, or state it more closely",
            listed("clamp", &named)
        )
    })
}

/// Says so when loads do not all go on at once.
pub(super) fn in_groups(sheet: &LoadSheet, clamps: &[Clamp]) -> Option<String> {
    let groups = groups(sheet, clamps);
    let most = |group: &Group| {
        let of_clamps =
            group.clamps.iter().filter_map(|&c| Some((c.output, draws(sheet, c)?.first)));
        (1..=4)
            .map(|k| of_clamps.clone().filter(|d| d.0 == k).map(|d| d.1).fold(0.0, f64::max))
            .sum::<f64>()
    };
    (groups.len() > 1).then(|| {
        let sum: f64 = groups.iter().map(most).sum();
        let [sum, stands] = [sum, CUT_OFF_A].map(|a| write::brief(ElectricCurrent::from_si(a)));
        format!(
            "by the load sheet the loads may draw {sum} together when they are switched on, and a load supply \
             may cut off from {stands} on: they go on in {} groups, one after the other",
            groups.len()
        )
    })
}

/// Loads that together may draw more than the load supply gives in the long run.
pub fn overload(sheet: &LoadSheet, clamps: &[Clamp]) -> Option<String> {
    let settled = |c: &Clamp| {
        let load = sheet.clamps[c.index()].as_ref()?;
        Some(settled_current(&load.circuit, sheet.supply).upper.si())
    };
    let of_output = |output| {
        let own = clamps.iter().filter(move |c| c.output == output);
        own.filter_map(settled).fold(0.0, f64::max)
    };
    let sum: f64 = (1..=4).map(of_output).sum();
    (sum > OVERLOAD_A).then(|| {
        let [sum, gives] = [sum, OVERLOAD_A].map(|a| write::brief(ElectricCurrent::from_si(a)));
        format!(
            "by the load sheet the loads may draw {sum} together, and a load supply gives {gives}: connect \
             fewer at a time"
        )
    })
}

/// A load sheet, and what it says of each clamp.
type Asked = (LoadSheet, [Option<Draws>; 8]);

thread_local! {
    /// The sheet that was asked last: every step that turns loads on asks the same one, and what a filament
    /// draws takes long to reckon.
    static LAST: RefCell<Option<Asked>> = const { RefCell::new(None) };
}

fn draws(sheet: &LoadSheet, clamp: Clamp) -> Option<Draws> {
    LAST.with_borrow_mut(|last| {
        let same = last.take_if(|(asked, _)| asked == sheet);
        let reckoned = || (sheet.clone(), Clamp::ALL.map(|clamp| reckoned(sheet, clamp)));
        last.insert(same.unwrap_or_else(reckoned)).1[clamp.index()]
    })
}

fn reckoned(sheet: &LoadSheet, clamp: Clamp) -> Option<Draws> {
    let circuit = &sheet.clamps[clamp.index()].as_ref()?.circuit;
    let fed = Fed::behind(sheet.supply, PATH_OHM);
    let settled = settled_current(circuit, sheet.supply).upper.si();
    let first = window(circuit, &fed, Time::from_si(0.0)).upper.si().max(settled);
    // Where no half is known, it is waited for until it has settled.
    let half = start(circuit, &fed).and_then(|start| Some(start.decay?.value.upper));
    let (later, pause) = match half {
        Some(half) => (settled + LEFT * (first - settled), HALVES * half),
        None => (settled, settle_time(circuit, sheet.supply)),
    };
    Some(Draws { first, later, pause: duration(pause) })
}

impl Draws {
    fn most(self, other: Draws) -> Draws {
        Draws {
            first: self.first.max(other.first),
            later: self.later.max(other.later),
            pause: self.pause.max(other.pause),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::quantity::source::Source;

    fn lamps(ampere: &str, at: &str) -> LoadSheet {
        let text = format!(
            "title = \"lamps\"\nsupply = {{ kind = \"dc\", voltage = \"12 V\" }}\n[[load]]\nname = \"lamp\"\n\
             at = {at}\nlamp = {{ rated_voltage = \"12 V\", rated_current = \"{ampere}\", \
             inrush_ratio = \"10\", warm_up = \"4 ms\" }}\n"
        );
        LoadSheet::parse(&Source::new("lamps.toml", &text)).unwrap_or_else(|e| panic!("{e}"))
    }

    fn of(ampere: &str, at: &str) -> (LoadSheet, Vec<Clamp>) {
        let sheet = lamps(ampere, at);
        let hung = |c: &Clamp| sheet.clamps[c.index()].is_some();
        let clamps = Clamp::ALL.into_iter().filter(hung).collect();
        (sheet, clamps)
    }

    const EVERY: &str = r#"["1a", "1b", "2a", "2b", "3a", "3b", "4a", "4b"]"#;

    #[test]
    fn small_loads_go_on_at_once() {
        let (sheet, clamps) = of("100 mA", EVERY);
        let all = groups(&sheet, &clamps);
        assert_eq!(all.iter().map(|g| &g.clamps).collect::<Vec<_>>(), [&clamps]);
        assert_eq!(switching_on(Some(&sheet), &clamps), Duration::ZERO);
        assert_eq!(switching_on(None, &clamps), Duration::ZERO);
    }

    /// Ten times 250 mA each: two together, then with 0.25 + 0.2 · 2.25 A of each one more at a time.
    #[test]
    fn large_ones_wait_for_one_another() {
        let (sheet, clamps) = of("250 mA", EVERY);
        let sizes: Vec<usize> = groups(&sheet, &clamps).iter().map(|g| g.clamps.len()).collect();
        assert_eq!(sizes, [4, 4]);
        let (sheet, clamps) = of("300 mA", EVERY);
        let sizes: Vec<usize> = groups(&sheet, &clamps).iter().map(|g| g.clamps.len()).collect();
        assert_eq!(sizes, [4, 2, 2]);
        let waits = switching_on(Some(&sheet), &clamps);
        assert!(
            waits > Duration::from_millis(40) && waits < Duration::from_millis(80),
            "{waits:?}"
        );
    }

    #[test]
    fn of_an_output_one_load_is_on() {
        let (sheet, clamps) = of("600 mA", r#"["1a", "1b"]"#);
        assert_eq!(groups(&sheet, &clamps).len(), 1);
        assert_eq!(cut_off_alone(&sheet, &clamps), None);
    }

    #[test]
    fn one_alone_may_be_too_much() {
        let (sheet, clamps) = of("900 mA", r#"["2a"]"#);
        let said = cut_off_alone(&sheet, &clamps).unwrap();
        assert!(said.contains("clamp 2a may draw 9 A"), "{said}");
    }
}
