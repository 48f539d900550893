"""What a bank may ask of its chargers, reckoned with numpy from the totals of bank_totals: beside, not from, the app's own.

The rules, from the reference: table 1.1 (limits), section 1.2 (a module missing), 2.1 (3.65 V a cell at most), 2.4 (cold
and hot), 2.5 (below 3.40 V a cell nothing is balanced).
"""

import copy
import math

import numpy as np

from bank_totals import NAN, own_total, pick, strings_of


def random_asks(random, bank):
    cells = next(len(m["cell_V"]) for s in strings_of(bank) for m in s)
    strings = strings_of(bank)
    for string in strings:
        for m in string:
            if random.random() < 0.7:
                m["series_cells"] = cells
            if random.random() < 0.5:
                m["temperature_C"] = [round(float(random.uniform(2, 44)), 1)]
    total = own_total(bank)
    bound = total["charge_limit_sum_A"]
    bound = 100.0 if math.isnan(bound) else bound
    near = float(random.choice([0.3, 0.9, 1.0, 1.1, 1.5]))
    volts = float(random.uniform(3.3, 3.75)) * cells * len(strings[0])
    case = {"bank": bank, "asked_A": pick(random, 0.1, round(near * bound, 1)), "asked_V": pick(random, 0.1, round(volts, 2))}
    if random.random() < 0.3:
        case["coldest_charge_C"] = float(random.choice([-10, 0, 5]))
    if random.random() < 0.3:
        case["hottest_charge_C"] = float(random.choice([40, 50]))
    return case


def changed(bank, change):
    """The same bank with every module (or one, by number) changed."""
    other = copy.deepcopy(bank)
    modules = [m for string in strings_of(other) for m in string]
    change(modules)
    return other


def cells_of(bank):
    each = []
    for string in strings_of(bank):
        count = 0
        for m in string:
            cells = m.get("series_cells")
            if cells is None:
                nominal = m.get("nominal_V")
                if nominal is None:
                    return None
                cells = round(nominal / 3.2)
                if cells < 1 or abs(nominal / 3.2 - cells) >= 0.3:
                    return None
            count += cells
        each.append(count)
    return min(each), max(each)


def own_charge(case):
    bank = case["bank"]
    total = own_total(bank)

    def whole(modules):
        for m in modules:
            m["answering"], m["charge_held_off"] = True, False

    count = sum(len(string) for string in strings_of(bank))
    left = []
    for number in range(count):
        def silent(modules, number=number):
            modules[number]["answering"] = False

        one = changed(bank, silent)
        heard = any(all(m.get("answering") is not False for m in string) for string in strings_of(one))
        left.append(own_total(one)["charge_limit_cautious_A"] if heard else 0.0)
    missing = NAN if np.isnan(left).any() else float(np.min(left))
    if_whole = own_total(changed(bank, whole))["charge_limit_sum_A"]
    limit, shared = total["charge_limit_sum_A"], total["charge_limit_cautious_A"]
    top, weakest = total["charge_voltage_limit_V"], total["charge_voltage_limit_cautious_V"]
    amps, volts = case.get("asked_A"), case.get("asked_V")
    said = []  # (rank, key)
    over = lambda asked, bound: not math.isnan(bound) and asked > bound * (1 + 1e-9) + 1e-9
    if amps is not None:
        if total["charge_permitted"] is False and amps > 0.5:
            said.append((0, "ask-held-off"))
        elif math.isnan(limit):
            said.append((2, "ask-current-unknown"))
        elif over(amps, limit):
            fits = not math.isnan(if_whole) and if_whole > limit and not over(amps, if_whole)
            said.append((0, "ask-for-missing" if fits else "ask-over-sum"))
        elif over(amps, shared):
            said.append((1, "ask-over-shared"))
        else:
            said.append((3, "ask-current-fits"))
        readings = [t for string in strings_of(bank) for m in string for t in m["temperature_C"]]
        cold, hot = case.get("coldest_charge_C", 0.0), case.get("hottest_charge_C", 45.0)
        if amps > 0.5 and readings:
            if min(readings) <= cold:
                said.append((0, "ask-too-cold"))
            elif min(readings) < cold + 5:
                said.append((1, "ask-nearly-cold"))
            if max(readings) > hot:
                said.append((0, "ask-too-hot"))
    if volts is not None:
        cells = cells_of(bank)
        if over(volts, top):
            said.append((0, "ask-volts-over"))
        elif cells and over(volts, 3.65 * cells[0]):
            said.append((0, "ask-volts-over-cells"))
        elif over(volts, weakest):
            said.append((1, "ask-volts-over-weakest"))
        elif cells and volts < 3.4 * cells[1] * (1 - 1e-9):
            said.append((1, "ask-volts-low"))
        elif cells or not math.isnan(top):
            said.append((3, "ask-volts-fit"))
        else:
            said.append((2, "ask-volts-unknown"))
    # Room that a charger can reach: hours times current as the totals have it, at one ampere in.
    def one_ampere_in(modules):
        for m in modules:
            m["current_A"] = -1.0

    one = own_total(changed(bank, one_ampere_in))
    closed = sum(
        all(m.get("answering") is not False for m in string) for string in strings_of(bank)
    )
    room = one["hours_to_full"] * closed * bank.get("coulombic_efficiency", 1.0)
    as_asked = room / (amps * bank.get("coulombic_efficiency", 1.0)) if amps else NAN
    names = ["fails", "look-again", "not-done", "holds"]
    return {
        "sum_A": limit,
        "shared_A": shared,
        "if_whole_A": if_whole,
        "one_missing_A": missing,
        "sum_V": top,
        "weakest_V": weakest,
        "hours_to_full": total["hours_to_full"],
        "hours_to_full_as_asked": as_asked,
        "verdict": names[min(rank for rank, _ in said)] if said else None,
        "because": [key for _, key in said],
    }
