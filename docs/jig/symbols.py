"""Symbols for the jig's sheets. Coordinates are cells of ten pixels; values come from the netlists."""

import re
from html import escape
from pathlib import Path

HERE = Path(__file__).parent

DEFS = {
    "r": '<path d="M0 0h8m24 0h8"/><rect x="8" y="-5" width="24" height="10"/>',
    "c": '<path d="M0 0h18m4 0h18M18-8v16M22-8v16"/>',
    "d": '<path d="M0 0h14m12 0h14M26-7v14"/><path d="M14-7v14l12-7z"/>',
    "z": '<path d="M0 0h14m12 0h14M23-9l3 3v12l3 3"/><path d="M14-7v14l12-7z"/>',
    "s": '<path d="M0 0h14m12 0h14M23-4v-3h3v14h3v-3"/><path d="M14-7v14l12-7z"/>',
    "b": '<path d="M0 0h12m16 0h12M17-10l3 3v14l3 3"/><path d="M12-7v14l8-7zM28-7v14l-8-7z"/>',
    "e": '<path d="M0 0h14m12 0h14M26-7v14M20-9l4-5m2 6l4-5"/><path d="M14-7v14l12-7z"/>',
    "f": '<path d="M0 0h40"/><rect x="8" y="-5" width="24" height="10"/>',
    "n": '<path d="M0 0h12M12-10v20M17-13v6m0 4v6m0 4v6M17-10h13v-10M17 10h13v10M30 10v-10h-13"/>'
         '<path class="k" d="M17 0l6-3v6z"/>',
    "p": '<path d="M0 0h12M12-10v20M17-13v6m0 4v6m0 4v6M17-10h13v-10M17 10h13v10M30-10v10h-13"/>'
         '<path class="k" d="M24 0l-6-3v6z"/>',
    "q": '<path d="M0 0h14M14-11v22M14-5l16-9v-6M14 5l16 9v6"/><path class="k" d="M29 13l-7 0 4-6z"/>',
    "a": '<path d="M10-30v60l50-30zM0-20h10M0 20h10M60 0h10M16-20h6M16 20h6M19 17v6"/>',
    "g": '<path d="M0 0v6M-8 6h16M-5 9h10M-2 12h4"/>',
    "k": '<rect x="0" y="-20" width="50" height="40"/><path d="M10-20v13M10 7v13M4-7h12l-6 12zM4 6h12'
         'M20-4l7 0m-3-2l3 2-3 2M20 3l7 0m-3-2l3 2-3 2M40-20v10M36-10l4 20M40 10v10"/>',
}


def netlist(sheet):
    """Kind and number of every part of a sheet."""
    parts = {}
    for line in (HERE / f"{sheet}.net").read_text().splitlines():
        words = line.split()
        if not words or words[0] in "#=" or line[0] == "#":
            continue
        ref, _, times = words[0].partition("*")
        parts[ref] = (words[1], int(times or 1))
    return parts


