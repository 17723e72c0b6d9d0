"""The controller and the operator's side."""

from symbols import Sheet

LEFT = ("GP0 serial out", "GP1 serial in", "GP2 feed A", "GP3 feed B", "GP4 feed pump", "GP5 load pump",
        "GP6 feed full", "GP7 limit", "GP8 feed cut off", "GP9 loads cut off", "GP10 start", "GP11 clock",
        "GP12 settings", "GP13 data X")
RIGHT = ("GP14 data Y", "GP15 data Z", "GP16 data back", "GP17 take over", "GP18 clock", "GP19 data",
         "GP20 enable", "GP21 start button", "GP22 interlock", "GP26 clear", "GP27 loads on", "3V3", "VSYS", "GND")


def logic():
    s = Sheet("logic", "Logic: controller, the operator's side", 138, 52)
    s.box(16, 10, 12, 30, "U601", title="board with RP2040", left=[n.split()[0] for n in LEFT],
          right=[n.split()[0] for n in RIGHT])
    for i, net in enumerate(LEFT):
        s.tag(14, 12 + 2 * i, net, "l")
    for i, net in enumerate(RIGHT):
        s.tag(30, 12 + 2 * i, "V33" if net == "3V3" else net)

    s.tag(50, 12, "GP1", "l")
    s.two("r", 50, 12, "r", "R608")
    s.wire(54, 12, 56, 12)
    s.rail(56, 12, "V33")

    # Operator
    s.rail(76, 12, "V5P")
    s.wire(76, 12, 78, 12)
    s.two("r", 78, 12, "r", "R603")
    s.wire(82, 12, 84, 12)
    s.terminal(84.4, 12, "J601", "signal light + (≤ 20 mA)", "r")
    s.tag(80, 15, "SW_LIGHT", "l")
    s.wire(80, 15, 84, 15)
    s.terminal(84.4, 15, "J601", "signal light −", "r")
    s.rail(80, 20, "V5P")
    s.wire(80, 20, 84, 20)
    s.terminal(84.4, 20, "J602", "sounder + (5 V, ≤ 50 mA)", "r")
    s.tag(80, 23, "SW_SOUND", "l")
    s.wire(80, 23, 84, 23)
    s.terminal(84.4, 23, "J602", "sounder −", "r")
    for y, pin, pull, series, cap, ref, words in ((32, "GP21", "R604", "R605", "C601", "J603", "start button or foot switch"),
                                                 (43, "GP22", "R606", "R607", "C602", "J604", "interlock: closed lets power on")):
        s.tag(76, y, pin, "l")
        s.wire(76, y, 86, y)
        s.dot(78, y)
        s.two("r", 78, y, "u", pull)
        s.rail(78, y - 4, "V33")
        s.to_ground("c", 82, y, cap, 0.4, side="left")
        s.two("r", 86, y, "r", series)
        s.wire(90, y, 92, y)
        s.terminal(92.4, y, ref, words, "r")
        s.wire(92, y + 3, 90, y + 3)
        s.ground(90, y + 3)
        s.terminal(92.4, y + 3, ref, "ground", "r")
    s.terminal(122.4, 12, "J605", "serial out", "r")
    s.terminal(122.4, 16, "J605", "serial in", "r")
    s.terminal(122.4, 20, "J605", "ground", "r")
    for y, pin, ref in ((12, "GP0", "R609"), (16, "GP1", "R610")):
        s.tag(116, y, pin, "l")
        s.two("r", 116, y, "r", ref)
        s.wire(120, y, 122, y)
    s.wire(120, 20, 122, 20)
    s.ground(120, 20)
    return s
