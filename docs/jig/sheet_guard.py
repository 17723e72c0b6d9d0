"""What turns off without the firmware."""

from symbols import Sheet


def guard():
    s = Sheet("guard", "Guard: shorts, and the pumps that the firmware must keep going", 138, 60)
    short(s, 8, "FRET", "R301", "C301", "R302", "R303", "TH_F", "PRE_F", "R322", "A")
    short(s, 34, "LRET", "R305", "C302", "R306", "R307", "TH_L", "PRE_L", "R323", "B")
    # Arming
    s.dot(15, 19)
    s.two("d", 9, 19, "r", "D301")
    s.wire(13, 19, 15, 19)
    s.wire(7, 19, 9, 19)
    s.dot(7, 19)
    s.two("r", 7, 15, "d", "R304", "left")
    s.rail(7, 15, "V33")
    s.wire(7, 19, 7, 21)
    s.mos("n", 10, 23, "Q301", flip=True, side="gate")
    s.ground(7, 25)
    s.tag(10, 23, "GP6")

    pump(s, 8, "GP4 feed pump", ("R310", "R308", "C303", "D302", "D303", "C304", "R309"),
         ("R314", "R315", "R316", "R320"), "TH_PF", "NEN_F", "C")
    pump(s, 34, "GP5 load pump", ("R313", "R311", "C305", "D304", "D305", "C306", "R312"),
         ("R317", "R318", "R319", "R321"), "TH_PL", "NEN_L", "D")

    s.note(113, 18, "A comparator's output is low", "while its plus is below its minus.", "NEN low: the pump runs.",
           "PRE low: the latch is set.", "", "TH_F 0.151 V: 3.0 A in R118", "  (0.82 V, 16 A while GP6 is low)",
           "TH_L 0.099 V: 9.9 A in R207", "TH_PF, TH_PL 0.80 V, 0.88 V to begin")
    return s


def short(s, y, net, r, c, up, down, threshold, out, pull, unit):
    """A shunt, its filter and its comparator."""
    s.tag(24, y + 5, net, "l")
    s.two("r", 24, y + 5, "r", r)
    s.wire(28, y + 5, 34, y + 5, 34, y + 7)
    s.dot(30, y + 5)
    s.wire(30, y + 5, 30, y + 4)
    s.two("c", 30, y + 4, "u", c)
    s.wire(30, y, 35.5, y)
    s.ground(35.5, y)
    s.wire(15 if unit == "A" else 21, y + 11, 34, y + 11)
    s.text(24, y + 10.5, threshold)
    s.to_ground("r", 21, y + 11, down, 1)
    s.dot(28, y + 11)
    s.wire(28, y + 11, 28, y + 12)
    s.two("r", 28, y + 12, "d", up)
    s.wire(28, y + 16, 30, y + 16)
    s.tag(30, y + 16, "REF")
    comparator(s, 34, y + 9, unit)
    s.wire(41, y + 9, 46, y + 9)
    s.to_rail("r", 44.5, y + 9, pull, 1, "V33")
    s.tag(46, y + 9, out)


def comparator(s, x, y, unit):
    """A quarter of U301; the first one bears its label."""
    if unit == "A":
        s.symbol("a", x, y)
        name, kind = s.label("U301")
        s.text(x + 1, y - 3.4, name)
        s.text(x + 1, y + 4.2, kind, size=9)
        s.text(x + 1.4, y + 0.4, unit, size=9)
    else:
        s.symbol("a", x, y)
        s.text(x + 1, y - 3.4, "U301")
        s.text(x + 1.4, y + 0.4, unit, size=9)


def pump(s, y, pin, refs, thresholds, threshold, out, unit):
    """A pin that must toggle, and its comparator."""
    hold, series, cap, low, high, store, bleed = refs
    up, down, back, pull = thresholds
    s.tag(64, y + 5, pin, "l")
    s.wire(64, y + 5, 67, y + 5)
    s.to_ground("r", 65, y + 5, hold, 2, side="left")
    s.two("r", 67, y + 5, "r", series)
    s.two("c", 72, y + 5, "r", cap)
    s.wire(71, y + 5, 72, y + 5)
    s.wire(76, y + 5, 79, y + 5)
    s.to_ground("s", 77, y + 5, low, 2, side="left", way="u")
    s.two("s", 79, y + 5, "r", high)
    s.wire(83, y + 5, 93.5, y + 5, 93.5, y + 7, 95, y + 7)
    s.to_ground("c", 85, y + 5, store, 2, side="left")
    s.to_ground("r", 88, y + 5, bleed, 2)
    comparator(s, 95, y + 9, unit)
    s.wire(95, y + 11, 93, y + 11, 93, y + 16)
    s.wire(86, y + 16, 95, y + 16)
    s.dot(93, y + 16)
    s.text(87, y + 15.6, threshold)
    s.two("r", 86, y + 16, "l", up)
    s.tag(82, y + 16, "REF", "l")
    s.dot(91, y + 16)
    s.two("r", 91, y + 16, "d", down, "left")
    s.ground(91, y + 20)
    s.two("r", 95, y + 16, "r", back, "below")
    s.wire(99, y + 16, 104, y + 16, 104, y + 9)
    s.wire(102, y + 9, 107, y + 9)
    s.to_rail("r", 104, y + 9, pull, 1, "V33")
    s.tag(107, y + 9, out)
