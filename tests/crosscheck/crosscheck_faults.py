#!/usr/bin/env python3
"""The posterior over faults of the bus against an independent implementation with numpy.

    pip install -r tests/crosscheck/requirements.txt
    cargo build --no-default-features --example sums
    python tests/crosscheck/crosscheck_faults.py [PATH_OF_SUMS] [--cases N] [--seed N]

Written from the model at the head of `src/core/faults/bus/mod.rs`: its own list of faults, its own dense nodal solver,
derivatives by small steps of each part (not by Cohn's theorem), its own likelihood. Readings come from a simulated fault,
a part of them spoilt. Every fault's probability must agree to 1e-6; exit status 1 on any disagreement.
"""

import argparse
import json
import math
import multiprocessing
import random
import subprocess
import sys

import numpy
from crosscheck_bus import find_binary

END = math.log(4e7 + 10)
WIDTH = END - math.log(10)
MISTAKE, OPEN = 0.02, 0.1
# Part, ohms, spread, and whether the devices let go altogether.
CASES = [(0.7, math.sqrt(5e3 * 50e3), math.log(10) / math.sqrt(12), False), (0.2, 1e6, 1.5, False), (0.1, 1e6, 1.5, True)]
ONE_PERCENT = 0.01 / math.sqrt(3)
TOUCH, SUPPLY = (0.2, 1.0), (100.0, 2.3)
WRONG = [(60.0, ONE_PERCENT, 0.3), (100.0, ONE_PERCENT, 0.2)]
WRONG += [(ohm, 0.15, 0.1) for ohm in (160.0, 215.0, 290.0)]
WRONG += [(ohm, 0.15, 0.05) for ohm in (390.0, 520.0, 700.0, 940.0)]
PLUGGED = "all plugged, everything off"


class Fault:
    """A changed network: what is fitted, open and touching."""

    def __init__(self, kind, where, weight):
        self.kind, self.where, self.weight = kind, where, weight
        self.missing, self.moved, self.valued, self.extra = set(), {}, {}, []
        self.open, self.touch = None, None

    def key(self):
        return self.kind, json.dumps(self.where, sort_keys=True)


