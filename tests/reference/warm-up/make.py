"""Makes `table.csv`: how filament lamps warm up and motors run up at parts of their rated voltage.

    pip install -r requirements.txt
    python make.py > table.csv

By SciPy's `solve_ivp` (LSODA), from the physics alone.

A filament: its temperature u is a share of the room's; resistance goes with u^1.2, heat leaves by radiation
with u^4 and comes back from the room. Its heat capacity is such that at the rated voltage half of the
inrush is gone after the warm-up.

A motor: winding, back-EMF in proportion to the speed, inertia, and friction in proportion to the speed. Its
inertia is such that half of the start current's excess is gone after the run-up.

Columns: load, its four values (rated voltage; rated or run current; inrush ratio or start current; warm-up
or run-up), voltage over rated, first current, settled current, time until half of the excess is gone, and
until 0.2 % of the settled current is left of it. SI units.
"""

import sys

import numpy as np
import scipy
from scipy.integrate import solve_ivp
from scipy.optimize import brentq

SHARES = [0.5, 0.6, 0.7, 0.8, 0.9, 1.0, 1.1]
LAMPS = [(12, 0.15, 8, 0.004), (24, 0.1, 8, 0.008), (14, 0.08, 12, 0.015), (16, 0.06, 5, 0.03)]
MOTORS = [(12, 0.12, 0.4, 0.025), (12, 0.15, 0.6, 0.2)]
LEFT = 0.002


def passes(slope, current, start, end, level):
    """When a falling current passes a level."""
    event = lambda t, y: current(y[0]) - level
    event.terminal, event.direction = True, -1
    found = solve_ivp(slope, (0, end), [start], method="LSODA", rtol=1e-10, atol=1e-12, events=event)
    return found.t_events[0][0]


def times(slope, current, start, settled, end):
    first = current(start)
    half = passes(slope, current, start, end, (first + settled) / 2)
    return first, settled, half, passes(slope, current, start, end, (1 + LEFT) * settled)


def lamp(rated_v, rated_a, ratio, warm_up, share):
    cold_ohm = rated_v / rated_a / ratio
    radiates = rated_v * rated_a / (ratio ** (4 / 1.2) - 1)

    def of(volt, heat):
        power = lambda u: volt**2 / (cold_ohm * u**1.2)
        hottest = brentq(lambda u: power(u) - radiates * (u**4 - 1), 1, 100, xtol=1e-14)
        slope = lambda t, u: (power(u) - radiates * (u**4 - 1)) / heat
        current = lambda u: volt / (cold_ohm * u**1.2)
        return times(slope, current, 1.0, current(hottest), 1e3 * heat / radiates)

    heat = warm_up / of(rated_v, 1.0)[2]
    return of(share * rated_v, heat)


def motor(at_v, run_a, start_a, run_up, share):
    ohm = at_v / start_a
    friction = run_a / (at_v - run_a * ohm)

    def of(volt, inertia):
        current = lambda back_v: (volt - back_v) / ohm
        slope = lambda t, back_v: (current(back_v) - friction * back_v) / inertia
        settled = current(volt / (1 + friction * ohm))
        return times(slope, current, 0.0, settled, 1e3 * inertia)

    inertia = run_up / of(at_v, 1.0)[2]
    return of(share * at_v, inertia)


def main():
    print(f"# Python {sys.version.split()[0]}, NumPy {np.__version__}, SciPy {scipy.__version__}")
    print("load,rated_v,rated_a,excess,time_s,share,first_a,settled_a,half_gone_s,settled_s")
    for name, loads, of in [("lamp", LAMPS, lamp), ("motor", MOTORS, motor)]:
        for values in loads:
            for share in SHARES:
                row = of(*values, share)
                said = ",".join(f"{v:.12g}" for v in (*values, share, *row))
                print(f"{name},{said}")


main()
