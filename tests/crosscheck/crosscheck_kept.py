#!/usr/bin/env python3
"""The files that the app writes against other people's readers: the backup against its published schema with the
jsonschema library and Python's json and base64, packs against theirs, the table of readings with Python's csv.

Build the doors first (cargo build --no-default-features --example sums --example packs), then:

    python tests/crosscheck/crosscheck_kept.py [--sums PATH] [--cases N] [--seed N]

Texts of every version in tests/stored/ and seeded random changes of them: every file must be valid and hold all that went
in; files that were damaged on purpose must be refused by the schema. The exit code is not 0 when anything disagrees.
"""

import argparse
import base64
import csv
import datetime
import glob
import io
import json
import os
import random
import subprocess
import sys

import jsonschema

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))
ODD = ['=1+1', '+49 30', '-3 °C', '@home', 'a,b', 'a"b', 'a\nb', 'a\r\nb', ' edge ', '', 'Łódź', '😀', '-4.2', '\tx', "'", ';']


def ask(path, sum_name, cases):
    lines = "".join(json.dumps({"sum": sum_name, "inputs": case}) + "\n" for case in cases)
    done = subprocess.run([path], input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    for answer in answers:
        if "error" in answer:
            sys.exit(f"{sum_name}: {answer['error']}")
    return [answer["result"] for answer in answers]


def changed(chance, text):
    """A stored text with other words in it, as a person could have typed them."""
    stored = json.loads(text)
    job = stored["job"]
    job["notes"] = chance.choice(ODD)
    job["site"]["name"] = chance.choice(ODD)
    job["begun"] = chance.randrange(-10**13, 4 * 10**12)
    for seen in job["observations"]:
        seen["at"] = chance.randrange(0, 4 * 10**12)
        for key in ("typed", "by", "note"):
            if chance.random() < 0.5:
                seen[key] = chance.choice(ODD)
    return json.dumps(stored, ensure_ascii=chance.random() < 0.5)


def backups(path, chance, texts, cases, valid):
    """Counts of files checked, and of damaged ones refused."""
    asked = []
    for _ in range(cases):
        held = [[f"k{n}", changed(chance, chance.choice(texts))] for n in range(chance.randrange(4))]
        held += [["torn", chance.choice(texts)[: chance.randrange(300)]]] if chance.random() < 0.5 else []
        photos = [[f"p{n}", [255, 216, 255] + [chance.randrange(256) for _ in range(chance.randrange(50))]] for n in range(chance.randrange(3))]
        asked.append({"made_at": chance.randrange(4 * 10**12), "texts": held, "photos": photos, "here": held if chance.random() < 0.5 else []})
    refused = 0
    for case, answer in zip(asked, ask(path, "backup", asked)):
        file = json.loads(answer["file"])
        valid.validate(file)
        jobs = {job["key"]: job["stored"] for job in file["jobs"]}
        aside = {held["key"]: held["text"] for held in file["set_aside"]}
        for key, text in case["texts"]:
            if key == "torn":
                assert aside[key] == text, "a text that cannot be read is in the file as it was"
            else:
                assert jobs[key] == json.loads(text), "a job is in the file as it was"
        for key, data in case["photos"]:
            found = next(photo for photo in file["photos"] if photo["key"] == key)
            assert list(base64.b64decode(found["base64"], validate=True)) == data, "a photo is in the file as it was"
        wanted = {"same"} if case["here"] else {"add", "aside", "same"}
        assert set(answer["steps"]) <= wanted, answer["steps"]
        for damage in (lambda f: f.pop("format"), lambda f: f.update(format="x"), lambda f: f.update(version="1"), lambda f: f.update(jobs=[7]),
                       lambda f: f.update(photos=[{"key": "p"}]), lambda f: f.update(jobs=[{"key": "k", "stored": {"v": 2, "rev": 1, "saved_at": 0, "job": {"observations": [{"of": "x"}]}}}])):
            broken = json.loads(answer["file"])
            damage(broken)
            assert not valid.is_valid(broken), "a damaged file passes the schema"
            refused += 1
    return len(asked), refused


def packs(path):
    """The built-in content in both languages and the pack of the tests, against the published schema: counts of valid and of damaged ones."""
    schema = json.load(open(os.path.join(ROOT, "public", "schema", "pack.schema.json"), encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    valid = jsonschema.Draft202012Validator(schema)
    made = [subprocess.run([path, "--built-in", tag], capture_output=True, check=True, text=True).stdout for tag in ("en", "de")]
    made.append(open(os.path.join(ROOT, "tests", "packs", "heron.json"), encoding="utf-8").read())
    refused = 0
    for text in made:
        valid.validate(json.loads(text))
        for damage in (lambda p: p.pop("key"), lambda p: p.update(pack="x"), lambda p: p.update(version=2), lambda p: p.update(guides=[7]),
                       lambda p: p["equipment"]["modules"][0].pop("wake"), lambda p: p["alarms"][0].update(ways=["nowhere"]), lambda p: p.update(more=1)):
            broken = json.loads(text)
            damage(broken)
            assert not valid.is_valid(broken), "a damaged pack passes the schema"
            refused += 1
    return len(made), refused


def guarded(text):
    """As the table has it: what a spreadsheet would run gets an apostrophe, a number does not."""
    try:
        float(text)
        number = text == text.strip()
    except ValueError:
        number = False
    return "'" + text if text[:1] in list("=+-@\t\r\n") and text and not number else text


def tables(path, chance, texts, cases):
    """Counts of tables and of rows checked."""
    asked = [{"texts": [changed(chance, chance.choice(texts))]} for _ in range(cases)]
    rows_seen = 0
    for case, answer in zip(asked, ask(path, "readings", asked)):
        rows = list(csv.reader(io.StringIO(answer["table"], newline="")))
        job = json.loads(case["texts"][0])["job"]
        seen = [one for one in job["observations"] if one["seen"] != "withdrawn" and "card" not in one["of"]]
        assert all(len(row) == 9 for row in rows)
        assert len(rows) == 1 + len(seen) + len(job.get("bank", {}))
        for row, one in zip(rows[1:], seen):
            at = datetime.datetime.fromtimestamp(one["at"] // 1000, datetime.timezone.utc)
            assert row[0] == guarded(job["site"]["name"]), row
            assert row[1] == at.strftime("%Y-%m-%dT%H:%M:%SZ"), row
            for place, key in ((5, "typed"), (7, "by"), (8, "note")):
                assert row[place] == guarded(one.get(key, "")), (row, one)
            if isinstance(one["seen"], dict) and "figure" in one["seen"]:
                assert float(row[3]) == one["seen"]["figure"]["figure"]["value"], row
            rows_seen += 1
    return len(asked), rows_seen


def main():
    options = argparse.ArgumentParser()
    target = os.environ.get("CARGO_TARGET_DIR", os.path.join(ROOT, "target"))
    options.add_argument("--sums", default=os.path.join(target, "debug", "examples", "sums"))
    options.add_argument("--cases", type=int, default=300)
    options.add_argument("--seed", type=int, default=60)
    given = options.parse_args()
    chance = random.Random(given.seed)
    texts = [open(name, encoding="utf-8").read() for name in sorted(glob.glob(os.path.join(ROOT, "tests", "stored", "v*.json")))]
    assert texts, "tests/stored holds no texts"
    schema = json.load(open(os.path.join(ROOT, "public", "schema", "backup.schema.json"), encoding="utf-8"))
    jsonschema.Draft202012Validator.check_schema(schema)
    files, refused = backups(given.sums, chance, texts, given.cases, jsonschema.Draft202012Validator(schema))
    print(f"backup: {files} files valid and whole, {refused} damaged ones refused")
    valid, refused = packs(os.path.join(os.path.dirname(given.sums), "packs"))
    print(f"packs: {valid} valid, {refused} damaged ones refused")
    files, rows = tables(given.sums, chance, texts, given.cases)
    print(f"readings: {files} tables, {rows} rows as they were")


if __name__ == "__main__":
    main()
