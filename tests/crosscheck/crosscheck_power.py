#!/usr/bin/env python3
"""The power side's sums against numpy, written anew from the published rules.

Build the door first (cargo build --no-default-features --example sums), then:

    python tests/crosscheck/crosscheck_power.py [--sums PATH] [--cases N] [--seed N]

Every sum gets N seeded random cases over a pipe. Nothing here shares code with the app: sizes come from tables typed anew, the
short circuit from a dense nodal solve, the inrush from an integration of its differential equation, the solver from trying
every size. One line a sum; the exit code is not 0 when anything disagrees.
"""

import argparse
import json
import math
import sys

import numpy as np

sys.dont_write_bytecode = True
from crosscheck_bank import Door, Score, find_door

# IEC 60228: mm2, ohm/km at 20 C for classes 1 and 2, and for 5 and 6.
AREA = np.array([0.5, 0.75, 1, 1.5, 2.5, 4, 6, 10, 16, 25, 35, 50, 70, 95, 120])
FIXED = np.array([36, 24.5, 18.1, 12.1, 7.41, 4.61, 3.08, 1.83, 1.15, 0.727, 0.524, 0.387, 0.268, 0.193, 0.153])
FLEXIBLE = np.array([39, 26, 19.5, 13.3, 7.98, 4.95, 3.30, 1.91, 1.21, 0.780, 0.554, 0.386, 0.272, 0.206, 0.161])
NAMES = ["18", "16", "14", "12", "10", "8", "6", "4", "3", "2", "1", "1/0", "2/0", "3/0", "4/0"]
NUMBERS = np.array([18, 16, 14, 12, 10, 8, 6, 4, 3, 2, 1, 0, -1, -2, -3])
CLASSES = [60, 75, 80, 90, 105, 125, 200]
# 33 CFR 183.425 table 5, columns by class.
TABLE_5 = np.array([
    [10, 15, 20, 25, 40, 55, 80, 105, 120, 140, 165, 195, 225, 260, 300],
    [10, 15, 20, 25, 40, 65, 95, 125, 145, 170, 195, 230, 265, 310, 360],
    [15, 20, 25, 35, 50, 70, 100, 130, 150, 175, 210, 245, 285, 330, 385],
    [20, 25, 30, 40, 55, 70, 100, 135, 155, 180, 210, 245, 285, 330, 385],
    [20, 25, 35, 45, 60, 80, 120, 160, 180, 210, 245, 285, 330, 385, 445],
    [25, 30, 40, 50, 70, 90, 125, 170, 195, 225, 265, 305, 355, 410, 475],
    [25, 35, 45, 55, 70, 100, 135, 180, 210, 240, 280, 325, 370, 430, 510],
], dtype=float)
# BS 7671 table 4E1A method C.
CLIPPED = {1.5: 25, 2.5: 34, 4: 46, 6: 59, 10: 81, 16: 109, 25: 143, 35: 176, 50: 228, 70: 293, 95: 355}
ENGINE = dict(zip(CLASSES, [0.58, 0.75, 0.78, 0.82, 0.85, 0.89, 1.0]))


def gauge_mm(number):
    """Diameters of AWG are a geometric row: 36 is 5 mil, 4/0 is 460 mil, 39 steps between."""
    return 25.4 * np.exp(np.interp(36 - number, [0, 39], [np.log(0.005), np.log(0.46)]))


def ohm_per_m(case):
    warm = 1 + 0.00393 * (case.get("conductor_temperature_C", 20) - 20)
    if "awg" in case:
        d = gauge_mm(NUMBERS[NAMES.index(str(case["awg"]))])
        return 4 / (58 * math.pi * d * d) * warm
    column = FIXED if case["class"] in (1, 2) else FLEXIBLE
    found = np.flatnonzero(AREA == case["area_mm2"])
    at_20 = column[found[0]] / 1000 if found.size else 1 / (58 * case["area_mm2"])
    return at_20 * warm


def own_rating(case):
    if "insulation_C" not in case:
        return None
    of = case["insulation_C"]
    if "awg" in case:
        amps = TABLE_5[CLASSES.index(of), NAMES.index(str(case["awg"]))]
    else:
        amps = CLIPPED.get(case["area_mm2"]) if of >= 90 else None
        of = 90
    if amps is None:
        return None
    if case.get("engine_space"):
        amps = amps * ENGINE[of]
    count = case.get("bundled", 2)
    share = np.select([count <= 2, count == 3, count <= 6, count <= 24], [1.0, 0.7, 0.6, 0.5], 0.4)
    return float(amps * share)


