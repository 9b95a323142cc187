#!/usr/bin/env python3
"""What the library `icalendar` reads of calendar.ics: writes calendar.json beside this script.

calendar.ics is what the test `cli::calendar::another_program_reads_what_was_meant` renders; the test compares both
files with what was to be said. With the path of the built program it also reads the calendars of all weeks and seasons
that ship.

How to run:  python3 -m venv venv && venv/bin/pip install icalendar && venv/bin/python calendar.py [trayful]
Last run with icalendar 7.3.2 on Python 3.11.
"""
import json
import subprocess
import sys
from pathlib import Path

# The script must not be taken for the module `calendar` of Python.
here = Path(__file__).resolve().parent
sys.path = [place for place in sys.path if Path(place or ".").resolve() != here]
import icalendar  # noqa: E402


def read(text):
    calendar = icalendar.Calendar.from_ical(text)
    assert not calendar.errors, calendar.errors
    events = calendar.walk("VEVENT")
    for event in events:
        assert not event.errors, event.errors
        for name in ("UID", "DTSTAMP", "DTSTART", "SUMMARY"):
            assert name in event, (name, event)
    uids = [event["UID"] for event in events]
    assert len(uids) == len(set(uids)), "two events are one"
    return [
        {
            "uid": str(event["UID"]),
            "start": event["DTSTART"].dt.isoformat(),
            "summary": str(event["SUMMARY"]),
            "description": str(event.get("DESCRIPTION", "")),
            "alarms": len(event.walk("VALARM")),
        }
        for event in events
    ]


events = read((here / "calendar.ics").read_bytes())
(here / "calendar.json").write_text(json.dumps(events, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")
for program in sys.argv[1:2]:
    for command, folder, more in (("plan", "weeks", []), ("season", "seasons", ["--today", "2027-01-04"])):
        for file in sorted((here.parent.parent / "recipes" / folder).glob("*.yaml")):
            words = [program, command, file, "--format", "ics", *more]
            text = subprocess.run(words, check=True, capture_output=True).stdout
            print(file.name, len(read(text)), "events")
