"""Charger settings by rules written anew from bank reference section 5, each with the reason that must come out."""

import math

from crosscheck_power import each


def a_charger(random):
    cells = int(random.choice([4, 8, 15, 16]))
    case = {"cells": cells}

    def maybe(key, value, chance=0.6):
        if random.random() < chance:
            case[key] = value

    volts = lambda low, high: round(float(random.uniform(low, high)) * cells, 3)
    maybe("highest_V", volts(3.5, 3.7))
    maybe("capacity_Ah", float(random.uniform(50, 800)))
    maybe("limit_A", float(random.uniform(20, 400)))
    maybe("coldest_C", float(random.uniform(-10, 5)))
    maybe("absorption_V", volts(3.3, 3.75))
    maybe("float_V", volts(3.2, 3.6))
    maybe("restart_V", volts(3.1, 3.4))
    maybe("compensation_mV_per_K", float(random.choice([0, round(random.uniform(-40, 40), 2)])))
    maybe("equalise", bool(random.random() < 0.5))
    maybe("equalise_V", volts(3.7, 4.1))
    maybe("has_cold_stop", bool(random.random() < 0.7))
    maybe("cold_stop_C", float(random.uniform(-12, 12)))
    maybe("current_A", float(random.uniform(1, 400)))
    maybe("tail_A", float(random.uniform(1, 40)))
    maybe("absorption_h", float(random.uniform(0.1, 4)))
    return case


def own_keys(case):
    """Reasons with their verdicts: f, l or h."""
    cells = case["cells"]
    highest = min(case.get("highest_V", math.inf), 3.65 * cells)
    said = {}

    def add(verdict, key):
        said["charger-" + key] = verdict

    if (v := case.get("absorption_V")) is not None:
        cell = v / cells
        if v > highest:
            add("f", "absorption-over")
        elif cell > 3.60 or cell > 3.55 and "highest_V" not in case:
            add("l", "absorption-high")
        elif cell < 3.40:
            add("l", "absorption-low")
        elif cell < 3.45:
            add("l", "absorption-gentle")
        else:
            add("h", "absorption-holds")
    if (v := case.get("float_V")) is not None:
        cell = v / cells
        bounds = [(3.45, "f", "over"), (3.40, "l", "high")]
        verdict, key = next(((verdict, key) for bound, verdict, key in bounds if cell > bound), ("h", "holds"))
        add(*(("l", "float-low") if cell < 3.33 else (verdict, "float-" + key)))
    if (v := case.get("restart_V")) is not None:
        cell = v / cells
        add(*(("l", "restart-high") if cell > 3.30 else ("l", "restart-low") if cell < 3.25 else ("h", "restart-holds")))
    if (by := case.get("compensation_mV_per_K")) is not None:
        if by == 0:
            add("h", "compensation-none")
        elif "absorption_V" not in case:
            add("l", "compensation-some")
        else:
            worst = max(case["absorption_V"] - 0.025 * by, case["absorption_V"] + 0.020 * by)
            add(*(("f", "compensation-over") if worst > highest else ("l", "compensation-moves")))
    if (on := case.get("equalise")) is not None:
        add(*(("h", "equalise-off") if not on else ("f", "equalise-volts" if "equalise_V" in case else "equalise-on")))
    coldest, stop = case.get("coldest_C", 0.0), case.get("cold_stop_C")
    if case.get("has_cold_stop") is False:
        add("l", "cold-none")
    elif stop is not None:
        add(*(("f", "cold-late") if stop < coldest else ("l", "cold-early") if stop > coldest + 5 else ("h", "cold-holds")))
    elif case.get("has_cold_stop"):
        add("l", "cold-unsaid")
    if (amps := case.get("current_A")) is not None:
        limit, capacity = case.get("limit_A"), case.get("capacity_Ah")
        if limit is not None and amps > limit:
            add("f", "current-over")
        elif capacity is not None and amps / capacity > 0.5:
            add("l", "current-high")
        elif limit is not None:
            add("h", "current-holds")
        elif capacity is not None:
            add("l", "current-no-limit")
    if "tail_A" in case and "capacity_Ah" in case:
        share = case["tail_A"] / case["capacity_Ah"]
        add(*(("l", "tail-high") if share > 0.05 else ("l", "tail-low") if share < 0.02 else ("h", "tail-holds")))
    if (hours := case.get("absorption_h")) is not None:
        add(*(("l", "time-long") if hours > 2 else ("h", "time-holds")))
    return said, highest


def a_sum(random):
    count = int(random.integers(1, 6))
    sources = [{"current_A": float(random.uniform(5, 120)), "steered": bool(random.random() < 0.5)} for _ in range(count)]
    return {"sources": sources, "string_limit_A": float(random.uniform(20, 150)), "strings": int(random.integers(1, 7))}


def a_follower(random):
    seen = {"asked_A": float(random.uniform(0, 100)), "asked_V": float(random.uniform(13, 58))}
    seen["given_A"] = seen["asked_A"] * float(random.choice([0.5, 1, 1.04, 1.2])) + float(random.choice([0, 0.9, 2]))
    seen["given_V"] = seen["asked_V"] * float(random.choice([0.97, 1, 1.005, 1.02]))
    return {"follows": seen}


def check_chargers(door, random, count):
    """A sixth of the cases each are sums of sources and chargers that are steered."""
    makers = [a_charger] * 4 + [a_sum, a_follower]
    cases = [makers[k % 6](random) for k in range(count)]

    def compare(score, case, got):
        if "sources" in case:
            total = sum(source["current_A"] for source in case["sources"])
            free = sum(source["current_A"] for source in case["sources"] if not source["steered"])
            limit = case["string_limit_A"] * case["strings"]
            left = limit - case["string_limit_A"]
            steps = [(free > limit, "sources-over"), (free > left, "sources-over-missing"), (total > left, "sources-steered-must")]
            key = next((key for is_so, key in steps if is_so), "sources-hold")
            score.same("sources", " ".join(got["because"]), key)
            score.same("left", got["one_missing_A"], left)
            return
        if "follows" in case:
            seen = case["follows"]
            over = [seen["given_A"] > seen["asked_A"] + max(1, 0.05 * seen["asked_A"]), seen["given_V"] > 1.01 * seen["asked_V"]]
            keys = ["follows-" + ("not-" if bad else "") + what for bad, what in zip(over, ("current", "voltage"))]
            score.same("follows", " ".join(sorted(got["because"])), " ".join(sorted(keys)))
            score.same("verdict", got["verdict"], "fails" if any(over) else "holds")
            return
        said, highest = own_keys(case)
        marks = set(said.values())
        verdict = next((word for mark, word in (("f", "fails"), ("l", "look-again"), ("h", "holds")) if mark in marks), None)
        score.same("verdict", got["verdict"], verdict)
        score.same(f"because {case}", " ".join(sorted(got["because"] or [])), " ".join(sorted(said)))
        score.same("highest", got["highest_V"], highest)
        for key, of in (("absorption", "absorption_V"), ("float", "float_V"), ("restart", "restart_V")):
            score.same(key, got["cell_V"][key], case[of] / case["cells"] if of in case else None)
        if "absorption_V" in case and "compensation_mV_per_K" in case:
            by = case["compensation_mV_per_K"] / 1000
            score.same("cold", got["compensated_V"]["cold_0C"], case["absorption_V"] - 25 * by)
            score.same("warm", got["compensated_V"]["warm_45C"], case["absorption_V"] + 20 * by)

    return each(door, "charger_settings", cases, compare)