def a_conductor(random):
    if random.random() < 0.5:
        return {"awg": NAMES[random.integers(len(NAMES))]}
    area = float(AREA[random.integers(len(AREA))]) if random.random() < 0.9 else round(float(random.uniform(0.4, 200)), 3)
    return {"area_mm2": area, "class": int(random.choice([1, 2, 5, 6]))}


def laid(random, case):
    if random.random() < 0.8:
        case["insulation_C"] = int(random.choice(CLASSES))
        case["bundled"] = int(random.integers(1, 31))
        case["engine_space"] = bool(random.random() < 0.5)
    return case


def a_run(random):
    return {
        "one_way_length_m": float(10 ** random.uniform(-1.3, 1.5)),
        "current_A": float(random.choice([-1, 1]) * 10 ** random.uniform(-1, 2.7)),
        "conductor_temperature_C": float(random.uniform(-20, 105)),
        "system_V": float(random.choice([12.8, 25.6, 51.2, 24, 48])),
        "limit_percent": float(random.choice([3, 10, round(random.uniform(0.5, 12), 2)])),
    }


def ask(door, name, cases, tolerance=1e-9):
    score = Score(name, tolerance)
    for case, answer in zip(cases, door.ask(name, cases)):
        score.cases += 1
        if "result" in answer:
            yield score, case, answer["result"]
        else:
            score.same(f"an answer to {case}", answer.get("error"), None)
    yield score, None, None


def each(door, name, cases, compare, tolerance=1e-9):
    for score, case, got in ask(door, name, cases, tolerance):
        if case is not None:
            compare(score, case, got)
    return score


def check_conductor(door, random, count):
    cases = [a_conductor(random) | {"conductor_temperature_C": float(random.uniform(-40, 200))} for _ in range(count)]

    def compare(score, case, got):
        score.same("ohm_per_km", got["ohm_per_km"], 1000 * ohm_per_m(case))
        at_20 = {key: value for key, value in case.items() if key != "conductor_temperature_C"}
        score.same("ohm_per_km_20C", got["ohm_per_km_20C"], 1000 * ohm_per_m(at_20))
        if "awg" in case:
            d = gauge_mm(NUMBERS[NAMES.index(case["awg"])])
            score.same("diameter_mm", got["diameter_mm"], d)
            score.same("area_mm2", got["area_mm2"], math.pi * d * d / 4)
            score.same("circular_mil", got["circular_mil"], (d / 25.4 * 1000) ** 2)
        else:
            score.same("standard", got["standard"], bool((AREA == case["area_mm2"]).any()))

    return each(door, "conductor", cases, compare)


def check_cable(door, random, count):
    cases = [laid(random, a_conductor(random) | a_run(random) | {"cells": int(random.integers(1, 17))}) for _ in range(count)]

    def compare(score, case, got):
        ohm = 2 * case["one_way_length_m"] * ohm_per_m(case)
        amps = abs(case["current_A"])
        share = 100 * ohm * amps / case["system_V"]
        rated = own_rating(case)
        score.same("loop", got["loop_resistance_ohm"], ohm, scale=ohm)
        score.same("drop", got["voltage_drop_V"], ohm * amps)
        score.same("percent", got["voltage_drop_percent"], share)
        score.same("heat", got["heat_W"], ohm * amps**2)
        score.same("each cell", got["each_cell_V"], ohm * amps / case["cells"])
        score.same("rating", got["rating_A"], rated)
        keys = {"cable-drop-over" if share > case["limit_percent"] else "cable-drop-holds", "cable-charger"}
        keys.add("cable-rating-unknown" if rated is None else "cable-rating-over" if amps > rated else "cable-rating-holds")
        verdict = "fails" if any(key.endswith("over") for key in keys) else "look-again" if rated is None else "holds"
        score.same("verdict", got["verdict"], verdict)
        score.same("because", " ".join(sorted(got["because"])), " ".join(sorted(keys)))

    return each(door, "cable", cases, compare)


