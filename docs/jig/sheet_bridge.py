"""The feed's bridge."""

from symbols import Sheet


def bridge():
    s = Sheet("bridge", "Feed: bridge and return", 130, 60)
    left = ["AHI", "BHI", "ALI", "BLI", "DIS", "VDD VCC", "HDEL", "LDEL", "VSS ALS BLS"]
    right = ["AHB", "AHO", "AHS", "ALO", "", "BHB", "BHO", "BHS", "BLO"]
    s.box(24, 12, 14, 22, "U103", left=left, right=right)
    s.wire(22, 14, 22, 16)
    s.tag(22, 14, "V10", "l")
    for y, ref, net, at in ((18, "R121", "A_LOW", 18), (20, "R122", "B_LOW", 22.5), (22, "R123", "FEED_DIS", 27)):
        bend = 22 - (at - 18) / 9
        s.wire(22, y, bend, y, bend, at, 20, at)
        s.two("r", 16, at, "r", ref)
        s.tag(16, at, net, "l")
    s.wire(22, 24, 21.6, 24, 21.6, 30)
    s.tag(21.6, 30, "V10", "l")
    s.wire(22, 26, 22, 36)
    s.two("r", 22, 36, "d", "R112", "left")
    s.ground(22, 40)
    s.wire(22, 28, 22.6, 28, 22.6, 35, 26, 35, 26, 36)
    s.two("r", 26, 36, "d", "R113")
    s.ground(26, 40)
    s.wire(22, 30, 23.2, 30, 23.2, 34.5, 32, 34.5, 32, 36)
    s.ground(32, 36)
    for y, net in ((14, "A_BOOT"), (16, "A_UP"), (18, "FEED_A"), (20, "A_DOWN"),
                   (24, "B_BOOT"), (26, "B_UP"), (28, "FEED_B"), (30, "B_DOWN")):
        s.tag(40, y, net)

    s.tag(64, 10, "BUS", "l")
    s.wire(64, 10, 111, 10)
    half(s, "A", 58, ("D106", "C105", "R114", "R124", "Q105", "R115", "R125", "Q106"))
    half(s, "B", 96, ("D107", "C106", "R116", "R126", "Q107", "R117", "R127", "Q108"))
    s.wire(79, 22, 79, 40, 84, 40)
    s.dot(79, 22)
    s.wire(117, 22, 117, 40, 112, 40)
    s.dot(117, 22)
    s.wire(84, 40, 96, 40)
    s.two("b", 96, 40, "r", "D108")
    s.wire(100, 40, 112, 40)
    s.wire(79, 22, 79, 16)
    s.terminal(79, 15.6, "J102", "feed wire A", "r")
    s.wire(117, 22, 117, 16)
    s.terminal(117, 15.6, "J102", "feed wire B", "r")

    # Return
    s.wire(73, 36, 78, 36)
    s.text(80, 35.5, "FRET")
    s.wire(78, 36, 111, 36)
    s.dot(104, 36)
    s.dot(73, 36)
    s.wire(73, 36, 73, 44)
    s.dot(73, 43)
    s.two("r", 73, 44, "d", "R118", "left")
    s.wire(73, 48, 73, 51)
    s.dot(73, 49)
    s.ground(73, 51)
    s.box(86, 44, 11, 9, "U104", left=["IN+", "IN−", "REF1 2"], right=["OUT"])
    s.wire(73, 43, 82, 43, 82, 46, 84, 46)
    s.wire(73, 49, 80, 49, 80, 48, 84, 48)
    s.wire(84, 50, 82, 50, 82, 54)
    s.tag(82, 54, "LIFT", "l")
    s.tag(99, 46, "I_FEED")
    s.note(4, 48, "Channel 2: I_FEED = 0.256 V + 2.5 V/A.",
           "A_LOW, B_LOW, FEED_DIS: sheet guard. BUS, V10: sheet feed.",
           "A wire is at plus while its pin (GP2, GP3) is high; with both low both are at minus.",
           "DIS has a pull-up inside U103: nothing conducts until it is driven low.")
    return s


def half(s, name, x, refs):
    """Half of the bridge: upper and lower transistor with their gates."""
    diode, boot, r_up, p_up, up, r_down, p_down, down = refs
    wire = f"FEED_{name}"
    s.wire(x + 15, 10, x + 15, 14)
    if name == "A":
        s.dot(x + 15, 10)
    s.mos("n", x + 12, 16, up)
    s.wire(x + 15, 18, x + 15, 26)
    s.mos("n", x + 12, 28, down)
    s.wire(x + 15, 30, x + 15, 36)
    for y, gate, pull, to, net in ((16, r_up, p_up, 22, "UP"), (28, r_down, p_down, 36, "DOWN")):
        s.tag(x + 2, y, f"{name}_{net}", "l")
        s.two("r", x + 2, y, "r", gate)
        s.wire(x + 6, y, x + 12, y)
        s.dot(x + 8, y)
        s.two("r", x + 8, y, "d", pull)
        s.wire(x + 8, y + 4, x + 8, to)
        if net == "UP":
            s.dot(x + 8, 22)
        else:
            s.wire(x + 8, to, x + 15, to)
    s.dot(x + 15, 22)
    s.wire(x + 3, 22, x + 21, 22)
    s.text(x + 16, 21.5, wire)
    s.wire(x - 3, 22, x - 1, 22)
    s.tag(x - 11, 22, "V10", "l")
    s.two("d", x - 11, 22, "r", diode)
    s.wire(x - 7, 22, x - 1, 22)
    s.dot(x - 4, 22)
    s.wire(x - 4, 22, x - 4, 24)
    s.tag(x - 4, 24, f"{name}_BOOT")
    s.two("c", x - 1, 22, "r", boot)
