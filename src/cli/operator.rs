//! The operator at the terminal: asked on the error output, answering on the standard input.

use super::command_result::{CommandError, bad_input};
use super::keyboard::{Keyboard, NoAnswer};
use super::output;
use crate::report::lamp_prompt::{LAMP_ANSWER, lamp_answer, lamp_prompt};
use crate::report::prompt::{ANSWER, NO_ANSWER, Prompt, Subject, prompt};
use crate::report::search_prompt::{SEARCH_ANSWER, search_answer, search_prompt};
use crate::run::event::{Hand, LampQuestion, LampSeen, MaySearch};
use crate::script::plan::HandTask;
use crate::system::terminal;
use std::sync::atomic::AtomicBool;

/// How the operator is asked.
#[derive(Clone, Copy, Debug, clap::Args)]
pub struct Asking {
    /// Do not ring the terminal's bell when something is to be done by hand
    #[arg(long)]
    pub quiet: bool,
}

/// Most characters of the operator's name: it stands in every line of a report.
const LONGEST: usize = 200;

/// Whether the name of whoever tests can be kept.
///
/// # Errors
/// A sentence why it cannot.
pub fn check_name(name: &str) -> Result<(), CommandError> {
    if name.chars().count() > LONGEST {
        return Err(bad_input(format!(
            "the operator's name is longer than {LONGEST} characters: give a shorter one"
        )));
    }
    if name.chars().any(char::is_control) {
        return Err(bad_input(
            "the operator's name holds a control character: use letters, digits and punctuation",
        ));
    }
    Ok(())
}

/// Whether there is somebody to ask, where something is to be done by hand.
///
/// # Errors
/// When there is no terminal.
pub fn check_someone_there(unattended: bool) -> Result<(), CommandError> {
    if unattended || terminal::is_someone_there() {
        return Ok(());
    }
    Err(bad_input(
        "something is to be done by hand, and there is no terminal to ask at: run it from a terminal, \
         or give --unattended on a simulated bench",
    ))
}

/// Asks for what is to be done by hand, and waits for the answer.
#[derive(Debug)]
pub struct Operator<'a> {
    stop: &'a AtomicBool,
    is_simulated: bool,
    asking: Asking,
    subject: Subject,
}

impl<'a> Operator<'a> {
    /// `stop` is set when the run shall stop, also in the middle of a prompt.
    /// On a simulated bench there is nothing to be done by hand, and the prompt says so.
    pub fn new(stop: &'a AtomicBool, is_simulated: bool, asking: Asking, subject: Subject) -> Self {
        Operator { stop, is_simulated, asking, subject }
    }

    /// Of what is asked.
    pub fn subject(&self) -> &Subject {
        &self.subject
    }

    /// Asks until the keyboard gives an answer that `understand` takes. `None`: the operator wants to
    /// stop, nobody is there, or the jig is gone.
    ///
    /// What was typed before the question, and what comes quicker than a person types, is no answer.
    pub fn ask<T>(
        &self,
        prompt: &Prompt,
        answer: &str,
        understand: impl Fn(&str) -> Option<T>,
        keep_alive: &mut dyn FnMut() -> bool,
    ) -> Option<T> {
        let mut keyboard = Keyboard::new(self.stop, keep_alive);
        match self.until_understood(&mut keyboard, prompt, answer, understand) {
            Ok(answer) => answer,
            Err(NoAnswer) => {
                output::tell("");
                None
            }
        }
    }

    fn until_understood<T>(
        &self,
        keyboard: &mut Keyboard<'_>,
        prompt: &Prompt,
        answer: &str,
        understand: impl Fn(&str) -> Option<T>,
    ) -> Result<Option<T>, NoAnswer> {
        keyboard.forget()?;
        output::ask(&prompt.before, false);
        loop {
            output::ask(&format!("{}\n{answer}", prompt.line), !self.asking.quiet);
            let line = keyboard.line()?;
            let word = line.as_deref();
            if word.is_some_and(|word| word.trim().eq_ignore_ascii_case("q")) {
                return Ok(None);
            }
            if let Some(understood) = word.and_then(&understand) {
                return Ok(Some(understood));
            }
            keyboard.forget()?;
            output::tell(NO_ANSWER);
        }
    }

    /// Asks for something to be done, and waits until it is. `false`: as [`Operator::ask`] gives none.
    pub fn has_done(&self, prompt: &Prompt, keep_alive: &mut dyn FnMut() -> bool) -> bool {
        let done = |line: &str| line.is_empty().then_some(());
        let prompt = prompt.clone().on_bench(self.is_simulated);
        self.ask(&prompt, ANSWER, done, keep_alive).is_some()
    }
}

impl Hand for Operator<'_> {
    fn act(&mut self, task: &HandTask, keep_alive: &mut dyn FnMut() -> bool) -> bool {
        if let HandTask::Prepare { bank: Some(bank), .. } | HandTask::Switches(bank) = task {
            self.subject.address = Some(bank.address);
        }
        self.has_done(&prompt(task, &self.subject), keep_alive)
    }

    fn look(
        &mut self,
        question: &LampQuestion,
        keep_alive: &mut dyn FnMut() -> bool,
    ) -> Option<LampSeen> {
        // A simulated bench has no lamp to look at, and without a terminal nobody is there.
        if self.is_simulated || !terminal::is_someone_there() {
            return Some(LampSeen::CannotTell);
        }
        let prompt = lamp_prompt(question, &self.subject);
        self.ask(&prompt, LAMP_ANSWER, lamp_answer, keep_alive)
    }

    fn may_search(
        &mut self,
        question: &MaySearch,
        keep_alive: &mut dyn FnMut() -> bool,
    ) -> Option<bool> {
        if !terminal::is_someone_there() {
            return Some(false);
        }
        let prompt = search_prompt(question, &self.subject);
        self.ask(&prompt, SEARCH_ANSWER, search_answer, keep_alive)
    }
}