def check_smallest(door, random, count):
    cases = [laid(random, a_run(random) | {"class": int(random.choice([1, 2, 5, 6]))}) for _ in range(count)]

    def solve(case, sizes):
        """Every size by itself; the first that does all, and what the one below it fails in."""
        fits, drops = [], []
        for size in sizes:
            one = {key: value for key, value in case.items() if key != "class"} | size
            drop = 200 * one["one_way_length_m"] * ohm_per_m(one) * abs(one["current_A"]) / one["system_V"] <= one["limit_percent"]
            rated = own_rating(one)
            fits.append(drop and ("insulation_C" not in one or (rated is not None and rated >= abs(one["current_A"]))))
            drops.append(drop)
        first = int(np.argmax(fits)) if any(fits) else None
        if first is None:
            return None, None
        return first, "smallest" if first == 0 else "rating" if drops[first - 1] else "drop"

    def compare(score, case, got):
        at, binding = solve(case, [{"area_mm2": float(area), "class": case["class"]} for area in AREA])
        score.same("area_mm2", got["area_mm2"], None if at is None else float(AREA[at]))
        score.same("binding", got["binding"], binding)
        at, binding = solve(case, [{"awg": name} for name in NAMES])
        score.same("awg", got["awg"], None if at is None else NAMES[at])
        score.same("binding_awg", got["binding_awg"], binding)

    return each(door, "smallest_conductor", cases, compare)


def solved(case, path, into_one=False):
    """Node voltages by dense nodal analysis: the bus, and the fault behind a path of nearly nothing."""
    n, emf = case["modules_parallel"], case["emf_V"]
    each_ohm = case["module_resistance_ohm"] + case["own_lead_resistance_both_poles_ohm"]
    sources = n - 1 if into_one else n
    way = case["own_lead_resistance_both_poles_ohm"] if into_one else path
    g = np.zeros((sources + 1, sources + 1))
    current = np.zeros(sources + 1)
    for k in range(sources):
        # Each module: a source of current behind its resistance, then its leads to the bus (node 0).
        inner, lead = case["module_resistance_ohm"], max(case["own_lead_resistance_both_poles_ohm"], 1e-12)
        g[k + 1, k + 1] += 1 / inner + 1 / lead
        g[0, 0] += 1 / lead
        g[0, k + 1] -= 1 / lead
        g[k + 1, 0] -= 1 / lead
        current[k + 1] = emf / inner
    if way <= 0:
        return sources * emf / each_ohm
    g[0, 0] += 1 / way
    return float(np.linalg.solve(g, current)[0]) / way


def a_bank(random):
    return {
        "emf_V": float(random.uniform(10, 60)),
        "module_resistance_ohm": float(random.uniform(0.02, 0.1)),
        "modules_parallel": int(random.integers(1, 17)),
        "own_lead_resistance_both_poles_ohm": float(random.uniform(0.0002, 0.003)),
        "common_path_ohm": float(random.uniform(0.0002, 0.01)),
    }


def check_short(door, random, count):
    cases = [a_bank(random) for _ in range(count)]

    def compare(score, case, got):
        score.same("at the bus", got["at_bus_A"], solved(case, 0.0), scale=got["at_bus_A"])
        score.same("behind the path", got["at_end_of_path_A"], solved(case, case["common_path_ohm"]), scale=got["at_bus_A"])
        score.same("each", got["per_module_at_bus_A"], solved(case, 0.0) / case["modules_parallel"], scale=got["at_bus_A"])
        into = solved(case, 0.0, into_one=True) if case["modules_parallel"] > 1 else 0.0
        score.same("into one", got["into_one_A"], into, scale=got["at_bus_A"])

    return each(door, "short_circuit", cases, compare, 1e-8)


