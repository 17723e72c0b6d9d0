//! A line to a bench that the test keeps hold of while the run has it.

use core::cell::RefCell;
use core::time::Duration;
use musterbench::link::simulated::{JumpingBoard, SimulatedTransport};
use musterbench::link::transport::{Transport, TransportError};
use std::rc::Rc;

/// One end of it; the other one stays with the test.
pub struct Shared<B: JumpingBoard>(pub Rc<RefCell<SimulatedTransport<B>>>);

impl<B: JumpingBoard> Transport for Shared<B> {
    fn send(&mut self, bytes: &[u8]) -> Result<(), TransportError> {
        self.0.borrow_mut().send(bytes)
    }
    fn receive(&mut self, into: &mut [u8], timeout: Duration) -> Result<usize, TransportError> {
        self.0.borrow_mut().receive(into, timeout)
    }
    fn now(&self) -> Duration {
        self.0.borrow().now()
    }
    fn pause(&mut self, time: Duration) {
        self.0.borrow_mut().pause(time);
    }
    fn time_of_day(&self) -> jiff::ZonedDateTime {
        self.0.borrow().time_of_day()
    }
}
