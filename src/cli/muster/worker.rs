//! A jig on a thread of its own: takes orders, tells what happens.

use super::bench::Bench;
use crate::cli::command_result::{CommandError, Exit};
use crate::muster::happening::{Happening, Order};
use core::time::Duration;
use std::sync::mpsc::{Receiver, RecvTimeoutError, Sender};

/// How often a button or a seat is looked at.
const LOOKS: Duration = Duration::from_millis(60);

/// The same where the clock jumps: nobody waits for a simulated bench of this program.
const HURRIED: Duration = Duration::from_millis(10);

/// How often a jig that nobody wants anything of hears that somebody is still there.
const ALIVE: Duration = Duration::from_secs(5);

/// What is looked for between orders.
#[derive(Clone, Copy, Debug)]
enum Watch {
    Nothing,
    /// So many presses there were when it began; `None`: not asked yet.
    Button(Option<u32>),
    /// Whether the module has left.
    Seat,
}

/// Works until no more orders can come, and lets the jig go.
pub fn work(
    at: usize,
    mut bench: Bench<'_>,
    orders: &Receiver<Order>,
    to_desk: &Sender<Happening>,
) {
    let mut watch = Watch::Nothing;
    loop {
        let patience = match watch {
            Watch::Nothing => ALIVE,
            Watch::Seat if bench.is_new_each_time() => HURRIED,
            Watch::Button(_) | Watch::Seat => LOOKS,
        };
        let order = match orders.recv_timeout(patience) {
            Ok(order) => Some(order),
            Err(RecvTimeoutError::Timeout) => None,
            Err(RecvTimeoutError::Disconnected) => break,
        };
        let done = match order {
            Some(Order::WatchButton) => {
                watch = Watch::Button(None);
                look(at, &mut bench, &mut watch)
            }
            Some(Order::WatchSeat) => {
                watch = Watch::Seat;
                bench.signal();
                look(at, &mut bench, &mut watch)
            }
            Some(order) => {
                watch = Watch::Nothing;
                carry_out(at, &mut bench, &order, to_desk)
            }
            None => look(at, &mut bench, &mut watch),
        };
        let happening = match done {
            Ok(None) => continue,
            Ok(Some(happening)) => happening,
            Err(error) => {
                watch = Watch::Nothing;
                bench.close();
                lost(at, &error)
            }
        };
        if to_desk.send(happening).is_err() {
            break;
        }
    }
    bench.close();
}

/// What a failure tells the desk.
pub fn lost(at: usize, error: &CommandError) -> Happening {
    let why = error.error.to_string();
    if error.exit == Exit::BadInput {
        Happening::Refused(at, why)
    } else {
        Happening::Lost(at, why)
    }
}

fn carry_out(
    at: usize,
    bench: &mut Bench<'_>,
    order: &Order,
    to_desk: &Sender<Happening>,
) -> Result<Option<Happening>, CommandError> {
    Ok(match order {
        Order::Check => Some(Happening::Looked(at, bench.check()?)),
        Order::Run(job) => {
            // A desk that is gone wants to know nothing more.
            let mut tell = |progress| drop(to_desk.send(Happening::Progress(at, progress)));
            Some(Happening::Ended(at, bench.run(job, &mut tell)?))
        }
        Order::Rest | Order::WatchButton | Order::WatchSeat => None,
    })
}

/// Looks at what is watched.
fn look(
    at: usize,
    bench: &mut Bench<'_>,
    watch: &mut Watch,
) -> Result<Option<Happening>, CommandError> {
    match watch {
        Watch::Nothing => {
            bench.keep_alive()?;
            Ok(None)
        }
        Watch::Button(before) => {
            let Some(now) = bench.presses()? else {
                // There is no button.
                *watch = Watch::Nothing;
                return Ok(None);
            };
            let is_pressed = before.is_some_and(|before| before != now);
            *before = Some(now);
            Ok(is_pressed.then_some(Happening::Pressed(at)))
        }
        Watch::Seat => {
            let left = bench.has_left()?;
            if left.is_some() {
                *watch = Watch::Nothing;
            }
            Ok(left.map(|seat| Happening::Seat(at, seat)))
        }
    }
}
