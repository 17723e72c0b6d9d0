"""The resistance test."""

from symbols import Sheet


def resistance():
    s = Sheet("resistance", "Resistance test 701 to 703: with everything off, at most 5 V and 10 mA", 134, 92)
    # The test voltage and its interlock
    relay(s, 16, 18, "K717", "R717", "V5A", "TEST_S")
    s.wire(17, 20, 17, 26)
    s.mos("n", 14, 28, "Q701", side="gate")
    s.ground(17, 30)
    s.wire(14, 28, 9, 28, 9, 34)
    s.two("r", 9, 24, "u", "R718", "left")
    s.wire(9, 24, 9, 28)
    s.dot(9, 28)
    s.rail(9, 20, "V33")
    s.text(4, 32.4, "TEST_OK")
    s.wire(9, 34, 44, 34)
    for i, (ref, net) in enumerate((("Q702", "GP27"), ("Q703", "FEED_EN"), ("Q704", "NEN_L"))):
        x = 14 + 14 * i
        if x + 3 < 44:
            s.dot(x + 3, 34)
        s.wire(x + 3, 34, x + 3, 36)
        s.mos("n", x, 38, ref)
        s.ground(x + 3, 40)
        s.wire(x, 38, x - 0.5, 38, x - 0.5, 42)
        s.tag(x - 0.5, 42, net)
    s.wire(44, 34, 45, 34)

    # The two voltages
    s.tag(64, 12, "TEST_S", "l")
    s.wire(64, 12, 72, 12)
    s.two("r", 72, 12, "r", "R701")
    s.text(70, 14, "two in parallel: 500 Ω")
    s.wire(76, 12, 90, 12)
    s.tag(90, 12, "TEST_P")
    s.dot(80, 12)
    s.amplifier(86, 20, "U701")
    s.wire(80, 12, 80, 22, 86, 22)
    s.wire(86, 18, 84.5, 18, 84.5, 15, 95, 15, 95, 20)
    s.wire(93, 20, 98, 20)
    s.dot(95, 20)
    s.two("r", 98, 20, "r", "R704")
    s.wire(102, 20, 107, 20)
    s.to_ground("r", 104, 20, "R705", 2)
    s.tag(107, 20, "TEST_BEHIND")
    s.dot(66, 12)
    s.wire(66, 12, 66, 28, 70, 28)
    s.two("r", 70, 28, "r", "R702")
    s.wire(74, 28, 79, 28)
    s.to_ground("r", 76, 28, "R703", 2)
    s.tag(79, 28, "TEST_BEFORE")

    # Where it goes
    rows = (
        (("K711", "R711", "TEST_P", "FEED_A", (("D711", "N34"), ("D712", "N35"))),
         ("K712", "R712", "TEST_P", "FEED_B", "N35"),
         ("K713", "R713", "FEED_B", None, "N34"),
         ("K721", "R721", "TEST_P", "COM1", (("D721", "N36"), ("D722", "N37"))),
         ("K722", "R722", "COM1", None, "N35")),
        (("K723", "R723", "TEST_P", "COM2", "N36"),
         ("K724", "R724", "COM2", None, (("D724", "N35"), ("D725", "N37"))),
         ("K725", "R725", "TEST_P", "COM3", "N37"),
         ("K726", "R726", "COM3", None, (("D726", "N35"), ("D727", "N36"))),
         ("K728", "R728", "COM4", None, (("D728", "N35"), ("D729", "N36"), ("D730", "N37")))),
    )
    for i, line in enumerate(rows):
        for k, (ref, resistor, plus, to, by) in enumerate(line):
            x, y = 10 + 25 * k, 55 + 22 * i
            relay(s, x, y, ref, resistor, plus, to)
            if isinstance(by, str):
                s.wire(x + 1, y + 2, x + 1, y + 7)
                s.tag(x + 1, y + 7, by)
                continue
            for j, (diode, net) in enumerate(by):
                at = y + 7.5 + 2.9 * j
                s.wire(x + 1, y + 2, x + 1, at, x + 3, at)
                s.two("d", x + 3, at, "r", diode, "none")
                s.tag(x + 9, at, net)
                s.wire(x + 7, at, x + 9, at)
    s.note(84, 36, "701: A to plus, B to minus (bit 34). 702: A and B to plus, all commons to minus (35).",
           "703: commons 1 and 2 to plus, 3 and 4 to minus (36); then 1 and 3, 2 and 4 (37).")
    s.text(52, 39.5, "R = 500 Ω × TEST_BEHIND / (TEST_BEFORE − TEST_BEHIND)")
    s.text(52, 41, "Both supplies must be plugged in, and off.")
    return s


def relay(s, x, y, ref, resistor, plus, to):
    """A relay with its resistor above and its switch between two nets."""
    s.driven(x, y, ref, resistor)
    s.wire(x + 4, y - 2, x + 4, y - 4, x + 5, y - 4)
    s.tag(x + 5, y - 4, plus)
    if to:
        s.wire(x + 4, y + 2, x + 4, y + 4, x + 5, y + 4)
        s.tag(x + 5, y + 4, to)
    else:
        s.wire(x + 4, y + 2, x + 4, y + 4)
        s.ground(x + 4, y + 4)
