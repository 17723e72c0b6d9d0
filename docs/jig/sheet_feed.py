"""The feed."""

from symbols import Sheet


def feed():
    s = Sheet("feed", "Feed: supply, soft start, bus", 102, 80)

    # The way of the current, at the top
    s.terminal(13, 12, "J101", "feed + (≤ 24 V)")
    s.wire(13.4, 12, 14, 12)
    s.two("f", 14, 12, "r", "F101")
    s.wire(18, 12, 28, 12)
    s.to_ground("z", 20, 12, "D101", 1, way="u")
    s.two("s", 28, 12, "r", "D102")
    s.wire(32, 12, 46, 12)
    s.dot(25, 12)
    s.wire(25, 12, 25, 7, 27, 7)
    s.tag(27, 7, "FEED_F")
    s.terminal(13, 15, "J101", "feed −")
    s.wire(13.4, 15, 15, 15)
    s.ground(15, 15)

    # Pass transistor with gate network
    s.pass_transistor(34, 38, 43, 12, "R101", "D103", "Q101")
    s.wire(46, 21, 46, 23, 54, 23)
    s.tag(90, 23, "BUS")

    # What pulls the gate
    s.wire(34, 19, 34, 23)
    s.mos("q", 31, 25, "Q102")
    s.two("r", 27, 25, "r", "R102", "below")
    s.tag(27, 25, "INTEGRATOR", "l")
    s.wire(34, 27, 34, 28)
    s.two("r", 34, 28, "d", "R103", "left")
    s.wire(34, 32, 34, 36)
    s.wire(42, 19, 42, 21)
    s.dot(42, 19)
    s.two("r", 42, 21, "d", "R104", "left")
    s.wire(42, 25, 42, 28)
    s.mos("n", 45, 30, "Q104", flip=True, side="gate")
    s.wire(42, 32, 42, 34, 34, 34)
    s.dot(34, 34)
    s.wire(45, 30, 50, 30)
    s.dot(48, 30)
    s.two("r", 48, 30, "d", "R111")
    s.ground(48, 34)
    s.tag(50, 30, "GP6 feed full")
    s.mos("n", 31, 38, "Q103")
    s.tag(31, 38, "FEED_EN", "l")
    s.ground(34, 40)

    # Integrator
    s.amplifier(22, 52, "U102")
    s.wire(29, 52, 33, 52)
    s.dot(31, 52)
    s.tag(33, 52, "INTEGRATOR")
    s.wire(31, 52, 31, 47)
    s.wire(22, 50, 18, 50, 18, 47)
    s.two("r", 19, 47, "r", "R106")
    s.wire(18, 47, 19, 47)
    s.two("c", 25, 47, "r", "C102")
    s.wire(23, 47, 25, 47)
    s.wire(29, 47, 31, 47)
    s.dot(18, 47)
    s.dot(31, 47)
    s.wire(18, 47, 18, 43, 23, 43)
    s.two("e", 27, 43, "l", "D104")
    s.wire(27, 43, 31, 43, 31, 47)
    s.dot(18, 50)
    s.two("r", 14, 50, "r", "R105")
    s.tag(14, 50, "I_FEED", "l")
    s.wire(22, 54, 18, 54, 18, 58)
    s.dot(18, 58)
    s.wire(15, 58, 32, 58)
    s.two("r", 11, 58, "r", "R107")
    s.wire(9, 58, 11, 58)
    s.dot(9, 58)
    s.tag(9, 58, "GP7 limit", "l")
    s.wire(9, 58, 9, 60)
    s.two("r", 9, 60, "d", "R110", "left")
    s.ground(9, 64)
    s.wire(18, 58, 18, 60)
    s.two("r", 18, 60, "d", "R109", "left")
    s.ground(18, 64)
    s.to_ground("c", 21, 58, "C103", 2)
    s.two("r", 36, 58, "l", "R108")
    s.tag(36, 58, "REF")
    s.dot(29, 58)
    s.wire(29, 58, 29, 60)
    s.mos("n", 32, 62, "Q109", flip=True, side="gate")
    s.ground(29, 64)
    s.tag(32, 62, "FEED_DIS")

    # Driver's supply
    s.box(15, 70, 12, 7, "U101", left=["IN", "EN"], right=["OUT"])
    s.tag(13, 72, "FEED_F", "l")
    s.tag(13, 74, "FEED_EN", "l")
    s.wire(21, 77, 21, 78)
    s.ground(21, 78)
    s.wire(29, 72, 34, 72)
    s.to_ground("c", 31, 72, "C101", 1)
    s.tag(34, 72, "V10")

    # Bus
    s.wire(54, 23, 90, 23)
    s.to_ground("c", 64, 23, "C104", 2)
    s.to_ground("z", 72, 23, "D105", 2, way="u")
    s.dot(84, 23)
    s.wire(84, 23, 84, 25)
    s.two("r", 84, 25, "d", "R119")
    s.wire(84, 29, 84, 31)
    s.dot(84, 30)
    s.two("r", 84, 31, "d", "R120", "left")
    s.ground(84, 35)
    s.wire(84, 30, 92, 30)
    s.to_ground("c", 88, 30, "C107", 1)
    s.tag(92, 30, "V_FEED")
    s.note(60, 46, "Channel 1: V_FEED = BUS / 6.",
           "FEED_EN comes from the sheet guard, I_FEED from the sheet bridge.",
           "Q101 wants a heat sink of 10 K/W or better: 24 V × 0.5 A for 1.5 s.",
           "Set point: 0 to 495 mA for a pulse width of 0 to 1 at GP7.",
           "Q109 holds the set point at nothing while the feed is off.",
           "D104 keeps the integrator near the point where Q101 begins to conduct.",
           "U101 is on with FEED_EN only: without it the bridge's driver has no",
           "supply, and leaks nothing into the wires while their resistance is measured.")
    return s
