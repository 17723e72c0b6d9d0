"""The plug-on adapter and the loop plug."""

from symbols import Sheet


def adapter():
    s = Sheet("adapter", "Adapter: from the jig to one kind of module", 124, 46)
    s.box(6, 10, 18, 32, "jig, 34-pin plug", left=[], right=[])
    s.box(48, 10, 22, 32, "adapter board, one a kind of module", left=[], right=[])
    s.box(94, 10, 22, 32, "module", left=[], right=[])
    rows = (("feed A, B", 2, "fused wire, 0.75 mm²"), ("commons 1 to 4", 4, "0.75 mm²"), ("clamps 1a … 4b", 8, "0.75 mm²"),
            ("bypasses 1a … 4b", 8, "0.25 mm²"), ("contact inputs 1a … 4b", 8, "0.25 mm²"), ("their ground", 1, "0.25 mm²"),
            ("keys (no pin)", 3, ""))
    for i, (name, wires, gauge) in enumerate(rows):
        y = 14 + 4 * i
        s.text(7, y + 0.4, f"{name}: {wires}")
        if gauge:
            s.wire(24, y, 48, y)
            s.text(27, y - 0.5, gauge, size=9)
    for i, (name, note) in enumerate((("feed A, B", "2 spring pins"), ("commons 1 to 4", "4 × 2 spring pins"),
                                      ("contacts 1a … 4b", "8 × 2 spring pins: clamp and bypass"),
                                      ("contact inputs 1a … 4b", "8 spring pins"), ("their ground", "1 spring pin"))):
        y = 14 + (4 * i if i < 2 else 4 * i + (2 if i == 2 else 4))
        s.wire(70, y, 94, y)
        s.text(72, y - 0.5, note, size=9)
        s.text(95, y + 0.4, name)
        s.dot(94, y)
    s.text(49, 22.4, "clamp and bypass meet only")
    s.text(49, 23.8, "at the module's contact")
    s.text(49, 38.4, "a comb or two pegs that fit this kind")
    s.text(49, 39.8, "one way round, and no other kind")
    return s


def loop_plug():
    s = Sheet("loop-plug", "Loop plug: stands in for a module", 112, 50)
    # Outputs
    s.text(6, 7, "one of four outputs")
    s.terminal(22, 12, None, "common 1")
    s.wire(22.4, 12, 40, 12)
    for y, name in ((9, "1a"), (16, "1b")):
        s.wire(34, 12, 34, y, 40, y)
        s.dot(34, 12)
        s.terminal(40.4, y, None, f"clamp {name}", "r")
        s.wire(38, y, 38, y + 2.5, 40, y + 2.5)
        s.dot(38, y)
        s.terminal(40.4, y + 2.5, None, f"bypass {name}", "r")
    s.out = [line for line in s.out if 'points="224 120 400 120"' not in line]
    s.wire(22.4, 12, 34, 12)
    # Feed
    s.text(6, 24, "feed, contact inputs, status")
    s.terminal(16, 28, None, "feed A")
    s.terminal(16, 40, None, "feed B")
    s.wire(16.4, 28, 24, 28)
    s.wire(16.4, 40, 24, 40)
    s.out.append('<rect x="240" y="260" width="80" height="160"/>')
    s.text(28, 33.6, "rectifier", "middle")
    s.text(28, 34.9, "1 A, 100 V", "middle", 9)
    s.wire(32, 28, 66, 28)
    s.text(33, 27.4, "plus")
    s.wire(32, 40, 76, 40)
    s.text(33, 39.4, "minus")
    for x, what, value in ((38, "C", "470 µF 35 V"), (45, "R", "1 kΩ 1 W")):
        s.dot(x, 28)
        s.dot(x, 40)
        s.wire(x, 28, x, 32)
        s.symbol("c" if what == "C" else "r", x, 32, 90)
        s.wire(x, 36, x, 40)
        s.text(x + 1.2, 34.4, value, size=9)
    s.wire(66, 28, 66, 29)
    s.symbol("r", 66, 29, 90)
    s.text(67.2, 31, "2.2 kΩ 0.5 W")
    s.text(67.2, 32.3, "eight, one an input", size=9)
    s.wire(66, 33, 66, 35, 76, 35)
    s.terminal(76.4, 35, None, "contact input 1a … 4b", "r")
    s.terminal(76.4, 40, None, "ground of the contact inputs", "r")
    s.text(6, 46, "At 16 V the feed draws 14.6 mA; each closed contact closer adds 6.6 mA.")
    return s
