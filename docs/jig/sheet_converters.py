"""From a signal to a converter."""

from symbols import Sheet


def converters():
    s = Sheet("converters", "Converters: one input of 22, reference, lift", 126, 66)
    s.tag(36, 14, "current: I_CLAMP, I_FEED, I_TOTAL", "l")
    s.wire(36, 14, 40, 14)
    s.two("r", 40, 14, "r", "R501")
    s.wire(44, 14, 60, 14)
    s.to_ground("c", 47, 14, "C501", 1)
    s.tag(36, 23, "voltage: V_CLAMP, V_FEED, V_LOAD, TEST", "l")
    s.wire(36, 23, 55, 23, 55, 14)
    s.dot(55, 14)
    s.text(55.5, 18.5, "either of the two")
    s.amplifier(60, 12, "U501")
    s.wire(60, 10, 58.5, 10, 58.5, 7, 69, 7, 69, 12)
    s.wire(67, 12, 71, 12)
    s.dot(69, 12)
    s.two("r", 71, 12, "r", "R511", "below")
    s.wire(75, 12, 84, 12)
    s.to_ground("c", 78, 12, "C511", 1)
    s.tag(84, 12, "X0 to X7, Y0 to Y7, Z0 to Z5")

    names = ("X", "Y", "Z")
    for i, (ref, pin) in enumerate((("U511", "GP13"), ("U512", "GP14"), ("U513", "GP15"))):
        x = 16 + 38 * i
        n = names[i]
        left = ["IN0-7", "COM", "REF", "VDD", "VIO"] if i < 2 else ["IN0-5", "IN6", "IN7", "REF", "VDD VIO"]
        s.box(x, 32, 11, 14, ref, title=f"converter {n}", left=left, right=["CNV", "SCK", "DIN", "SDO", "GND"])
        if i < 2:
            nets = (f"{n}0-7", None, "REF", "V5A", "V33")
        else:
            nets = ("Z0-5", "HALF_REF", None, "REF", "V5A V33")
        for k, net in enumerate(nets):
            y = 34 + 2 * k
            if net:
                s.tag(x - 2, y, net, "l")
            else:
                s.wire(x - 2, y, x - 3, y)
                s.text(x - 3.3, y + 0.4, "GND", "end", 9)
        for k, net in enumerate(("GP10 start", "GP11 clock", "GP12 settings", f"{pin} data")):
            s.tag(x + 13, 34 + 2 * k, net)
        s.wire(x + 13, 42, x + 14, 42)
        s.text(x + 14.3, 42.4, "GND", size=9)

    s.box(10, 53, 10, 6, "U514", left=["VIN"], right=["VOUT"])
    s.tag(8, 55, "V5A", "l")
    s.wire(15, 59, 15, 60)
    s.ground(15, 60)
    s.wire(22, 55, 63, 55)
    s.to_ground("c", 24, 55, "C514", 1)
    s.text(27, 54.5, "REF 4.096 V, one C514 at each converter")
    s.dot(34, 55)
    s.wire(34, 55, 34, 56)
    s.two("r", 34, 56, "d", "R516")
    s.wire(34, 60, 46, 60)
    s.dot(40, 60)
    s.wire(34, 60, 34, 60)
    s.two("r", 34, 60, "d", "R517")
    s.ground(34, 64)
    s.two("c", 40, 60, "d", "C517")
    s.ground(40, 64)
    s.tag(46, 60, "HALF_REF")
    s.dot(60, 55)
    s.wire(60, 55, 60, 56)
    s.two("r", 60, 56, "d", "R514", "left")
    s.wire(60, 60, 72, 60)
    s.dot(60, 60)
    s.two("r", 60, 60, "d", "R515", "left")
    s.ground(60, 64)
    s.dot(65, 60)
    s.two("c", 65, 60, "d", "C515")
    s.ground(65, 64)
    s.tag(63, 55, "REF")
    s.amplifier(72, 58, "U502")
    s.wire(72, 56, 71, 56, 71, 52.5, 81, 52.5, 81, 58)
    s.wire(79, 58, 83, 58)
    s.dot(81, 58)
    s.tag(83, 58, "LIFT 0.256 V")
    s.tag(100, 55, "GP10", "l")
    s.two("r", 100, 55, "r", "R518")
    s.wire(104, 55, 106, 55)
    s.ground(106, 55)
    s.tag(100, 60, "GP11", "l")
    s.two("r", 100, 60, "r", "R519")
    s.wire(104, 60, 106, 60)
    s.ground(106, 60)
    s.rail(112, 54, "V5A")
    s.two("c", 112, 54, "d", "C518")
    s.ground(112, 58)
    s.text(107, 62, "one at every circuit", size=9)
    return s
