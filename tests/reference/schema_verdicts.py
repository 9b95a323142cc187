#!/usr/bin/env python3
"""What a reference validator says of each file by the program's own schemas: writes schema_verdicts.csv beside this
script, or with --check compares with it.

Files: all YAML that ships under recipes/ (but the catalogue), the week that the README quotes, and every YAML file of
tests/corpus/bad whose first key names its kind. Columns: file; passes or fails. Each schema is first held against the
metaschema of JSON Schema 2020-12. YAML is read by the core schema of YAML 1.2, as editors do.

How to run:  cargo build && python3 -m venv venv && venv/bin/pip install jsonschema pyyaml &&
             venv/bin/python tests/reference/schema_verdicts.py target/debug/trayful
Last run with jsonschema 4.26 and PyYAML 6.0 on Python 3.11.
"""
import csv
import json
import re
import subprocess
import sys
from pathlib import Path

import yaml
from jsonschema import Draft202012Validator

ROOT = Path(__file__).resolve().parents[2]
KEPT = Path(__file__).with_suffix(".csv")


class Core(yaml.SafeLoader):
    """YAML 1.2: `yes` and `10:00` are texts, a date is one, and so is 1_000."""


Core.yaml_implicit_resolvers = {}
for tag, form, first in [
    ("null", r"~|null|Null|NULL|", ["~", "n", "N", ""]),
    ("bool", r"true|True|TRUE|false|False|FALSE", list("tTfF")),
    ("int", r"[-+]?[0-9]+|0o[0-7]+|0x[0-9a-fA-F]+", list("-+0123456789")),
    ("float", r"[-+]?(\.[0-9]+|[0-9]+(\.[0-9]*)?)([eE][-+]?[0-9]+)?|[-+]?\.(inf|Inf|INF)|\.(nan|NaN|NAN)", list("-+.0123456789")),
]:
    Core.add_implicit_resolver(f"tag:yaml.org,2002:{tag}", re.compile(f"^(?:{form})$"), first)
# Decimal digits alone: PyYAML would read a leading zero as octal.
Core.add_constructor("tag:yaml.org,2002:int", lambda loader, node: int(node.value, 0 if node.value[:2] in ("0x", "0o") else 10))
Core.add_constructor("tag:yaml.org,2002:float", lambda loader, node: float(node.value.replace(".inf", "inf").replace(".nan", "nan").lower().replace(".", "", 0)))


def verdicts(program):
    validators = {}
    for kind in ["week", "recipe", "soak", "stock", "place", "season"]:
        schema = json.loads(subprocess.run([program, "schema", kind], check=True, capture_output=True).stdout)
        Draft202012Validator.check_schema(schema)
        validators[kind] = Draft202012Validator(schema)
    files = [path for path in sorted(ROOT.glob("recipes/**/*.yaml")) if "catalogue" not in path.parts]
    files += sorted((ROOT / "tests/corpus/bad").glob("*.yaml"))
    texts = [(path.relative_to(ROOT).as_posix(), path.read_bytes()) for path in files]
    texts.append(("README.md", (ROOT / "README.md").read_text().split("```yaml\n")[1].split("```")[0].encode()))
    for name, text in texts:
        try:
            data = yaml.load(text.decode(), Core)
        except (yaml.YAMLError, UnicodeDecodeError, ValueError, RecursionError):
            continue
        kind = next(iter(data), None) if isinstance(data, dict) else None
        if kind not in validators:
            continue
        faults = list(validators[kind].iter_errors(data))
        if "-v" in sys.argv and faults and "bad" not in name:
            print(name, *[f"{fault.json_path}: {fault.message[:300]}" for fault in faults], sep="\n  ")
        yield name, "fails" if faults else "passes"


def main():
    found = list(verdicts(sys.argv[1]))
    if "--check" in sys.argv:
        kept = [tuple(row) for row in csv.reader(KEPT.open())][1:]
        differ = sorted(set(found) ^ set(kept))
        sys.exit(f"not as kept: {differ}" if differ else 0)
    with KEPT.open("w", newline="") as out:
        writer = csv.writer(out, lineterminator="\n")
        writer.writerow(["file", "verdict"])
        writer.writerows(found)


main()
