#!/usr/bin/env python3
"""Reruns the courses of soak_cases.json in PHREEQC and compares, or rewrites, the expected values.

    python3 -m venv venv && venv/bin/pip install phreeqpython
    venv/bin/python soak_chains.py            compare; exit code 1 if a value has moved
    venv/bin/python soak_chains.py --write    rewrite soak_cases.json
    venv/bin/python soak_chains.py --activity print the last shares of the sites with exchange by activities

phreeqpython brings PHREEQC 3.7.3 and its phreeqc.dat. Not needed by `cargo test`.

What to know: phreeqpython loads vitens.dat unless told otherwise; ammonium must be an element of its own (Amm), or
nitrate oxidises it; the water is kept aerated for the same reason; MIX scales water as well as ions, so the water held
is a fraction of the last bath.
"""

import json
import sys
from pathlib import Path

from phreeqpython import PhreeqPython

CASES = Path(__file__).with_name("soak_cases.json")

AMMONIUM = """
SOLUTION_MASTER_SPECIES
    Amm AmmH+ 0.0 AmmH 17.031
SOLUTION_SPECIES
    AmmH+ = AmmH+
        -gamma 2.5 0
        -dw 1.98e-9
EXCHANGE_SPECIES
    AmmH+ + X- = AmmHX
        -log_k 0.6
        -gamma 2.5 0
END
"""

# Exchange species without activity coefficients: mass action in activities of the ions.
BY_ACTIVITY = "EXCHANGE_SPECIES\n" + "".join(
    f" {reaction}\n -log_k {log_k}\n"
    for reaction, log_k in [
        ("Na+ + X- = NaX", 0.0),
        ("K+ + X- = KX", 0.7),
        ("AmmH+ + X- = AmmHX", 0.6),
        ("Ca+2 + 2X- = CaX2", 0.8),
        ("Mg+2 + 2X- = MgX2", 0.6),
    ]
)

# Element of PHREEQC, exchange species, charge, by our symbol.
CATIONS = {
    "Na": ("Na", "NaX", 1),
    "K": ("K", "KX", 1),
    "NH4": ("Amm", "AmmHX", 1),
    "Ca": ("Ca", "CaX2", 2),
    "Mg": ("Mg", "MgX2", 2),
}
ELEMENTS = {**{ion: row[0] for ion, row in CATIONS.items()}, "Cl": "Cl", "NO3": "N(5)", "SO4": "S(6)"}

# Ions per formula unit.
SALTS = {
    "NaCl": {"Na": 1, "Cl": 1},
    "KCl": {"K": 1, "Cl": 1},
    "Ca(NO3)2": {"Ca": 1, "NO3": 2},
    "MgSO4": {"Mg": 1, "SO4": 1},
    "5Ca(NO3)2.NH4NO3": {"Ca": 5, "NH4": 1, "NO3": 11},
}

PUNCH = ["water", "sc", "mu", "si", "gypsum", *(f"x{ion}" for ion in CATIONS), *ELEMENTS]


def punch_block():
    columns = ['TOT("water")', "SC", "MU", 'SI("Gypsum")', 'EQUI("Gypsum")']
    columns += [f'MOL("{species}")' for _, species, _ in CATIONS.values()]
    columns += [f'TOT("{element}")' for element in ELEMENTS.values()]
    return (
        "SELECTED_OUTPUT\n -reset false\n -high_precision true\nUSER_PUNCH\n"
        f" -headings {' '.join(PUNCH)}\n 10 PUNCH {', '.join(columns)}\n"
    )


def ions_of(salts):
    """Moles (or mmol) of each ion in {salt: amount}."""
    ions = {}
    for salt, amount in salts.items():
        for ion, count in SALTS[salt].items():
            ions[ion] = ions.get(ion, 0) + count * amount
    return ions


def fresh_block(step, soluble_mol):
    """SOLUTION 2: the water of a step with its salts, and those of the coir in the first step."""
    mmol = ions_of(step.get("salts_mmol_per_kg", {}))
    for ion, mol in ions_of(soluble_mol).items():
        mmol[ion] = mmol.get(ion, 0) + 1e3 * mol / step["water_kg"]
    lines = [f" {ELEMENTS[ion]} {value!r}" for ion, value in mmol.items()]
    head = "SOLUTION 2\n temp 25\n pH 7\n pe 12.5 O2(g) -0.68\n units mmol/kgw\n"
    return head + f" -water {step['water_kg']}\n" + "\n".join(lines) + "\n"


