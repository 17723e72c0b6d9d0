//! The command tree: every header that the jig knows, for both ends.
//!
//! In a pattern, capitals are the short form, `[…]` may be left out, `#` takes a numeric suffix:
//! 1 (also when left out) or 2, but for the headers of the feed alone, see [`Node::suffix_max`].

/// Whether a header may be sent as a command, a query or both.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Form {
    /// Command only.
    Command,
    /// Query only.
    Query,
    /// Both.
    Both,
}

/// One node that can be carried out.
#[derive(Clone, Copy, Debug)]
pub struct Entry {
    /// The header's pattern.
    pub pattern: &'static str,
    /// The forms it takes.
    pub form: Form,
    /// What it stands for.
    pub node: Node,
}

macro_rules! tree {
    ($($(#[$doc:meta])* $node:ident $form:ident $pattern:literal;)*) => {
        /// Every node of the tree.
        #[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
        pub enum Node { $($(#[$doc])* $node,)* }

        /// The whole tree, common commands first.
        pub static TREE: &[Entry] = &[
            $(Entry { pattern: $pattern, form: Form::$form, node: Node::$node },)*
        ];
    };
}

tree! {
    /// Clear status.
    Cls Command "*CLS";
    /// Standard event status enable.
    Ese Both "*ESE";
    /// Standard event status register; reading clears.
    Esr Query "*ESR";
    /// Who are you: `musterbench,<model>,<serial>,<firmware>`.
    Idn Query "*IDN";
    /// Operation complete: sets the event bit, or answers 1, when nothing is pending.
    Opc Both "*OPC";
    /// Safe reset.
    Rst Command "*RST";
    /// Service request enable: acts on the summary bit only.
    Sre Both "*SRE";
    /// Status byte.
    Stb Query "*STB";
    /// Self-test, 0 is good.
    Tst Query "*TST";
    /// Wait until nothing is pending.
    Wai Command "*WAI";

    /// Next error: `<number>,"<text>"`.
    ErrorNext Query "SYSTem:ERRor[:NEXT]";
    /// How many errors are queued.
    ErrorCount Query "SYSTem:ERRor:COUNt";
    /// SCPI version, `1999.0`.
    Version Query "SYSTem:VERSion";
    /// Version of this language, see `wire::PROTOCOL`.
    Protocol Query "SYSTem:PROTocol";
    /// The jig's clock, microseconds since boot.
    Clock Query "SYSTem:CLOCk";
    /// Silence limit in seconds, 0.1 to 60.
    Silence Both "SYSTem:SILence";
    /// Leaves sealed mode; outputs go safe.
    SealEnd Command "SYSTem:SEAL:END";
    /// 1 in sealed mode.
    SealState Query "SYSTem:SEAL:STATe";
    /// Every channel, as a channel list.
    ChannelCatalog Query "SYSTem:CHANnel:CATalog";
    /// One channel described: see `wire::channel::Description`.
    ChannelDescribe Query "SYSTem:CHANnel:DESCribe";

    /// Operation event register; reading clears.
    OperationEvent Query "STATus:OPERation[:EVENt]";
    /// Operation condition register.
    OperationCondition Query "STATus:OPERation:CONDition";
    /// Operation enable mask.
    OperationEnable Both "STATus:OPERation:ENABle";
    /// Operation positive transition filter.
    OperationPositive Both "STATus:OPERation:PTRansition";
    /// Operation negative transition filter.
    OperationNegative Both "STATus:OPERation:NTRansition";
    /// Questionable event register; reading clears.
    QuestionableEvent Query "STATus:QUEStionable[:EVENt]";
    /// Questionable condition register.
    QuestionableCondition Query "STATus:QUEStionable:CONDition";
    /// Questionable enable mask.
    QuestionableEnable Both "STATus:QUEStionable:ENABle";
    /// Questionable positive transition filter.
    QuestionablePositive Both "STATus:QUEStionable:PTRansition";
    /// Questionable negative transition filter.
    QuestionableNegative Both "STATus:QUEStionable:NTRansition";
    /// Preset the STATus masks and filters.
    StatusPreset Command "STATus:PRESet";

    /// Supply on or off: 1 the feed (through the soft start), 2 the load supply.
    Output Both "OUTPut#[:STATe]";
    /// Polarity of the feed, NORMal or INVerted; only while it is off (else -221).
    Polarity Both "OUTPut#:POLarity";
    /// Clears a latched trip.
    ProtectionClear Command "OUTPut#:PROTection:CLEar";
    /// 1 when tripped.
    ProtectionTripped Query "OUTPut#:PROTection:TRIPped";
    /// The last soft start: `<charge in C>,<duration in s>,<done 0|1>`.
    Charge Query "OUTPut#:CHARge";
    /// Current limit of the soft start, in amperes (1 only).
    SoftStartLimit Both "SOURce#:CURRent[:LEVel]:LIMit";
    /// Overload level, in amperes.
    ProtectionLevel Both "SOURce#:CURRent:PROTection[:LEVel]";
    /// Overload delay, in seconds.
    ProtectionDelay Both "SOURce#:CURRent:PROTection:DELay";

    /// Closes channels; the query answers 0 or 1 for each.
    Close Both "ROUTe:CLOSe";
    /// Opens channels; the query answers 0 or 1 for each.
    Open Both "ROUTe:OPEN";
    /// Opens everything.
    OpenAll Command "ROUTe:OPEN:ALL";
    /// A clamp's longest on-time and its rest: `<on s>,<rest s>,(@301,…)`; 0 on-time lifts it.
    /// The query takes one channel.
    Duty Both "ROUTe:DUTY";
    /// The channels that a capture samples, in order, at most `wire::preamble::SCAN_MAX`.
    Scan Both "ROUTe:SCAN#";

    /// Scans in a capture. `? MAX` answers the memory for the present scan list.
    SweepPoints Both "SENSe#:SWEep:POINts";
    /// Time between scans, in seconds, after averaging.
    SweepInterval Both "SENSe#:SWEep:TINTerval";
    /// Where the first point stands from the trigger, in scans: 0 or negative (pre-trigger).
    SweepOffset Both "SENSe#:SWEep:OFFSet:POINts";
    /// Conversions averaged into one point.
    AverageCount Both "SENSe#:AVERage:COUNt";
    /// What triggers: IMMediate, SENT (the end of a sent command), CONTact (a timed closure begins)
    /// or BUS.
    TriggerSource Both "TRIGger#[:SEQuence]:SOURce";
    /// Triggers now.
    Trigger Command "TRIGger#[:SEQuence][:IMMediate]";
    /// Arms a capture.
    Initiate Command "INITiate#[:IMMediate]";
    /// Ends a capture; what it took is kept.
    Abort Command "ABORt#";
    /// Block of samples of the last capture: all of it, or `<id>,<first byte>,<bytes>`.
    Fetch Query "FETCh#";
    /// Preamble of the last capture: see `wire::preamble::Preamble`.
    FetchPreamble Query "FETCh#:PREamble";
    /// Mean over 20 ms, in amperes, one value a channel.
    MeasureCurrent Query "MEASure:CURRent[:DC]";
    /// Mean over 20 ms, in volts, one value a channel.
    MeasureVoltage Query "MEASure:VOLTage[:DC]";
    /// Resistance in ohms, one value a channel; everything must be off (else -221).
    MeasureResistance Query "MEASure:RESistance";

    /// What the feed carries between commands: PACKet (idle packets), HIGH or LOW.
    Idle Both "DRIVe:IDLE";
    /// Sends a dcc packet: `<repeat>,<byte>,<byte>[,…]`, error byte included.
    Packet Command "DRIVe:PACKet";
    /// Sends pulses: `<repeat>,HIGH|LOW,<us>,<us>[,…]`, levels alternate.
    Pulses Command "DRIVe:PULSes";
    /// Commands sent so far, and when the last one's repetitions ended: `<count>,<last us>,<first
    /// us>,<second us, or first if there is just one>`.
    Sent Query "DRIVe:SENT";
    /// Closes contact inputs for a time: `<s>,(@201)`.
    Contact Command "CONTact:CLOSe";
    /// The last timed closure: `<began us>,<ends us>`.
    ContactTime Query "CONTact:TIME";

    /// Simulated bench only: sets the module's address switches, bit 0 is switch 1.
    HandSwitches Command "DIAGnostic:HAND:SWITches";
    /// Simulated bench only: moves the slider of the auxiliary supply.
    HandAuxiliary Command "DIAGnostic:HAND:AUXiliary";
    /// Simulated bench only: puts a reference resistor, with the reference meter in series, in place
    /// of the load at a clamp (101 to 108) or of the module on the feed (2): `<ohm>,(@101)`; 0 puts
    /// back what was there.
    HandReference Command "DIAGnostic:HAND:REFerence";
    /// Simulated bench only: what the reference meter shows, in amperes.
    HandMeter Query "DIAGnostic:HAND:METer";
}
