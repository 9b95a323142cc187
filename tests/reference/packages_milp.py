#!/usr/bin/env python3
"""Which packages to buy: writes packages_milp.csv beside this script, 300 random cases.

Whole packages are bought so that they give at least need_ml; of all ways the cheapest counts, of those the one with
the least left over, of those the one with the fewest packages. Three mixed-integer programmes (scipy.optimize.milp,
HiGHS) are solved one after the other, each holding the optimum of the one before. Every case is then solved again
without any solver, by a table over millilitres (see `table`), and small ones by trying every combination; all agree
or the script stops. Three random kinds of case: free prices; prices in step with the contents (many ties in cost);
and contents that are multiples of each other (many ties in cost and in what is left over).

Columns: need_ml; packages as "gives:price;gives:price" in mL and cents; cost_cents; left_ml; count.
The counts per kind are not listed: two purchases may tie in all three.

How to run:  python3 -m venv venv && venv/bin/pip install scipy numpy && venv/bin/python packages_milp.py
Last run with scipy 1.17 on Python 3.11. The seed is fixed: the file comes out the same each time.
"""
import csv
import itertools
import math
import random
from pathlib import Path

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp

SEED, CASES = 20270306, 300


def by_milp(need, packages):
    gives = np.array([g for g, _ in packages], float)
    price = np.array([p for _, p in packages], float)
    ones = np.ones(len(packages))
    # never more of one kind than would do alone
    bounds = Bounds(0, [max(1, math.ceil(need / g)) for g, _ in packages])
    rows = [LinearConstraint(gives, need, np.inf)]
    results = []
    for objective in (price, gives, ones):
        answer = milp(objective, constraints=rows, bounds=bounds, integrality=ones,
                      options={"mip_rel_gap": 0, "presolve": True})
        assert answer.success, (need, packages, answer.message)
        counts = np.round(answer.x).astype(int)
        assert np.abs(answer.x - counts).max() < 1e-6
        best = int(round(float(objective @ counts)))
        results.append(best)
        rows.append(LinearConstraint(objective, -np.inf, best + 0.5))
    cost, total, count = results
    return cost, total - need, count


def table(need, packages):
    """best[v] = least (cost, given, count) that gives at least v more millilitres; v below 0 counts as 0."""
    step = math.gcd(*[g for g, _ in packages])
    units = -(-need // step)                       # contents are multiples of step, so only these levels matter
    sizes = [(g // step, g, p) for g, p in packages]
    best = [(0, 0, 0)] * (units + 1)
    for v in range(1, units + 1):
        best[v] = min((c + p, t + g, n + 1) for u, g, p in sizes for c, t, n in (best[max(0, v - u)],))
    cost, total, count = best[units]
    return cost, total - need, count


def every(need, packages):
    """Tries every combination, or None where there are too many."""
    most = [-(-need // g) for g, _ in packages]
    if math.prod(m + 1 for m in most) > 3_000_000:
        return None
    best = None
    for counts in itertools.product(*[range(m + 1) for m in most]):
        total = sum(n * g for n, (g, _) in zip(counts, packages))
        if total >= need:
            rank = (sum(n * p for n, (_, p) in zip(counts, packages)), total - need, sum(counts))
            best = rank if best is None else min(best, rank)
    return best


def draw(random_, index):
    kinds = random_.randint(1, 4)
    style = index % 3
    packages = []
    while len(packages) < kinds:
        if style == 0:
            gives, price = random_.randint(300, 190_000), random_.randint(50, 6_000)
        elif style == 1:
            litres = random_.choice([5, 8, 9, 10, 20, 25, 28, 40, 50, 60, 65, 70, 75, 100, 107, 113, 190])
            gives, price = litres * 1000, litres * random_.choice([20, 25, 25, 30])
        else:
            gives = 2_500 * 2 ** random_.randint(0, 5)
            price = gives // 100 * random_.choice([2, 3, 3])
        if all(gives != g for g, _ in packages):
            packages.append((gives, price))
    smallest = min(g for g, _ in packages)
    need = random_.randint(1, min(600_000, smallest * 60))
    if index % 10 == 7:                            # an exact multiple: nothing may be left over, nor one bought too many
        need = smallest * random_.randint(1, 12)
    return need, packages


def main():
    random_ = random.Random(SEED)
    rows, tried = [], 0
    for index in range(CASES):
        need, packages = draw(random_, index)
        answer = by_milp(need, packages)
        assert answer == table(need, packages), (need, packages, answer, table(need, packages))
        brute = every(need, packages)
        if brute is not None:
            tried += 1
            assert answer == brute, (need, packages, answer, brute)
        rows.append((need, ";".join(f"{g}:{p}" for g, p in packages), *answer))
    path = Path(__file__).with_name("packages_milp.csv")
    with path.open("w", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["need_ml", "packages", "cost_cents", "left_ml", "count"])
        writer.writerows(rows)
    print(len(rows), "rows,", tried, "also by trying every combination,", path)


if __name__ == "__main__":
    main()
