//! A script as it is rewritten: its head, and the text of each step.

use crate::quantity::located::Located;
use crate::quantity::source::Source;
use crate::script::steps::Script;
use std::fmt::Write;

/// How wide a line of comments is.
const COLUMNS: usize = 100;

/// A script in pieces.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Draft {
    /// Its name.
    name: String,
    /// Title and rules as TOML, lines ended.
    head: String,
    /// The steps, each as it is written between the commas.
    pub steps: Vec<String>,
}

impl Draft {
    /// That of a script. `None` where its text is none that can be taken to pieces.
    pub fn of(script: &Script) -> Option<Draft> {
        let text = script.source.text();
        let mut head: toml::Table = text.parse().ok()?;
        head.remove("steps")?;
        let step = |span: core::ops::Range<usize>| {
            let step = text.get(span)?.trim();
            step.starts_with('{').then(|| step.to_owned())
        };
        let steps = script.steps.iter().map(|s| step(s.span.clone())).collect::<Option<_>>()?;
        Some(Draft { name: script.name.clone(), head: head.to_string(), steps })
    }

    /// It as a script.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn script(&self) -> Result<Script, Located> {
        Script::parse(&self.name, Source::new(self.name.as_str(), &self.toml("", &[])))
    }

    /// It as TOML, a comment before all and one before each step.
    pub fn toml(&self, about: &str, comments: &[String]) -> String {
        let mut text = commented(about, "");
        // Writing to memory cannot fail.
        let _ = write!(text, "{}\nsteps = [\n", self.head);
        for (at, step) in self.steps.iter().enumerate() {
            text += &comments.get(at).map_or(String::new(), |comment| commented(comment, "  "));
            let _ = writeln!(text, "  {step},");
        }
        text + "]\n"
    }
}

/// Lines of comment.
fn commented(words: &str, indent: &str) -> String {
    let mut text = String::new();
    let (first, width) = (format!("{indent}# "), COLUMNS - indent.len() - 2);
    for line in words.lines().flat_map(|line| textwrap::wrap(line, width)) {
        text += &first;
        text += &line;
        text = text.trim_end().to_owned() + "\n";
    }
    text
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::script::shipped;

    #[test]
    fn every_shipped_script_comes_together_again() {
        for shipped in shipped::SCRIPTS {
            let script = shipped::script(shipped.name).unwrap();
            let draft = Draft::of(&script).unwrap();
            let again = draft.script().unwrap();
            let verbs = |script: &Script| -> Vec<String> {
                let said = |step: &crate::script::steps::WrittenStep| match &step.verb {
                    crate::script::steps::Verb::Repeat(repeat) => {
                        format!("{} {}", repeat.times, repeat.steps.len())
                    }
                    verb => format!("{verb:?}"),
                };
                script.steps.iter().map(said).collect()
            };
            assert_eq!(verbs(&again), verbs(&script), "{}", shipped.name);
            assert_eq!((&again.title, again.rule), (&script.title, script.rule));
            assert_eq!(again.longest_rests, script.longest_rests);
        }
    }

    #[test]
    fn comments_stand_before_their_steps() {
        let draft = Draft {
            name: "s".into(),
            head: "title = \"t\"\n".into(),
            steps: vec!["{ feed = \"on\" }".into(), "{ feed = \"off\" }".into()],
        };
        let text = draft.toml("About it.", &["First.".into()]);
        let wanted = "# About it.\ntitle = \"t\"\n\nsteps = [\n  # First.\n  { feed = \"on\" },\n  \
                      { feed = \"off\" },\n]\n";
        assert_eq!(text, wanted);
    }
}
