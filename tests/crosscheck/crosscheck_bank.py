#!/usr/bin/env python3
"""The bank's sums against independent code: numpy for the arithmetic, pysunspec2 for the points, ngspice for circuits.

Build the door first (cargo build --no-default-features --example sums), then:

    python tests/crosscheck/crosscheck_bank.py [--sums PATH] [--cases N] [--seed N]

Every sum gets N seeded random cases over a pipe. Nothing here shares code with the app: totals are reckoned with NaN as
"not known", circuits by dense nodal analysis, the points from the model files that pysunspec2 ships. One line a sum
with the number of cases and the largest difference; the exit code is not 0 when anything disagrees.
"""

import argparse
import glob
import json
import math
import os
import re
import shutil
import subprocess
import sys
import tempfile

import numpy as np

sys.dont_write_bytecode = True
from bank_causes import FIGURES, own_explanations
from bank_charge import own_charge, random_asks
from bank_totals import NAN, column, own_total, pick, random_bank

ROOT = os.path.dirname(os.path.dirname(os.path.dirname(os.path.abspath(__file__))))


class Door:
    """The example program, asked in one go for many sums."""

    def __init__(self, path):
        self.path = path

    def ask(self, name, cases):
        lines = "".join(json.dumps({"sum": name, "inputs": case}) + "\n" for case in cases)
        done = subprocess.run([self.path], input=lines, capture_output=True, text=True, check=True)
        answers = [json.loads(line) for line in done.stdout.splitlines()]
        if len(answers) != len(cases):
            sys.exit(f"{name}: {len(cases)} cases, but {len(answers)} answers")
        return answers


class Score:
    """Counts of one sum: every compared value, the largest difference, the first disagreements."""

    def __init__(self, name, tolerance):
        self.name, self.tolerance = name, tolerance
        self.cases = self.values = self.wrong = 0
        self.known = self.largest = 0.0
        self.told = []

    def same(self, what, got, wanted, tolerance=None, scale=None):
        self.values += 1
        if isinstance(wanted, float) and math.isnan(wanted):
            wanted = None
        if wanted is None or got is None or isinstance(wanted, (str, bool)):
            good = got == wanted
        elif isinstance(got, (str, bool)):
            good = False
        else:
            gap = abs(got - wanted) / max(1.0, abs(wanted) if scale is None else scale)
            self.known += 1
            self.largest = max(self.largest, gap)
            good = gap <= (self.tolerance if tolerance is None else tolerance)
        if not good:
            self.wrong += 1
            if len(self.told) < 5:
                self.told.append(f"    {what}: {got!r}, wanted {wanted!r}")

    def line(self):
        text = f"{self.name}: {self.cases} cases, {self.values} values ({int(self.known)} numbers), "
        text += f"largest difference {self.largest:.1e}"
        return "\n".join([text] + self.told)


# --- totals ---------------------------------------------------------------------------------------


def check_total(door, random, count):
    score = Score("bank_total", 1e-9)
    cases = [random_bank(random) for _ in range(count)]
    for case, answer in zip(cases, door.ask("bank_total", cases)):
        score.cases += 1
        got = answer.get("result")
        if got is None:
            score.same("an answer", answer.get("error"), None)
            continue
        for key, wanted in own_total(case).items():
            if isinstance(wanted, dict):
                score.same(key, json.dumps(got[key], sort_keys=True), json.dumps(wanted, sort_keys=True))
            else:
                score.same(key, got[key], wanted)
    return score


# --- limits, points, flags ------------------------------------------------------------------------


def check_limits(door, random, count):
    score, cases = Score("bank_limits", 1e-9), []
    for _ in range(count):
        n = int(random.integers(1, 12))
        limit = lambda: pick(random, 0.03, round(random.uniform(1, 200), 1))
        case = {"modules": [{"charge_limit_A": limit(), "discharge_limit_A": limit()} for _ in range(n)]}
        if random.random() < 0.6:
            case["share_of_total"] = [float(x) for x in random.dirichlet(np.ones(n))]
        case["topology"] = str(random.choice(["parallel", "parallel", "series"]))
        cases.append(case)
    for case, answer in zip(cases, door.ask("bank_limits", cases)):
        score.cases += 1
        got = answer["result"]
        for key, safe, whole in (
            ("charge_limit_A", "bank_charge_limit_A", "sum_of_limits_A"),
            ("discharge_limit_A", "bank_discharge_limit_A", "sum_of_discharge_limits_A"),
        ):
            limits = column(case["modules"], key)
            if case["topology"] == "series":
                wanted = limits.min(), limits.min()
            else:
                shares = np.array(case.get("share_of_total", np.full(len(limits), 1 / len(limits))))
                wanted = (limits / shares).min(), limits.sum()
            score.same(safe, got[safe], float(wanted[0]))
            score.same(whole, got[whole], float(wanted[1]))
    return score


