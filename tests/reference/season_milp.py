#!/usr/bin/env python3
"""Which days to sow on: writes season_milp.json beside this script, 100 random seasons and what the best choice costs.

Of each item (a sowing, or a succession) one way is taken. Of all choices the one with the fewest tray-days beyond the
rack, the mats and the trays of a day counts; of those the one with the fewest days of work; of those the one with the
fewest half days off the middles. Three mixed-integer programmes (scipy.optimize.milp, HiGHS) are solved one after the
other, each holding the optimum of the one before. The cost of the last answer is worked out again day by day without
any solver, and small seasons are solved by trying every choice; all agree or the script stops.

There is no frame here: what stands in it depends on all choices of a day together.

Each season: limits {places, mats, trays_a_day} (null: none); items, each a list of ways [off, stays]; each stay
[from, until, trays, spaced, places_then, mat_until, work] (spaced and mat_until: null for never); cost [over, days, off].

How to run:  python3 -m venv venv && venv/bin/pip install scipy numpy && venv/bin/python -P season_milp.py
(-P since calendar.py beside this script would stand in for the module of that name.)
Last run with scipy 1.17 on Python 3.11. The seed is fixed: the file comes out the same each time.
"""
import itertools
import json
import math
import random
from pathlib import Path

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import csr_array

SEED, CASES = 20270213, 100
LIMITS = ("places", "mats", "trays_a_day")


def days_of(stay):
    """What a stay takes: (limit, day, trays)."""
    start, until, trays, spaced, places_then, mat_until, work = stay
    for day in range(start, until):
        yield "places", day, places_then if spaced is not None and day >= spaced else trays
        if mat_until is not None and day < mat_until:
            yield "mats", day, trays
    if work:
        yield "trays_a_day", start, trays


def taken(way):
    load = {}
    for stay in way[1]:
        for limit, day, trays in days_of(stay):
            load[limit, day] = load.get((limit, day), 0) + trays
    return load


def work_days(way):
    return {stay[0] for stay in way[1] if stay[6]}


def cost(ways, limits):
    """The cost of one choice, day by day."""
    load = {}
    for way in ways:
        for key, trays in taken(way).items():
            load[key] = load.get(key, 0) + trays
    over = sum(max(0, trays - limits[limit]) for (limit, _), trays in load.items() if limits[limit] is not None)
    return over, len(set().union(*map(work_days, ways))), sum(way[0] for way in ways)


def every(items, limits):
    """Tries every choice, or None where there are too many."""
    if math.prod(map(len, items)) > 5_000:
        return None
    return min(cost(ways, limits) for ways in itertools.product(*items))


def by_milp(items, limits):
    """Variables: the ways of all items, the days of work, the trays beyond each limit on each day."""
    ways = [(index, way) for index, item in enumerate(items) for way in item]
    loads = [taken(way) for _, way in ways]
    days = sorted(set().union(*(work_days(way) for _, way in ways)))
    scarce = sorted({key for load in loads for key in load if limits[key[0]] is not None})
    day_at = {day: len(ways) + at for at, day in enumerate(days)}
    over_at = {key: len(ways) + len(days) + at for at, key in enumerate(scarce)}
    width = len(ways) + len(days) + len(scarce)
    cells, low, high = [], [], []

    def row(entries, least, most):
        cells.extend((len(low), column, value) for column, value in entries)
        low.append(least)
        high.append(most)

    for index in range(len(items)):
        row([(at, 1) for at, (item, _) in enumerate(ways) if item == index], 1, 1)
        for day in days:
            users = [(at, -1) for at, (item, way) in enumerate(ways) if item == index and day in work_days(way)]
            if users:
                row([*users, (day_at[day], 1)], 0, np.inf)
    for key in scarce:
        users = [(at, load[key]) for at, load in enumerate(loads) if key in load]
        row([*users, (over_at[key], -1)], -np.inf, limits[key[0]])
    rows, columns, values = zip(*cells)
    constraints = [LinearConstraint(csr_array((values, (rows, columns)), shape=(len(low), width)), low, high)]
    whole = np.array([1] * (len(ways) + len(days)) + [0] * len(scarce))
    bounds = Bounds(0, [1] * (len(ways) + len(days)) + [np.inf] * len(scarce))
    objectives = np.zeros((3, width))
    objectives[0, len(ways) + len(days):] = 1
    objectives[1, len(ways):len(ways) + len(days)] = 1
    objectives[2, :len(ways)] = [way[0] for _, way in ways]
    best = []
    for objective in objectives:
        answer = milp(objective, constraints=constraints, bounds=bounds, integrality=whole, options={"mip_rel_gap": 0})
        assert answer.success, answer.message
        best.append(round(answer.fun))
        assert abs(answer.fun - best[-1]) < 1e-3, answer.fun
        constraints.append(LinearConstraint(objective, -np.inf, best[-1] + 0.5))
    chosen = [way for at, (_, way) in enumerate(ways) if answer.x[at] > 0.5]
    assert list(cost(chosen, limits)) == best, (cost(chosen, limits), best)
    return tuple(best)