def check_protection(door, random, count):
    def maybe(case, key, value):
        if random.random() < 0.75:
            case[key] = value

    def one():
        case = a_bank(random) if random.random() < 0.8 else {}
        maybe(case, "load_A", float(random.uniform(1, 300)))
        maybe(case, "continuous", bool(random.random() < 0.5))
        maybe(case, "cable_rating_A", float(random.uniform(50, 400)))
        maybe(case, "rating_A", float(random.choice([30, 60, 100, 150, 200, 250, 300, 400])))
        maybe(case, "system_V", float(random.choice([12.8, 25.6, 51.2])))
        maybe(case, "highest_V", float(random.choice([14.6, 29.2, 58.4])))
        maybe(case, "voltage_rating_V", float(random.choice([32, 58, 80, 125])))
        maybe(case, "interrupt_rating_A", float(random.choice([1000, 2000, 6000, 10000, 20000])))
        maybe(case, "distance_m", float(random.uniform(0, 2.2)))
        maybe(case, "way", str(random.choice(["bare", "sheathed", "post"])))
        maybe(case, "each_has_own", bool(random.random() < 0.5))
        maybe(case, "area_mm2", float(random.choice([10, 25, 50, 95])))
        maybe(case, "material", str(random.choice(["pvc", "xlpe"])))
        maybe(case, "clearing_s", float(10 ** random.uniform(-3, 0)))
        return case

    cases = [one() for _ in range(count)]

    def parts(case):
        """Reasons by part, and the first four that are missing."""
        has = lambda *keys: all(case.get(key) is not None for key in keys)
        least = case["load_A"] * (1.25 if case.get("continuous") else 1) if has("load_A") else None
        most, size = case.get("cable_rating_A"), case.get("rating_A")
        said = {}
        if least is not None and most is not None and least > most:
            said["size"] = "protect-no-window"
        elif size is not None:
            if least is not None and size < least:
                said["size"] = "protect-too-small"
            elif most is not None and size > most:
                half = case.get("system_V", 99) < 50 and size <= 1.5 * most
                said["size"] = "protect-half-more" if half else "protect-too-large"
            elif least is not None and most is not None:
                said["size"] = "protect-size-holds"
        if has("distance_m", "way"):
            inches, way = case["distance_m"] / 0.0254, case["way"]
            if inches > {"bare": 7, "sheathed": 40, "post": 72}[way]:
                said["place"] = "protect-too-far"
            else:
                said["place"] = "protect-post-exception" if way == "post" and inches > 40 else "protect-near"
        if has("voltage_rating_V", "highest_V"):
            said["voltage"] = "protect-volts-hold" if case["voltage_rating_V"] >= case["highest_V"] else "protect-volts-low"
        fault = solved(case, 0.0) if has("emf_V") else None
        if fault is not None and has("interrupt_rating_A"):
            said["interrupt"] = "protect-interrupt-holds" if case["interrupt_rating_A"] >= fault else "protect-interrupt-low"
        if fault is not None and case["modules_parallel"] > 1 and has("each_has_own"):
            said["each"] = "protect-each-has" if case["each_has_own"] else "protect-each-has-not"
        heat = None
        if fault is not None and has("area_mm2", "material", "clearing_s"):
            k = {"pvc": 115, "xlpe": 143}[case["material"]]
            heat = fault**2 * case["clearing_s"], (k * case["area_mm2"]) ** 2
            said["heat"] = "protect-heat-over" if heat[0] > heat[1] else "protect-heat-holds"
        return said, least, fault, heat

    bad = {"protect-no-window", "protect-too-small", "protect-too-large", "protect-too-far", "protect-volts-low"}
    bad |= {"protect-interrupt-low", "protect-heat-over"}
    doubtful = {"protect-half-more", "protect-post-exception", "protect-each-has-not"}

    def compare(score, case, got):
        said, least, fault, heat = parts(case)
        keys = set(said.values())
        partly = not {"size", "place", "voltage", "interrupt"} <= set(said)
        verdict = None
        if said:
            verdict = "fails" if keys & bad else "look-again" if keys & doubtful or partly else "holds"
        if verdict == "look-again" and not keys & doubtful:
            keys.add("protect-partly")
        score.same(f"verdict of {case}", got["verdict"], verdict)
        score.same("because", " ".join(sorted(got["because"] or [])), " ".join(sorted(keys)))
        score.same("least", got["least_A"], least)
        score.same("fault", got["prospective_A"], fault, scale=fault)
        score.same("let through", got["let_through_A2s"], heat and heat[0], scale=heat and heat[0])
        score.same("borne", got["borne_A2s"], heat and heat[1], scale=heat and heat[1])

    return each(door, "protection", cases, compare, 1e-7)