def model_points():
    """Every point of models 802 to 805 as pysunspec2 ships them: (model, name, type, unit, scale factor)."""
    import sunspec2

    folder = os.path.dirname(sunspec2.__file__)
    points = []
    for number in (802, 803, 804, 805):
        (path,) = glob.glob(os.path.join(folder, "**", f"model_{number}.json"), recursive=True)
        with open(path, encoding="utf-8") as file:
            model = json.load(file)
        todo = [model["group"]]
        while todo:
            group = todo.pop(0)
            todo += group.get("groups", [])
            for p in group["points"]:
                if p["name"] not in ("ID", "L") and p["type"] not in ("pad", "string"):
                    points.append((number, p["name"], p["type"], p.get("units"), p.get("sf")))
    return points


def check_points(door, random, count):
    import sunspec2.mb as mb

    score, points = Score("sunspec_point", 1e-12), model_points()
    span = {"uint16": (0, 65535), "enum16": (0, 65535), "int16": (-32768, 32767), "sunssf": (-32768, 32767)}
    cases, wanted = [], []
    for number in range(max(count, 3 * len(points))):
        model, name, kind, unit, scale = points[number % len(points)]
        low, high = span.get(kind, (0, 2**32 - 1))
        missing = mb.create_unimpl_value(kind)
        missing = mb.unimpl_value[kind] if isinstance(missing, (bytes, type(None))) else missing
        # Each point at least once as not implemented.
        raw = missing if number // len(points) == 1 else int(random.integers(low, high + 1))
        case = {"model": model, "name": name, "type": kind, "raw": int(raw)}
        exponent = pick(random, 0.05, int(random.integers(-4, 5))) if scale else None
        if exponent is None and scale and random.random() < 0.5:
            exponent = -32768
        if exponent is not None:
            case["sf"] = exponent
        known = raw != missing and (scale is None or exponent not in (None, -32768))
        value = float(f"{raw}e{exponent or 0}") if known else None
        cases.append(case)
        wanted.append((value, unit, scale))
    for answer, (value, unit, scale), case in zip(door.ask("sunspec_point", cases), wanted, cases):
        score.cases += 1
        got = answer.get("result", {"value": answer.get("error"), "unit": None, "scale_factor": None})
        score.same(f"{case['model']} {case['name']}", got["value"], value)
        score.same(f"{case['name']} unit", got["unit"], unit)
        score.same(f"{case['name']} scale factor", got["scale_factor"], scale)
    return score


def check_flags(door, random, count):
    score, cases = Score("rvc_aggregate", 0.0), []
    for _ in range(count):
        sources, flags = int(random.integers(1, 6)), int(random.integers(1, 13))
        weights = [[0.1, 0.8, 0.05, 0.05], [0.25] * 4, [0, 0.8, 0.1, 0.1]][int(random.integers(0, 3))]
        cases.append({"flags": random.choice(4, size=(sources, flags), p=weights).tolist()})
    for case, answer in zip(cases, door.ask("rvc_aggregate", cases)):
        score.cases += 1
        # A no settles it, then an error, then missing data.
        order = np.array([3, 0, 2, 1])
        back = np.argsort(order)
        wanted = back[order[np.array(case["flags"])].max(axis=0)].tolist()
        for index, flag in enumerate(wanted):
            score.same(f"{case} condition {index}", answer["result"]["aggregate"][index], flag)
    return score


# --- rest voltage and joining ---------------------------------------------------------------------

