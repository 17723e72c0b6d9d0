"""The resistance test."""

from symbols import Sheet


def resistance():
    s = Sheet("resistance", "Resistance test 701 to 703: with everything off, at most 5 V and 10 mA", 128, 72)
    s.rail(12, 12, "V5A 4.95 V")
    s.wire(12, 12, 12, 14, 16, 14)
    s.two("r", 16, 14, "r", "R701")
    s.wire(20, 14, 34, 14)
    s.text(21, 13.5, "two in parallel: 500 Ω")
    s.tag(34, 14, "TEST_P")
    s.dot(24, 14)
    s.amplifier(28, 20, "U701")
    s.wire(24, 14, 24, 22, 28, 22)
    s.wire(28, 18, 26.5, 18, 26.5, 16, 37, 16, 37, 20)
    s.wire(35, 20, 40, 20)
    s.dot(37, 20)
    s.two("r", 40, 20, "r", "R704")
    s.wire(44, 20, 49, 20)
    s.dot(46, 20)
    s.wire(46, 20, 46, 22)
    s.two("r", 46, 22, "d", "R705")
    s.ground(46, 26)
    s.tag(49, 20, "TEST_BEHIND")
    s.dot(12, 14)
    s.wire(12, 14, 12, 29)
    s.two("r", 12, 29, "r", "R702")
    s.wire(16, 29, 21, 29)
    s.dot(18, 29)
    s.wire(18, 29, 18, 31)
    s.two("r", 18, 31, "d", "R703")
    s.ground(18, 35)
    s.tag(21, 29, "TEST_BEFORE")

    # Feed wires
    relay(s, 74, 20, "K711", "R711", "TEST_P", "FEED_A")
    s.wire(75, 22, 75, 29, 77, 29)
    s.dot(75, 29)
    s.wire(75, 29, 75, 32, 77, 32)
    s.two("d", 77, 29, "r", "D711")
    s.tag(81, 29, "N34")
    s.two("d", 77, 32, "r", "D712", "below")
    s.tag(81, 32, "N35")
    relay(s, 94, 20, "K712", "R712", "TEST_P", "FEED_B")
    s.wire(95, 22, 95, 27)
    s.tag(95, 27, "N35")
    relay(s, 112, 20, "K713", "R713", "FEED_B", None)
    s.wire(113, 22, 113, 27)
    s.tag(113, 27, "N34")

    # Commons
    s.box(16, 48, 11, 10, "U702", left=["1G", "1A", "1B"], right=["1Y0-3"])
    s.tag(14, 50, "N36", "l")
    s.tag(14, 52, "BIT37", "l")
    s.tag(14, 54, "BIT38", "l")
    s.tag(29, 50, "SELECT 1 to 4")
    s.tag(46, 50, "N36", "l")
    s.two("r", 46, 50, "r", "R714")
    s.wire(50, 50, 52, 50)
    s.rail(52, 50, "V5P")
    relay(s, 74, 48, "K715", "R715", "TEST_P", "COM")
    s.wire(75, 50, 75, 55)
    s.tag(75, 55, "SELECT")
    relay(s, 98, 48, "K716", None, "COM", None)
    s.wire(99, 46, 99, 44)
    s.two("r", 99, 40, "d", "R716", "left")
    s.wire(99, 40, 97, 40)
    s.tag(97, 40, "SELECT", "l")
    s.wire(99, 50, 99, 57, 101, 57)
    s.dot(99, 57)
    s.wire(99, 57, 99, 60, 101, 60)
    s.two("d", 101, 57, "r", "D713")
    s.tag(105, 57, "N35")
    s.two("d", 101, 60, "r", "D714", "below")
    s.tag(105, 60, "N36")
    s.note(8, 64, "N34, N35, N36 are low while bits 34, 35, 36 are set. 701: A to test plus, B to ground.",
           "702: A and B to test plus, all commons to ground. 703: the selected common to test plus, the others to ground.",
           "R = 500 Ω × TEST_BEHIND / (TEST_BEFORE − TEST_BEHIND). Both supplies must be plugged in, and off.")
    return s


def relay(s, x, y, ref, resistor, plus, to):
    """A relay with its resistor above and its switch between two nets."""
    s.relay(x, y, ref)
    if resistor:
        s.wire(x + 1, y - 2, x + 1, y - 4)
        s.two("r", x + 1, y - 8, "d", resistor, "left")
        s.rail(x + 1, y - 8, "V5P")
    s.wire(x + 4, y - 2, x + 4, y - 4, x + 5, y - 4)
    s.tag(x + 5, y - 4, plus)
    if to:
        s.wire(x + 4, y + 2, x + 4, y + 4, x + 5, y + 4)
        s.tag(x + 5, y + 4, to)
    else:
        s.wire(x + 4, y + 2, x + 4, y + 4)
        s.ground(x + 4, y + 4)
