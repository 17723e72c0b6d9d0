//! The table of the language: every header that the jig knows, with the types of its parameters and of its
//! answer. Whoever makes something of each line hands a macro to it: `tree` and `request` do.
//!
//! In a pattern, capitals are the short form, `[…]` may be left out, `#` takes a numeric suffix.
//! What a line is made of stands in `define`.

/// Hands all lines to a macro.
macro_rules! table {
    ($then:ident) => {
        $then! {
            /// Clear status.
            Cls "*CLS" [] set {};
            /// Standard event status enable.
            Ese "*ESE" [] set { mask: u8 } get {} -> u8;
            /// Standard event status register; reading clears.
            Esr "*ESR" [] get {} -> u8;
            /// Who are you: `musterbench,<model>,<serial>,<firmware>`.
            Idn "*IDN" [] get {} -> Identification;
            /// Operation complete: sets the event bit, or answers 1, when nothing is pending.
            Opc "*OPC" [] set {} get {} -> bool;
            /// Safe reset.
            Rst "*RST" [] set {};
            /// Service request enable: acts on the summary bit only.
            Sre "*SRE" [] set { mask: u8 } get {} -> u8;
            /// Status byte.
            Stb "*STB" [] get {} -> u8;
            /// Self-test, 0 is good.
            Tst "*TST" [] get {} -> u16;
            /// Wait until nothing is pending.
            Wai "*WAI" [] set {};

            /// What each current read with nothing flowing, in amperes, in the order of the catalogue.
            Zero "CALibration:ZERO" [] get {} -> Values<Measured>;
            /// When that was taken, by the jig's clock.
            ZeroTime "CALibration:ZERO:TIME" [] get {} -> u64;

            /// Next error: `<number>,"<text>"`.
            ErrorNext "SYSTem:ERRor[:NEXT]" [] get {} -> ErrorReport;
            /// How many errors are queued.
            ErrorCount "SYSTem:ERRor:COUNt" [] get {} -> u32;
            /// SCPI version, `1999.0`.
            Version "SYSTem:VERSion" [] get {} -> version::Version;
            /// Version of this language, see `wire::PROTOCOL`.
            Protocol "SYSTem:PROTocol" [] get {} -> version::Version;
            /// The jig's clock, microseconds since boot.
            Clock "SYSTem:CLOCk" [] get {} -> u64;
            /// Silence limit in seconds, 0.1 to 60.
            Silence "SYSTem:SILence" []
                set { limit: Setting<Seconds> }
                get { bound: Option<Bound> } -> Seconds;
            /// Leaves sealed mode; outputs go safe.
            SealEnd "SYSTem:SEAL:END" [] set {};
            /// 1 in sealed mode.
            SealState "SYSTem:SEAL:STATe" [] get {} -> bool;
            /// Every channel, as a channel list.
            ChannelCatalog "SYSTem:CHANnel:CATalog" [] get {} -> Named;
            /// One channel described: see `wire::channel::Description`.
            ChannelDescribe "SYSTem:CHANnel:DESCribe" [] get { channel: ListedOrPlain } -> Description;

            /// Operation event register; reading clears.
            OperationEvent "STATus:OPERation[:EVENt]" [] get {} -> u16;
            /// Operation condition register.
            OperationCondition "STATus:OPERation:CONDition" [] get {} -> u16;
            /// Operation enable mask.
            OperationEnable "STATus:OPERation:ENABle" [] set { mask: u16 } get {} -> u16;
            /// Operation positive transition filter.
            OperationPositive "STATus:OPERation:PTRansition" [] set { mask: u16 } get {} -> u16;
            /// Operation negative transition filter.
            OperationNegative "STATus:OPERation:NTRansition" [] set { mask: u16 } get {} -> u16;
            /// Questionable event register; reading clears.
            QuestionableEvent "STATus:QUEStionable[:EVENt]" [] get {} -> u16;
            /// Questionable condition register.
            QuestionableCondition "STATus:QUEStionable:CONDition" [] get {} -> u16;
            /// Questionable enable mask.
            QuestionableEnable "STATus:QUEStionable:ENABle" [] set { mask: u16 } get {} -> u16;
            /// Questionable positive transition filter.
            QuestionablePositive "STATus:QUEStionable:PTRansition" [] set { mask: u16 } get {} -> u16;
            /// Questionable negative transition filter.
            QuestionableNegative "STATus:QUEStionable:NTRansition" [] set { mask: u16 } get {} -> u16;
            /// Preset the STATus masks and filters.
            StatusPreset "STATus:PRESet" [] set {};

            /// Supply on or off: 1 the feed (through the soft start), 2 the load supply.
            Output "OUTPut#[:STATe]" [supply: Supply] set { on: bool } get {} -> bool;
            /// Polarity of the feed, NORMal or INVerted; only while it is off (else -221).
            Polarity "OUTPut#:POLarity" [] set { polarity: words::Polarity } get {} -> words::Polarity;
            /// Clears a latched trip.
            ProtectionClear "OUTPut#:PROTection:CLEar" [supply: Supply] set {};
            /// 1 when tripped.
            ProtectionTripped "OUTPut#:PROTection:TRIPped" [supply: Supply] get {} -> bool;
            /// The last soft start: `<charge in C>,<duration in s>,<done 0|1>`.
            Charge "OUTPut#:CHARge" [] get {} -> SoftStart;
            /// Current limit of the soft start, in amperes (1 only).
            SoftStartLimit "SOURce#:CURRent[:LEVel]:LIMit" []
                set { limit: Setting<Amperes> }
                get { bound: Option<Bound> } -> Amperes;
            /// Overload level, in amperes.
            ProtectionLevel "SOURce#:CURRent:PROTection[:LEVel]" [supply: Supply]
                set { level: Setting<Amperes> }
                get { bound: Option<Bound> } -> Amperes;
            /// Overload delay, in seconds.
            ProtectionDelay "SOURce#:CURRent:PROTection:DELay" [supply: Supply]
                set { delay: Setting<Seconds> }
                get { bound: Option<Bound> } -> Seconds;

            /// Closes channels; the query answers 0 or 1 for each.
            Close "ROUTe:CLOSe" []
                set<'a> { channels: ChannelList<'a> }
                get<'a> { channels: ChannelList<'a> } -> Values<bool>;
            /// Opens channels; the query answers 0 or 1 for each.
            Open "ROUTe:OPEN" []
                set<'a> { channels: ChannelList<'a> }
                get<'a> { channels: ChannelList<'a> } -> Values<bool>;
            /// Opens everything.
            OpenAll "ROUTe:OPEN:ALL" [] set {};
            /// A clamp's longest on-time and its rest: `<on s>,<rest s>,(@301,…)`; 0 on-time lifts it.
            /// The query takes one channel.
            Duty "ROUTe:DUTY" []
                set<'a> { on: Setting<Seconds>, rest: Setting<Seconds>, loads: ChannelList<'a> }
                get { load: OneChannel } -> answers::Duty;
            /// How warm the connected loads are: the largest share of its longest on-time that one has used and not
            /// rested off, 0 to 1.
            Warmth "ROUTe:DUTY:USED" [] get {} -> f64;
            /// The channels that a capture samples, in order, at most `wire::preamble::SCAN_MAX`.
            Scan "ROUTe:SCAN#" [unit: CaptureUnit] set<'a> { channels: ChannelList<'a> } get {} -> Named;

            /// Scans in a capture. `? MAX` answers the memory for the present scan list.
            SweepPoints "SENSe#:SWEep:POINts" [unit: CaptureUnit]
                set { points: Setting<i64> }
                get { bound: Option<Bound> } -> i64;
            /// Time between scans, in seconds, after averaging.
            SweepInterval "SENSe#:SWEep:TINTerval" [unit: CaptureUnit]
                set { interval: Setting<Seconds> }
                get { bound: Option<Bound> } -> Seconds;
            /// Where the first point stands from the trigger, in scans: 0 or negative (pre-trigger).
            SweepOffset "SENSe#:SWEep:OFFSet:POINts" [unit: CaptureUnit]
                set { points: Setting<i64> }
                get { bound: Option<Bound> } -> i64;
            /// Conversions averaged into one point.
            AverageCount "SENSe#:AVERage:COUNt" [unit: CaptureUnit]
                set { conversions: Setting<i64> }
                get { bound: Option<Bound> } -> i64;
            /// What triggers: IMMediate, SENT (the end of a sent command), CONTact (a timed closure begins)
            /// or BUS.
            TriggerSource "TRIGger#[:SEQuence]:SOURce" [unit: CaptureUnit]
                set { source: words::TriggerSource }
                get {} -> words::TriggerSource;
            /// Triggers now.
            Trigger "TRIGger#[:SEQuence][:IMMediate]" [unit: CaptureUnit] set {};
            /// Arms a capture.
            Initiate "INITiate#[:IMMediate]" [unit: CaptureUnit] set {};
            /// Ends a capture; what it took is kept.
            Abort "ABORt#" [unit: CaptureUnit] set {};
            /// Block of samples of the last capture: all of it, or `<id>,<first byte>,<bytes>`.
            Fetch "FETCh#" [unit: CaptureUnit] get { piece: Option<Piece> } -> Block;
            /// Preamble of the last capture: see `wire::preamble::Preamble`.
            FetchPreamble "FETCh#:PREamble" [unit: CaptureUnit] get {} -> Preamble;
            /// Mean over 20 ms, in amperes, one value a channel.
            MeasureCurrent "MEASure:CURRent[:DC]" []
                get<'a> { channels: ChannelList<'a> } -> Values<Measured>;
            /// Mean over 20 ms, in volts, one value a channel.
            MeasureVoltage "MEASure:VOLTage[:DC]" []
                get<'a> { channels: ChannelList<'a> } -> Values<Measured>;
            /// Resistance in ohms, one value a channel; everything must be off (else -221).
            MeasureResistance "MEASure:RESistance" []
                get<'a> { channels: ChannelList<'a> } -> Values<Measured>;

            /// What the feed carries between commands: PACKet (idle packets), HIGH or LOW.
            Idle "DRIVe:IDLE" [] set { idle: words::Idle } get {} -> words::Idle;
            /// Sends a dcc packet: `<repeat>,<byte>,<byte>[,…]`, error byte included.
            Packet "DRIVe:PACKet" [] set<'a> { repeat: u8, bytes: Sequence<'a, u8> };
            /// Sends pulses: `<repeat>,HIGH|LOW,<us>,<us>[,…]`, levels alternate.
            Pulses "DRIVe:PULSes" []
                set<'a> { repeat: u8, first: FirstLevel, durations_us: Sequence<'a, u32> };
            /// Commands sent so far, and when the last one's repetitions ended: `<count>,<last us>,<first
            /// us>,<second us, or first if there is just one>`.
            Sent "DRIVe:SENT" [] get {} -> answers::Sent;
            /// Closes contact inputs for a time: `<s>,(@201)`.
            Contact "CONTact:CLOSe" [] set<'a> { time: Seconds, closers: ChannelList<'a> };
            /// The last timed closure: `<began us>,<ends us>`.
            ContactTime "CONTact:TIME" [] get {} -> Closure;
            /// The start button or foot switch: `<presses>,<down 0|1>,<last us>`. It is watched for 2 s after each
            /// question; a press counts once it was seen released before.
            Button "BUTTon[:STATe]" [] get {} -> answers::Button;

            /// Simulated bench only: sets the module's address switches, bit 0 is switch 1.
            HandSwitches "DIAGnostic:HAND:SWITches" [] set { on: u32 };
            /// Simulated bench only: moves the slider of the auxiliary supply.
            HandAuxiliary "DIAGnostic:HAND:AUXiliary" [] set { on: bool };
            /// Simulated bench only: takes the module out of the jig, or seats it.
            HandModule "DIAGnostic:HAND:MODule" [] set { seated: bool };
            /// Simulated bench only: presses the start button and holds it, or lets it go.
            HandButton "DIAGnostic:HAND:BUTTon" [] set { down: bool };
            /// Simulated bench only: puts a reference resistor, with the reference meter in series, in place
            /// of the load at a clamp (101 to 108) or of the module on the feed (2): `<ohm>,(@101)`; 0 puts
            /// back what was there.
            HandReference "DIAGnostic:HAND:REFerence" [] set { resistance: Ohms, place: OneChannel };
            /// Simulated bench only: what the reference meter shows, in amperes.
            HandMeter "DIAGnostic:HAND:METer" [] get {} -> Measured;
        }
    };
}
pub(super) use table;