def run_case(case, definitions=AMMONIUM):
    """The expected values of a case, computed by PHREEQC."""
    phreeqc = PhreeqPython(database="phreeqc.dat").ip
    phreeqc.run_string(definitions)
    capacity = case["cec_molc_per_kg"] * case["dry_kg"]
    held_kg = case["retained_kg_per_kg"] * case["dry_kg"]
    sites = [f" {CATIONS[ion][1]} {beta * capacity / CATIONS[ion][2]!r}" for ion, beta in case["beta0"].items()]
    phreeqc.run_string("EXCHANGE 1\n" + "\n".join(sites) + "\nEND\n")
    soluble = {salt: mol * case["dry_kg"] for salt, mol in case["soluble_salts_mol_per_kg"].items()}
    results, held = [], 0.0
    for number, step in enumerate(case["steps"]):
        phreeqc.run_string(fresh_block(step, soluble if number == 0 else {}) + "END\n")
        supply = step.get("gypsum_mol", 0.0)
        solid = f"EQUILIBRIUM_PHASES 1\n Gypsum 0 {supply!r}\n" if supply else ""
        mix = "MIX 1\n 2 1.0\n" + (f" 3 {held!r}\n" if number else "")
        phreeqc.run_string(punch_block() + mix + "USE exchange 1\n" + solid + "SAVE solution 3\nSAVE exchange 1\nEND\n")
        header, *_, values = phreeqc.get_selected_output_array()
        row = dict(zip(header, values))
        results.append(outcome(step["kind"], row, capacity, supply, held_kg))
        held = min(held_kg, row["water"]) / row["water"]
    return results


def outcome(kind, row, capacity, supply, held_kg):
    water = row["water"]
    has_gypsum = row["si"] > -99
    return {
        "kind": kind,
        "water_total_kg": water,
        "beta": {ion: row[f"x{ion}"] * water * charge / capacity for ion, (_, _, charge) in CATIONS.items()},
        "bath_mmol_per_kg": {ion: 1e3 * row[ion] for ion in ELEMENTS},
        "ionic_strength": row["mu"],
        "ec_mS_cm": row["sc"] / 1e3,
        "SI_gypsum": row["si"] if has_gypsum else None,
        "gypsum_dissolved_mol": supply - row["gypsum"] if supply else 0.0,
        "drained_kg": max(0.0, water - held_kg),
    }


def numbers(value, path=""):
    """Every number below a JSON value, with its path."""
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from numbers(inner, f"{path}/{key}")
    elif isinstance(value, list):
        for index, inner in enumerate(value):
            yield from numbers(inner, f"{path}/{index}")
    elif not isinstance(value, str):
        yield path, value


def compare(case_id, old, new):
    """Prints what has moved by more than the rounding of the file; returns the largest relative change."""
    old, new, worst = dict(numbers(old)), dict(numbers(new)), 0.0
    for path, before in old.items():
        after = new[path]
        if before is None or after is None:
            moved = 0.0 if before == after else float("inf")
        else:
            moved = abs(after - before) / max(abs(before), 1e-3)
        worst = max(worst, moved)
        if moved > 1e-4:
            print(f"{case_id}{path}: {before} is now {after}")
    return worst


def rounded(value):
    """Seven significant digits, as in the file."""
    if isinstance(value, dict):
        return {key: rounded(inner) for key, inner in value.items()}
    if isinstance(value, list):
        return [rounded(inner) for inner in value]
    return float(f"{value:.7g}") if isinstance(value, float) else value


def main():
    document = json.loads(CASES.read_text(encoding="utf-8"))
    if "--activity" in sys.argv[1:]:
        for case in document["cases"]:
            print(case["id"], rounded(run_case(case, AMMONIUM + BY_ACTIVITY + "END\n")[-1]["beta"]))
        return 0
    worst = 0.0
    for case in document["cases"]:
        results = run_case(case)
        moved = compare(case["id"], case["expected"], results)
        print(f"{case['id']}: {len(results)} steps, largest relative change {moved:.1e}")
        worst = max(worst, moved)
        case["expected"] = rounded(results)
    if "--write" in sys.argv[1:]:
        CASES.write_text(json.dumps(document, indent=1) + "\n", encoding="utf-8")
        print(f"wrote {CASES}")
        return 0
    return 1 if worst > 1e-4 else 0


if __name__ == "__main__":
    sys.exit(main())
