"""Lengths, levels, idle voltage and bit timing against numpy, plain arithmetic and python-can."""

import itertools
import math

import can
import numpy
from bus_networks import Nodal
from bus_pipe import REFUSED, Checks, Disagree, apart, compare

TABLES = {
    # CiA website, "CANopen lower layers".
    "canopen": [
        (1e6, 25, 1.5),
        (8e5, 50, 2.5),
        (5e5, 100, 5.5),
        (2.5e5, 250, 11),
        (1.25e5, 500, 22),
        (5e4, 1000, 55),
        (2e4, 2500, 137.5),
        (1e4, 5000, 275),
    ],
    # Philips AN96116, table 3.
    "transceivers": [(1e6, 30, None), (5e5, 100, None), (2.5e5, 250, None), (1.25e5, 500, None), (6.25e4, 1000, None)],
    # IEC 62026-3, from memory.
    "devicenet-thick": [(5e5, 100, 6), (2.5e5, 250, 6), (1.25e5, 500, 6)],
    "devicenet-thin": [(5e5, 100, 6), (2.5e5, 100, 6), (1.25e5, 100, 6)],
    # SAE J1939, from memory.
    "j1939-11": [(2.5e5, 40, 1)],
    "j1939-15": [(2.5e5, 40, 3)],
    "j1939-14": [(5e5, 56.4, 1.67)],
    # ISO 11898-2 base case.
    "iso11898": [(1e6, 40, 0.3)],
}


def bus_length(rng, count):
    checks = Checks("bus_length", 1e-9)
    for _ in range(count):
        inputs, limits, more = {}, {}, {}
        kinds = rng.sample(["table", "timing", "resistance"], rng.randint(1, 3))
        name = rng.choice(sorted(TABLES))
        rate, trunk, stub = rng.choice(TABLES[name])
        inputs["bitrate"] = rate
        if "table" in kinds:
            inputs["protocol"] = name
            limits["table"], more["stub_m"] = trunk, stub
        if "timing" in kinds:
            quanta = rng.randint(8, 25)
            segment = rng.randint(1, quanta - 2)
            delay, cable = rng.uniform(50, 400), rng.choice([5, 5.5, rng.uniform(4, 7)])
            inputs |= {
                "quanta_per_bit": quanta,
                "propagation_quanta": segment,
                "node_delay_ns": delay,
                "ns_per_m": cable,
            }
            limits["timing"] = max(0.0, (1e9 / rate * segment / quanta / 2 - delay) / cable)
        if "resistance" in kinds:
            drive = random_drive(rng)
            share, threshold = rng.uniform(0, 0.5), rng.uniform(0.8, 1.2)
            inputs |= drive | {"safety_share": share, "v_threshold_max": threshold}
            out, needed = drive["v_out_min"], threshold + share * (drive["v_out_min"] - threshold)
            rt, rd, n = drive["terminator_min_ohm"], drive["node_input_min_ohm"], drive["nodes"]
            load = rt * rd / (rd + (n - 1) * rt)
            limits["resistance"] = max(0.0, (out / needed - 1) * load / (2 * drive["ohm_per_m_one_conductor"]))
        binding = min(limits, key=limits.get)
        checks.add(inputs, compare(more | {"max_m": limits[binding], "binding": binding}))
    checks.add({"bitrate": 5e5, "protocol": "nothing"}, REFUSED)
    checks.add({"bitrate": 5e5, "quanta_per_bit": 16, "propagation_quanta": 16, "node_delay_ns": 200}, REFUSED)
    return checks


def random_drive(rng):
    return {
        "ohm_per_m_one_conductor": rng.uniform(0.01, 0.2),
        "nodes": rng.randint(2, 120),
        "v_out_min": rng.uniform(1.3, 2.0),
        "terminator_min_ohm": rng.uniform(100, 130),
        "node_input_min_ohm": rng.uniform(5e3, 100e3),
    }


def bus_end_voltage(rng, count):
    checks = Checks("bus_end_voltage", 1e-9)
    for _ in range(count):
        drive, length = random_drive(rng), rng.uniform(0, 1000)
        # The driver's voltage behind the loop, across the far end's parts.
        net = Nodal()
        net.add("out", "end", 2 * drive["ohm_per_m_one_conductor"] * length or 0)
        net.add("end", "return", drive["terminator_min_ohm"])
        for _ in range(drive["nodes"] - 1):
            net.add("end", "return", drive["node_input_min_ohm"])
        whole, far = net.between("out", "return"), net.between("end", "return")
        checks.add(drive | {"length_m": length}, compare({"end_V": drive["v_out_min"] * far / whole}))
    return checks


