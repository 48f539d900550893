"""Readings and short circuits against a dense nodal analysis with numpy."""

import itertools

import numpy
from bus_pipe import Checks, apart, compare, same


class Nodal:
    """Dense nodal analysis. Joints are any hashable name; 0 ohm makes two of them one."""

    def __init__(self):
        self.parts, self.alias = [], {}

    def root(self, joint):
        while self.alias.get(joint, joint) != joint:
            joint = self.alias[joint]
        return joint

    def add(self, a, b, ohm):
        if ohm == 0:
            self.alias[self.root(a)] = self.root(b)
        else:
            self.parts.append((a, b, ohm))

    def between(self, a, b):
        a, b = self.root(a), self.root(b)
        if a == b:
            return 0.0
        parts = [(self.root(x), self.root(y), ohm) for x, y, ohm in self.parts]
        piece, grown = {b}, True
        while grown:
            grown = False
            for x, y, _ in parts:
                if (x in piece) != (y in piece):
                    piece |= {x, y}
                    grown = True
        if a not in piece:
            return None
        index = {joint: n for n, joint in enumerate(sorted(piece - {b}, key=repr))}
        # Centimetres of cable beside tens of kilo-ohms cost a plain solve eight digits: refined with longer numbers.
        exact = numpy.zeros((len(index), len(index)), numpy.longdouble)
        for x, y, ohm in parts:
            if x not in piece or x == y:
                continue
            for here, there in ((x, y), (y, x)):
                if here != b:
                    exact[index[here], index[here]] += 1 / numpy.longdouble(ohm)
                    if there != b:
                        exact[index[here], index[there]] -= 1 / numpy.longdouble(ohm)
        current = numpy.zeros(len(index))
        current[index[a]] = 1.0
        matrix, volts = exact.astype(float), numpy.zeros(len(index), numpy.longdouble)
        for _ in range(8):
            rest = current - exact @ volts
            volts += numpy.linalg.solve(matrix, rest.astype(float))
        return float(volts[index[a]])


def network_of(bus):
    """The bus of `inputs` as a network; joints are (wire, place) and (wire, "drop", number)."""
    rho, net = bus["ohm_per_m_one_conductor"], Nodal()
    places = {0.0, bus["trunk_m"]}
    for key in ("terminators", "nodes", "drops", "shorts", "meters"):
        places |= {item["at_m"] for item in bus.get(key, []) if "at_m" in item}
    places |= {gap[end] for gap in bus.get("breaks", []) for end in ("from_m", "to_m")}
    for left, right in itertools.pairwise(sorted(places)):
        for wire in "HL":
            broken = any(
                gap["wire"] in (wire, "both") and gap["from_m"] <= left and right <= gap["to_m"]
                for gap in bus.get("breaks", [])
            )
            if not broken:
                net.add((wire, left), (wire, right), rho * (right - left))
    for number, drop in enumerate(bus.get("drops", []), 1):
        for wire in "HL":
            net.add((wire, drop["at_m"]), (wire, "drop", number), rho * drop["length_m"])

    def spot(wire, item):
        return (wire, "drop", item["drop"]) if "drop" in item else (wire, item["at_m"])

    for item in bus.get("terminators", []):
        net.add(spot("H", item), spot("L", item), item["ohm"])
    for item in bus.get("nodes", []):
        if "differential_ohm" in item:
            net.add(spot("H", item), spot("L", item), item["differential_ohm"])
        else:
            for wire in "HL":
                net.add(spot(wire, item), "ref", item["each_wire_to_reference_ohm"])
    for item in bus.get("shorts", []):
        one, other = item["between"].split("-")
        joint = lambda wire: "ref" if wire == "ref" else (wire, item["at_m"])  # noqa: E731
        net.add(joint(one), joint(other), item["ohm"])
    return net, spot


def random_bus(rng):
    length = rng.choice([rng.uniform(0.5, 20), rng.uniform(20, 500)])
    place = lambda: rng.choice([0.0, length, rng.uniform(0, length)])  # noqa: E731
    bus = {
        "trunk_m": length,
        "ohm_per_m_one_conductor": rng.choice([0.026, 0.07, 0.134, rng.uniform(0.01, 0.2)]),
        "drops": [{"at_m": place(), "length_m": rng.uniform(0.1, 10)} for _ in range(rng.randint(0, 3))],
        "shorts": [],
        "breaks": [],
    }
    drops = len(bus["drops"])

    def spot():
        return {"drop": rng.randint(1, drops)} if drops and rng.random() < 0.3 else {"at_m": place()}

    bus["terminators"] = [
        spot() | {"ohm": rng.choice([120, 124, 60, rng.uniform(50, 300)])} for _ in range(rng.randint(0, 5))
    ]
    kind = rng.choice(["differential_ohm", "each_wire_to_reference_ohm"])
    bus["nodes"] = [spot() | {kind: rng.uniform(5e3, 100e3)} for _ in range(rng.randint(0, 8))]
    if rng.random() < 0.35:
        start = rng.uniform(0, 0.9 * length)
        bus["breaks"].append(
            {
                "wire": rng.choice(["H", "L", "both"]),
                "from_m": start,
                "to_m": rng.uniform(start + 1e-3 * length, length),
            }
        )
    if rng.random() < 0.35:
        bus["shorts"].append(
            {
                "between": rng.choice(["H-L", "H-ref", "L-ref"]),
                "at_m": place(),
                "ohm": rng.choice([0, rng.uniform(0.01, 50)]),
            }
        )
    bus["meters"] = [{"at_m": 0.0}, {"at_m": length}, {"at_m": place()}]
    bus["meters"] += [{"drop": n + 1} for n in range(drops)]
    return bus


def bus_reading(rng, count):
    checks = Checks("bus_reading", 1e-9)
    for _ in range(count):
        bus = random_bus(rng)
        net, spot = network_of(bus)

        def judge(result, bus=bus, net=net, spot=spot):
            same(len(result["readings"]), len(bus["meters"]), "readings")
            differences = []
            for meter, reading in zip(bus["meters"], result["readings"]):
                high, low = spot("H", meter), spot("L", meter)
                for key, a, b in (("H_L_ohm", high, low), ("H_ref_ohm", high, "ref"), ("L_ref_ohm", low, "ref")):
                    differences.append(apart(reading[key], net.between(a, b)))
            return max(differences)

        checks.add(bus, judge)
    return checks


def bus_short_distance(rng, count):
    checks = Checks("bus_short_distance", 1e-6)
    for _ in range(count):
        length, rho, end = rng.uniform(2, 500), rng.uniform(0.02, 0.2), rng.choice([120, 124, rng.uniform(100, 300)])
        at, touch = rng.uniform(0, length), rng.choice([0, 0, rng.uniform(0, 5)])
        bus = {
            "trunk_m": length,
            "ohm_per_m_one_conductor": rho,
            "terminators": [{"at_m": 0.0, "ohm": end}, {"at_m": length, "ohm": end}],
            "shorts": [{"between": "H-L", "at_m": at, "ohm": touch}],
        }
        net, _ = network_of(bus)
        inputs = {
            "trunk_m": length,
            "ohm_per_m_one_conductor": rho,
            "terminator_ohm": end,
            "reading_at_0_ohm": net.between(("H", 0.0), ("L", 0.0)),
            "reading_at_end_ohm": net.between(("H", length), ("L", length)),
        }
        checks.add(inputs, compare({"from_start_m": at, "short_ohm": touch}))
    return checks
