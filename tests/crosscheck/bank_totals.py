"""A bank's totals reckoned with numpy, NaN for "not known": beside, not from, the app's own."""

import math

import numpy as np

NAN = float("nan")


def pick(random, chance, value):
    """The value, or None with this chance of not being known."""
    return None if random.random() < chance else value


def random_module(random, chance, cells):
    capacity = float(random.integers(20, 400))
    volts = random.uniform(3.1, 3.5, cells)
    return {
        "capacity_Ah": pick(random, chance, capacity),
        "nominal_V": pick(random, chance, float(random.choice([3.2, 3.2, 3.2, 3.3])) * cells),
        "soh_percent": pick(random, chance, round(random.uniform(60, 100), 1)),
        "soc_percent": pick(random, chance, round(random.uniform(0, 60), 1)),
        "soc_basis": str(random.choice(["present", "nameplate"])),
        "voltage_V": pick(random, chance, round(float(volts.sum()), 3)),
        "current_A": pick(random, chance, round(random.uniform(-80, 80), 2)),
        "charge_limit_A": pick(random, chance, round(random.uniform(0, 100), 1)),
        "discharge_limit_A": pick(random, chance, round(random.uniform(0, 200), 1)),
        "charge_voltage_limit_V": pick(random, chance, round(random.uniform(3.5, 3.65) * cells, 2)),
        "discharge_voltage_limit_V": pick(random, chance, round(random.uniform(2.5, 3.0) * cells, 2)),
        "cell_V": [pick(random, chance / 8, round(float(v), 3)) for v in volts],
        "temperature_C": [round(random.uniform(-10, 40), 1) for _ in range(int(random.integers(1, 4)))],
        "answering": pick(random, chance, bool(random.random() < 0.93)),
        "charge_held_off": pick(random, chance, bool(random.random() < 0.1)),
        "discharge_held_off": pick(random, chance, bool(random.random() < 0.1)),
    }


