"""How long something takes."""

import time


def least(what, runs):
    """The least of several runs, s: what else the machine does only ever adds."""
    best = float("inf")
    for _ in range(runs):
        start = time.perf_counter()
        what()
        best = min(best, time.perf_counter() - start)
    return best
