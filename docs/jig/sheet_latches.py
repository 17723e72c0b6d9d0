"""What turns off, then."""

from symbols import Sheet


def latches():
    s = Sheet("latches", "Guard: latches, and what they open", 134, 48)
    s.box(22, 12, 12, 13, "U302", left=["1PRE", "1CLR", "2PRE", "2CLR", "D, CLK"], right=["1Q", "", "", "", "2Q"])
    for i, net in enumerate(("PRE_F", "CLR_N", "PRE_L", "CLR_N")):
        s.tag(20, 14 + 2 * i, net, "l")
    s.wire(20, 22, 19, 22, 19, 24)
    s.ground(19, 24)
    for y, net, series, pull, pin in ((14, "TRIP_F", "R324", "R325", "GP8 feed cut off"),
                                      (22, "TRIP_L", "R335", "R326", "GP9 loads cut off")):
        s.wire(36, y, 40, y)
        s.dot(37, y)
        s.wire(37, y, 37, y + 2)
        s.tag(37, y + 2, net)
        s.two("r", 40, y, "r", series)
        s.wire(44, y, 52, y)
        s.to_rail("r", 48, y, pull, 0.6, "V33")
        s.tag(52, y, pin)

    # Clear, power-up
    s.tag(12, 36, "GP26 clear", "l")
    s.wire(12, 36, 16, 36)
    s.to_ground("r", 14, 36, "R331", 1, side="left")
    s.two("c", 16, 36, "r", "C307")
    s.wire(20, 36, 26, 36)
    s.to_ground("r", 22, 36, "R327", 1)
    s.tag(26, 36, "CLR_D")
    s.box(42, 34, 9, 6, "U303", left=["VDD"], right=["OUT"])
    s.tag(40, 36, "V33", "l")
    s.wire(46, 40, 46, 41)
    s.ground(46, 41)
    s.wire(53, 36, 54, 36, 54, 34, 56, 34)
    s.wire(54, 36, 54, 38.5, 56, 38.5)
    s.dot(54, 36)
    s.two("s", 60, 34, "l", "D306")
    s.tag(60, 34, "PRE_F")
    s.two("s", 60, 38.5, "l", "D307", "below")
    s.tag(60, 38.5, "PRE_L")

    # Gates
    s.box(84, 12, 11, 18, "U305", title="74HC32: or",
          left=["1A", "1B", "2A", "2B", "3A", "3B", "4A", "4B"], right=["1Y", "", "2Y", "", "3Y", "", "4Y"])
    for i, net in enumerate(("NEN_F", "TRIP_F", "NEN_L", "TRIP_L", "LOADS_BAD", "NLOADS", "GP20", "NEN_L")):
        s.tag(82, 14 + 2 * i, net, "l")
    for i, net in ((0, "FEED_DIS"), (2, "LOADS_BAD"), (4, "LOADS_OFF"), (6, "OE_N")):
        s.tag(97, 14 + 2 * i, net)
    s.box(115, 12, 10, 14, "U304", title="74HC14: not", left=["1A", "2A", "3A", "4A", "5A", "6A"],
          right=["1Y", "2Y", "3Y", "4Y", "5Y", "6Y"])
    for i, net in enumerate(("GP2", "GP3", "CLR_D", "FEED_DIS", "GP27", "LOADS_OFF")):
        s.tag(113, 14 + 2 * i, net, "l")
    for i, net in enumerate(("A_LOW", "B_LOW", "CLR_N", "FEED_EN", "NLOADS", "LOADS_EN")):
        s.tag(127, 14 + 2 * i, net)
    for i, (ref, net) in enumerate((("R328", "GP2"), ("R329", "GP3"), ("R330", "GP27"),
                                    ("R333", "FEED_EN"), ("R334", "LOADS_EN"), ("R332", "GP20"))):
        x, y = 82 + 20 * (i % 3), 37 + 5 * (i // 3)
        s.tag(x, y, net, "l")
        s.two("r", x, y, "r", ref)
        s.wire(x + 4, y, x + 6, y)
        if net == "GP20":
            s.rail(x + 6, y, "V33")
        else:
            s.ground(x + 6, y)
    s.note(6, 45, "PRE low sets a latch, also against CLR. D306 and D307 set both at power-up. GP26 clears through C307: "
           "a pin that hangs clears once.")
    return s
