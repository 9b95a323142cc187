#!/usr/bin/env python3
"""The exact test of pairs by another library: writes sign_flip.json beside this script, or with --check compares with it.

A case is the differences of some pairs, most of them in whole steps so that sums tie, some with zeros. Expected is the
two-sided p of scipy.stats.permutation_test with permutation_type='samples', which flips all signs in all ways, of the sum.
Before it is kept each value is counted once more in whole numbers, without scipy.

How to run:  python3 -m venv venv && venv/bin/pip install scipy && venv/bin/python -P sign_flip.py
Last run with scipy 1.17 on Python 3.11. The seed is fixed: the file comes out the same each time.
"""
import itertools
import json
import random
import sys
from pathlib import Path

import numpy as np
from scipy.stats import permutation_test

KEPT = Path(__file__).with_suffix(".json")


def counted(steps):
    """The share of the ways to flip the signs whose sum lies as far from zero, of whole numbers."""
    reached = abs(sum(steps))
    sums = [sum(sign * step for sign, step in zip(signs, steps)) for signs in itertools.product([1, -1], repeat=len(steps))]
    return sum(abs(one) >= reached for one in sums) / len(sums)


def case(draw):
    pairs, step = draw.randint(2, 12), draw.choice([0.25, 0.5, 1, 3])
    steps = [draw.randint(-3, 9) for _ in range(pairs)]
    differences = [step * one for one in steps]
    total = lambda sample, axis: np.sum(sample, axis=axis)
    ways = dict(permutation_type="samples", n_resamples=np.inf, alternative="two-sided", vectorized=True)
    p = float(permutation_test((np.array(differences),), total, **ways).pvalue)
    # The library doubles the smaller tail: with signs that flip both tails are alike, and together at most all.
    assert abs(p - counted(steps)) < 1e-12, (differences, p, counted(steps))
    return {"differences": differences, "p": p}


def main():
    draw = random.Random(7)
    found = [case(draw) for _ in range(60)]
    if "--check" in sys.argv:
        kept = json.loads(KEPT.read_text())
        sys.exit("not as kept" if kept != found else 0)
    KEPT.write_text("[\n" + ",\n".join(json.dumps(one) for one in found) + "\n]\n")


main()
