#!/usr/bin/env python3
"""Sums of the bus against independent libraries, over a pipe.

    pip install -r tests/crosscheck/requirements.txt
    cargo build --no-default-features --example sums
    python tests/crosscheck/crosscheck_bus.py [PATH_OF_SUMS] [--cases N] [--seed N]

numpy solves the networks with a dense matrix; crccheck gives the checksums; python-can the bit timing and the reading
of captures; cantools decodes RV-C with a database written here. One line a sum; exit status 1 on any disagreement.
"""

import argparse
import os
import pathlib
import random
import sys

from bus_frames import bus_load, capture, frame, j1939_id, rvc
from bus_networks import bus_reading, bus_short_distance
from bus_pipe import run
from bus_signals import bit_timing, bus_end_voltage, bus_length, bus_levels, rs485_bias

SUMS = [
    bus_reading,
    bus_short_distance,
    bus_length,
    bus_end_voltage,
    bus_levels,
    bit_timing,
    frame,
    bus_load,
    rvc,
    j1939_id,
    rs485_bias,
    capture,
]


def find_binary():
    root = pathlib.Path(__file__).resolve().parents[2]
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", root / "target"))
    found = [target / profile / "examples" / "sums" for profile in ("native", "release", "debug")]
    found = [path for path in found if path.exists()]
    if not found:
        raise SystemExit("No built example: cargo build --no-default-features --example sums")
    return max(found, key=lambda path: path.stat().st_mtime)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("binary", nargs="?", help="the built example `sums`; looked for if left out")
    parser.add_argument("--cases", type=int, default=500, help="random cases a sum")
    parser.add_argument("--seed", type=int, default=60)
    options = parser.parse_args()
    binary = options.binary or find_binary()
    passed = failed = 0
    for make in SUMS:
        # Each sum has its own seed, so that a change in one leaves the others' cases alone.
        checks = make(random.Random(f"{options.seed} {make.__name__}"), options.cases)
        good, bad = run(binary, checks)
        passed, failed = passed + good, failed + bad
    print(f"{passed} passed, {failed} failed")
    return 1 if failed else 0


if __name__ == "__main__":
    sys.exit(main())