def bus_levels(rng, count):
    checks = Checks("bus_levels", 1e-9)
    for _ in range(count):
        load, share = rng.uniform(0, 1), rng.uniform(0.2, 0.6)
        recessive, high, low = rng.uniform(2.0, 3.0), rng.uniform(2.75, 4.5), rng.uniform(0.5, 2.25)
        # The mean of a long row of samples, dominant for load · share of the time.
        levels = numpy.array([[recessive, recessive], [high, low]])
        weights = numpy.array([1 - load * share, load * share])
        mean_high, mean_low = weights @ levels
        inputs = {
            "bus_load": load,
            "dominant_share": share,
            "recessive_V": recessive,
            "dominant_high_V": high,
            "dominant_low_V": low,
        }
        checks.add(inputs, compare({"high_V": mean_high, "low_V": mean_low, "difference_V": mean_high - mean_low}))
    for _ in range(count):
        rest, supply = rng.uniform(2.2, 2.8), rng.uniform(9, 58)
        swing = rng.uniform(0.05, 1.0) * rng.uniform(0.4, 0.5)
        high, low, state = rng.choice(
            [
                (rest + swing, rest - swing, "working"),
                (rest - swing, rest + swing, "swapped"),
                (rest + rng.uniform(-0.006, 0.006), rest, "awake_idle"),
                (rng.uniform(-0.09, 0.09), rng.uniform(-0.09, 0.09), "asleep_or_off"),
                (rng.uniform(3.2, 4.4), rng.uniform(0.6, 1.6), "stuck_dominant"),
                (rng.uniform(-0.09, 0.09), rng.uniform(0.2, 2.5), "H_at_reference"),
                (rng.uniform(0.2, 2.5), rng.uniform(-0.09, 0.09), "L_at_reference"),
                (supply, supply - rng.uniform(0.05, 3), "H_at_supply"),
                (supply - rng.uniform(0.05, 3), supply, "L_at_supply"),
            ]
        )
        checks.add({"high_V": high, "low_V": low}, compare({"state": state}))
    checks.add({"bus_load": 1.5}, REFUSED)
    checks.add({"high_V": 2.5}, REFUSED)
    return checks


def rs485_bias(rng, count):
    checks = Checks("rs485_bias", 1e-9)
    for _ in range(count):
        supply, up, down = rng.choice([3.3, 5.0]), rng.uniform(300, 3000), rng.uniform(300, 3000)
        ends, loads = [rng.uniform(60, 200) for _ in range(rng.randint(0, 3))], rng.choice([0, rng.uniform(0, 64)])
        # Two unknown voltages: the upper and the lower line.
        load = sum(1 / ohm for ohm in ends) + loads / 12_000
        matrix = numpy.array([[1 / up + load, -load], [-load, 1 / down + load]])
        upper, lower = numpy.linalg.solve(matrix, numpy.array([supply / up, 0.0]))
        idle = upper - lower
        inputs = {
            "supply_V": supply,
            "pull_up_ohm": up,
            "pull_down_ohm": down,
            "terminators_ohm": ends,
            "unit_loads": loads,
        }
        checks.add(inputs, compare({"idle_V": idle, "at_least_200_mV": bool(idle >= 0.2)}))
    return checks


CLOCKS = [8e6, 10e6, 12e6, 16e6, 20e6, 24e6, 32e6, 36e6, 40e6, 42e6, 48e6, 80e6]


def tolerance_by_hand(setting, nanos, metres):
    """Conditions I and II (Bosch CAN specification 1991), exact quanta. None where phase 1 has less than one quantum."""
    clock, prescaler, tseg1, tseg2, sjw = setting
    quantum = 1e9 * prescaler / clock
    propagation = math.ceil(2 * (nanos + 5 * metres) / quantum - 1e-9)
    phase1, quanta = tseg1 - propagation, 1 + tseg1 + tseg2
    if phase1 < 1:
        return propagation, phase1, None
    first = min(phase1, tseg2) / (2 * (13 * quanta - tseg2))
    return propagation, phase1, 100 * min(first, sjw / (20 * quanta))


