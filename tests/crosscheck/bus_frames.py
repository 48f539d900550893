"""Frames, load, messages and captures against crccheck, cantools and python-can."""

import os
import tempfile

import can
import cantools
import numpy
from bus_pipe import REFUSED, Checks, apart, compare, same
from crccheck.crc import Crc15Can


def frame_bits(identifier, extended, data):
    """The bits from start of frame to the end of the data, as text."""
    length = f"{len(data):04b}"
    body = "".join(f"{byte:08b}" for byte in data)
    if extended:
        bits = f"{identifier:029b}"
        return "0" + bits[:11] + "11" + bits[11:] + "0" + "00" + length + body
    return "0" + f"{identifier:011b}" + "0" + "00" + length + body


def stuffed(bits):
    """The bits as they go over the wire."""
    out = ""
    for bit in bits:
        out += bit
        if len(out) >= 5 and out[-5:] == 5 * bit:
            # Five alike: the opposite goes in, and is the first of the next run.
            out += "1" if bit == "0" else "0"
    return out


def frame(rng, count):
    checks = Checks("frame", 0)
    for _ in range(count):
        extended = rng.random() < 0.5
        identifier = rng.getrandbits(29 if extended else 11) & rng.choice([-1, 0, 0x1FFF0000, 0x7F])
        data = bytes(rng.choice([0, 0xFF, rng.getrandbits(8)]) for _ in range(rng.randint(0, 8)))
        bits = frame_bits(identifier, extended, data)
        # Zero bits in front make whole bytes and leave a checksum that starts from zero as it is.
        padded = bits.rjust(-(-len(bits) // 8) * 8, "0")
        crc = Crc15Can.calc(int(padded, 2).to_bytes(len(padded) // 8, "big"))
        row = bits + f"{crc:015b}"
        expected = {
            "crc15": f"0x{crc:04X}",
            "stuff_bits": len(stuffed(row)) - len(row),
            "bits_unstuffed_no_gap": len(row) + 10,
            "bits_on_wire_with_3_bit_gap": len(stuffed(row)) + 13,
        }
        checks.add({"identifier": hex(identifier), "extended": extended, "data": data.hex()}, compare(expected))
    checks.add({"identifier": "0x800", "extended": False, "data": ""}, REFUSED)
    checks.add({"identifier": "0x1", "extended": False, "data": "012"}, REFUSED)
    return checks


def bus_load(rng, count):
    checks = Checks("bus_load", 1e-9)
    for _ in range(count):
        rate = rng.choice([125e3, 250e3, 500e3, 1e6])
        messages = [
            {
                "bytes": rng.randint(0, 8),
                "extended": rng.random() < 0.5,
                "period_s": rng.choice([0.01, 0.1, 0.5, 1, rng.uniform(0.005, 10)]),
            }
            for _ in range(rng.randint(0, 30))
        ]
        # can-utils: 55 + 10n and 80 + 10n at the most; 47 + 8n and 67 + 8n at the least.
        most = sum((80 if m["extended"] else 55) / m["period_s"] + 10 * m["bytes"] / m["period_s"] for m in messages)
        least = sum((67 if m["extended"] else 47) / m["period_s"] + 8 * m["bytes"] / m["period_s"] for m in messages)
        checks.add(
            {"bitrate": rate, "messages": messages},
            compare({"percent": 100 * most / rate, "percent_least": 100 * least / rate}),
        )
    checks.add({"bitrate": 5e5, "messages": [{"bytes": 8, "extended": False, "period_s": 0}]}, REFUSED)
    checks.add({"bitrate": 5e5, "messages": [{"bytes": 9, "extended": False, "period_s": 1}]}, REFUSED)
    return checks


HEAD = ' SG_ instance : 0|8@1+ (1,0) [0|255] "" X\n SG_ second : 8|8@1+ (1,0) [0|255] "" X\n'


def group(dgn, name, signals):
    # Bit 31 marks an identifier of 29 bits in a database.
    return (
        f"BO_ {0x80000000 | 6 << 26 | dgn << 8 | 0x80} {name}: 8 X\n{HEAD}"
        + "".join(f" SG_ {s} X\n" for s in signals)
        + "\n"
    )


OUTPUT = ['volt : 16|16@1+ (0.05,0) [0|3212.5] "V"', 'amp_as_coded : 32|32@1+ (0.001,-2000000) [-20000|20000] "A"']
CHARGE = [
    'degC : 16|16@1+ (0.03125,-273) [-273|1775] ""',
    'soc_percent : 32|8@1+ (0.5,0) [0|125] ""',
    'minutes_left : 40|16@1+ (1,0) [0|65532] ""',
]
HEALTH = [
    'soh_percent : 16|8@1+ (0.5,0) [0|125] ""',
    'capacity_remaining_Ah : 24|16@1+ (1,0) [0|65532] ""',
    'relative_capacity_percent : 40|8@1+ (0.5,0) [0|125] ""',
    'ripple_mV : 48|16@1+ (1,0) [0|65532] ""',
]
REQUEST = [
    'desired_state_code : 16|8@1+ (1,0) [0|252] ""',
    'desired_volt : 24|16@1+ (0.05,0) [0|3212.5] ""',
    'desired_amp : 40|16@1+ (0.05,-1600) [-1599.95|1676.6] ""',
    'battery_type_code : 56|4@1+ (1,0) [0|14] ""',
]
PRECISE = ['volt : 16|32@1+ (0.001,0) [0|3212.5] ""', 'mV_per_s : 48|16@1+ (1,-32000) [-32000|33532] ""']
LIMITS = [
    f'{key}_{kind} : {16 + 4 * n + 2 * m}|2@1+ (1,0) [0|1] ""'
    for n, key in enumerate(
        ["high_voltage", "low_voltage", "low_soc", "low_temperature", "high_temperature", "high_current"]
    )
    for m, kind in enumerate(["limit", "disconnected"])
]
SWITCHES = [
    f'{key} : {16 + 2 * n}|2@1+ (1,0) [0|1] ""'
    for n, key in enumerate(["discharge_on", "charge_on", "charge_detected", "reserve"])
]
SWITCHES += ['full_capacity_Ah : 24|16@1+ (1,0) [0|65532] ""', 'power_W : 40|16@1+ (1,0) [0|65532] ""']
GROUPS = [
    (0x1FFFD, "S1", OUTPUT),
    (0x1FFFC, "S2", CHARGE),
    (0x1FFFB, "S3", HEALTH),
    (0x1FEC9, "S4", REQUEST),
    (0x1FEC8, "S5", PRECISE),
    (0x1FEC7, "S6", LIMITS),
    (0x1FEA5, "S11", SWITCHES),
    (0x1FE95, "B1", OUTPUT),
    (0x1FE94, "B2", CHARGE),
    (0x1FE93, "B3", HEALTH),
    (0x1FE92, "B4", REQUEST),
    (0x1FE91, "B5", PRECISE),
    (0x1FE90, "B6", LIMITS),
    (0x1FE8B, "B11", SWITCHES),
]


def rvc(rng, count):
    checks = Checks("rvc", 1e-9)
    text = 'VERSION ""\n\nNS_ :\n\nBS_:\n\nBU_: X\n\n' + "".join(group(*entry) for entry in GROUPS)
    database = cantools.database.load_string(text, "dbc")
    for number in range(count):
        dgn, name, _ = GROUPS[number % len(GROUPS)]
        message = database.get_message_by_name(name)
        raw = {}
        for signal in message.signals:
            top = (1 << signal.length) - 1
            raw[signal.name] = rng.choice(
                [
                    rng.randint(0, top),
                    rng.randint(0, top),
                    top,
                    top - 1,
                    max(top - 2, 0),
                    rng.randint(0, top) if signal.length < 32 else 0,
                    # Near the middle of a 32-bit current, or a bank's voltage in millivolts.
                    (
                        rng.randint(0, top)
                        if signal.length < 32
                        else rng.choice([2_000_000_000, 13_000]) + rng.randint(-13_000, 400_000)
                    ),
                ]
            )
        data = bytearray(message.encode(raw, scaling=False, strict=False, padding=True))
        address = rng.randint(0, 255)
        values = message.decode(bytes(data), decode_choices=False)
        bare = message.decode(bytes(data), decode_choices=False, scaling=False)
        expected = {"dgn": f"{dgn:05X}", "priority": 6, "source_address": address}
        for signal in message.signals:
            value, coded = values[signal.name], bare[signal.name]
            reserved = {2: 2, 4: 15}.get(signal.length, (1 << signal.length) - 3)
            known = coded < reserved and signal.minimum - 1e-9 <= value <= signal.maximum + 1e-9
            key = {"instance": "instance", "second": "dc_instance" if name[0] == "B" else "device_priority"}.get(
                signal.name, signal.name
            )
            if signal.length == 2:
                expected[key] = bool(coded) if known else None
            else:
                expected[key] = value if known else None
        checks.add(
            {"identifier": f"0x{6 << 26 | dgn << 8 | address:08X}", "data": bytes(data).hex()}, compare(expected)
        )
    checks.add({"identifier": "0x20000000", "data": ""}, REFUSED)
    return checks


def j1939_id(rng, count):
    checks = Checks("j1939_id", 0)
    for _ in range(count):
        identifier = rng.getrandbits(29)
        bits = f"{identifier:029b}"
        format_, specific = int(bits[5:13], 2), int(bits[13:21], 2)
        addressed = format_ < 240
        expected = {
            "priority": int(bits[:3], 2),
            "pdu_format": format_,
            "pdu_specific": specific,
            "pgn": int(bits[3:13] + ("00000000" if addressed else bits[13:21]), 2),
            "destination": specific if addressed else None,
            "source_address": int(bits[21:], 2),
        }
        checks.add({"identifier": f"0x{identifier:08X}"}, compare(expected))
        spn, fmi, count_, method = rng.getrandbits(19), rng.getrandbits(5), rng.getrandbits(7), rng.getrandbits(1)
        number = f"{spn:019b}"
        code = bytes(
            [
                int(number[11:], 2),
                int(number[3:11], 2),
                int(number[:3] + f"{fmi:05b}", 2),
                int(f"{method}{count_:07b}", 2),
            ]
        )
        checks.add(
            {"trouble_code": code.hex()},
            compare({"spn": spn, "fmi": fmi, "occurrence": count_, "conversion_method": method}),
        )
    checks.add({"trouble_code": "0102"}, REFUSED)
    return checks


def capture(rng, count):
    """Captures of some frames each, read by python-can's own reader."""
    checks = Checks("capture", 1e-6)
    for _ in range(count):
        at, lines = rng.randint(0, 1_700_000_000), []
        micros = at * 1_000_000
        talkers = [
            rng.choice([f"{rng.getrandbits(11):03X}", f"{rng.getrandbits(29):08X}"]) for _ in range(rng.randint(1, 5))
        ]
        for _ in range(rng.randint(1, 60)):
            micros += rng.randint(100, 200_000)
            data = rng.randbytes(rng.randint(0, 8)).hex().upper()
            lines.append(
                f"({micros // 1_000_000}.{micros % 1_000_000:06}) can0 {rng.choice(talkers)}#{rng.choice([data, data, data, 'R'])}"
            )
        text = "\n".join(lines) + "\n"
        with tempfile.NamedTemporaryFile("w", suffix=".log", delete=False) as file:
            file.write(text)
        seen = list(can.CanutilsLogReader(file.name))
        os.unlink(file.name)
        same(len(seen), len(lines), "the library's own count")
        bits = 0
        for message in seen:
            row = frame_bits(message.arbitration_id, message.is_extended_id, bytes(message.data))
            if message.is_remote_frame:
                where = 32 if message.is_extended_id else 12
                row = row[:where] + "1" + row[where + 1 :]
            padded = row.rjust(-(-len(row) // 8) * 8, "0")
            row += f"{Crc15Can.calc(int(padded, 2).to_bytes(len(padded) // 8, 'big')):015b}"
            bits += len(stuffed(row)) + 13

        def judge(result, seen=seen, bits=bits):
            (interface,) = result["interfaces"]
            same((result["lines"], result["problem_count"], interface["frames"]), (len(seen), 0, len(seen)), "counts")
            span = seen[-1].timestamp - seen[0].timestamp
            differences = [apart(interface["seconds"], span)]
            if span > 0:
                # Times of the library are floats of some 1e9 s: good to a microsecond.
                differences.append(abs(interface["load_mean_percent"] - 100 * bits / 250e3 / span) * span / 1e3)
            keys = {(m.arbitration_id, m.is_extended_id) for m in seen}
            same(len(interface["talkers"]), len(keys), "talkers")
            for talker in interface["talkers"]:
                key = (int(talker["identifier"], 16), talker["extended"])
                times = numpy.array([m.timestamp for m in seen if (m.arbitration_id, m.is_extended_id) == key])
                same(talker["count"], len(times), "count")
                differences.append(apart(talker["silence_s"], seen[-1].timestamp - times[-1]))
                gaps = numpy.diff(times)
                if len(gaps):
                    for name, value in (
                        ("mean_s", gaps.mean()),
                        ("least_s", gaps.min()),
                        ("greatest_s", gaps.max()),
                        ("jitter_s", gaps.std()),
                    ):
                        differences.append(apart(talker[name], float(value)))
                else:
                    same(talker["mean_s"], None, "mean of no intervals")
            return max(differences)

        checks.add({"text": text, "bitrate": 250e3}, judge)
    return checks
