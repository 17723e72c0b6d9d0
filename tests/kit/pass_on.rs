//! For boards of tests that stand before another one.

/// Methods of `Board` that hand the call on, unchanged, to the board in a field:
/// `pass_on! { board: now_us, sample }`. And a board whose clock jumps as that one's does:
/// `pass_on! { jumping board of Name }`.
macro_rules! pass_on {
    (jumping $board:ident of $type:ty) => {
        impl ::musterbench::link::simulated::JumpingBoard for $type {
            fn advance_to(&mut self, t_us: u64) {
                self.$board.advance_to(t_us);
            }
        }
    };
    ($board:ident: $($method:ident),*) => {
        $(pass_on!(@ $board $method);)*
    };
    (@ $board:ident identity) => {
        fn identity(&self) -> ::musterbench::jig::board::Identity<'_> {
            self.$board.identity()
        }
    };
    (@ $board:ident now_us) => {
        fn now_us(&mut self) -> u64 {
            self.$board.now_us()
        }
    };
    (@ $board:ident channels) => {
        fn channels(&self) -> &[::musterbench::wire::channel::Description] {
            self.$board.channels()
        }
    };
    (@ $board:ident set_feed) => {
        fn set_feed(&mut self, drive: ::musterbench::jig::board::FeedDrive) {
            self.$board.set_feed(drive);
        }
    };
    (@ $board:ident set_inverted) => {
        fn set_inverted(&mut self, inverted: bool) {
            self.$board.set_inverted(inverted);
        }
    };
    (@ $board:ident set_soft_start_limit) => {
        fn set_soft_start_limit(&mut self, limit_ua: u32) {
            self.$board.set_soft_start_limit(limit_ua);
        }
    };
    (@ $board:ident set_load_supply) => {
        fn set_load_supply(&mut self, on: bool) {
            self.$board.set_load_supply(on);
        }
    };
    (@ $board:ident cut_off) => {
        fn cut_off(&mut self, supply: ::musterbench::jig::board::Supply) -> bool {
            self.$board.cut_off(supply)
        }
    };
    (@ $board:ident clear_cut_off) => {
        fn clear_cut_off(&mut self) {
            self.$board.clear_cut_off();
        }
    };
    (@ $board:ident interlock) => {
        fn interlock(&mut self) -> bool {
            self.$board.interlock()
        }
    };
    (@ $board:ident drive) => {
        fn drive(&mut self, pulses: &[::musterbench::signal::pulse::Pulse]) -> u64 {
            self.$board.drive(pulses)
        }
    };
    (@ $board:ident drive_end_us) => {
        fn drive_end_us(&self) -> u64 {
            self.$board.drive_end_us()
        }
    };
    (@ $board:ident drive_clear) => {
        fn drive_clear(&mut self) {
            self.$board.drive_clear();
        }
    };
    (@ $board:ident rest) => {
        fn rest(&mut self, level: ::musterbench::signal::pulse::Level) {
            self.$board.rest(level);
        }
    };
    (@ $board:ident set_switch) => {
        fn set_switch(&mut self, channel: u16, closed: bool) {
            self.$board.set_switch(channel, closed);
        }
    };
    (@ $board:ident sample) => {
        fn sample(&mut self, channel: u16) -> i16 {
            self.$board.sample(channel)
        }
    };
    (@ $board:ident start_scans) => {
        fn start_scans(&mut self, unit: ::musterbench::jig::board::Unit, channels: &[u16], interval_us: u32) {
            self.$board.start_scans(unit, channels, interval_us);
        }
    };
    (@ $board:ident next_scan) => {
        fn next_scan(&mut self, unit: ::musterbench::jig::board::Unit, counts: &mut [i16]) -> Option<u64> {
            self.$board.next_scan(unit, counts)
        }
    };
    (@ $board:ident stop_scans) => {
        fn stop_scans(&mut self, unit: ::musterbench::jig::board::Unit) {
            self.$board.stop_scans(unit);
        }
    };
    (@ $board:ident self_test) => {
        fn self_test(&mut self) -> u16 {
            self.$board.self_test()
        }
    };
    (@ $board:ident hand) => {
        fn hand(&mut self) -> Option<&mut dyn ::musterbench::jig::hand::Hand> {
            self.$board.hand()
        }
    };
}