def draw_item(random_, weekly, first, last):
    """A sowing, or now and then a succession or one that is potted on; on Saturdays, or on any day."""
    least = random_.randint(28, 49)
    most = least + random_.choice([7, 14, 21])
    out = random_.randint(first, last)
    plantings = random_.choice([1, 1, 1, 2, 3])
    every_days = random_.choice([7, 14, 21])
    trays = random_.randint(1, 4)
    mat = random_.choice([None, None, 7, 10])
    pots = random_.random() < 0.25
    leaves = out - random_.choice([7, 10])

    def near(day):
        return (day + 3) // 7 * 7 if weekly else day

    ways = []
    for day in range(out - most, out - least + 1, 1):
        if weekly and day % 7:
            continue
        off, stays = 0, []
        for at in range(plantings):
            sown, gone = near(day + at * every_days), leaves + at * every_days
            off += abs(2 * (sown - at * every_days) - (2 * out - least - most))
            potted = near(sown + 24) if pots else gone
            stays.append([sown, min(potted, gone), trays, None, 0, sown + mat if mat else None, True])
            if potted < gone:
                spaced = potted + 14 if random_.random() < 0.5 else None
                stays.append([potted, gone, trays + 1, spaced, 2 * trays + 1, None, True])
        ways.append([off, stays])
    return ways or draw_item(random_, weekly, first, last)


def draw(random_, index):
    weekly = index % 5 > 0
    count = random_.randint(3, 6) if index % 4 == 0 else random_.randint(10, 25 if weekly else 14)
    items = [draw_item(random_, weekly, 60, 60 + count * random_.choice([4, 8])) for _ in range(count)]
    trays = sum(max(load for load in taken(item[0]).values()) for item in items)
    limits = {
        "places": random_.choice([None, trays * 3 // 10 + 1, trays * 5 // 10 + 1, trays * 8 // 10 + 1]),
        "mats": random_.choice([None, trays // 10 + 1, trays // 5 + 1]),
        "trays_a_day": random_.choice([None, None, trays // 5 + 3]),
    }
    return items, limits


def main():
    random_ = random.Random(SEED)
    cases, tried = [], 0
    for index in range(CASES):
        items, limits = draw(random_, index)
        answer = by_milp(items, limits)
        brute = every(items, limits)
        if brute is not None:
            tried += 1
            assert answer == brute, (items, limits, answer, brute)
        cases.append({"limits": limits, "items": items, "cost": answer})
    path = Path(__file__).with_name("season_milp.json")
    path.write_text("[\n" + ",\n".join(json.dumps(case, separators=(",", ":")) for case in cases) + "\n]\n")
    print(len(cases), "seasons,", tried, "also by trying every choice,", path)


if __name__ == "__main__":
    main()
