#!/usr/bin/env python3
"""Records the captures that the tests of `run::see` read, beside this script. SIMULATED.

usage: make.py PROGRAM     (target/debug/musterbench, say)

Each is the first operation of output 2 to b by command in a run of the shipped script `arrival` on
the simulated bench, cut to the channels of outputs 2 and 3, the feed current and the load supply.
"""
import csv, pathlib, re, subprocess, sys, tempfile

CHANNELS = [103, 104, 105, 106, 403, 404, 2, 3]
FAULTS = [None, "contacts-overlap", "contact-misses", "clamp-lead-loose", "neighbour-follows"]

here = pathlib.Path(__file__).parent
program = str(pathlib.Path(sys.argv[1]).resolve())
for fault in FAULTS:
    with tempfile.TemporaryDirectory() as folder:
        asked = ["test", "--port", "simulated", "--unattended", "--module", "m1", "--seed", "5"]
        asked += ["--script", "arrival", "--samples", "samples"]
        asked += ["--fault", fault] if fault else []
        subprocess.run([program, *asked], cwd=folder, capture_output=True)
        (capture,) = pathlib.Path(folder, "samples").glob("*-operate-2b-by-command.csv")
        head, *rows = csv.reader(capture.open(newline=""))
    column = {int(m[1]): i for i, h in enumerate(head) if (m := re.match(r"channel (\d+) ", h))}
    kept = [0] + [column[c] for c in CHANNELS]
    with (here / f"{fault or 'sound'}.csv").open("w", newline="") as out:
        csv.writer(out, lineterminator="\n").writerows([row[i] for i in kept] for row in [head, *rows])
