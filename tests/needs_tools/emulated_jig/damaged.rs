//! Bytes that come damaged over the UART: nothing of their line is carried out.

use super::jig::Event;
use super::rig::rig;

/// The bits of the UART's data register (RP2040's data sheet, 4.2.8, UARTDR).
const DAMAGES: [(&str, u16); 4] =
    [("framing", 1 << 8), ("parity", 1 << 9), ("break", 1 << 10), ("overrun", 1 << 11)];

#[test]
#[ignore = "needs node and a core library for the jig's processor"]
fn nothing_of_a_damaged_line_is_carried_out() {
    let (jig, mut client) = rig();
    let line = "OUTP2 ON;*ESE 4";
    for (name, bits) in DAMAGES {
        // In a header, a parameter, the separator, and the newline itself.
        for at in [0, 6, 8, 13, line.len()] {
            client.ask("*CLS;SYST:ERR?");
            jig.damage(at, bits);
            client.say(line);
            jig.wait_ms(20);
            // Behind a newline that is not known to be one stands the end of the line that holds it.
            client.say("");
            assert_eq!(client.ask("*ESE?"), "0", "{name} at {at}");
            assert!(client.ask("SYST:ERR?").starts_with("-360,"), "{name} at {at}");
        }
    }
    client.say(line);
    client.ask_until("*ESE?;:OUTP2?", "4;1");
    let (log, _) = jig.stop();
    let on = log.iter().filter(|(_, event)| *event == Event::Loads(true)).count();
    assert_eq!(on, 1, "once, by the sound line");
}