class Sheet:
    """One drawing. It knows which parts it must show."""

    def __init__(self, name, title, width, height):
        self.name, self.width, self.height = name, width * 10, height * 10
        self.parts = netlist(name) if (HERE / f"{name}.net").exists() else {}
        self.shown, self.out, self.used = set(), [], set()
        self.text(2, 3, title, size=15, bold=True)

    def text(self, x, y, words, anchor="start", size=10, bold=False):
        weight = ' font-weight="bold"' if bold else ""
        at = "" if anchor == "start" else f' text-anchor="{anchor}"'
        size = "" if size == 10 else f' font-size="{size}"'
        self.out.append(f'<text x="{x * 10:g}" y="{y * 10:g}"{at}{size}{weight}>{escape(words)}</text>')

    def note(self, x, y, *lines):
        for i, line in enumerate(lines):
            self.text(x, y + 1.4 * i, line)

    def wire(self, *xy):
        points = " ".join(f"{v * 10:g}" for v in xy)
        self.out.append(f'<polyline points="{points}"/>')

    def dot(self, x, y):
        self.out.append(f'<circle cx="{x * 10:g}" cy="{y * 10:g}" r="2.5"/>')

    def symbol(self, key, x, y, turn=0, flip=False):
        self.used.add(key)
        how = f" rotate({turn})" if turn else ""
        how += " scale(-1 1)" if flip else ""
        self.out.append(f'<use href="#{key}" transform="translate({x * 10:g} {y * 10:g}){how}"/>')

    def label(self, ref):
        """Reference and value, once for each part."""
        assert ref not in self.shown, f"{ref} is drawn twice"
        self.shown.add(ref)
        kind, times = self.parts[ref]
        return (ref if times == 1 else f"{ref} ×{times}"), kind

    def two(self, key, x, y, way, ref, side=None):
        """A part with two leads, four cells long, from (x, y) to the right, left, down or up."""
        turn = {"r": 0, "d": 90, "l": 180, "u": 270}[way]
        self.symbol(key, x, y, turn)
        name, kind = self.label(ref)
        dx = {"r": 2, "l": -2}.get(way, 0)
        dy = {"d": 2, "u": -2}.get(way, 0)
        if way in "rl":
            below = side == "below"
            if side == "none":  # little room: all in one line
                self.text(x + dx, y - 0.9, f"{name} {kind}", "middle", 9)
                return
            self.text(x + dx, y + (1.8 if below else -2.0), name, "middle")
            self.text(x + dx, y + (2.9 if below else -0.9), kind, "middle", 9)
        else:
            left = side == "left"
            at, to = (x - 1.2, "end") if left else (x + 1.2, "start")
            self.text(at, y + dy - 0.1, name, to)
            self.text(at, y + dy + 1.0, kind, to, 9)

    def mos(self, key, x, y, ref, flip=False, side=None):
        """A transistor whose gate or base is at (x, y): its ends are three cells to the right
        (left when flipped), two cells up and down."""
        self.symbol(key, x, y, 0, flip)
        name, kind = self.label(ref)
        sign = -1 if flip else 1
        at = x + sign * 3.6
        anchor = "end" if flip else "start"
        if side == "gate":
            at, anchor = x + sign * 0.2, "start" if flip else "end"
            self.text(at, y - 1.8, name, anchor)
            self.text(at, y - 0.7, kind, anchor, 9)
        else:
            self.text(at, y - 0.1, name, anchor)
            self.text(at, y + 1.0, kind, anchor, 9)

    def amplifier(self, x, y, ref):
        """Minus at (x, y - 2), plus at (x, y + 2), output at (x + 7, y)."""
        self.symbol("a", x, y)
        name, kind = self.label(ref)
        self.text(x + 3.4, y - 2.6, name)
        self.text(x + 4.2 + 0.65 * len(name), y - 2.6, kind, size=9)

    def relay(self, x, y, ref):
        """Diode from (x + 1, y - 2) down to (x + 1, y + 2), switch at x + 4."""
        self.symbol("k", x, y)
        name, kind = self.label(ref)
        self.text(x + 5.4, y - 0.1, name)
        self.text(x + 5.4, y + 1.0, kind, size=9)

    def box(self, x, y, width, height, ref, title="", left=(), right=()):
        """A block with pins two cells apart, two cells long, from the second cell down."""
        self.out.append(f'<rect x="{x * 10}" y="{y * 10}" width="{width * 10}" height="{height * 10}"/>')
        if ref in self.parts:
            name, kind = self.label(ref)
            self.text(x + width / 2, y - 1.5, name, "middle")
            self.text(x + width / 2, y - 0.4, title or kind, "middle", 9)
        else:
            self.text(x + width / 2, y - 0.5, ref, "middle")
        for i, pin in enumerate(left):
            if pin:
                self.wire(x - 2, y + 2 + 2 * i, x, y + 2 + 2 * i)
                self.text(x + 0.4, y + 2.3 + 2 * i, pin, size=9)
        for i, pin in enumerate(right):
            if pin:
                self.wire(x + width, y + 2 + 2 * i, x + width + 2, y + 2 + 2 * i)
                self.text(x + width - 0.4, y + 2.3 + 2 * i, pin, "end", 9)

    def ground(self, x, y):
        self.symbol("g", x, y)

    def rail(self, x, y, name):
        """A supply, upwards."""
        self.wire(x - 0.8, y - 0.6, x + 0.8, y - 0.6)
        self.wire(x, y - 0.6, x, y)
        self.text(x, y - 0.9, name, "middle", 9)

    def to_ground(self, key, x, y, ref, drop, side=None, way="d"):
        """A part from a wire at (x, y) down to ground, so many cells below it."""
        self.dot(x, y)
        self.wire(x, y, x, y + drop)
        self.two(key, x, y + drop + (0 if way == "d" else 4), way, ref, side)
        self.ground(x, y + drop + 4)

    def to_rail(self, key, x, y, ref, rise, name):
        """A part from a wire at (x, y) up to a supply, so many cells above it."""
        self.dot(x, y)
        self.wire(x, y, x, y - rise)
        self.two(key, x, y - rise, "u", ref)
        self.rail(x, y - rise - 4, name)

    def driven(self, x, y, ref, resistor, rise=2):
        """A relay with its resistor and its supply above."""
        top = y - 6 - rise
        self.relay(x, y, ref)
        self.wire(x + 1, y - 2, x + 1, y - 2 - rise)
        self.two("r", x + 1, top, "d", resistor, "left")
        self.rail(x + 1, top, "V5P")

    def pass_transistor(self, at, zener_at, gate, y, resistor, zener, ref):
        """A transistor in a wire from the left at y, which goes on down from (gate + 3, y + 9). Its
        resistor and its diode hang on the wire; the gate's own wire begins at (at, y + 7)."""
        self.dot(at, y)
        self.wire(at, y, at, y + 1)
        self.two("r", at, y + 1, "d", resistor, "left")
        self.wire(at, y + 5, at, y + 7, gate, y + 7)
        self.dot(zener_at, y)
        self.wire(zener_at, y, zener_at, y + 1)
        self.two("z", zener_at, y + 5, "u", zener)
        self.wire(zener_at, y + 5, zener_at, y + 7)
        self.dot(zener_at, y + 7)
        self.dot(at, y + 7)
        self.wire(gate + 3, y, gate + 3, y + 5)
        self.mos("p", gate, y + 7, ref)

    def tag(self, x, y, name, way="r"):
        """A net that goes on elsewhere under this name."""
        long = 0.62 * len(name) + 1.2
        if way == "r":
            self.wire(x, y, x + 0.5, y - 0.7, x + long, y - 0.7, x + long, y + 0.7, x + 0.5, y + 0.7, x, y)
            self.text(x + 0.7, y + 0.35, name, size=9)
        else:
            self.wire(x, y, x - 0.5, y - 0.7, x - long, y - 0.7, x - long, y + 0.7, x - 0.5, y + 0.7, x, y)
            self.text(x - 0.7, y + 0.35, name, "end", 9)

    def terminal(self, x, y, ref, words, way="l"):
        """A screw terminal with what is wired to it."""
        self.out.append(f'<circle class="o" cx="{x * 10}" cy="{y * 10}" r="4"/>')
        name = words if ref is None else f"{ref} {words}" if ref in self.shown else f"{self.label(ref)[0]} {words}"
        if way == "l":
            self.text(x - 0.8, y + 0.35, name, "end")
        else:
            self.text(x + 0.8, y + 0.35, name)

    def save(self):
        missing = set(self.parts) - self.shown
        assert not missing, f"{self.name}: not drawn: {sorted(missing)}"
        defs = "".join(f'<g id="{key}">{DEFS[key]}</g>' for key in sorted(self.used))
        body = "\n".join(self.out)
        svg = (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {self.width} {self.height}" '
            f'width="{self.width}" height="{self.height}" font-family="sans-serif" font-size="10">\n'
            "<style>path,rect,polyline{fill:none;stroke:#000;stroke-width:1.2}.k{fill:#000}"
            ".o{fill:#fff;stroke:#000}.w{fill:#fff}</style>\n"
            f'<rect width="100%" height="100%" style="fill:#fff;stroke:none"/>\n<defs>{defs}</defs>\n{body}\n</svg>\n'
        )
        (HERE / f"{self.name}.svg").write_text(svg)
