//! Whose fault a reading that does not pass most likely is.
//!
//! The run gathers facts; the table below turns them into a blame. The first rule that fits wins,
//! so special cases stand above general ones. The rules are reasoned from the bench's wiring
//! (common practice, no source).

use super::reading::{Blame, Quantity};
use super::switches::SwitchFault;
use super::verdict::Side;

/// The load's current when the bypass drives it past the module.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum PastModule {
    /// Not looked at.
    #[default]
    Unknown,
    /// As expected.
    Right,
    /// Too small, though the voltage is there.
    Low,
    /// The voltage does not come through the lead of the clamp.
    NoVoltage,
    /// Too large.
    High,
}

impl PastModule {
    /// Whether nothing was found wrong past the module.
    pub const fn is_right(self) -> bool {
        matches!(self, PastModule::Unknown | PastModule::Right)
    }
}

/// The voltage at a clamp that should be closed.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum AtClamp {
    /// Not looked at.
    #[default]
    Unknown,
    /// Nearly the supply's.
    Full,
    /// Well below the supply's, but there.
    Dropped,
    /// None.
    Absent,
}

/// Where the module answers commands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Answers {
    /// Not known.
    #[default]
    Unknown,
    /// Where it should: at least one output has moved as told.
    Here,
    /// At another address, in another format or with the feed the other way round.
    Elsewhere,
    /// At none of those that were tried.
    Nowhere,
    /// Not where it should; no other was tried.
    NotSearched,
}

/// Whether something else moves than what was told to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub enum Crossed {
    /// None, or not known.
    #[default]
    No,
    /// Commands move the wrong output or position, contact inputs the right one.
    CommandsOnly,
    /// Commands and contact inputs move the same wrong output or position.
    Both,
}

/// What is known of the module and of the supplies, whatever is read.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct ModuleFacts {
    /// Where the module answers.
    pub answers: Answers,
    /// What is known of a switch that the module reads the other way than it was asked to stand.
    pub switch_fault: SwitchFault,
    /// The module draws (next to) no feed current.
    pub draws_nothing: bool,
    /// The inrush at power-on never reached the limit of the soft start, though the module draws
    /// current: there is resistance on its way.
    pub feed_choked: bool,
    /// No contact input of the module works, on several outputs tried.
    pub contacts_dead: bool,
    /// The feed's voltage is outside its limits.
    pub feed_wrong: bool,
    /// The load supply's voltage is outside its limits.
    pub supply_wrong: bool,
}

/// What is known of one clamp, and of the output that it belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct ClampFacts {
    /// The jig's own load is on, not a real one.
    pub jig_load: bool,
    /// Current past the module.
    pub past_module: PastModule,
    /// Voltage at the clamp that should be closed.
    pub at_clamp: AtClamp,
    /// Whether a coil's pulse was seen in the feed current.
    pub coil_pulse: Option<bool>,
    /// Whether the output moved.
    pub moved: Option<bool>,
    /// Neither clamp of the output has carried current, though both have loads.
    pub common_off: bool,
    /// Outputs that move for one another.
    pub crossed: Crossed,
}

/// What is known of one reading alone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct ReadingFacts {
    /// A supply has tripped.
    pub tripped: bool,
    /// It was the load supply.
    pub loads_tripped: bool,
    /// The jig has no channel for it.
    pub no_channel: bool,
    /// The feed current is too high by what the auxiliary supply draws, or the auxiliary current
    /// is missing where the idle current holds it already.
    pub auxiliary_on: bool,
    /// The auxiliary current is missing, and the idle current does not hold it.
    pub auxiliary_off: bool,
    /// The lamp blinks in the rhythm of an inverted feed.
    pub lamp_inverted: bool,
}

/// What is known when a reading is to be blamed on someone.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Default)]
pub struct Facts {
    /// Of the module.
    pub module: ModuleFacts,
    /// Of the clamp.
    pub clamp: ClampFacts,
    /// Of this very reading.
    pub reading: ReadingFacts,
}

impl From<ModuleFacts> for Facts {
    fn from(module: ModuleFacts) -> Self {
        Facts { module, ..Facts::default() }
    }
}

impl Facts {
    /// The same, of a clamp.
    pub const fn at(self, clamp: ClampFacts) -> Self {
        Facts { clamp, ..self }
    }