class Site:
    def __init__(self, bus):
        self.bus, self.rho = bus, bus["ohm_per_m_one_conductor"]
        self.reference = bus.get("reference_ohm_per_m")
        self.length = bus["trunk_m"]
        placed = bus["terminators"] + bus.get("nodes", []) + bus.get("drops", [])
        self.stops = sorted({0.0, self.length} | {item["at_m"] for item in placed if "at_m" in item})
        self.runs = list(zip(self.stops, self.stops[1:]))

    def faults(self):
        terminators, nodes, drops = self.bus["terminators"], self.bus.get("nodes", []), self.bus.get("drops", [])
        stops, runs, found = self.stops, self.runs, []

        def add(kind, where, weight, **change):
            fault = Fault(kind, where, weight)
            for name, value in change.items():
                setattr(fault, name, value)
            found.append(fault)

        add("healthy", None, 0.60)
        for node in nodes:
            place = {"at_m": node["at_m"]} if "at_m" in node else {"drop": node["drop"]}
            add("H_L_swapped", place, 0.02 / len(nodes))
        for index, item in enumerate(terminators):
            place = {"at_m": item["at_m"]} if "at_m" in item else {"drop": item["drop"]}
            add("terminator_missing", place, 0.10, missing={index})
            for ohm, spread, part in WRONG:
                add("terminator_value", place | {"ohm": ohm}, 0.02 * part, valued={index: (ohm, spread)})
            others = [{"at_m": stop} for stop in stops] + [{"drop": n + 1} for n in range(len(drops))]
            others = [other for other in others if other != place]
            for other in others:
                where = {"from": place, "to": other}
                add("terminator_misplaced", where, 0.02 / len(others), moved={index: other})
        if len(terminators) > 1:
            add("all_terminators_missing", None, 0.04, missing=set(range(len(terminators))))
        most = min(len(stops), 5)
        few = [stops[n * (len(stops) - 1) // max(most - 1, 1)] for n in range(most)]
        pairs = [(a, b) for n, a in enumerate(few) for b in few[n:]]
        for stop in stops:
            add("terminator_extra", {"at_m": stop}, 0.05 / len(stops), extra=[stop])
        for a, b in pairs:
            add("two_terminators_extra", {"at_m": a, "and_at_m": b}, 0.01 / len(pairs), extra=[a, b])
        for run in runs:
            where = {"from_m": run[0], "to_m": run[1]}
            add("H_open", where, 0.04 / len(runs), open=(run, "H"))
            add("L_open", where, 0.04 / len(runs), open=(run, "L"))
            add("reference_open", where, 0.02 / len(runs), open=(run, "R"))
            add("both_open", where, 0.02 / len(runs), open=(run, "HL"))
            add("H_L_short", where, 0.02 / len(runs), touch=("H", "L", run, TOUCH))
        along = [(stop, stop) for stop in stops] + runs
        for place in along:
            where = {"at_m": place[0]} if place[0] == place[1] else {"from_m": place[0], "to_m": place[1]}
            for wire in "HL":
                add(f"{wire}_ref_short", where, 0.01 / len(along), touch=(wire, "R", place, TOUCH))
                add(f"{wire}_supply_short", where, 0.005 / len(along), touch=(wire, "R", place, SUPPLY))
        add("meter_on_powered_bus", None, 0.02)
        return found

    def parts(self, fault, state):
        """Parameters: cable, devices, touch, place, then terminators. Resistors as functions of them, Ω."""
        bus, spreads = self.bus, {"cable": 0.05, "devices": None, "place": 1 / math.sqrt(12)}
        parts = []
        middle = None
        if fault.touch and fault.touch[2][0] != fault.touch[2][1]:
            middle = sum(fault.touch[2]) / 2
        points = sorted(set(self.stops) | ({middle} if middle is not None else set()))
        wires = "HLR"
        for left, right in zip(points, points[1:]):
            ((start, end),) = [run for run in self.runs if run[0] <= left and right <= run[1]]
            for wire in wires:
                if fault.open and fault.open[0] == (start, end) and wire in fault.open[1]:
                    continue
                pulled = isinstance(state, dict) and "plug_pulled_at_m" in state
                if pulled and state["towards"] == "end" and left == state["plug_pulled_at_m"]:
                    continue
                if pulled and state["towards"] == "start" and right == state["plug_pulled_at_m"]:
                    continue
                if wire == "R":
                    ohm = (right - left) * (self.reference or 0.0)
                    parts.append(((wire, left), (wire, right), lambda p, ohm=ohm: ohm))
                    continue

                def cable(p, left=left, right=right, start=start, end=end):
                    metres = right - left
                    if middle is not None and middle in (left, right):
                        moved = p.get("place", 0.0) * (end - start)
                        metres += moved if right == middle else -moved
                    return self.rho * metres * math.exp(p.get("cable", 0.0))

                parts.append(((wire, left), (wire, right), cable))
        for number, drop in enumerate(bus.get("drops", []), 1):
            for wire in "HL":
                ohm = self.rho * drop["length_m"]
                parts.append(
                    ((wire, drop["at_m"]), (wire, "drop", number), lambda p, o=ohm: o * math.exp(p.get("cable", 0.0)))
                )
            ohm = (self.reference or 0.0) * drop["length_m"]
            parts.append((("R", drop["at_m"]), ("R", "drop", number), lambda p, o=ohm: o))

        def joint(wire, item):
            return (wire, "drop", item["drop"]) if "drop" in item else (wire, item["at_m"])

        for item in bus.get("nodes", []):
            for wire in "HL":
                parts.append((joint(wire, item), joint("R", item), lambda p: p["device"] * math.exp(p.get("devices", 0.0))))
        fitted = []
        for index, item in enumerate(bus["terminators"]):
            gone = isinstance(state, dict) and state.get("terminator_pulled") == index + 1
            spreads[f"t{index}"] = fault.valued.get(index, (0, ONE_PERCENT))[1]
            if index not in fault.missing and not gone:
                ohm = fault.valued.get(index, (item["ohm"],))[0]
                fitted.append((f"t{index}", fault.moved.get(index, item), ohm))
        usual = bus["terminators"][0]["ohm"] if bus["terminators"] else 120.0
        for number, stop in enumerate(fault.extra):
            spreads[f"x{number}"] = ONE_PERCENT
            fitted.append((f"x{number}", {"at_m": stop}, usual))
        for name, item, ohm in fitted:
            parts.append((joint("H", item), joint("L", item), lambda p, n=name, o=ohm: o * math.exp(p.get(n, 0.0))))
        if fault.touch:
            one, other, place, (ohm, spread) = fault.touch
            at = place[0] if middle is None else middle
            spreads["touch"] = spread
            parts.append(((one, at), (other, at), lambda p, o=ohm: o * math.exp(p.get("touch", 0.0))))
        if isinstance(state, dict) and "bridged_at" in state:
            at = 0.0 if state["bridged_at"] == "start" else self.length
            parts.append((("H", at), ("L", at), lambda p: 0.05))
        return parts, spreads


class Solved:
    def __init__(self, parts, values):
        self.alias, self.parts = {}, []
        for a, b, ohm in parts:
            ohm = ohm(values)
            if ohm == 0:
                self.alias[self.root(a)] = self.root(b)
            else:
                self.parts.append((a, b, ohm))
        self.parts = [(self.root(a), self.root(b), ohm) for a, b, ohm in self.parts]

    def root(self, joint):
        while self.alias.get(joint, joint) != joint:
            joint = self.alias[joint]
        return joint

    def between(self, a, b):
        a, b = self.root(a), self.root(b)
        if a == b:
            return 0.0
        piece, edge = {b}, True
        while edge:
            edge = {y for x, y, _ in self.parts if x in piece} | {x for x, y, _ in self.parts if y in piece}
            edge -= piece
            piece |= edge
        if a not in piece:
            return None
        index = {joint: n for n, joint in enumerate(sorted(piece - {b}, key=repr))}
        exact = numpy.zeros((len(index), len(index)), numpy.longdouble)
        for x, y, ohm in self.parts:
            if x not in piece or x == y:
                continue
            for here, there in ((x, y), (y, x)):
                if here != b:
                    exact[index[here], index[here]] += 1 / numpy.longdouble(ohm)
                    if there != b:
                        exact[index[here], index[there]] -= 1 / numpy.longdouble(ohm)
        # Refined with longer numbers: centimetres of cable stand beside megohms.
        current, matrix = numpy.zeros(len(index)), exact.astype(float)
        current[index[a]] = 1.0
        inverse, volts = numpy.linalg.inv(matrix), numpy.zeros(len(index), numpy.longdouble)
        for _ in range(6):
            volts += inverse @ (current - exact @ volts).astype(float)
        return float(volts[index[a]])


def joints(reading):
    spot = ("drop", reading["drop"]) if "drop" in reading else (reading["at_m"],)
    one, other = {"H-L": "HL", "H-ref": "HR", "L-ref": "LR"}[reading["pair"]]
    return (one, *spot), (other, *spot)


def normal(difference, spread):
    return math.exp(-0.5 * (difference / spread) ** 2) / (spread * math.sqrt(2 * math.pi))


def case_log(site, fault, readings, case):
    _, device, device_spread, let_go = case
    centres, slopes, own = [], [], []
    for reading in readings:
        parts, spreads = site.parts(fault, reading["state"])
        spreads["devices"] = device_spread
        a, b = joints(reading)
        ohm = Solved(parts, {"device": device}).between(a, b)
        if ohm is None:
            centres.append(None)
            slopes.append({})
            own.append(1e-8)
            continue
        shifts = {}
        for name, spread in spreads.items():
            # A wide step for the middle, a central difference to fourth order.
            step = 2e-3
            ends = [Solved(parts, {"device": device, name: k * step}).between(a, b) for k in (-2, -1, 1, 2)]
            slope = (ends[0] - 8 * ends[1] + 8 * ends[2] - ends[3]) / (12 * step)
            shifts[name] = slope / (ohm + 10) * spread
        if let_go and shifts["devices"] / device_spread * (ohm + 10) > 0.5 * ohm:
            centres.append(None)
            slopes.append({})
            own.append(1e-8)
            continue
        meter = (ohm * reading["meter_percent"] / 100 + reading["meter_digits_ohm"]) / math.sqrt(3) / (ohm + 10)
        junctions = 0.7 * shifts["devices"] / device_spread
        centres.append(math.log(ohm + 10))
        slopes.append(shifts)
        own.append(meter**2 + junctions**2 + 1e-8)
    log, links = 0.0, []
    shared = lambda i, j: sum(value * slopes[j].get(name, 0.0) for name, value in slopes[i].items())  # noqa: E731
    for n, reading in enumerate(readings):
        seen, centre = reading["ohm"], centres[n]
        if centre is None:
            log += math.log(1 - MISTAKE + MISTAKE * OPEN if seen is None else MISTAKE * (1 - OPEN) / WIDTH)
            continue
        if seen is None:
            z = (END - centre) / math.sqrt(own[n] + shared(n, n))
            log += math.log((1 - MISTAKE) / (1 + math.exp(min(1.702 * z, 700))) + MISTAKE * OPEN)
            continue
        # Conditioned on those before, by solving for the factor's row.
        row = []
        for k, (m, factor, _) in enumerate(links):
            row.append((shared(n, m) - sum(x * y for x, y in zip(row, factor[:k]))) / factor[k])
        mean = centre + sum(x * link[2] for x, link in zip(row, links))
        spread = math.sqrt(max(own[n] + shared(n, n) - sum(x * x for x in row), own[n]))
        difference = math.log(seen + 10) - mean
        fits = (1 - MISTAKE) * normal(difference, spread)
        density = fits + MISTAKE * (1 - OPEN) / WIDTH
        links.append((n, [*row, spread], difference / spread * fits / density))
        log += math.log(density)
    return log


def posterior(site, faults, readings):
    logs, whole = [], None
    for fault in faults:
        if fault.kind == "meter_on_powered_bus":
            chances = [
                0.05 if r["ohm"] is None else 0.95 * normal(math.log(r["ohm"] + 10) - math.log(70), 1.0)
                for r in readings
            ]
            logs.append(math.log(fault.weight) + sum(map(math.log, chances)))
            continue
        same = fault.kind in ("healthy", "H_L_swapped")
        log = whole if same and whole is not None else None
        if log is None:
            each = [math.log(case[0]) + case_log(site, fault, readings, case) for case in CASES]
            log = max(each) + math.log(sum(math.exp(one - max(each)) for one in each))
        if same:
            whole = log
        logs.append(math.log(fault.weight) + log)
    weights = [math.exp(log - max(logs)) for log in logs]
    return [weight / sum(weights) for weight in weights]


def random_site(rng, most):
    """A site with at most so many stops inside; drops where there are several."""
    length = rng.choice([rng.uniform(1, 10), rng.uniform(10, 120)])
    inside = sorted({round(rng.uniform(0.1, 0.9) * length, 2) for _ in range(rng.randint(0, most))})
    drops = [{"at_m": rng.choice([0.0, *inside]), "length_m": round(rng.uniform(0.3, 4), 2)} for _ in range(rng.randint(0, 1 if most > 1 else 0))]
    nodes = [{"at_m": at} for at in [0.0, *inside, length]] + [{"drop": n + 1} for n in range(len(drops))]
    bus = {
        "trunk_m": length,
        "ohm_per_m_one_conductor": rng.choice([0.07, 0.084, rng.uniform(0.02, 0.14)]),
        "terminators": [{"at_m": 0.0, "ohm": rng.choice([120, 124])}, {"at_m": length, "ohm": 120}],
        "drops": drops,
        "nodes": rng.sample(nodes, rng.randint(1, len(nodes))),
    }
    if rng.random() < 0.4:
        bus["reference_ohm_per_m"] = rng.choice([0.07, rng.uniform(0.01, 0.2)])
    return bus


def random_readings(rng, site, fault, most):
    device, readings = 5e3 * 10 ** rng.random(), []
    for _ in range(rng.randint(1, most)):
        spot = {"at_m": rng.choice([0.0, site.length, rng.choice(site.stops)])}
        if site.bus["drops"] and rng.random() < 0.1:
            spot = {"drop": 1}
        run = rng.choice(site.runs)
        state = rng.choice(
            [PLUGGED, PLUGGED, PLUGGED, {"terminator_pulled": rng.randint(1, 2)}, {"bridged_at": rng.choice(["start", "end"])}]
            + [{"plug_pulled_at_m": run[0], "towards": "end"}, {"plug_pulled_at_m": run[1], "towards": "start"}]
        )
        reading = spot | {"pair": rng.choice(["H-L", "H-L", "H-ref", "L-ref"]), "state": state}
        parts, _ = site.parts(fault, state)
        ohm = Solved(parts, {"device": device}).between(*joints(reading))
        ohm = None if ohm is None or ohm > 4e7 or rng.random() < 0.05 else ohm * rng.uniform(0.99, 1.01)
        if ohm is not None and rng.random() < 0.1:
            ohm *= rng.uniform(0.2, 3)
        readings.append(reading | {"ohm": ohm, "meter_percent": 0.8, "meter_digits_ohm": rng.choice([0.2, 0.02, 2.0])})
    return readings


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("binary", nargs="?", help="the built example `sums`; looked for if left out")
    parser.add_argument("--cases", type=int, default=500, help="sites; one in twelve is large, and takes a second or two here")
    parser.add_argument("--seed", type=int, default=60)
    options = parser.parse_args()
    rng = random.Random(options.seed)
    cases = []
    for case in range(options.cases):
        large = case % 12 == 0
        site = Site(random_site(rng, 3 if large else 1))
        faults = site.faults()
        cases.append((site, faults, random_readings(rng, site, rng.choice(faults), 4 if large else 2)))
    asked = [{"sum": "bus_faults", "inputs": {"site": s.bus, "observations": r}} for s, _, r in cases]
    text = "".join(json.dumps(line) + "\n" for line in asked)
    done = subprocess.run([options.binary or find_binary()], input=text, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    with multiprocessing.Pool() as pool:
        posteriors = pool.starmap(posterior, cases, chunksize=4)
    greatest, failed, compared = 0.0, 0, 0
    for (_, faults, _), answer, question, own in zip(cases, answers, asked, posteriors, strict=True):
        got = {}
        for fault in answer.get("result", {}).get("faults", []):
            got[fault["kind"], json.dumps(rounded(fault["where"]), sort_keys=True)] = fault["probability"]
        expected = {
            (f.kind, json.dumps(rounded(f.where), sort_keys=True)): p
            for f, p in zip(faults, own)
        }
        compared += len(expected)
        apart = max(abs(got.get(key, 2.0) - value) for key, value in expected.items())
        if got.keys() != expected.keys() or not apart <= 1e-6:
            failed += 1
            if failed <= 3:
                print(f"differs by {apart:.3g}: {json.dumps(question)}")
                print("  only there:", [k for k in got if k not in expected][:5])
                print("  only here:", [k for k in expected if k not in got][:5])
                worst = sorted(expected, key=lambda k: -abs(got.get(k, 2) - expected[k]))[:4]
                print("  ", [(k, got.get(k), expected[k]) for k in worst])
        else:
            greatest = max(greatest, apart)
    print(f"bus_faults: {len(cases) - failed} sites agree, {failed} do not; {compared} probabilities, largest difference {greatest:.2g}")
    return 1 if failed else 0


def rounded(value):
    """Lengths are sums of lengths: to a micrometre."""
    if isinstance(value, dict):
        return {key: rounded(one) for key, one in value.items()}
    return round(float(value), 6) if isinstance(value, (int, float)) else value


if __name__ == "__main__":
    sys.exit(main())
