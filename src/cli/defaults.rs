//! What need not be typed each time: `musterbench.toml` in the working folder, and `MUSTERBENCH_…` variables.
//!
//! What is typed comes first, then the variable, then the file, then the program's own default.

use super::command_result::{CommandError, OrExit};
use crate::quantity::located::Located;
use crate::quantity::source::Source;
use clap::{Arg, ArgMatches, Command};
use std::path::Path;

/// The file, in the working folder.
pub const FILE: &str = "musterbench.toml";

/// What every command says of it.
pub const TOLD: &str = "\
What is not typed comes from a variable (MUSTERBENCH_PORT for --port, and so on), then from musterbench.toml in \
the working folder, then from the program. `test --verbose` says which.";

/// How the name of a variable begins.
const PREFIX: &str = "MUSTERBENCH_";

/// Something that need not be typed.
struct Setting {
    /// Its key in the file.
    key: &'static str,
    /// The options that it stands for.
    options: &'static [&'static str],
    /// The commands that it is for; none: all that have such an option.
    commands: &'static [&'static str],
}

const fn setting(
    key: &'static str,
    options: &'static [&'static str],
    commands: &'static [&'static str],
) -> Setting {
    Setting { key, options, commands }
}

const SETTINGS: [Setting; 9] = [
    setting("port", &["port"], &[]),
    setting("records", &["records"], &[]),
    setting("operator", &["operator", "by"], &[]),
    setting("kind", &["module-sheet", "kind"], &[]),
    setting("script", &["script"], &["test"]),
    setting("loads", &["loads"], &["test", "open"]),
    setting("layout", &["layout"], &[]),
    setting("calibration", &["calibration"], &[]),
    setting("quiet", &["quiet"], &[]),
];

/// A value that need not be typed.
#[derive(Clone, Debug, PartialEq, Eq)]
struct Given {
    value: &'static str,
    from: String,
}

/// What need not be typed, by the settings in their order.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Defaults([Option<Given>; SETTINGS.len()]);

impl Defaults {
    /// Reads the variables and the file.
    ///
    /// # Errors
    /// What is wrong in the file, at its place.
    pub fn read() -> Result<Defaults, CommandError> {
        let path = Path::new(FILE);
        let source = path.exists().then(|| Source::read(path)).transpose().or_bad_input()?;
        Defaults::of(source.as_ref(), |name| std::env::var(name).ok()).or_bad_input()
    }

    fn of(
        source: Option<&Source>,
        variable: impl Fn(&str) -> Option<String>,
    ) -> Result<Defaults, Located> {
        let mut table = source.map(Source::table).transpose()?;
        let mut all = Defaults::default();
        for (setting, given) in SETTINGS.iter().zip(&mut all.0) {
            let written = table.as_mut().and_then(|table| table.take(setting.key));
            if let Some(value) = written {
                let text = if setting.key == "quiet" {
                    value.truth()?.to_string()
                } else {
                    value.line_of_text()?
                };
                // They live as long as the program.
                *given = Some(Given { value: text.leak(), from: FILE.into() });
            }
            let name = name_of(setting);
            if let Some(text) = variable(&name).filter(|text| !text.is_empty()) {
                *given = Some(Given { value: text.leak(), from: name });
            }
        }
        table.map_or(Ok(()), |table| table.finish())?;
        Ok(all)
    }

    /// The command line with these defaults in place of its own.
    pub fn apply(&self, mut command: Command) -> Command {
        let name = command.get_name().to_owned();
        let settings = SETTINGS.iter().zip(&self.0);
        for (setting, given) in settings.filter_map(|(s, given)| Some((s, given.as_ref()?))) {
            if !setting.commands.is_empty() && !setting.commands.contains(&name.as_str()) {
                continue;
            }
            let ids: Vec<_> = command
                .get_arguments()
                .filter(|arg| is_option_of(arg, setting))
                .map(|arg| arg.get_id().clone())
                .collect();
            for id in ids {
                command = command.mut_arg(id, |arg| arg.required(false).default_value(given.value));
            }
        }
        let below: Vec<String> =
            command.get_subcommands().map(|sub| sub.get_name().to_owned()).collect();
        below
            .iter()
            .fold(command, |command, name| command.mut_subcommand(name, |sub| self.apply(sub)))
    }

    /// Where each value comes from that was not typed, a line each.
    pub fn told(&self, command: &Command, matches: &ArgMatches) -> Vec<String> {
        use clap::parser::ValueSource;
        let Some((name, matches)) = matches.subcommand() else { return Vec::new() };
        let Some(command) = command.find_subcommand(name) else { return Vec::new() };
        let mut lines = Vec::new();
        for arg in command.get_arguments() {
            let setting = SETTINGS.iter().position(|setting| is_option_of(arg, setting));
            let given = setting.and_then(|at| self.0[at].as_ref());
            let is_default =
                matches.value_source(arg.get_id().as_str()) == Some(ValueSource::DefaultValue);
            if let (Some(given), Some(long), true) = (given, arg.get_long(), is_default) {
                lines.push(format!("--{long} {} comes from {}", given.value, given.from));
            }
        }
        lines
    }
}

fn is_option_of(arg: &Arg, setting: &Setting) -> bool {
    arg.get_long().is_some_and(|long| setting.options.contains(&long))
}

/// The variable of a setting.
fn name_of(setting: &Setting) -> String {
    format!("{PREFIX}{}", setting.key.to_uppercase())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_variable_comes_before_the_file() {
        let source = Source::new(FILE, "port = \"/dev/ttyACM0\"\nquiet = true\n");
        let variable = |name: &str| (name == "MUSTERBENCH_PORT").then(|| "simulated".to_owned());
        let all = Defaults::of(Some(&source), variable).expect("read");
        let port = all.0[0].as_ref().expect("there");
        assert_eq!((port.value, port.from.as_str()), ("simulated", "MUSTERBENCH_PORT"));
        let quiet = all.0[8].as_ref().expect("there");
        assert_eq!((quiet.value, quiet.from.as_str()), ("true", FILE));
        let wrong = Source::new(FILE, "oprator = \"Ines\"\n");
        let error = Defaults::of(Some(&wrong), |_| None).expect_err("wrong");
        assert!(error.to_string().contains("did you mean `operator`"), "{error}");
    }
}