def bit_timing(rng, count):
    checks = Checks("bit_timing", 1e-9)
    libraries = {"rate": 0, "tolerance": 0}
    while len(checks.cases) < count:
        clock, prescaler = rng.choice(CLOCKS), rng.randint(1, 40)
        tseg1, tseg2 = rng.randint(3, 16), rng.randint(1, 8)
        sjw = rng.randint(1, min(4, tseg2))
        if not 8 <= 1 + tseg1 + tseg2 <= 25 or not 1e3 <= clock / prescaler / (1 + tseg1 + tseg2) <= 1e6:
            continue
        if 1 + tseg1 < tseg2:  # the library refuses sample points below 50 %
            continue
        nanos, metres = rng.randint(50, 400), rng.choice([0, 1, 10, 40, 100, 250, rng.uniform(0, 500)])
        theirs = can.BitTiming(int(clock), prescaler, tseg1, tseg2, sjw)
        propagation, phase1, tolerance = tolerance_by_hand((clock, prescaler, tseg1, tseg2, sjw), nanos, metres)
        expected = {
            "sample_point_percent": theirs.sample_point,
            "quanta_per_bit": theirs.nbt,
            "bitrate": clock / prescaler / theirs.nbt,
            "quantum_ns": 1e9 * prescaler / clock,
            "propagation_quanta": propagation,
            "phase1_quanta": phase1,
            "oscillator_tolerance_percent": tolerance,
        }
        # The library's rate is a whole number of bits, its quantum a whole number of nanoseconds, and its tolerance is cut
        # off at 0 where the delay does not fit: compared where these do not matter.
        assert abs(theirs.bitrate - expected["bitrate"]) <= 0.5
        libraries["rate"] += 1
        if theirs.tq == expected["quantum_ns"] and tolerance is not None:
            assert math.isclose(theirs.oscillator_tolerance(nanos, metres), tolerance, rel_tol=1e-9), (
                theirs,
                nanos,
                metres,
            )
            libraries["tolerance"] += 1
        inputs = {
            "f_clock": clock,
            "prescaler": prescaler,
            "tseg1": tseg1,
            "tseg2": tseg2,
            "sjw": sjw,
            "node_delay_ns": nanos,
            "bus_m": metres,
        }
        checks.add(inputs, compare(expected))
    assert libraries["tolerance"] > count / 20, libraries
    for _ in range(count):
        clock, rate = rng.choice(CLOCKS), rng.choice([1e4, 2e4, 5e4, 1e5, 1.25e5, 2.5e5, 5e5, 8e5, 1e6])
        wanted = rng.choice([75, 80, 87.5, rng.uniform(50, 94)])
        checks.add(
            {"f_clock": clock, "bitrate": rate, "sample_point_percent": wanted}, best_setting(clock, rate, wanted)
        )
    checks.add({"f_clock": 8e6, "prescaler": 0, "tseg1": 13, "tseg2": 2, "sjw": 1}, REFUSED)
    return checks


def best_setting(clock, rate, wanted):
    """Judges a search: against all settings, and no worse than the library's own choice."""
    every = []
    for prescaler in range(1, 65):
        for tseg1, tseg2 in itertools.product(range(2, 17), range(1, 9)):
            quanta = 1 + tseg1 + tseg2
            miss = abs(clock / prescaler / quanta / rate - 1)
            if 8 <= quanta <= 25 and miss <= 0.005:
                every.append((miss, abs(100 * (1 + tseg1) / quanta - wanted), prescaler))
    if not every:
        return REFUSED
    least_miss = min(miss for miss, _, _ in every)
    nearest = min(off for miss, off, _ in every if miss < least_miss + 1e-12)
    try:
        theirs = can.BitTiming.from_sample_point(int(clock), int(rate), wanted)
    except ValueError:
        theirs = None

    def judge(result):
        miss, off = abs(result["bitrate"] / rate - 1), abs(result["sample_point_percent"] - wanted)
        if theirs is not None and abs(clock / theirs.brp / theirs.nbt / rate - 1) < miss + 1e-12:
            if off > abs(theirs.sample_point - wanted) + 1e-9:
                raise Disagree(f"the library comes nearer: {theirs}")
        ours = can.BitTiming(int(clock), result["prescaler"], result["tseg1"], result["tseg2"], result["sjw"])
        if not result["classical"] or not 8 <= ours.nbt <= 25:
            raise Disagree("not within the classical limits")
        return max(abs(miss - least_miss), abs(off - nearest), apart(result["sample_point_percent"], ours.sample_point))

    return judge