    /// The same, and whether a supply has tripped.
    pub const fn tripping(self, tripped: bool) -> Self {
        Facts { reading: ReadingFacts { tripped, ..self.reading }, ..self }
    }

    /// The same, and whether the load supply has tripped.
    pub const fn losing_loads(self, loads_tripped: bool) -> Self {
        let tripped = self.reading.tripped || loads_tripped;
        Facts { reading: ReadingFacts { tripped, loads_tripped, ..self.reading }, ..self }
    }

    /// Nothing is known but that the jig has no channel for it.
    pub fn without_channel() -> Self {
        let reading = ReadingFacts { no_channel: true, ..ReadingFacts::default() };
        Facts { reading, ..Facts::default() }
    }
}

/// What was decided and why.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Finding {
    /// Whose fault.
    pub blame: Blame,
    /// Why, in words for the note; empty when there is nothing to add.
    pub why: &'static str,
}

struct Rule {
    of: &'static [Quantity],
    when: fn(Side, &Facts) -> bool,
    blame: Blame,
    why: &'static str,
}

/// Readings that need an output to have moved.
const OPERATION: &[Quantity] = &[
    Quantity::LoadCurrent,
    Quantity::LoadTotal,
    Quantity::OpenCurrent,
    Quantity::ResponseTime,
    Quantity::ContactResponseTime,
    Quantity::Gap,
    Quantity::BounceTime,
    Quantity::ContactResistance,
    Quantity::CoilCurrent,
    Quantity::UnwantedMoves,
    Quantity::WrongPositions,
    Quantity::Answers,
    Quantity::AnswersInverted,
];

/// Readings of what flows through a load.
const LOAD: &[Quantity] = &[
    Quantity::LoadCurrent,
    Quantity::LoadTotal,
    Quantity::InrushCurrent,
    Quantity::InrushDecay,
    Quantity::RiseTime,
    Quantity::ContactResistance,
    Quantity::ResponseTime,
    Quantity::ContactResponseTime,
    Quantity::Gap,
    Quantity::BounceTime,
];

/// Readings of the module and of what hangs on it that have an uncertainty.
const MEASURED: &[Quantity] = &[
    Quantity::LoadCurrent,
    Quantity::LoadTotal,
    Quantity::OpenCurrent,
    Quantity::InrushCurrent,
    Quantity::InrushDecay,
    Quantity::RiseTime,
    Quantity::ContactResistance,
    Quantity::ResponseTime,
    Quantity::ContactResponseTime,
    Quantity::Gap,
    Quantity::BounceTime,
    Quantity::CoilCurrent,
    Quantity::StartCharge,
    Quantity::IdleCurrent,
    Quantity::AuxiliaryCurrent,
    Quantity::LampRate,
    Quantity::LampDuty,
    Quantity::LampCurrent,
];

const CHOKED: &str = "the inrush at power-on was too small: look for resistance in the feed leads";

/// Readings of an operation by contact that need it to have moved.
const CONTACT: &[Quantity] = &[
    Quantity::LoadCurrent,
    Quantity::OpenCurrent,
    Quantity::ContactResponseTime,
    Quantity::Gap,
    Quantity::BounceTime,
    Quantity::ContactResistance,
    Quantity::CoilCurrent,
    Quantity::WrongPositions,
];

const ANSWERING: &[Quantity] = &[Quantity::Answers, Quantity::AnswersInverted];
const FEED: &[Quantity] = &[Quantity::StartCharge, Quantity::IdleCurrent];
/// Readings that a trip of the feed takes away: it is the same finding as the trip itself.
const FEED_CURRENTS: &[Quantity] = &[
    Quantity::StartCharge,
    Quantity::IdleCurrent,
    Quantity::AuxiliaryCurrent,
    Quantity::LampRate,
    Quantity::LampDuty,
    Quantity::LampCurrent,
];
/// What tells how the lamp blinks.
const RHYTHM: &[Quantity] = &[Quantity::LampRate, Quantity::LampDuty, Quantity::LampSeen];
const LAMP: &[Quantity] =
    &[Quantity::LampRate, Quantity::LampDuty, Quantity::LampCurrent, Quantity::LampSeen];
