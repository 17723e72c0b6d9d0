"""The work of `measure::transition` on one record of 16-bit counts, in vectorised NumPy.

    python transition.py RECORD START PASSES

RECORD holds little-endian 16-bit counts, START is the first sample at which anything may move. One
line comes out: the shortest time of a pass in seconds, then the results of which the benchmark sees
to it that they are its own: level before, level after, first and last 50 % instant, 10 % to 90 %
duration, overshoot, undershoot and settling instant. All instants are in samples.
"""

import sys
import time

import numpy as np

FINAL = 0.15
BATCHES = 8
STEADY = 0.02
STATE_NOISE = 6.0
LEAST_SWING = 10.0


def level(part):
    """Mean, standard deviation, standard uncertainty and extremes of a stretch, in one go."""
    means = np.array([batch.mean() for batch in np.array_split(part, BATCHES)])
    deviation = part.std(ddof=1)
    by_batches = means.std(ddof=1) / np.sqrt(BATCHES)
    standard = max(deviation / np.sqrt(part.size), by_batches)
    return part.mean(), deviation, standard, part.min(), part.max()


def transition(counts, start):
    tail = max(int(counts.size * FINAL), 2 * BATCHES)
    before, before_noise, *_ = level(counts[:start])
    after, after_noise, *_ = level(counts[-tail:])
    span = after - before
    noise = max(min(before_noise, after_noise), 1 / np.sqrt(12)) / abs(span)
    band = max(STEADY, STATE_NOISE * after_noise / abs(span))
    # Falling records are turned round, so that all that follows rises.
    sign = 1 if span > 0 else -1
    moving = counts[start - 1 :]
    if sign < 0:
        moving = -moving
    at = lambda share: sign * (before + share * span)
    share = lambda i: (float(moving[i]) - at(0)) / abs(span)

    def between(level, i):
        """The instant between two samples: on the chord, or as near to it as what may happen there
        leaves half an interval either way; and how wide that is."""
        left, here, next_, right = (share(i + k) for k in (-1, 0, 1, 2))
        chord = (level - here) / (next_ - here)
        by_left = (level - here) / (here - left) if here > left else 1
        by_right = 1 - (next_ - level) / (right - next_) if right > next_ else 0
        ends = [chord, min(max(by_left, 0), 1), min(max(by_right, 0), 1)]
        low, high = min(ends), max(ends)
        return i + min(max(chord, high - 0.5), low + 0.5)

    def crossing(level, clear, near, forward):
        """Where a level is passed for good next to a sample, as the middle of all crossings."""
        clear = min(clear, 0.5 * min(level, 1 - level))
        if forward:
            above = near + int(np.argmax(moving[near:] >= at(level + clear)))
            below = above - int(np.argmax(moving[above::-1] <= at(level - clear)))
        else:
            below = near - int(np.argmax(moving[near::-1] <= at(level - clear)))
            above = below + int(np.argmax(moving[below:] >= at(level + clear)))
        part = moving[below : above + 1] >= at(level)
        rises = below + np.flatnonzero(part[1:] & ~part[:-1])
        first, last = rises[0], rises[-1]
        if first == last:
            return between(level, first)
        chord = lambda i: i + (level - share(i)) / (share(i + 1) - share(i))
        return (chord(first) + chord(last)) / 2

    # Changes: rises through 50 % with a swing for hysteresis.
    clear = 8 * noise
    swing = np.clip(LEAST_SWING * noise, 0.5, 0.9)
    is_high = moving >= at(0.5 + swing / 2)
    is_low = moving <= at(0.5 - swing / 2)
    told = np.flatnonzero(is_high | is_low)
    states = is_high[told]
    rises = told[1:][states[1:] & ~states[:-1]]
    first = crossing(0.5, clear, int(rises[0]), False)
    last = crossing(0.5, clear, int(rises[-1]), False)
    begin = crossing(0.1, clear, int(last), False)
    end = crossing(0.9, clear, int(np.ceil(last)), True)

    rest = moving[rises[-1] :]
    over = (float(rest.max()) - at(0)) / abs(span) - 1
    reached = rest[int(np.argmax(rest >= at(1))) :]
    under = 1 - (float(reached.min()) - at(0)) / abs(span)
    outside = np.flatnonzero((moving < at(1 - band)) | (moving > at(1 + band)))[-1]
    edge = 1 - band if share(outside) < 1 else 1 + band
    settled = outside + (edge - share(outside)) / (share(outside + 1) - share(outside))
    by = start - 1
    return before, after, first + by, last + by, end - begin, max(over, 0), max(under, 0), settled + by


def main():
    path, start, passes = sys.argv[1], int(sys.argv[2]), int(sys.argv[3])
    counts = np.fromfile(path, dtype="<i2")
    best = float("inf")
    for _ in range(passes):
        began = time.perf_counter()
        found = transition(counts, start)
        best = min(best, time.perf_counter() - began)
    print(best, *found)


main()