def random_bank(random):
    topology = str(random.choice(["parallel", "series", "series_then_parallel"]))
    chance = float(random.choice([0.0, 0.0, 0.02, 0.1]))
    cells = int(random.choice([4, 8, 16]))
    module = lambda: random_module(random, chance, cells)
    bank = {"topology": topology}
    if topology == "series_then_parallel":
        long = int(random.integers(1, 5))
        bank["strings"] = [[module() for _ in range(long)] for _ in range(int(random.integers(1, 64 // long // 2)))]
    else:
        bank["modules"] = [module() for _ in range(int(random.integers(1, 16)))]
    if random.random() < 0.3:
        bank["expected_modules"] = int(random.integers(1, 20))
    if random.random() < 0.3:
        bank["floor_soc_percent"] = float(random.integers(0, 40))
    if random.random() < 0.3:
        bank["coulombic_efficiency"] = float(round(random.uniform(0.95, 1), 3))
    return bank


def strings_of(bank):
    if bank["topology"] == "parallel":
        return [[m] for m in bank["modules"]]
    return [bank["modules"]] if bank["topology"] == "series" else bank["strings"]


def column(modules, key, scale=1.0):
    return np.array([NAN if m.get(key) is None else m[key] * scale for m in modules], dtype=float)


def reduced(modules):
    """A string by the series column of the table, as one row of numbers; NaN is not known."""
    n = len(modules)
    c, h, s = column(modules, "capacity_Ah"), column(modules, "soh_percent", 0.01), column(modules, "soc_percent", 0.01)
    of_plate = np.array([m.get("soc_basis") == "nameplate" for m in modules])
    q = np.where(of_plate, s * c, s * h * c)
    room = np.maximum(h * c - q, 0)
    up, low = column(modules, "charge_voltage_limit_V"), column(modules, "discharge_voltage_limit_V")
    v, i = column(modules, "voltage_V"), column(modules, "current_A")
    said = lambda key: [m.get(key) for m in modules]
    held = {key: any(flag is True for flag in said(key)) for key in ("charge_held_off", "discharge_held_off")}
    every = lambda key: False if True in said(key) else (None if None in said(key) else True)
    return {
        "C": c.min(),
        "E": c.min() * column(modules, "nominal_V").sum(),
        "Vn": column(modules, "nominal_V").sum(),
        "P": (h * c).min() if n == 1 else q.min() + room.min(),
        "hC": (h * c).min(),
        "q": q.min(),
        "room": room.min(),
        "s": np.where(of_plate, s / h, s).min(),
        "h": h.min(),
        "V": v.sum(),
        "I": i.mean(),
        "dI": i.max() - i.min(),
        "in": 0.0 if held["charge_held_off"] else column(modules, "charge_limit_A").min(),
        "out": 0.0 if held["discharge_held_off"] else column(modules, "discharge_limit_A").min(),
        "in off": held["charge_held_off"],
        "out off": held["discharge_held_off"],
        "up": up.sum(),
        "up n": n * up.min(),
        "low": low.sum(),
        "low n": n * low.max(),
        "may in": every("charge_held_off"),
        "may out": every("discharge_held_off"),
        "silent": any(m.get("answering") is False for m in modules),
        "answers": False if False in said("answering") else (None if None in said("answering") else True),
        "open": any(m.get("charge_held_off") is True and m.get("discharge_held_off") is True for m in modules),
    }


def own_total(bank):
    strings = strings_of(bank)
    rows = [reduced(modules) for modules in strings]
    heard = [row for row in rows if not row["silent"]]
    closed = [row for row in heard if not row["open"]]
    add = lambda part, key: float(np.sum([row[key] for row in part])) if part else NAN
    most = lambda pick, key: float(pick([row[key] for row in heard])) if heard else NAN
    in_use = lambda key: add(closed, key) if closed or not heard else 0.0
    over = lambda a, b: a / b if b else NAN

    def any_of(key):
        flags = [row[key] for row in heard]
        return True if True in flags else None if None in flags or not flags else False

    def limits(key):
        if not heard:
            return NAN, NAN
        taking = np.array([row[key] for row in heard if not row[key + " off"]])
        return (float(taking.sum()), float(len(taking) * taking.min())) if len(taking) else (0.0, 0.0)

    modules = [m for string in strings for m in string]
    readings = {"cell_V": [], "temperature_C": []}
    for at, string in enumerate(strings, 1):
        if any(m.get("answering") is False for m in string):
            continue
        for module, m in enumerate(string, 1):
            for key, found in readings.items():
                found += [(NAN if v is None else v, (at, module), index) for index, v in enumerate(m[key], 1)]

    def extreme(key, pick):
        values = np.array([value for value, _, _ in readings[key]])
        if len(values) == 0 or np.isnan(values).any():
            return NAN, None
        value, (string, module), index = readings[key][int(pick(values))]
        where = {"cell" if key == "cell_V" else "sensor": index}
        if all(len(string) == 1 for string in strings):
            return value, {"module": string, **where}
        return value, {"string": string, "module": module, **where}

    low, low_at = extreme("cell_V", np.argmin)
    high, high_at = extreme("cell_V", np.argmax)
    cold, _ = extreme("temperature_C", np.argmin)
    hot, _ = extreme("temperature_C", np.argmax)
    sum_in, cautious_in = limits("in")
    sum_out, cautious_out = limits("out")
    amperes = add(heard, "I")
    charge = in_use("q") - bank.get("floor_soc_percent", 0.0) / 100 * in_use("P")
    known = lambda flags: None if None in flags else sum(map(bool, flags))
    nominals = {row["Vn"] for row in rows}
    # Where they differ, the voltage that makes capacity × voltage the energy.
    mixed = NAN if any(math.isnan(v) for v in nominals) else add(rows, "E") / add(rows, "C")
    usable = [False if row["open"] else row["answers"] for row in rows]
    return {
        "capacity_Ah": add(rows, "C"),
        "energy_Wh": add(rows, "E"),
        "nominal_V": rows[0]["Vn"] if len(nominals) == 1 else mixed,
        "present_capacity_Ah": add(heard, "P"),
        "usable_capacity_Ah": in_use("P"),
        "charge_held_Ah": add(heard, "q"),
        "headroom_Ah": add(heard, "room"),
        "soc_percent": 100 * over(add(heard, "q"), add(heard, "P")),
        "soc_percent_of_nameplate": 100 * over(add(heard, "q"), add(heard, "C")),
        "soc_percent_cautious": 100 * most(np.min, "s"),
        "soh_percent": 100 * over(add(heard, "hC"), add(heard, "C")),
        "soh_percent_cautious": 100 * most(np.min, "h"),
        "voltage_V": most(np.mean, "V"),
        "voltage_spread_V": most(np.max, "V") - most(np.min, "V"),
        "current_A": amperes,
        "current_spread_in_string_A": most(np.max, "dI"),
        "power_W": float(np.sum([row["V"] * row["I"] for row in heard])) if heard else NAN,
        "charge_limit_sum_A": sum_in,
        "charge_limit_cautious_A": cautious_in,
        "discharge_limit_sum_A": sum_out,
        "discharge_limit_cautious_A": cautious_out,
        "charge_voltage_limit_V": most(np.min, "up"),
        "charge_voltage_limit_cautious_V": most(np.min, "up n"),
        "discharge_voltage_limit_V": most(np.max, "low"),
        "discharge_voltage_limit_cautious_V": most(np.max, "low n"),
        "modules_answering": known([m.get("answering") for m in modules]),
        "modules_expected": bank.get("expected_modules", len(modules)),
        "strings_usable": known(usable),
        "charge_permitted": any_of("may in"),
        "discharge_permitted": any_of("may out"),
        "min_cell_V": low,
        "max_cell_V": high,
        "min_cell_at": low_at,
        "max_cell_at": high_at,
        "cell_spread_mV": (high - low) * 1000,
        "min_temperature_C": cold,
        "max_temperature_C": hot,
        "hours_to_floor": max(charge, 0.0) / amperes if amperes > 0 and not math.isnan(charge) else NAN,
        "hours_to_full": in_use("room") / (-amperes * bank.get("coulombic_efficiency", 1.0)) if amperes < 0 else NAN,
    }