def check_inrush(door, random, count):
    def one():
        case = {
            "capacitance_F": float(10 ** random.uniform(-3.5, -1)),
            "voltage_V": float(random.uniform(10, 60)),
            "path_ohm": float(10 ** random.uniform(-2.2, -1)),
        }
        if random.random() < 0.8:
            case["resistor_ohm"] = float(10 ** random.uniform(0, 2.3))
            if random.random() < 0.7:
                case["wait_s"] = float(case["resistor_ohm"] * case["capacitance_F"] * random.uniform(0.2, 8))
        if random.random() < 0.8:
            case["limit_A"] = float(10 ** random.uniform(0.5, 4))
        return case

    cases = [one() for _ in range(count)]
    # dv/dt = -v on a fine grid of time constants: fourth-order Runge-Kutta, as a table.
    steps = np.linspace(0, 8, 8001)
    h = steps[1]
    grown = np.cumprod(np.full(8001, 1 - h + h**2 / 2 - h**3 / 6 + h**4 / 24)) / (1 - h + h**2 / 2 - h**3 / 6 + h**4 / 24)

    def compare(score, case, got):
        c, v, r = case["capacitance_F"], case["voltage_V"], case["path_ohm"]
        score.same("peak", got["peak_A"], v / r, scale=v / r)
        # Energy and let-through by integration of charge over voltage, and of the squared current.
        charge = np.linspace(0, c * v, 2001)
        energy = float(np.trapezoid(charge / c, charge))
        score.same("energy", got["energy_J"], energy, scale=energy)
        score.same("through", got["through_A2s"], energy / r, scale=energy / r)
        keys, limit = set(), case.get("limit_A")
        if "resistor_ohm" in case:
            tau = case["resistor_ohm"] * c
            waited = case.get("wait_s", 5 * tau) / tau
            gap = v * float(np.exp(np.interp(waited, steps, np.log(grown))))
            first = v / (case["resistor_ohm"] + r)
            score.same("gap", got["gap_V"], gap, 1e-8)
            score.same("second", got["second_A"], gap / r, 1e-8, scale=v / r)
            score.same("first", got["first_A"], first)
            score.same("time", got["precharge_s"], 5 * tau)
            score.same("power", got["resistor_W"], first * v)
            if limit is None:
                keys, verdict = {"inrush-second-no-limit"}, "look-again"
            else:
                keys = {"inrush-second-over" if gap / r > limit else "inrush-second-holds"}
                keys |= {"inrush-first-over"} if first > limit else set()
                verdict = "fails" if any(key.endswith("over") for key in keys) else "holds"
        elif limit is None:
            keys, verdict = {"inrush-no-limit"}, "look-again"
        else:
            keys, verdict = ({"inrush-over"}, "fails") if v / r > limit else ({"inrush-within"}, "holds")
        score.same("verdict", got["verdict"], verdict)
        score.same("because", " ".join(sorted(got["because"])), " ".join(sorted(keys)))

    return each(door, "inrush", cases, compare)


def check_joint(door, random, count):
    def one():
        amps = float(random.uniform(10, 200))
        usual = 10 ** random.uniform(-5, -3.3)
        joints = []
        for _ in range(random.integers(1, 7)):
            worse = random.choice([1, 1, 1, 2.5, 6]) * random.uniform(0.8, 1.3)
            digit = float(random.choice([0.01, 0.1, 1]))
            joints.append({"millivolt": round(1000 * usual * worse * amps / digit) * digit, "current_A": amps, "digit_millivolt": digit})
        return {"joints": joints}

    cases = [one() for _ in range(count)]

    def compare(score, case, got):
        volts = np.array([joint["millivolt"] for joint in case["joints"]]) / 1000
        amps = np.array([joint["current_A"] for joint in case["joints"]])
        ohms = volts / amps
        errors = (0.008 * volts + 2 * np.array([joint["digit_millivolt"] for joint in case["joints"]]) / 1000) / amps
        for k, found in enumerate(got["joints"]):
            score.same("ohm", found["resistance_ohm"], float(ohms[k]), scale=max(float(ohms[k]), 1e-9))
            score.same("watt", found["heat_W"], float(volts[k] * amps[k]))
            score.same("error", found["error_ohm"], float(errors[k]), scale=float(errors[k]))
            low, high = ohms[k] - errors[k], ohms[k] + errors[k]
            keys = ["joint-over-good" if low > 1e-4 else "joint-straddles" if high > 1e-4 else "joint-good"]
            others = np.delete(ohms, k)
            if others.size:
                odd = low > 2 * np.median(others)
                keys.append(("joint-odd" if others.size > 1 else "joint-unlike") if odd else "joint-like")
            verdict = "fails" if "joint-odd" in keys else "holds" if set(keys) <= {"joint-good", "joint-like"} else "look-again"
            score.same("verdict", found["verdict"], verdict)
            score.same("because", " ".join(sorted(found["because"])), " ".join(sorted(keys)))

    return each(door, "joint", cases, compare)


def find_checks():
    from power_chargers import check_chargers

    return [check_conductor, check_cable, check_smallest, check_short, check_protection, check_inrush, check_chargers, check_joint]


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--sums", help="the built example")
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--seed", type=int, default=60)
    asked = parser.parse_args()
    door = Door(asked.sums or find_door())
    passed = failed = 0
    for number, check in enumerate(find_checks()):
        score = check(door, np.random.default_rng([asked.seed, number]), asked.cases)
        print(score.line())
        passed, failed = passed + score.values - score.wrong, failed + score.wrong
    print(f"{passed} passed, {failed} failed")
    return 1 if failed or passed == 0 else 0


if __name__ == "__main__":
    sys.exit(main())
