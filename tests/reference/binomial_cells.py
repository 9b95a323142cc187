#!/usr/bin/env python3
"""Cells to sow for a wanted number of plants: writes binomial_cells.csv beside this script.

cells = the smallest n with P(Bin(n, p) >= plants) >= surety,  p = (1 - (1 - germination)^seeds) x usable.

The tail comes from scipy.stats.binom (regularised incomplete beta function). Every row is then checked a second
time: by exact fractions where n is small, by 60-digit mpmath elsewhere, and a row whose tail lies within 1e-9 of
the surety at n or at n - 1 is refused, because a program in floating point could honestly answer one more or less.

How to run:  python3 -m venv venv && venv/bin/pip install scipy mpmath && venv/bin/python binomial_cells.py
Last run with scipy 1.17 on Python 3.11. No random numbers: the file comes out the same each time.
"""
import csv
from fractions import Fraction
from math import comb
from pathlib import Path

import mpmath
from scipy.stats import binom

mpmath.mp.dps = 60

# Published in the project's notes (references/mix.md section 7).
KNOWN = [
    ("0.75", 1, "0.90", 100, "0.9", 159),
    ("0.55", 1, "0.85", 72, "0.9", 171),
    ("0.55", 2, "0.90", 50, "0.9", 77),
]

# germination, seeds, usable, plants, surety
CASES = [
    # one plant, easy and hard seed
    *[(g, 1, "1", 1, s) for g in ("0.2", "0.5", "0.8", "0.99") for s in ("0.5", "0.9", "0.999")],
    # the everyday range: packet figures and legal minima, usable 90 %, surety 90 %
    *[(g, 1, "0.9", n, "0.9")
      for g in ("0.5", "0.6", "0.7", "0.8", "0.85", "0.95") for n in (6, 24, 50, 72, 128, 288)],
    # two and three seeds a cell
    *[(g, k, "0.9", n, "0.9") for g in ("0.5", "0.65", "0.8") for k in (2, 3) for n in (18, 72, 200)],
    # surety from even odds to one in a thousand
    *[("0.7", 1, "0.9", 100, s) for s in ("0.5", "0.75", "0.8", "0.95", "0.99", "0.999")],
    *[("0.2", 1, "1", 25, s) for s in ("0.5", "0.9", "0.999")],
    *[("0.99", 1, "1", 500, s) for s in ("0.5", "0.9", "0.999")],
    # usable apart from germination
    ("0.75", 1, "0.5", 40, "0.9"), ("0.75", 1, "1", 40, "0.9"), ("0.9", 1, "0.85", 60, "0.95"),
    ("0.3", 5, "0.95", 80, "0.9"), ("0.25", 4, "0.8", 33, "0.85"), ("0.62", 1, "0.93", 3, "0.97"),
    # a holding's year, and far beyond one
    ("0.8", 1, "0.9", 1000, "0.9"), ("0.55", 1, "0.9", 2500, "0.95"), ("0.9", 1, "0.95", 5000, "0.9"),
    ("0.2", 1, "1", 5000, "0.999"), ("0.7", 1, "0.9", 20000, "0.9"), ("0.85", 2, "0.9", 100000, "0.9"),
    ("0.75", 1, "0.9", 1000000, "0.5"), ("0.75", 1, "0.9", 1000000, "0.999"), ("0.2", 1, "1", 1000000, "0.9"),
]


def chance(germination, seeds, usable):
    """p as an exact fraction."""
    return (1 - (1 - Fraction(germination)) ** seeds) * Fraction(usable)


def smallest(p, plants, surety):
    """The smallest n by doubling and bisection: the tail rises with n."""
    enough = lambda n: binom.sf(plants - 1, n, p) >= surety
    low, high = plants - 1, plants          # low is never enough: fewer cells than plants
    while not enough(high):
        low, high = high, 2 * high
    while high - low > 1:
        middle = (low + high) // 2
        low, high = (low, middle) if enough(middle) else (middle, high)
    return high


def tail(n, plants, p):
    """P(Bin(n, p) >= plants), exactly or to 50 digits."""
    if plants > n:
        return 0
    if n <= 400:
        return sum(comb(n, k) * p**k * (1 - p) ** (n - k) for k in range(plants, n + 1))
    if p == 1:
        return 1
    # sum of the smaller side, each term from the one before
    prob = mpmath.mpf(p.numerator) / p.denominator
    log_first = lambda k: (mpmath.loggamma(n + 1) - mpmath.loggamma(k + 1) - mpmath.loggamma(n - k + 1)
                           + k * mpmath.log(prob) + (n - k) * mpmath.log(1 - prob))
    mean = n * prob
    odds = prob / (1 - prob)
    if plants > mean:
        term, total, k = mpmath.exp(log_first(plants)), mpmath.mpf(0), plants
        while term > mpmath.mpf(10) ** -45 and k <= n:
            total += term
            term *= odds * (n - k) / (k + 1)
            k += 1
        return total
    term, total, k = mpmath.exp(log_first(plants - 1)), mpmath.mpf(0), plants - 1
    while term > mpmath.mpf(10) ** -45 and k >= 0:
        total += term
        term *= k / ((n - k + 1) * odds)
        k -= 1
    return 1 - total


def main():
    rows, seen = [], set()
    for case in [k[:5] for k in KNOWN] + CASES:
        if case in seen:
            continue
        seen.add(case)
        germination, seeds, usable, plants, surety = case
        p = chance(germination, seeds, usable)
        cells = smallest(float(p), plants, float(surety))
        wanted = Fraction(surety)
        here, before = tail(cells, plants, p), tail(cells - 1, plants, p)
        if isinstance(here, mpmath.mpf) or isinstance(before, mpmath.mpf):
            wanted = mpmath.mpf(wanted.numerator) / wanted.denominator
        if here != 0 and (abs(here - wanted) < 1e-9 or abs(before - wanted) < 1e-9):
            print("left out, a tie within 1e-9:", case)
            continue
        assert before < wanted <= here, (case, cells)
        rows.append((*case, cells))
    for known in KNOWN:
        assert known in rows, known
    path = Path(__file__).with_name("binomial_cells.csv")
    with path.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["germination", "seeds", "usable", "plants", "surety", "cells"])
        writer.writerows(rows)
    print(len(rows), "rows,", path)


if __name__ == "__main__":
    main()
