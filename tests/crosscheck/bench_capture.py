#!/usr/bin/env python3
"""How long a capture of 500,000 frames takes: python-can's reader and cantools, against the house's own.

    pip install -r tests/crosscheck/requirements.txt
    python tests/crosscheck/bench_capture.py [--frames N]

The same file is read by `can.CanutilsLogReader`, with the times of each identifier kept, and its RV-C messages are decoded
by cantools; then by `cargo bench --bench bus -- --file`, which also reckons the bits of every frame, intervals and load.
Least of three runs each; processes are started and the file is in memory before the clock runs, python-can apart, which
reads files only.
"""

import argparse
import json
import os
import pathlib
import random
import subprocess
import tempfile

import can
import cantools
from bus_frames import GROUPS, group
from timing import least

# The three groups that the file holds.
USED = (0x1FFFD, 0x1FFFC, 0x1FEC9)


def lines(rng, count):
    for number in range(count):
        micros = 1_700_000_000_000_000 + 731 * number
        address = 0x80 + number // 4 % 4
        kind = number % 4
        name = f"{6 << 26 | USED[kind] << 8 | address:08X}" if kind < 3 else f"{0x100 + number // 4 % 32:03X}"
        yield f"({micros // 1_000_000}.{micros % 1_000_000:06}) can0 {name}#{rng.randbytes(8).hex().upper()}\n"


def read(path):
    times = {}
    for message in can.CanutilsLogReader(path):
        times.setdefault((message.arbitration_id, message.is_extended_id), []).append(message.timestamp)
    return times


def decode(path, known):
    count = 0
    for message in can.CanutilsLogReader(path):
        group = known.get(message.arbitration_id >> 8 & 0x1FFFF) if message.is_extended_id else None
        if group is not None:
            group.decode(bytes(message.data), decode_choices=False)
            count += 1
    return count


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--frames", type=int, default=500_000)
    parser.add_argument("--seed", type=int, default=60)
    options = parser.parse_args()
    root = pathlib.Path(__file__).resolve().parents[2]
    text = 'VERSION ""\n\nNS_ :\n\nBS_:\n\nBU_: X\n\n' + "".join(group(*entry) for entry in GROUPS)
    database = cantools.database.load_string(text, "dbc")
    known = {dgn: database.get_message_by_name(name) for dgn, name, _ in GROUPS if dgn in USED}
    if len(known) != len(USED):
        raise SystemExit("The database lacks a group that the file holds.")
    with tempfile.NamedTemporaryFile("w", suffix=".log", delete=False) as file:
        file.writelines(lines(random.Random(options.seed), options.frames))
    try:
        count = decode(file.name, known)
        theirs = {"read": least(lambda: read(file.name), 3), "decode": least(lambda: decode(file.name, known), 3)}
        command = ["cargo", "bench", "--no-default-features", "--bench", "bus", "--", "--file", file.name]
        done = subprocess.run(command, cwd=root, capture_output=True, text=True, check=True)
        ours = json.loads(done.stdout.strip().splitlines()[-1])
    finally:
        os.unlink(file.name)
    print(f"{options.frames} frames, {count} of them decoded")
    for key, what in (("read", "read"), ("decode", "read and decoded")):
        print(
            f"{what:17} python-can/cantools {theirs[key]:8.3f} s   here {ours[key]:8.4f} s   "
            f"{theirs[key] / ours[key]:6.1f} times faster"
        )


if __name__ == "__main__":
    main()