# Rest voltage at 0, 1, … 100 %: the electrode voltages of the BPX example LFP cell (BPX repository, MIT,
# examples/lfp_18650_cell_BPX.json), evaluated in plain Python; other points than the app's own.
CURVE = """
1.99999 2.83697 2.94820 3.03516 3.09635 3.13654 3.16055 3.17383 3.18103 3.18522 3.18817 3.19077 3.19347 3.19650 3.19997
3.20393 3.20837 3.21326 3.21852 3.22402 3.22962 3.23517 3.24050 3.24549 3.25005 3.25412 3.25768 3.26075 3.26335 3.26553
3.26735 3.26886 3.27011 3.27114 3.27199 3.27270 3.27329 3.27380 3.27424 3.27462 3.27496 3.27527 3.27556 3.27584 3.27612
3.27640 3.27669 3.27699 3.27732 3.27767 3.27807 3.27851 3.27900 3.27956 3.28021 3.28094 3.28177 3.28273 3.28381 3.28503
3.28640 3.28791 3.28958 3.29138 3.29330 3.29532 3.29740 3.29951 3.30162 3.30367 3.30565 3.30752 3.30926 3.31085 3.31230
3.31360 3.31475 3.31577 3.31666 3.31745 3.31813 3.31873 3.31925 3.31971 3.32011 3.32047 3.32079 3.32107 3.32133 3.32157
3.32179 3.32199 3.32218 3.32236 3.32253 3.32269 3.32285 3.32301 3.32350 3.33399 3.64856
"""
REST = np.array([float(volts) for volts in CURVE.split()])


def check_rest(door, random, count):
    """Differences in volts a cell; the app interpolates between 42 points."""
    score, cases, wanted = Score("rest_voltage", 0.0015), [], []
    for number in range(count):
        soc, series = int(random.integers(0, 101)), int(random.integers(1, 17))
        if number % 2:
            cases.append({"soc_percent": soc, "series": series})
            wanted.append((REST[soc], series))
        else:
            # Between 3 and 98 % straight lines between whole per cents are good to a millivolt.
            pack = REST[random.integers(5, 98)] * series
            error = float(random.uniform(0, 0.02) * series)
            cases.append({"pack_V": float(pack), "series": series, "meter_error_V": error})
            wanted.append((None, series))
    for case, answer, (volts, series) in zip(cases, door.ask("rest_voltage", cases), wanted):
        score.cases += 1
        got = answer["result"]
        if volts is not None:
            score.same(f"{case}", got["cell_V"], float(volts))
            score.same(f"{case} pack", got["pack_V"] / series, float(volts))
            continue
        for key, sign in (("soc_percent_low", -1), ("soc_percent", 0), ("soc_percent_high", 1)):
            cell = (case["pack_V"] + sign * case["meter_error_V"]) / series
            if 3.04 < cell < 3.3235:
                score.same(f"{case} {key}", float(np.interp(got[key], np.arange(101), REST)), cell)
    return score


def check_join(door, random, count):
    score, cases = Score("may_join", 1e-9), []
    for _ in range(count):
        cells = int(random.choice([4, 8, 16]))
        volts, soc = random.uniform(3.2, 3.34) * cells, random.uniform(10, 85)
        wide = float(random.choice([0.005, 0.02]))
        modules = [
            {
                "voltage_V": pick(random, 0.03, round(volts + random.uniform(0, wide) * cells, 3)),
                "soc_percent": pick(random, 0.05, round(soc + random.uniform(0, 14) * random.choice([0.3, 1]), 1)),
                "resistance_ohm": pick(random, 0.03, round(random.uniform(0.003, 0.02), 4)),
            }
            for _ in range(int(random.integers(2, 5)))
        ]
        lead = float(random.uniform(0, 0.003))
        cases.append({"modules": modules, "series_cells": pick(random, 0.03, cells), "lead_ohm": lead})
    for case, answer in zip(cases, door.ask("may_join", cases)):
        score.cases += 1
        v, s = column(case["modules"], "voltage_V"), column(case["modules"], "soc_percent")
        r = column(case["modules"], "resistance_ohm") + case["lead_ohm"] / 2
        gap = lambda a: np.nanmax(a) - np.nanmin(a) if not np.isnan(a).all() else NAN
        limit = NAN if case["series_cells"] is None else 0.0125 * case["series_cells"] + 1e-9
        if gap(v) > limit or gap(s) > 10 + 1e-9:
            verdict = "must_not"
        elif np.isnan(v).any() or np.isnan(s).any() or case["series_cells"] is None:
            verdict = "not_known"
        else:
            verdict = "look_again" if gap(s) > 5 + 1e-9 else "may"
        score.same(f"{case}", answer["result"]["verdict"], verdict)
        # Nodal: all branches on one pair of bars without a load.
        current = np.abs(v - (v / r).sum() / (1 / r).sum()) / r
        score.same("equalising_A", answer["result"]["equalising_A"], float(current.max()))
    return score


