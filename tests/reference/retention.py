#!/usr/bin/env python3
"""Water in drained cells by the curve of van Genuchten (1980): writes retention.json beside this script, or with --check
compares with it.

A case is a cell (round or square, top, bottom and height in cm) of a mix (porosity and water held in a core 7.6 cm tall,
as shares of the volume). Expected are the curve's scale (1/cm), solved so that the mean over the core is the water held,
with the exponent 1.7 and a residual of a quarter of the water held, and the mean water over the cell, each height by the
area there. scipy.integrate.quad over the pieces between the heights where the curve bends, and scipy.optimize.brentq.

How to run:  python3 -m venv venv && venv/bin/pip install scipy && venv/bin/python -P retention.py
Last run with scipy 1.17 on Python 3.11. The seed is fixed: the file comes out the same each time.
"""
import json
import math
import random
import sys
from pathlib import Path

from scipy.integrate import quad
from scipy.optimize import brentq

KEPT = Path(__file__).with_suffix(".json")
EXPONENT, RESIDUAL, CORE_CM = 1.7, 0.25, 7.6


def mean(of, height, scale):
    """The mean of a function of the height from 0 to so many centimetres."""
    bends = [height * 10.0**-k for k in range(1, 9)] + [c / scale for c in (0.1, 0.3, 1, 3, 10, 30)]
    ends = [0.0] + sorted(bend for bend in bends if 0 < bend < height) + [height]
    pieces = (quad(of, *ends[i : i + 2], epsabs=1e-15, epsrel=1e-13, limit=200)[0] for i in range(len(ends) - 1))
    return math.fsum(pieces) / height


def water(suction, porosity, held, scale):
    residual = RESIDUAL * held
    return residual + (porosity - residual) * (1 + (scale * suction) ** EXPONENT) ** (1 / EXPONENT - 1)


def case(draw):
    porosity = draw.uniform(0.35, 0.98)
    held = porosity * draw.uniform(0.15, 0.99)
    shape = draw.choice(["square", "round"])
    top = draw.uniform(1.2, 15)
    bottom, height = top * draw.uniform(0, 1.2), draw.uniform(1.5, 25)
    miss = lambda log: mean(lambda z: water(z, porosity, held, math.exp(log)), CORE_CM, math.exp(log)) - held
    scale = math.exp(brentq(miss, math.log(1e-6), math.log(1e6), xtol=1e-14, rtol=1e-14))
    side = lambda z: bottom + (top - bottom) * z / height
    factor = math.pi / 4 if shape == "round" else 1
    area = lambda z: factor * side(z) ** 2
    volume = mean(area, height, scale)
    in_cell = mean(lambda z: area(z) * water(z, porosity, held, scale), height, scale) / volume
    given = dict(shape=shape, top_cm=top, bottom_cm=bottom, height_cm=height, porosity=porosity, water_held=held)
    return {**given, "per_cm": scale, "water": in_cell}


def main():
    draw = random.Random(7)
    found = [case(draw) for _ in range(50)]
    if "--check" in sys.argv:
        kept = json.loads(KEPT.read_text())
        off = [abs(one[key] - other[key]) for one, other in zip(found, kept) for key in ("per_cm", "water")]
        sys.exit("not as kept" if len(kept) != len(found) or max(off) > 1e-10 else 0)
    KEPT.write_text("[\n" + ",\n".join(json.dumps(one) for one in found) + "\n]\n")


main()