const AUXILIARY: &[Quantity] = &[Quantity::IdleCurrent, Quantity::AuxiliaryCurrent];

fn load_is_wrong(f: &Facts) -> bool {
    !f.clamp.past_module.is_right()
}

fn low(side: Side) -> bool {
    matches!(side, Side::Below | Side::Missing)
}

static RULES: &[Rule] = &[
    Rule {
        of: &[
            Quantity::FeedResistance,
            Quantity::InrushCurrent,
            Quantity::InrushDecay,
            Quantity::RiseTime,
        ],
        when: |_, f| f.reading.no_channel,
        blame: Blame::Unsure,
        why: "",
    },
    Rule {
        of: &[Quantity::FeedToCommons, Quantity::CommonToCommon],
        when: |_, _| true,
        blame: Blame::Lead,
        why: "",
    },
    // The supplies themselves.
    Rule {
        of: &[Quantity::FeedVoltage, Quantity::LoadVoltage],
        when: |_, f| !f.reading.tripped,
        blame: Blame::Jig,
        why: "",
    },
    Rule {
        of: LOAD,
        when: |_, f| f.module.supply_wrong,
        blame: Blame::Jig,
        why: "the voltage of the load supply is wrong already",
    },
    // The feed and what hangs on it.
    Rule {
        of: &[Quantity::FeedResistance],
        when: |side, _| side == Side::Above || side == Side::Missing,
        blame: Blame::Lead,
        why: "nothing seems to hang on the feed: look at its leads",
    },
    Rule {
        of: FEED_CURRENTS,
        when: |side, f| side == Side::Missing && f.reading.tripped,
        blame: Blame::Module,
        why: "",
    },
    Rule {
        of: &[Quantity::StartCharge, Quantity::IdleCurrent, Quantity::CoilCurrent],
        when: |_, f| f.module.feed_wrong,
        blame: Blame::Jig,
        why: "the voltage of the feed is wrong already",
    },
    Rule {
        of: FEED,
        when: |side, f| low(side) && f.module.draws_nothing,
        blame: Blame::Lead,
        why: "the module draws next to no current: look at the leads of the feed",
    },
    Rule {
        of: AUXILIARY,
        when: |_, f| f.reading.auxiliary_on,
        blame: Blame::Setting,
        why: "the auxiliary supply seems to be on: look at its slider",
    },
    Rule {
        of: &[Quantity::AuxiliaryCurrent],
        when: |side, f| low(side) && f.reading.auxiliary_off,
        blame: Blame::Setting,
        why: "the auxiliary supply seems to be off: look at its slider first",
    },
    Rule {
        of: FEED,
        when: |side, f| low(side) && f.module.feed_choked,
        blame: Blame::Lead,
        why: CHOKED,
    },
    Rule {
        of: RHYTHM,
        when: |_, f| f.reading.lamp_inverted,
        blame: Blame::Setting,
        why: "this is the rhythm of an inverted feed",
    },
    Rule {
        of: LAMP,
        when: |_, f| f.module.draws_nothing,
        blame: Blame::Lead,
        why: "the module draws next to no current: look at the leads of the feed",
    },
    // The module does not listen where it is asked; the run notes where it does.
    Rule {
        of: ANSWERING,
        when: |_, f| {
            f.module.answers == Answers::Elsewhere && f.module.switch_fault == SwitchFault::Stuck
        },
        blame: Blame::Module,
        why: "",
    },
    Rule {
        of: ANSWERING,
        when: |_, f| f.module.answers == Answers::Elsewhere,
        blame: Blame::Setting,
        why: "",
    },
    Rule {
        of: ANSWERING,
        when: |_, f| f.module.answers == Answers::NotSearched,
        blame: Blame::Unsure,
        why: "",
    },
    Rule {
        of: &[Quantity::StuckSwitches],
        when: |side, _| side == Side::Above,
        blame: Blame::Module,
        why: "",
    },
    Rule {
        of: OPERATION,
        when: |_, f| f.module.answers == Answers::Nowhere && f.module.draws_nothing,
        blame: Blame::Lead,
        why: "the module draws no feed current: look at the leads of the feed",
    },
    // The load, seen past the module.
    Rule {
        of: LOAD,
        when: |_, f| f.clamp.past_module == PastModule::NoVoltage,
        blame: Blame::Lead,
        why: "past the module the voltage is lost too: look for a loose clamp or lead",
    },
    Rule {
        of: LOAD,
        when: |_, f| load_is_wrong(f) && f.clamp.jig_load,
        blame: Blame::Jig,
        why: "the jig's own load is wrong past the module too",
    },
    Rule {
        of: LOAD,
        when: |_, f| load_is_wrong(f),
        blame: Blame::Load,
        why: "the load is wrong past the module too",
    },
    // Its limits allow it, as far as the jig can tell: nobody is known to be at fault.
    Rule {
        of: MEASURED,
        when: |side, f| side == Side::Inside && !f.module.feed_choked,
        blame: Blame::Unsure,
        why: "within its limits, but nearer to one than this jig can tell",
    },
    // Without the load supply nobody saw what an output did.
    Rule {
        of: OPERATION,
        when: |_, f| f.reading.loads_tripped && f.clamp.past_module == PastModule::Unknown,
        blame: Blame::Unsure,
        why: "",
    },
    // The load is right; the way to it is not.
    Rule {
        of: OPERATION,
        when: |_, f| {
            f.clamp.common_off
                && f.clamp.coil_pulse == Some(true)
                && f.clamp.past_module != PastModule::Unknown
        },
        blame: Blame::Lead,
        why: "its coil pulls, but neither position passes current: look at the lead of its common",
    },
    Rule { of: OPERATION, when: |_, f| f.module.feed_choked, blame: Blame::Lead, why: CHOKED },
    Rule {
        of: OPERATION,
        when: |_, f| f.clamp.crossed == Crossed::Both,
        blame: Blame::Lead,
        why: "commands and contact inputs move the same wrong clamps: look for swapped leads",
    },
    Rule {
        of: OPERATION,
        when: |_, f| f.clamp.crossed == Crossed::CommandsOnly,
        blame: Blame::Module,
        why: "commands move something else than they should, contact inputs do not",
    },
    Rule {
        of: CONTACT,
        when: |_, f| f.module.contacts_dead && f.clamp.moved == Some(false),
        blame: Blame::Jig,
        why: "no contact input works at all: look at the jig's contact closers and their leads",
    },
    Rule {
        of: LOAD,
        when: |side, f| f.clamp.past_module == PastModule::Right && side != Side::Inside,
        blame: Blame::Module,
        why: "the load is right past the module",
    },
    Rule {
        of: OPERATION,
        when: |_, f| f.module.answers == Answers::Nowhere,
        blame: Blame::Module,
        why: "the module draws feed current but answers nowhere that was tried",
    },
    Rule {
        of: OPERATION,
        when: |_, f| f.clamp.coil_pulse == Some(false) && f.clamp.moved == Some(false),
        blame: Blame::Module,
        why: "no coil pulse in the feed current",
    },
    Rule {
        of: LOAD,
        when: |_, f| f.reading.tripped && f.clamp.past_module == PastModule::Unknown,
        blame: Blame::Unsure,
        why: "",
    },
    // What is left is what the module sheet promises.
    Rule { of: OPERATION, when: |_, _| true, blame: Blame::Module, why: "" },
    Rule { of: FEED, when: |_, _| true, blame: Blame::Module, why: "" },
    Rule {
        of: &[Quantity::FeedResistance, Quantity::AuxiliaryCurrent],
        when: |_, _| true,
        blame: Blame::Module,
        why: "",
    },
    Rule { of: &[Quantity::LampSeen], when: |_, _| true, blame: Blame::Module, why: "" },
    Rule { of: LAMP, when: |side, _| side != Side::Missing, blame: Blame::Module, why: "" },
    Rule {
        of: LAMP,
        when: |_, f| f.module.answers == Answers::Here,
        blame: Blame::Module,
        why: "the module itself answers",
    },
];

/// Whose fault it most likely is that a reading of `quantity`, which lies on `side` of its limits,
/// does not pass.
pub fn blame(quantity: Quantity, side: Side, facts: &Facts) -> Finding {
    RULES.iter().find(|rule| rule.of.contains(&quantity) && (rule.when)(side, facts)).map_or(
        Finding { blame: Blame::Unsure, why: "" },
        |rule| Finding { blame: rule.blame, why: rule.why },
    )
}

#[cfg(test)]
mod tests;
