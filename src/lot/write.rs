//! `lot.toml`, written.

use super::order::{Order, Which};
use super::serials::Serials;
use crate::quantity::write::in_quotes;
use core::fmt::Write;

const HEADING: &str = "\
# A lot: what was ordered, and how it is tested. Written by `musterbench lot open`; it may be corrected by
# hand. What was decided about its modules stands in decisions.jsonl, what became of them in modules.csv.
";

impl Order {
    /// The text of the file.
    pub fn to_toml(&self) -> String {
        let mut text = String::from(HEADING);
        // Writing to a string cannot fail.
        let mut line = |key: &str, value: String| {
            let _ = writeln!(text, "{key} = {value}");
        };
        line("kind", in_quotes(&self.kind));
        line("count", self.count.to_string());
        line("serials", serials(&self.serials));
        for (key, value) in [("from", &self.seller), ("order", &self.order), ("marks", &self.marks)]
        {
            if let Some(value) = value {
                line(key, in_quotes(value));
            }
        }
        for (key, value) in [("ordered", self.ordered), ("return_by", self.return_by)] {
            if let Some(date) = value {
                line(key, in_quotes(&date.to_string()));
            }
        }
        line("script", in_quotes(&self.script));
        line("settling_script", in_quotes(&self.settling_script));
        for (key, value) in [("loads", &self.loads), ("reference", &self.reference)] {
            if let Some(value) = value {
                line(key, in_quotes(value));
            }
        }
        if let Some(sample) = &self.sample {
            let script = in_quotes(&sample.script);
            let which = match &sample.which {
                Which::Drawn { count, seed } => format!("count = {count}, seed = {seed}"),
                Which::Named(list) => {
                    let list: Vec<String> = list.iter().map(|serial| in_quotes(serial)).collect();
                    format!("serials = [{}]", list.join(", "))
                }
            };
            line("sample", format!("{{ {which}, script = {script} }}"));
        }
        for parcel in &self.parcels {
            let _ = write!(
                text,
                "\n[[parcel]]\ncame = \"{}\"\ncount = {}\n",
                parcel.came, parcel.count
            );
        }
        text
    }
}

fn serials(serials: &Serials) -> String {
    match serials {
        Serials::Pattern(pattern) => in_quotes(pattern),
        Serials::List(list) => {
            let lines: String =
                list.iter().map(|serial| format!("  {},\n", in_quotes(serial))).collect();
            format!("[\n{lines}]")
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::lot::order::{Parcel, Sample};
    use crate::quantity::source::Source;
    use jiff::civil::date;

    #[test]
    fn what_is_written_is_read_again() {
        let bare = Order::of("spring", "pier-four", 24, "arrival", "thorough");
        let full = Order {
            seller: Some("the \"lee shore\" shop".into()),
            order: Some("2026/117".into()),
            ordered: Some(date(2026, 3, 2)),
            return_by: Some(date(2026, 4, 1)),
            parcels: vec![
                Parcel { came: date(2026, 3, 9), count: 20 },
                Parcel { came: date(2026, 3, 12), count: 4 },
            ],
            marks: Some("a blue dot".into()),
            loads: Some("harbour-basin".into()),
            serials: Serials::List((1..=24).map(|n| format!("pier {n}")).collect()),
            sample: Some(Sample {
                which: Which::Drawn { count: 3, seed: 412 },
                script: "thorough".into(),
            }),
            reference: Some("pier-known".into()),
            ..bare.clone()
        };
        let named = Which::Named(vec!["pier 3".into(), "pier 12".into()]);
        let chosen = Order {
            sample: Some(Sample { which: named, script: "thorough".into() }),
            ..full.clone()
        };
        for order in [bare, full, chosen] {
            let source = Source::new("lot.toml", &order.to_toml());
            assert_eq!(Order::parse(&source).expect("read"), order);
        }
    }
}
