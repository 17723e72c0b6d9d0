"""The shift registers and what they drive."""

from symbols import Sheet


def registers():
    s = Sheet("registers", "Shift registers: 40 bits", 138, 54)
    for i, (ref, bits) in enumerate((("U602", "0-7"), ("U603", "8-15"), ("U604", "16-23"), ("U605", "24-31"), ("U606", "32-37"))):
        x = 12 + 25 * i
        s.box(x, 10, 9, 12, ref, left=["SER", "SRCLK", "RCLK", "OE", "SRCLR"], right=["Q0-7" if i < 4 else "Q0-5", "Q7S"])
        s.tag(x - 2, 12, ("GP19", "CHAIN1", "CHAIN2", "CHAIN3", "CHAIN4")[i], "l")
        for k, net in enumerate(("GP18", "GP17", "OE_N", "V33")):
            s.tag(x - 2, 14 + 2 * k, net, "l")
        s.tag(x + 11, 12, "SW_JIG" if i == 3 else "BIT" + bits)
        s.tag(x + 11, 14, ("CHAIN1", "CHAIN2", "CHAIN3", "CHAIN4", "GP16")[i])
    for i, (ref, first, out) in enumerate((("U607", "BIT0-7", "SW_CLOSER"), ("U608", "BIT8-15", "SW_LOAD"), ("U609", "BIT16-23", "SW_BYPASS"))):
        x = 14 + 31 * i
        s.box(x, 30, 9, 6, ref, left=["IN1-8", "COM"], right=["OUT1-8"])
        s.tag(x - 2, 32, first, "l")
        s.tag(x - 2, 34, "V5P", "l")
        s.tag(x + 11, 32, out)
    s.box(112, 28, 9, 15, "U610", left=["IN1", "IN2", "IN3", "IN4", "IN5", "IN6"], right=["OUT1", "OUT2", "OUT3", "OUT4", "OUT5", "OUT6"])
    for k in range(6):
        s.tag(110, 30 + 2 * k, f"BIT{32 + k}", "l")
        s.tag(123, 30 + 2 * k, ("SW_LIGHT", "SW_SOUND", "N34", "N35", "N36", "N37")[k])

    for i, (ref, net, rail) in enumerate((("R601", "OE_N", "V33"), ("R602", "GP17", ""))):
        x = 14 + 24 * i
        s.tag(x, 44, net, "l")
        s.two("r", x, 44, "r", ref)
        s.wire(x + 4, 44, x + 6, 44)
        if rail:
            s.rail(x + 6, 44, rail)
        else:
            s.ground(x + 6, 44)
    s.note(6, 50, "OE_N is high, and every output open, until the load pump runs and GP20 is low. Inputs of the drivers pull themselves down.",
           "SW_JIG 1 to 8 are bits 24 to 31; they drive the gates of Q401 without a driver.")
    return s
