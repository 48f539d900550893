"""The causes behind what a display shows, reckoned a second time for modules side by side that all answer."""

import math

import numpy as np

from bank_totals import column

# The model of the app's own explanations, written down a second time: key, bank figure, error, width of anything.
FIGURES = {
    "capacity_Ah": (lambda x, d: d / 2, lambda x: max(2 * abs(x), 400)),
    "charge_held_Ah": (lambda x, d: 0.5 + d / 2, lambda x: max(2 * abs(x), 400)),
    "soc_percent": (lambda x, d: 0.25 + d / 2, lambda x: 100),
    "voltage_V": (lambda x, d: 0.005 * abs(x) + d / 2, lambda x: 60),
    "current_A": (lambda x, d: 0.01 * abs(x) + 0.2 + d / 2, lambda x: max(2 * abs(x), 400)),
    "modules_answering": (lambda x, d: 0.0, lambda x: 16),
}
PRIORS = {
    "nothing_wrong": 0.55,
    "module_silent": 0.10,
    "module_in_protection": 0.04,
    "nameplate_wrong": 0.08,
    "other_basis": 0.03,
    "one_module_only": 0.03,
    "other_device": 0.03,
    "stale": 0.02,
    "sign_reversed": 0.03,
    "not_calibrated": 0.07,
}


def density(key, seen, digit, predicted, old=False):
    error, width = FIGURES[key]
    flat = 1 / width(seen)
    if predicted is None:
        return flat
    sigma = max(error(seen, digit) / math.sqrt(3), 0.2 if key == "modules_answering" else 1e-3)
    if old and key == "voltage_V":
        sigma = max(sigma, 0.03 * abs(seen))
    normal = math.exp(-(((seen - predicted) / sigma) ** 2) / 2) / (sigma * math.sqrt(2 * math.pi))
    return 0.98 * normal + 0.02 * flat


def own_explanations(modules, shown, digits):
    """Posterior over causes for modules side by side that all answer."""
    n = len(modules)
    c, i = column(modules, "capacity_Ah"), column(modules, "current_A")
    p = c * column(modules, "soh_percent", 0.01)
    q = p * column(modules, "soc_percent", 0.01)
    v = column(modules, "voltage_V")

    def figures(mask, **change):
        if not mask.any():
            return {**dict.fromkeys(FIGURES), **change}
        return {
            "capacity_Ah": c[mask].sum(),
            "charge_held_Ah": q[mask].sum(),
            "soc_percent": 100 * q[mask].sum() / p[mask].sum(),
            "voltage_V": v[mask].mean(),
            "current_A": i[mask].sum(),
            "modules_answering": float(n),
            **change,
        }

    full = np.ones(n, bool)
    right = figures(full)
    weigh = lambda f, old=False, skip=(): math.prod(
        density(key, seen, digits[key], f[key], old) for key, seen in shown.items() if key not in skip
    )
    found = dict.fromkeys(PRIORS, 0.0)
    found["nothing_wrong"] = weigh(right)
    for k in range(n):
        rest = np.arange(n) != k
        fewer = float(n - 1)
        found["module_silent"] += 0.7 / n * weigh(figures(rest, modules_answering=fewer))
        found["module_silent"] += 0.3 / n * weigh({**right, "modules_answering": fewer})
        opened = figures(rest, modules_answering=float(n), current_A=right["current_A"])
        found["module_in_protection"] += 0.7 / n * weigh(opened)
        found["module_in_protection"] += 0.3 / n * weigh({**opened, "capacity_Ah": right["capacity_Ah"]})
        if n > 1:
            for modules_shown in (1.0, float(n)):
                found["one_module_only"] += 0.5 / n * weigh(figures(~rest, modules_answering=modules_shown))
    most = max(2 * n, n + 4)
    for k in range(1, most + 1):
        if k != n:
            scaled = {key: right[key] * k / n for key in ("capacity_Ah", "charge_held_Ah")}
            found["nameplate_wrong"] += 0.7 / (most - 1) * weigh({**right, **scaled})
    held = shown["capacity_Ah"] * right["soc_percent"] / 100 if "capacity_Ah" in shown else None
    found["nameplate_wrong"] += 0.3 * weigh({**right, "capacity_Ah": None, "charge_held_Ah": held})
    of_plate = 100 * q.sum() / c.sum()
    if abs(of_plate - right["soc_percent"]) > 0.1:
        found["other_basis"] = weigh({**right, "soc_percent": of_plate})
    if right["current_A"]:
        found["sign_reversed"] = weigh({**right, "current_A": -right["current_A"]})
    nothing = dict.fromkeys(right)
    found["other_device"] = 0.5 * weigh(nothing)
    found["other_device"] += 0.5 * weigh({**nothing, "voltage_V": right["voltage_V"], "current_A": right["current_A"]})
    open_keys = ("soc_percent", "charge_held_Ah")
    tries = []
    for soc in np.arange(0, 100.001, 0.25):
        trial = {"soc_percent": soc, "charge_held_Ah": p.sum() * soc / 100}
        tries.append(math.prod(density(key, shown[key], digits[key], trial[key]) for key in open_keys if key in shown))
    fits = float(np.mean(tries))
    found["not_calibrated"] = fits * weigh(right, skip=open_keys)
    found["stale"] = fits * weigh({**right, "current_A": None}, old=True, skip=open_keys)
    joint = {kind: PRIORS[kind] * likelihood for kind, likelihood in found.items()}
    return {kind: value / sum(joint.values()) for kind, value in joint.items()}, right
