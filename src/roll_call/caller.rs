//! The jig while the roll is called: who is waited for, what is known of the module, what was sent.

use super::bound::{ALARMS, Bound, Effort, KIND_ALARMS};
use super::call_stop::CallStop;
use super::plan::Plan;
use super::stage::Stage;
use crate::link::capture::{CaptureSetup, Trigger};
use crate::link::client::Jig;
use crate::procedure::bench::Bench;
use crate::procedure::captures::FAST;
use crate::quantity::unit::Units;
use crate::script::module_sheet::ModuleSheet;
use crate::signal::target::{Format, Position};
use crate::signal::telegram::Telegram;
use crate::wire::channel::FEED_CURRENT;
use core::time::Duration;
use std::sync::atomic::AtomicBool;

/// Time between the points of the feed current.
pub(super) const POINT_US: u32 = 1_000;
/// Most points of the feed current: longer than any burst takes.
const POINTS: u32 = 16_384;
/// Most conversions averaged into a point.
const AVERAGE: u32 = 5;
/// A rise below this is no coil's, where the sheet states no limit, amperes.
const LEAST_A: f64 = 0.02;
/// Share of the least coil current that still counts: a weak coil is one all the same.
const COIL_SHARE: f64 = 0.5;
/// A rise must be so many times as high as the lamp's.
const ABOVE_LAMP: f64 = 1.5;

pub(super) struct Caller<'a> {
    pub bench: Bench<'a>,
    pub sheet: &'a ModuleSheet,
    pub plan: &'a Plan,
    tell: &'a mut dyn FnMut(&Stage<'_>),
    /// What was sent so far, and the most that may be.
    pub effort: Effort,
    bound: Bound,
    /// The least rise of the feed current that counts as a coil.
    pub least_a: f64,
    /// The voltage of the load supply, where loads can be looked at.
    pub load_v: Option<f64>,
    /// Where the outputs stand, as far as the loads tell.
    pub stands: [Option<Position>; 4],
    /// What the feed carries between commands is of this format.
    pub format: Format,
    /// So many more alarms are looked into.
    pub alarms_left: u64,
}

impl<'a> Caller<'a> {
    pub fn new(
        jig: &'a mut Jig,
        sheet: &'a ModuleSheet,
        plan: &'a Plan,
        bound: Bound,
        stop: &'a AtomicBool,
        tell: &'a mut dyn FnMut(&Stage<'_>),
    ) -> Self {
        Caller {
            bench: Bench::new(jig, None, stop),
            sheet,
            plan,
            tell,
            effort: Effort::default(),
            bound,
            least_a: sheet.coil_current.lower.map_or(LEAST_A, |a| COIL_SHARE * a.si()),
            load_v: None,
            stands: [None; 4],
            format: plan.expected.format,
            alarms_left: ALARMS,
        }
    }

    /// Has something done as another kind of module wants to be asked.
    pub fn as_kind<T>(
        &mut self,
        sheet: &ModuleSheet,
        plan: &Plan,
        what: impl FnOnce(&mut Caller<'_>) -> T,
    ) -> T {
        let mut other = Caller {
            effort: self.effort,
            load_v: self.load_v,
            stands: self.stands,
            format: self.format,
            alarms_left: KIND_ALARMS,
            ..Caller::new(self.bench.jig, sheet, plan, self.bound, self.bench.stop, self.tell)
        };
        let done = what(&mut other);
        let Caller { effort, load_v, stands, format, .. } = other;
        (self.effort, self.load_v, self.stands, self.format) = (effort, load_v, stands, format);
        done
    }

    /// Tells what happens now.
    pub fn stage(&mut self, words: &str) {
        let Bound { most, at_most, .. } = self.bound;
        (self.tell)(&Stage { words, sent: self.effort.packets, most: most.packets, at_most });
    }

    /// Counts what goes out.
    pub fn count(&mut self, telegram: &Telegram, copies: u8) {
        let wire = Duration::from_micros(telegram.sending_us(copies).into());
        self.effort = self.effort + Effort { packets: copies.into(), wire };
    }

    /// Ends the roll-call when the feed has tripped.
    pub fn check_feed(&mut self) -> Result<(), CallStop> {
        if self.bench.jig.trips()?.feed { Err(CallStop::FeedTripped) } else { Ok(()) }
    }

    /// What the feed carries between commands.
    pub fn idle_in(&mut self, format: Format) -> Result<(), CallStop> {
        if format != self.format {
            self.bench.rest_in(format)?;
            self.format = format;
        }
        Ok(())
    }

    /// Begins to record the feed current.
    pub fn record(&mut self) -> Result<(), CallStop> {
        let fastest_us =
            self.bench.channels().get(FEED_CURRENT).map_or(POINT_US, |d| d.interval_us.max(1));
        // A conversion's time must be a multiple of the channel's.
        let fits = |n: &u32| POINT_US.is_multiple_of(n * fastest_us);
        let setup = CaptureSetup {
            scan: vec![FEED_CURRENT],
            interval_us: POINT_US,
            points: POINTS,
            pre_trigger: 0,
            average: (1..=AVERAGE).rev().find(fits).unwrap_or(1) as u16,
            trigger: Trigger::Immediate,
        };
        Ok(self.bench.arm(FAST, &setup)?)
    }

    /// Ends the record; returns the time of its first point, and its points in amperes.
    pub fn recorded(&mut self) -> Result<(u64, Vec<f32>), CallStop> {
        self.bench.jig.abort_capture(FAST)?;
        self.check_feed()?;
        let captured = self.bench.jig.fetch(FAST)?;
        let preamble = &captured.preamble;
        let Some(column) = preamble.columns.first() else {
            return Err(CallStop::Trouble(
                "the jig has recorded no feed current: try again".into(),
            ));
        };
        let amperes =
            captured.column(0).map(|c| (column.offset + column.scale * f64::from(c)) as f32);
        Ok((preamble.first_us, amperes.collect()))
    }

    /// Learns how high the lamp's blinking is while nothing is sent.
    pub fn listen(&mut self) -> Result<(), CallStop> {
        self.stage("listening to the lamp");
        self.record()?;
        self.bench.pause(self.plan.times.blink)?;
        let (_, amperes) = self.recorded()?;
        let lamp_a = super::coil_pulses::highest_rise(&amperes);
        self.least_a = self.least_a.max(ABOVE_LAMP * lamp_a);
        Ok(())
    }
}
