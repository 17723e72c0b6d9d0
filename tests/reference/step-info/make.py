"""Makes `table.csv`: step responses, and what python-control's `step_info` says of them.

    pip install -r requirements.txt
    python make.py > table.csv

A response is given by its poles and residues (`scipy.signal.residue`), so that whoever reads the
table can sample it as coarsely as he likes: y(t) = Σ residue × exp(pole × t). `step_info` looks at a
million points, since it takes whole points and does not interpolate. Times are in seconds.
"""

import sys

import control
import numpy as np
import scipy
from scipy import signal

POINTS = 1_000_001

# Name, numerator, denominator, seconds after which all has settled.
SYSTEMS = [
    ("single pole", [1], [0.01, 1], 0.25),
    ("two real poles", [1], np.polymul([0.01, 1], [0.004, 1]), 0.3),
    ("three poles", [1], np.polymul(np.polymul([0.01, 1], [0.005, 1]), [0.002, 1]), 0.3),
    ("ringing, damping 0.15", [1], [1e-6, 0.3e-3, 1], 0.15),
    ("ringing, damping 0.3", [1], [1e-6, 0.6e-3, 1], 0.08),
    ("ringing, damping 0.5", [1], [1e-6, 1e-3, 1], 0.05),
    ("ringing, damping 0.8", [1], [1e-6, 1.6e-3, 1], 0.05),
    ("inrush, a zero before the poles", [0.08, 1], np.polymul([0.02, 1], [0.001, 1]), 0.4),
    ("first the wrong way", [-0.004, 1], np.polymul([0.01, 1], [0.006, 1]), 0.3),
    ("falling, damping 0.4", [-2], [4e-6, 1.6e-3, 1], 0.12),
    ("coil behind a coil", [3], np.polymul([0.0033, 1], [0.0011, 1]), 0.1),
]


def numbers(values):
    return " ".join(f"{v.real:.17g} {v.imag:.17g}" for v in values)


def main():
    print(
        f"# scipy {scipy.__version__}, control {control.__version__}, "
        f"numpy {np.__version__}, python {sys.version.split()[0]}"
    )
    print("name,end_s,residues,poles,final,rise_s,settling_s,overshoot,undershoot,half_s")
    for name, numerator, denominator, end in SYSTEMS:
        system = control.tf(numerator, denominator)
        times = np.linspace(0, end, POINTS)
        response = control.step_response(system, times)
        final = float(np.real(control.dcgain(system)))
        info = control.step_info(
            response.outputs,
            T=times,
            yfinal=final,
            SettlingTimeThreshold=0.02,
            RiseTimeLimits=(0.1, 0.9),
        )
        share = response.outputs / final
        half = times[np.argmax(share >= 0.5)]
        # Residues of the response to a step: the system with a pole at 0 more.
        residues, poles, _ = signal.residue(numerator, np.polymul(denominator, [1, 0]))
        found = [info[k] for k in ("RiseTime", "SettlingTime", "Overshoot", "Undershoot")]
        rise, settling, over, under = found
        cells = [final, rise, settling, over / 100, under / 100, half]
        print(",".join([name.replace(",", ";"), f"{end:g}", numbers(residues), numbers(poles)]
                       + [f"{c:.9g}" for c in cells]))


main()
