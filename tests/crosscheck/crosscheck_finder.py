#!/usr/bin/env python3
"""The fault finder's reasoning against an independent enumeration with numpy, on random models.

    pip install -r tests/crosscheck/requirements.txt
    cargo build --no-default-features --example sums
    python tests/crosscheck/crosscheck_finder.py [PATH_OF_SUMS] [--cases N] [--seed N]

Written from the model at the head of `src/core/faults/finder/engine.rs`, by full joint tables and by name: the louder of two
outcomes over all pairs of outcomes, each answer's noise as a matrix, what a check tells as the entropy of the causes before less
that after each answer. Posterior, value of each check and what speaks for each cause agree to 1e-9; exit status 1 if not.
"""

import argparse
import itertools
import json
import random
import subprocess
import sys

import numpy as np
from crosscheck_bus import find_binary


def random_model(rng):
    faults = rng.randint(1, 9)
    weights = [rng.choice([0.0, 1.0, 2.0, 4.0, 8.0, rng.random()]) for _ in range(faults)]
    weights[rng.randrange(faults)] = 1.5
    checks = []
    for _ in range(rng.randint(1, 8)):
        outcomes = rng.randint(2, 6)
        few = []
        for _ in range(rng.randint(1, faults + 1)):
            row = [rng.random() ** 3 * (rng.random() > 0.2) for _ in range(outcomes)]
            row[rng.randrange(outcomes)] += 0.3
            few.append([chance / sum(row) for chance in row])
        checks.append([rng.choice(few) for _ in range(faults + 1)])
    model = {
        "weights": weights,
        "families": [rng.randint(0, max(1, faults // 2)) for _ in range(faults)],
        "nothing": rng.uniform(0.02, 0.4),
        "two": rng.uniform(0.02, 0.4),
        "error": rng.uniform(0.005, 0.2),
        "repair_fails": rng.uniform(0.0, 0.2),
        "checks": checks,
    }
    steps = []
    for _ in range(rng.randint(0, 12)):
        check = rng.randrange(len(checks))
        steps.append({"check": check, "outcome": rng.randrange(len(checks[check][0]))})
        if rng.random() < 0.12:
            steps.append({"repaired": rng.randrange(faults)})
    return model, steps


class Story:
    def __init__(self, model):
        self.model = model
        there = [fault for fault, weight in enumerate(model["weights"]) if weight > 0]
        pairs = [p for p in itertools.combinations(there, 2) if model["families"][p[0]] != model["families"][p[1]]]
        self.causes = [frozenset()] + [frozenset({fault}) for fault in there] + [frozenset(pair) for pair in pairs]
        weight = {cause: np.prod([model["weights"][fault] for fault in cause]) for cause in self.causes}
        share = {0: model["nothing"], 1: 1 - model["nothing"] - model["two"], 2: model["two"]}
        of_size = {size: sum(w for cause, w in weight.items() if len(cause) == size) for size in share}
        start = np.array([share[len(cause)] * weight[cause] / of_size[len(cause)] for cause in self.causes])
        self.start = start / start.sum()
        self.there = [np.array([self.outcomes(rows, cause) for cause in self.causes]) for rows in model["checks"]]
        self.answers = [[] for _ in self.there]

    def outcomes(self, rows, cause):
        rows = [np.array(rows[fault + 1]) for fault in sorted(cause)] or [np.array(rows[0])]
        if len(rows) == 1:
            return rows[0]
        both = np.zeros(len(rows[0]))
        for a, b in itertools.product(range(len(both)), repeat=2):
            both[max(a, b)] += rows[0][a] * rows[1][b]
        return both

    def noise(self, count):
        """From the outcome that is there (rows) to the answer (columns)."""
        error = self.model["error"]
        return np.full((count, count), error / (count - 1)) * (1 - np.eye(count)) + np.eye(count) * (1 - error)

    def joint(self, check):
        """Chance of each outcome being there together with all answers of the check, for each cause."""
        joint = self.there[check].copy()
        for answer in self.answers[check]:
            joint = joint * self.noise(joint.shape[1])[:, answer]
        return joint

    def now(self):
        now = self.start.copy()
        for check in range(len(self.there)):
            now = now * self.joint(check).sum(axis=1)
            now /= now.sum()
        return now

    def take(self, step):
        if "repaired" not in step:
            self.answers[step["check"]].append(step["outcome"])
            return
        fault, now = step["repaired"], self.now()
        after = np.zeros_like(now)
        for cause, p in zip(self.causes, now):
            cured = 1 - self.model["repair_fails"] if fault in cause else 1
            after[self.causes.index(cause - {fault})] += p * cured
            after[self.causes.index(cause)] += p * (1 - cured)
        self.start, self.answers = after, [[] for _ in self.there]

    def tells(self, check):
        joint = self.joint(check)
        given = joint / joint.sum(axis=1, keepdims=True) @ self.noise(joint.shape[1])
        now = self.now()
        entropy = lambda p: -sum(x * np.log2(x) for x in p if x > 0)
        told = entropy(now)
        for answer in range(given.shape[1]):
            both = now * given[:, answer]
            if both.sum() > 0:
                told -= both.sum() * entropy(both / both.sum())
        return told

    def speaks(self, check, fault):
        if not self.answers[check]:
            return None
        likely = self.joint(check).sum(axis=1)
        has = np.array([(fault in cause) if fault is not None else not cause for cause in self.causes])
        if not self.start[has].sum() or not self.start[~has].sum():
            return "any"
        mean = lambda mask: (self.start[mask] * likely[mask]).sum() / self.start[mask].sum()
        return np.log2(mean(has) / mean(~has))


def main():
    parser = argparse.ArgumentParser()
    parser.add_argument("sums", nargs="?")
    parser.add_argument("--cases", type=int, default=500)
    parser.add_argument("--seed", type=int, default=60)
    given = parser.parse_args()
    rng = random.Random(given.seed)
    cases = [random_model(rng) for _ in range(given.cases)]
    lines = "".join(json.dumps({"sum": "diagnose", "inputs": {"model": m, "steps": s}}) + "\n" for m, s in cases)
    done = subprocess.run([given.sums or find_binary()], input=lines, capture_output=True, text=True, check=True)
    answers = [json.loads(line) for line in done.stdout.splitlines()]
    assert len(answers) == len(cases), f"{len(answers)} answers to {len(cases)} cases"
    worst, compared, wrong = 0.0, 0, 0
    for number, ((model, steps), answer) in enumerate(zip(cases, answers)):
        result = answer["result"]
        story = Story(model)
        for step in steps:
            story.take(step)
        order = [story.causes.index(frozenset(cause)) for cause in result["hypotheses"]]
        assert sorted(order) == list(range(len(story.causes))), f"case {number}: other hypotheses"
        pairs = list(zip(result["posterior"], story.now()[order]))
        for check in range(len(story.there)):
            pairs.append((result["information_bits"][check], story.tells(check)))
            causes = [*range(len(model["weights"])), None]
            for fault, seen in zip(causes, result["speaks_bits"][check] or [None] * len(causes)):
                own = story.speaks(check, fault)
                if own is None or seen is None:
                    wrong += (own is None) != (seen is None) and own != "any"
                elif own != "any":
                    pairs.append((seen, own))
        off = max(abs(a - b) for a, b in pairs)
        compared += len(pairs)
        worst = max(worst, off)
        if off > 1e-9:
            wrong += 1
            print(f"case {number}: off by {off:.3g}")
    print(f"{len(cases)} models, {compared} numbers, worst difference {worst:.3g}, {wrong} wrong")
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
