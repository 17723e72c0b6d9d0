//! Self-test, zeros, and what the jig states of its scans.

use super::client::Client;
use super::jig::Line;
use super::rig::{jig, rig};
use musterbench::wire::refusal::Refusal;

/// Booted before the load supply, which feeds the converters: that is told, and mends itself once the supply
/// is there.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn zeros_are_taken_again() {
    let jig = jig(&[], Line::Uart);
    jig.set_analogue(false);
    let mut client = Client::open(jig.path());
    assert_eq!(client.ask("*TST?"), "2");
    jig.set_analogue(true);
    jig.wait_ms(20);
    assert_eq!(client.ask("*TST?"), "0");
    let clock_us: u64 = client.ask("SYST:CLOC?").parse().expect("a number");
    let taken_us: u64 = client.ask("CAL:ZERO:TIME?").parse().expect("a number");
    assert!(taken_us > 20_000 && taken_us <= clock_us, "{taken_us} {clock_us}");
    assert_eq!(client.ask("CAL:ZERO?").split(',').count(), 10, "feed, total and eight clamps");
    assert_eq!(client.ask("OUTP1:PROT:TRIP?;:OUTP2:PROT:TRIP?"), "0;0", "nothing was on");
    let amperes = client.ask("MEAS:CURR? (@2,4,101:108)");
    for (ampere, limit) in
        amperes.split([',', ';']).zip([0.5e-3, 2.5e-3].into_iter().chain([1e-3; 8]))
    {
        let ampere: f64 = ampere.parse().expect("a number");
        assert!(ampere.abs() < limit, "{amperes}");
    }
}

/// Digital channels are looked at with every scan of the converters, and at no other rate.
#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn scans_of_digital_channels_state_their_rate() {
    let (_jig, mut client) = rig();
    client.say("ROUT:SCAN (@601);:SENS:SWE:POIN 20;TINT 250 US;:INIT");
    let refused = format!("{},", Refusal::IntervalNotOfChannel.number());
    assert!(client.ask("SYST:ERR?").starts_with(&refused));
    client.say("SENS:SWE:TINT 300 US;:INIT");
    client.ask_until("STAT:OPER:COND?;:SYST:ERR?", "0;0,\"No error\"");
}
