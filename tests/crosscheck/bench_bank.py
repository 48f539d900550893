#!/usr/bin/env python3
"""How long it takes to aggregate 64 modules and to share a current among them, beside numpy on the same networks.

    pip install -r tests/crosscheck/requirements.txt
    python tests/crosscheck/bench_bank.py

numpy adds the columns, and solves the dense nodal equations of 128 posts; the house's own run is
`cargo bench --bench bank -- --json`. Least of 500 runs each, the network laid out anew in each run, as the house's is. The
answers must agree: a fast sum that is wrong is no benchmark.
"""

import json
import os
import subprocess
import sys

import numpy as np

from timing import least

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
COUNT, LOAD = 64, 300.0


def vary(count, low, step, start=0):
    return low + step * ((np.arange(start, start + count) * 7) % 13)


CAPACITY, HEALTH, SOC = vary(COUNT, 100.0, 10.0), vary(COUNT, 0.85, 0.01), vary(COUNT, 0.50, 0.02)
VOLTS, AMPERES = vary(COUNT, 13.2, 0.01), vary(COUNT, 4.0, 0.5)
CELLS = np.array([3.28 + 0.002 * ((np.arange(i, i + 4) * 7) % 13) for i in range(COUNT)])


def aggregate():
    present = HEALTH * CAPACITY
    held = SOC * present
    return {
        "capacity": CAPACITY.sum(), "present": present.sum(), "held": held.sum(), "room": (present - held).sum(),
        "soc": held.sum() / present.sum(), "soc_low": SOC.min(), "soh": present.sum() / CAPACITY.sum(),
        "energy": (CAPACITY * 12.8).sum(), "volts": VOLTS.mean(), "spread": np.ptp(VOLTS), "amperes": AMPERES.sum(),
        "power": (VOLTS * AMPERES).sum(), "low": np.unravel_index(CELLS.argmin(), CELLS.shape),
        "high": np.unravel_index(CELLS.argmax(), CELLS.shape), "hours": held.sum() / AMPERES.sum(),
    }


def share():
    """Diagonal: plus on the first, minus on the last; the first negative post is the ground."""
    ohms, emf = vary(COUNT, 0.006, 0.0005) + 0.001, vary(COUNT, 13.2, 0.01)
    plus, minus = vary(COUNT - 1, 0.0003, 0.00002), vary(COUNT - 1, 0.0003, 0.00002, 1)
    g, i = np.zeros((2 * COUNT, 2 * COUNT)), np.zeros(2 * COUNT)

    def add(a, b, siemens):
        np.add.at(g, (a, a), siemens)
        np.add.at(g, (b, b), siemens)
        np.add.at(g, (a, b), -siemens)
        np.add.at(g, (b, a), -siemens)

    top, bottom = np.arange(COUNT), np.arange(COUNT) + COUNT
    add(top, bottom, 1 / ohms)
    add(top[:-1], top[1:], 1 / plus)
    add(bottom[:-1], bottom[1:], 1 / minus)
    i[top] += emf / ohms
    i[bottom] -= emf / ohms
    i[top[0]] -= LOAD
    i[bottom[-1]] += LOAD
    free = np.arange(2 * COUNT) != bottom[0]
    v = np.zeros(2 * COUNT)
    v[free] = np.linalg.solve(g[np.ix_(free, free)], i[free])
    return (emf - (v[top] - v[bottom])) / ohms


def main():
    bench = ["cargo", "bench", "--quiet", "--no-default-features", "--bench", "bank", "--", "--json"]
    own = json.loads(subprocess.run(bench, cwd=ROOT, capture_output=True, text=True, check=True).stdout.splitlines()[-1])
    gap = np.abs(share() - np.array(own["currents_A"])).max()
    held = abs(aggregate()["held"] - own["charge_held_Ah"])
    for name, of, key in (("aggregated", aggregate, "total"), ("shared", share, "share")):
        theirs = least(of, 500)
        print(f"64 modules {name}: own {own[key] * 1e6:.1f} µs, numpy {theirs * 1e6:.1f} µs")
    print(f"largest difference: {gap:.1e} A of {LOAD:.0f} A, {held:.1e} Ah")
    return 0 if gap < 1e-9 * LOAD and held < 1e-9 * own["charge_held_Ah"] else 1


if __name__ == "__main__":
    sys.exit(main())