# --- sharing --------------------------------------------------------------------------------------


def random_circuit(random):
    n = int(random.choice([1, 2, 3, 4, 5, 8, 13, 24, 64]))
    alike = random.random() < 0.3

    def draw(low, high, count):
        return [random.uniform(low, high)] * count if alike else random.uniform(low, high, count).tolist()

    case = {
        "wiring": str(random.choice(["same_end", "diagonal", "middle", "busbar"])),
        "emf_V": draw(12.9, 13.5, n),
        "module_resistance_ohm": draw(0.003, 0.02, n),
        "own_lead_resistance_both_poles_ohm": draw(0.0001, 0.002, n),
        "link_resistance_each_polarity_ohm": draw(0.00002, 0.0008, n - 1),
        "load_current_A": float(random.uniform(-200, 300)),
    }
    if random.random() < 0.3:
        case["positive_link_resistance_ohm"] = draw(0.00002, 0.0008, n - 1)
        case["negative_link_resistance_ohm"] = draw(0.00002, 0.0008, n - 1)
        del case["link_resistance_each_polarity_ohm"]
    if random.random() < 0.4:
        case["positive_tap_module"] = int(random.integers(1, n + 1))
        case["negative_tap_module"] = int(random.integers(1, n + 1))
    return case


def taps_of(case):
    n = len(case["emf_V"])
    middle = (n // 2, n // 2 + 1) if n % 2 == 0 else ((n + 1) // 2, (n + 1) // 2)
    first, second = {"same_end": (1, 1), "busbar": (1, 1), "diagonal": (1, n), "middle": middle}[case["wiring"]]
    return case.get("positive_tap_module", first), case.get("negative_tap_module", second)


def links_of(case):
    both = case.get("link_resistance_each_polarity_ohm")
    return case.get("positive_link_resistance_ohm", both), case.get("negative_link_resistance_ohm", both)


def nodal(case):
    """Dense nodal analysis over 2N posts, the negative tap as ground."""
    emf = np.array(case["emf_V"])
    n = len(emf)
    ohms = np.array(case["module_resistance_ohm"]) + np.array(case["own_lead_resistance_both_poles_ohm"])
    edges = [(k, n + k, r) for k, r in enumerate(ohms)]
    for rail, links in enumerate(links_of(case)):
        edges += [(rail * n + k, rail * n + k + 1, r) for k, r in enumerate(links)]
    a = np.zeros((len(edges), 2 * n))
    for row, (here, there, _) in enumerate(edges):
        a[row, here], a[row, there] = 1, -1
    g = np.array([1 / r for _, _, r in edges])
    source = np.zeros(2 * n)
    source[:n] += emf / ohms
    source[n:] -= emf / ohms
    plus, minus = taps_of(case)
    source[plus - 1] -= case["load_current_A"]
    source[n + minus - 1] += case["load_current_A"]
    keep = [k for k in range(2 * n) if k != n + minus - 1]
    volts = np.zeros(2 * n)
    volts[keep] = np.linalg.solve((a.T * g @ a)[np.ix_(keep, keep)], source[keep])
    return (emf - volts[:n] + volts[n:]) / ohms, volts[plus - 1], volts[:n] - volts[n:]


def check_sharing(door, random, count):
    score = Score("sharing", 1e-8)
    cases = [random_circuit(random) for _ in range(count)]
    for case, answer in zip(cases, door.ask("sharing", cases)):
        score.cases += 1
        got = answer["result"]
        currents, tap, posts = nodal(case)
        mean = case["load_current_A"] / len(currents)
        for index, (current, post) in enumerate(zip(currents, posts)):
            score.same(f"current {index + 1}", got["module_current_A"][index], float(current))
            score.same(f"voltage {index + 1}", got["module_voltage_V"][index], float(post))
        score.same("tap_voltage_V", got["tap_voltage_V"], float(tap))
        score.same("largest_over_mean", got["largest_over_mean"], float((currents / mean).max()))
        score.same("smallest_over_mean", got["smallest_over_mean"], float((currents / mean).min()))
    return score


def check_spice(door, random):
    """A handful of the same circuits in ngspice."""
    score = Score("sharing in ngspice", 1e-7)
    if shutil.which("ngspice") is None:
        return None
    cases = [random_circuit(random) for _ in range(12)]
    for case, answer in zip(cases, door.ask("sharing", cases)):
        score.cases += 1
        n, (plus, minus) = len(case["emf_V"]), taps_of(case)
        lines = ["modules side by side"]
        for k in range(1, n + 1):
            ohms = case["module_resistance_ohm"][k - 1] + case["own_lead_resistance_both_poles_ohm"][k - 1]
            lines += [f"V{k} e{k} n{k} {case['emf_V'][k - 1]!r}", f"R{k} e{k} p{k} {ohms!r}"]
        for rail, links in zip("pn", links_of(case)):
            lines += [f"R{rail}{k} {rail}{k} {rail}{k + 1} {r!r}" for k, r in enumerate(links, 1)]
        lines += [f"Iload p{plus} n{minus} {case['load_current_A']!r}", f"Vground n{minus} 0 0"]
        lines += [".control", "set numdgt=12", "op"] + [f"print i(v{k})" for k in range(1, n + 1)]
        lines += [f"print v(p{plus})", ".endc", ".end", ""]
        with tempfile.NamedTemporaryFile("w", suffix=".cir", delete=False) as file:
            file.write("\n".join(lines))
        done = subprocess.run(["ngspice", "-b", file.name], capture_output=True, text=True, check=False)
        os.unlink(file.name)
        found = dict(re.findall(r"^([iv]\(\w+\)) = (\S+)", done.stdout, re.M))
        for k, current in enumerate(answer["result"]["module_current_A"], 1):
            # A source that gives current counts it negative in SPICE.
            score.same(f"current {k} of {n}", current, -float(found.get(f"i(v{k})", "nan")))
        score.same("tap voltage", answer["result"]["tap_voltage_V"], float(found.get(f"v(p{plus})", "nan")))
    return score


def check_odd(door, random, count):
    """One branch gets 3 to 10 mΩ more; the currents come from the nodal solve here."""
    score, cases, wanted = Score("sharing_odd", 1e-6), [], []
    while len(cases) < count:
        case = random_circuit(random)
        n = len(case["emf_V"])
        if not 3 <= n <= 13:
            continue
        case["emf_V"], case["load_current_A"] = [13.3] * n, 30.0 * n
        real = json.loads(json.dumps(case))
        odd = int(random.integers(0, n))
        real["module_resistance_ohm"][odd] += float(random.uniform(0.003, 0.01))
        currents, tap, _ = nodal(real)
        expected, _, _ = nodal(case)
        del case["load_current_A"]
        case["module_current_A"] = [float(x) for x in currents]
        if random.random() < 0.5:
            case["tap_voltage_V"] = float(tap)
        off = (currents - expected) / currents.mean()
        ohms = np.array(real["module_resistance_ohm"]) + np.array(real["own_lead_resistance_both_poles_ohm"])
        cases.append(case)
        wanted.append((odd, off, ohms, currents))
    for case, answer, (odd, off, ohms, currents) in zip(cases, door.ask("sharing_odd", cases), wanted):
        score.cases += 1
        got = answer["result"]
        score.same("suspect", got["suspect_module"], None if np.abs(off).max() <= 0.1 else odd + 1)
        for index, found in enumerate(got["modules"]):
            score.same("off", found["off"], float(off[index]))
            if abs(currents[index]) >= 0.06 * currents.mean():
                score.same("resistance", found["resistance_ohm"], float(ohms[index]))
    return score


# --- reconcile ------------------------------------------------------------------------------------

def check_reconcile(door, random, count):
    score, cases = Score("bank_reconcile", 1e-9), []
    for _ in range(count):
        n = int(random.integers(1, 6))
        one = lambda: {
            "capacity_Ah": float(random.choice([100, 200, 230])),
            "soh_percent": float(random.integers(80, 101)),
            "soc_percent": float(random.integers(20, 100)),
            "voltage_V": round(random.uniform(13.1, 13.3), 2),
            "current_A": round(random.uniform(5, 40), 1),
            "answering": True,
        }
        modules = [one()] * n if random.random() < 0.5 else [one() for _ in range(n)]
        _, right = own_explanations(modules, {}, {})
        tenths = ("voltage_V", "current_A")
        digits = {key: 0.1 if key in tenths else 1.0 for key in FIGURES}
        shown = {}
        for key in FIGURES:
            if random.random() < 0.75:
                off = [0.5, 2 / 3, 0.9, 1.5, -1 if key == "current_A" else 1.01]
                times = float(random.choice(off)) if random.random() < 0.25 else 1.0
                value = round(float(right[key] * times), 1 if key in tenths else 0)
                shown[key] = min(value, 125.0) if key == "soc_percent" else value
        cases.append({"bank": {"topology": "parallel", "modules": modules}, "shown": shown, "shown_digit": digits})
    for case, answer in zip(cases, door.ask("bank_reconcile", cases)):
        score.cases += 1
        shown, digits = case["shown"], case["shown_digit"]
        posterior, right = own_explanations(case["bank"]["modules"], shown, digits)
        got = {entry["kind"]: entry["probability"] for entry in answer["result"]["explanations"]}
        for kind, probability in posterior.items():
            # A cause that cannot be is not told.
            score.same(kind, got.get(kind, 0.0), probability)
        score.same("sum", sum(got.values()), 1.0)
        for entry in answer["result"]["verdicts"]:
            key = entry["what"]
            error = FIGURES[key][0](shown[key], digits[key])
            gap = abs(shown[key] - right[key]) - 1e-9 * abs(right[key])
            verdict = "holds" if gap <= error else "look_again" if gap <= 2 * error else "fails"
            score.same(f"{key} {shown[key]} against {right[key]}", entry["verdict"], verdict)
    return score


def check_charge(door, random, count):
    """Bounds and times to the last digits; the verdict and every reason, by rules written anew in bank_charge."""
    score, cases = Score("charge_asked", 1e-9), []
    for _ in range(count):
        bank = random_bank(random)
        bank.pop("floor_soc_percent", None)
        cases.append(random_asks(random, bank))
    for case, answer in zip(cases, door.ask("charge_asked", cases)):
        score.cases += 1
        got = answer.get("result")
        if got is None:
            score.same("an answer", answer.get("error"), None)
            continue
        wanted = own_charge(case)
        for key in ("sum_A", "shared_A", "if_whole_A", "one_missing_A", "sum_V", "weakest_V"):
            score.same(key, got[key], wanted[key])
        for key in ("hours_to_full", "hours_to_full_as_asked"):
            score.same(key, got[key], wanted[key])
        score.same("verdict", got["verdict"], wanted["verdict"])
        score.same(f"because {case}", " ".join(sorted(got["because"])), " ".join(sorted(wanted["because"])))
    return score


# --------------------------------------------------------------------------------------------------


def find_door():
    target = os.environ.get("CARGO_TARGET_DIR", os.path.join(ROOT, "target"))
    for profile in ("debug", "native", "release"):
        path = os.path.join(target, profile, "examples", "sums")
        if os.path.exists(path):
            return path
    sys.exit("The door is not built: cargo build --no-default-features --example sums")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sums", help="the built example")
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--seed", type=int, default=60)
    asked = parser.parse_args()
    door = Door(asked.sums or find_door())
    seeded = lambda number: np.random.default_rng([asked.seed, number])
    checks = [check_total, check_limits, check_points, check_flags, check_rest]
    checks += [check_join, check_sharing, check_odd, check_reconcile, check_charge]
    passed = failed = 0
    scores = [check(door, seeded(number), asked.cases) for number, check in enumerate(checks)]
    spice = check_spice(door, seeded(len(checks)))
    if spice is None:
        print("sharing in ngspice: not run, ngspice is not on the path")
    else:
        scores.append(spice)
    for score in scores:
        print(score.line())
        passed, failed = passed + score.values - score.wrong, failed + score.wrong
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or passed == 0 else 0


if __name__ == "__main__":
    sys.exit(main())
