#!/usr/bin/env python3
"""Links and codes held against other people's readers, and against a few lines that share nothing with the app.

    pip install -r tests/crosscheck/requirements.txt ; apt-get install zbar-tools
    cargo build --no-default-features --example code
    python tests/crosscheck/crosscheck_link.py [PATH_OF_CODE] [--cases N] [--seed N]

The kept links: letters by Python's base64, digits by whole numbers, checksum by zlib. Codes of them and of random payloads
are drawn sharp, out of focus and turned, and read by zbar. Exit status 1 if anything differs.
"""

import argparse
import base64
import glob
import json
import os
import pathlib
import random
import subprocess
import sys
import tempfile
import zlib
from xml.etree import ElementTree

import numpy as np

ADDRESS = "https://example.org/ohms/"
ROOT = pathlib.Path(__file__).resolve().parents[2]
DIGITS_OF = {0: 0, 1: 3, 2: 5, 3: 8, 4: 10, 5: 13, 6: 15, 7: 17}


def find_code():
    target = pathlib.Path(os.environ.get("CARGO_TARGET_DIR", ROOT / "target"))
    found = [target / profile / "examples" / "code" for profile in ("release", "debug")]
    there = [path for path in found if path.exists()]
    if not there:
        raise SystemExit("cargo build --no-default-features --example code")
    return max(there, key=lambda path: path.stat().st_mtime)


def from_letters(text):
    assert text[0] == "o" and text[-1] == "z", text
    inside = text[1:-1]
    return base64.urlsafe_b64decode(inside + "=" * (-len(inside) % 4))


def from_digits(text):
    assert text[0] == "n" and text[1:].isdigit() | (text == "n"), text
    sizes = {digits: size for size, digits in DIGITS_OF.items()}
    groups = [text[at : at + 17] for at in range(1, len(text), 17)]
    return b"".join(int(group).to_bytes(sizes[len(group)], "big") for group in groups)


def check_kept(problems):
    """Every kept link: the same bytes from letters and digits, version 1, no flags, and the checksum of zlib."""
    payloads = []
    for path in sorted(glob.glob(str(ROOT / "tests/link/golden/*.json"))):
        golden = json.loads(pathlib.Path(path).read_text())
        payload = from_letters(golden["letters"])
        checks = {
            "digits": from_digits(golden["digits"]) == payload,
            "version": payload[0] == 1,
            "flags": payload[1] == 0,
            "checksum": int.from_bytes(payload[-4:], "little") == zlib.crc32(payload[:-4]),
        }
        problems += [f"{path}: {what}" for what, holds in checks.items() if not holds]
        payloads.append(payload)
    if len(payloads) < 10:
        problems.append(f"{len(payloads)} kept links")
    print(f"link_kept            {len(payloads)} links: letters, digits, version, flags, checksum")
    return payloads


def picture(rows, scale, degrees, soft):
    """The code in grey with its quiet zone: points a module, angle, and the width of a point's square in modules."""
    dark = np.array([[cell == "1" for cell in row] for row in rows])
    size, width = len(rows), len(rows) + 8
    side = int(width * scale * (1.45 if degrees % 180 else 1.1))
    angle = np.radians(degrees)
    grey = np.zeros((side, side))
    offsets = (np.arange(5) - 2) / 5 * soft * scale
    for dy in offsets:
        for dx in offsets:
            y, x = np.mgrid[0:side, 0:side] + 0.5
            x, y = (x + dx - side / 2) / scale, (y + dy - side / 2) / scale
            column = np.floor(x * np.cos(angle) + y * np.sin(angle) + size / 2).astype(int)
            row = np.floor(y * np.cos(angle) - x * np.sin(angle) + size / 2).astype(int)
            inside = (column >= 0) & (row >= 0) & (column < size) & (row < size)
            grey += inside & dark[np.clip(row, 0, size - 1), np.clip(column, 0, size - 1)]
    return (235 - grey / 25 * 215).astype(np.uint8)


def write(image, path):
    with open(path, "wb") as file:
        file.write(b"P5 %d %d 255\n" % (image.shape[1], image.shape[0]) + image.tobytes())


def read_by_zbar(paths):
    """What zbar reads in each picture; nothing where it finds no code."""
    command = ["zbarimg", "--xml", "--quiet", "--nodbus", "-Sdisable", "-Sqrcode.enable", *paths]
    answer = subprocess.run(command, capture_output=True, text=True).stdout
    name = "{http://zbar.sourceforge.net/2008/barcode}"
    read = {}
    for source in ElementTree.fromstring(answer).iter(name + "source"):
        read[source.get("href")] = [data.text for data in source.iter(name + "data")]
    return [read.get(path) for path in paths]


SIGHTS = [(3, 0, 0), (4, 0, 0.6), (5.5, 0, 0.7), (5, 7, 0.5), (5, 180, 0.4), (6, 33, 0.5), (4.3, 90, 0.3)]


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("binary", nargs="?")
    parser.add_argument("--cases", type=int, default=200)
    parser.add_argument("--seed", type=int, default=60)
    options = parser.parse_args()
    rng = random.Random(options.seed)
    problems = []
    payloads = check_kept(problems)
    kept = len(payloads)
    payloads += [rng.randbytes(rng.randint(0, 1100)) for _ in range(options.cases)]
    payloads += [bytes(length) for length in range(16)] + [b"\xff" * length for length in range(16)]

    lines = "".join(json.dumps({"address": ADDRESS, "payload": payload.hex()}) + "\n" for payload in payloads)
    done = subprocess.run([options.binary or find_code()], input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(answers) == len(payloads)
    for payload, answer in zip(payloads, answers):
        if from_letters(answer["letters"]) != payload or from_digits(answer["digits"]) != payload:
            problems.append(f"{payload.hex()}: letters or digits differ")
        # Bits of the two segments by ISO/IEC 18004 (length fields of versions 10 to 26), against what version 22 holds at L.
        bits = 4 + 16 + 8 * (len(ADDRESS) + 2) + 4 + 12 + -(-10 * (len(answer["digits"]) - 1) // 3)
        if (answer["rows"] is None) != (bits > 8 * 1006):
            problems.append(f"{len(payload)} bytes: {bits} bits, code {answer['version']}")
    print(f"link_armour          {len(payloads)} payloads as letters and digits")

    with tempfile.TemporaryDirectory() as folder:
        drawn = [answer for answer in answers[:kept] + answers[kept : kept + 40] if answer["rows"]]
        # Each kept link in every sight, each random one in one.
        seen = [(answer, sight) for answer in drawn[:kept] for sight in SIGHTS]
        seen += [(answer, SIGHTS[index % len(SIGHTS)]) for index, answer in enumerate(drawn[kept:])]
        paths = [os.path.join(folder, f"{index}.pgm") for index in range(len(seen))]
        for path, (answer, sight) in zip(paths, seen):
            write(picture(answer["rows"], *sight), path)
        for (answer, sight), read in zip(seen, read_by_zbar(paths)):
            if read != [f"{ADDRESS}#{answer['digits']}"]:
                problems.append(f"version {answer['version']} {answer['level']} at {sight}: zbar reads {read}")
    versions = sorted({answer["version"] for answer in drawn})
    print(f"link_code            {len(seen)} pictures of versions {versions[0]} to {versions[-1]} by zbar")
    for problem in problems[:10]:
        print(f"  {problem}")
    print(f"{len(problems)} differences")
    sys.exit(bool(problems))


if __name__ == "__main__":
    main()
