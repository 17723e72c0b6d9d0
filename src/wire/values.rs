//! Answers as values: for a host and a jig in one process, which need no text between them.

use super::answers::Block;
use super::error::{Error, ErrorCode};
use super::unit::{Ask, Reply};
use core::any::Any;
use std::collections::VecDeque;

/// The answers to a message, unit by unit.
#[derive(Debug, Default)]
pub struct AnswerValues(VecDeque<Box<dyn Any>>);

impl AnswerValues {
    /// The next one, which is of this type.
    ///
    /// # Errors
    /// There is no further one, or it is something else.
    pub fn take<T: 'static>(&mut self) -> Result<T, Error> {
        let next = self.0.pop_front().ok_or(ErrorCode::QueryUnterminated)?;
        next.downcast().map(|answer| *answer).map_err(|_| ErrorCode::DataType.into())
    }

    /// Ends the answers.
    ///
    /// # Errors
    /// Something is left over.
    pub fn finish(self) -> Result<(), Error> {
        if self.0.is_empty() { Ok(()) } else { Err(ErrorCode::QueryInterrupted.into()) }
    }
}

impl Reply for AnswerValues {
    fn reply<'a, Q: Ask<'a>>(&mut self, _: &Q, answer: &Q::Answer) -> Result<(), Error> {
        self.0.push_back(Box::new(answer.clone()));
        Ok(())
    }

    fn begin_block(&mut self, _: usize) -> Result<(), Error> {
        self.0.push_back(Box::new(Block(heapless::Vec::new())));
        Ok(())
    }

    fn continue_block(&mut self, bytes: &[u8]) -> Result<(), Error> {
        let block = self.0.back_mut().and_then(|last| last.downcast_mut::<Block>());
        let room = block.ok_or(ErrorCode::QueryDeadlocked)?;
        room.0.extend_from_slice(bytes).map_err(|_| ErrorCode::QueryDeadlocked.into())
    }
}
