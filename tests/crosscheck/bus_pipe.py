"""Asking the sums over a pipe, and judging what comes back."""

import json
import subprocess


class Checks:
    """Cases of one sum: each is its inputs and a function that returns the difference, or raises Disagree."""

    def __init__(self, name, tolerance):
        self.name, self.tolerance, self.cases = name, tolerance, []

    def add(self, inputs, judge):
        self.cases.append((inputs, judge))


class Disagree(Exception):
    pass


def ask(binary, checks):
    lines = [json.dumps({"sum": checks.name, "inputs": inputs}) for inputs, _ in checks.cases]
    done = subprocess.run([binary], input="\n".join(lines) + "\n", capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    if len(answers) != len(lines):
        raise SystemExit(f"{checks.name}: {len(lines)} lines in, {len(answers)} lines out")
    return answers


def run(binary, checks):
    greatest, failed = 0.0, 0
    for (inputs, judge), answer in zip(checks.cases, ask(binary, checks)):
        try:
            if judge is REFUSED:
                if not answer.get("error"):
                    raise Disagree(f"should be refused: {answer}")
                continue
            if "result" not in answer:
                raise Disagree(f"refused: {answer.get('error')}")
            difference = judge(answer["result"])
            if not difference <= checks.tolerance:
                raise Disagree(f"differs by {difference:.3g}")
            greatest = max(greatest, difference)
        except Disagree as error:
            failed += 1
            if failed <= 3:
                print(f"  {checks.name}: {error}\n    {json.dumps(inputs)}\n    {json.dumps(answer)}")
    passed = len(checks.cases) - failed
    print(f"{checks.name:20} {passed:5} agree, {failed:3} do not; largest difference {greatest:.2g}")
    return passed, failed


REFUSED = object()


def apart(got, expected):
    """Relative difference; nothing equals nothing."""
    if got is None or expected is None:
        if got is not expected:
            raise Disagree(f"{got} where {expected} was expected")
        return 0.0
    return abs(got - expected) / max(abs(expected), 1.0)


def same(got, expected, what):
    if got != expected:
        raise Disagree(f"{what}: {got}, expected {expected}")


def compare(expected):
    """Judges every key of `expected`: numbers by difference, all else by equality."""

    def judge(result):
        differences = [0.0]
        for key, value in expected.items():
            if key not in result:
                raise Disagree(f"{key} is missing")
            if value is None or isinstance(value, (bool, str, list)):
                same(result[key], value, key)
            else:
                differences.append(apart(result[key], value))
        return max(differences)

    return judge
