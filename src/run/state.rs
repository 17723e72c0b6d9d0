//! The state of a run: what it has learned so far.

use super::deviation::{Deviation, Proven};
use super::outcome::AnswersAt;
use super::see::untrusted::Untrusted;
use crate::judge::blame::{Answers, Crossed, ModuleFacts, PastModule};
use crate::measure::blinking::BlinkingMean;
use crate::script::plan::{BankSetting, LoadChoice, Polarity};
use crate::signal::target::{Clamp, Format, Position};
use std::ops::Range;

/// State of the feed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Feed {
    Off,
    On(Polarity),
    /// A short: it does not stay on.
    Tripped,
}

/// State of the load supply.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum LoadSupply {
    Sound,
    /// It trips whatever is connected: it is left off.
    Unusable,
}

/// The watch on the lamp.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Watch {
    /// When it began.
    pub began_us: u64,
    /// When something else drew current, in the jig's time.
    pub suspect_us: Vec<Range<u64>>,
    /// When the current as a whole may have changed: the feed, the slider.
    pub breaks_us: Vec<u64>,
    /// The feed has tripped meanwhile.
    pub tripped: bool,
}

/// All that is known.
#[derive(Clone, Debug)]
pub(super) struct RunState {
    /// How the switches were last asked to stand.
    pub asked: BankSetting,
    /// Where the module is commanded: as its switches were asked to stand, or where it was found.
    pub bank: BankSetting,
    /// What proofs of the switches have shown, setting by setting.
    pub proven: Vec<Proven>,
    /// Where it answered elsewhere than asked, setting by setting, as it was told.
    pub deviations: Vec<Deviation>,
    pub feed: Feed,
    pub load_supply: LoadSupply,
    pub loads: LoadChoice,
    /// Clamps that have a load connected.
    pub connected: [bool; 8],
    /// Clamps whose load draws so much that its current tells whether the contact is closed.
    pub telling: [bool; 8],
    /// Clamps whose load is a short: it stays disconnected.
    pub shorted: [bool; 8],
    /// Where each output stands, as far as currents tell.
    pub positions: [Option<Position>; 4],
    /// Where each output was last told to go, if it was.
    pub ordered: [Option<Position>; 4],
    /// Where each output stood when the feed went off.
    pub positions_at_off: [Option<Position>; 4],
    /// The load's current past the module, where it was looked at.
    pub past_module: [PastModule; 8],
    /// Since when no load has been on, by the jig's clock, as far as the run knows.
    pub loads_off_since_us: u64,
    /// A load may have been on in the present step.
    pub loads_were_on: bool,
    /// Clamps that have carried their load's current through the module.
    pub has_carried: [bool; 8],
    /// What moved instead of each output (itself: the other way), and whether by contact too.
    pub moved_instead: [Option<(u8, Crossed)>; 4],
    /// Whether it was looked at if contact inputs work at all.
    pub tried_contacts: bool,
    /// The least noise that one conversion of the feed current has shown, in counts.
    pub feed_noise: Option<f64>,
    pub idle: Option<BlinkingMean>,
    pub idle_untrusted: Option<Untrusted>,
    /// Feed current with the auxiliary supply on.
    pub with_auxiliary: Option<BlinkingMean>,
    pub auxiliary_untrusted: Option<Untrusted>,
    pub watch: Option<Watch>,
    /// What holds for the module as a whole.
    pub facts: ModuleFacts,
    /// An output that was seen to answer.
    pub answering: Option<u8>,
    /// Something that conducts was seen between the feed wires before power.
    pub seat_taken: bool,
    /// What a person said to a search for the module's address.
    pub search_allowed: Option<bool>,
    /// Searches of all addresses that came to nothing.
    pub searched_in_vain: u8,
    /// First address and format of the last command, in the present step.
    pub last_told: Option<(u16, Format)>,
    /// Where it was seen to answer with its switches as they were to begin with.
    pub found: Option<AnswersAt>,
    /// How the switches were to begin with.
    first_bank: BankSetting,
}

impl RunState {
    pub fn new(bank: BankSetting) -> Self {
        RunState {
            asked: bank,
            bank,
            proven: Vec::new(),
            deviations: Vec::new(),
            feed: Feed::Off,
            load_supply: LoadSupply::Sound,
            loads: LoadChoice::None,
            connected: [false; 8],
            telling: [false; 8],
            shorted: [false; 8],
            positions: [None; 4],
            ordered: [None; 4],
            positions_at_off: [None; 4],
            past_module: [PastModule::Unknown; 8],
            loads_off_since_us: 0,
            loads_were_on: false,
            has_carried: [false; 8],
            moved_instead: [None; 4],
            tried_contacts: false,
            feed_noise: None,
            idle: None,
            idle_untrusted: None,
            with_auxiliary: None,
            auxiliary_untrusted: None,
            watch: None,
            facts: ModuleFacts::default(),
            answering: None,
            seat_taken: false,
            search_allowed: None,
            searched_in_vain: 0,
            last_told: None,
            found: None,
            first_bank: bank,
        }
    }

    /// Whether a clamp has a load that can be measured.
    pub fn is_loaded(&self, clamp: Clamp) -> bool {
        self.loads != LoadChoice::None
            && self.load_supply == LoadSupply::Sound
            && self.connected[clamp.index()]
            && !self.shorted[clamp.index()]
    }

    /// Clamps that have a load that can be measured.
    pub fn loaded(&self) -> impl Iterator<Item = Clamp> + '_ {
        Clamp::ALL.into_iter().filter(|&c| self.is_loaded(c))
    }

    /// Notes where the module was seen to answer: it is commanded there from now on.
    pub fn answers_at(&mut self, at: AnswersAt) {
        (self.bank.address, self.bank.format) = (at.address, at.format);
        self.facts.answers = Answers::Here;
        // What it does with its switches set otherwise than to begin with is another thing.
        if self.asked == self.first_bank {
            self.found = self.found.or(Some(at));
        }
    }

    /// Notes that it was seen to answer where it is commanded.
    pub fn answers_here(&mut self) {
        let BankSetting { format, address, .. } = self.bank;
        self.answers_at(AnswersAt { format, address });
    }

    /// Notes that the switches were set anew: where the module answers is open again.
    pub fn switches_are_set(&mut self, bank: BankSetting) {
        (self.asked, self.bank) = (bank, bank);
        self.facts.answers = Answers::Unknown;
    }

    /// Takes note of the noise of a conversion of the feed current, in counts.
    pub fn sees_feed_noise(&mut self, noise: f64) {
        self.feed_noise = Some(self.feed_noise.map_or(noise, |least| least.min(noise)));
    }

    /// Notes that the feed has tripped.
    pub fn feed_trips(&mut self) {
        self.feed = Feed::Tripped;
        if let Some(watch) = &mut self.watch {
            watch.tripped = true;
        }
    }

    /// Notes that something else than the lamp draws current for a while.
    pub fn suspect(&mut self, from_us: u64, to_us: u64) {
        if let Some(watch) = &mut self.watch {
            watch.suspect_us.push(from_us..to_us);
        }
    }

    /// Notes that the current as a whole may change now.
    pub fn break_watch(&mut self, at_us: u64) {
        if let Some(watch) = &mut self.watch {
            watch.breaks_us.push(at_us);
        }
    }
}
