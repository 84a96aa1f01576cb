"""Reads calendars with the `icalendar` library, which nobody here wrote: pip install icalendar.

Arguments: a calendar, then the manifest of the batch of its contract. Every visit that was planned is an event once, at its time.
"""

import json
import sys
from datetime import datetime
from pathlib import Path

import icalendar

text = Path(sys.argv[1]).read_bytes()
assert all(len(line) <= 75 for line in text.split(b"\r\n")) and text.endswith(b"\r\n") and b"\n" not in text.replace(b"\r\n", b"")
calendar = icalendar.Calendar.from_ical(text)
assert calendar.get("version") == "2.0" and calendar.get("prodid")
events = {}
for event in calendar.walk("VEVENT"):
    assert not event.errors, event.errors
    uid = str(event["uid"])
    assert uid not in events, uid
    events[uid] = event
    start, end = event.decoded("dtstart"), event.decoded("dtend")
    # as the clocks at the site show it
    assert isinstance(start, datetime) and start.tzinfo is None and start < end
    assert event.decoded("dtstamp").tzinfo is not None
manifest = Path(sys.argv[2])
visits = {job["job"]: job["file"] for job in json.loads(manifest.read_text())["jobs"] if job["kind"] == "visit"}
assert len(events) == len(visits), (len(events), len(visits))
for uid, event in events.items():
    number = uid.split("@")[0].split(".", 1)[1]
    lines = (manifest.parent / "jobs" / f"{number}.yaml").read_text().splitlines()
    start = next(line.split('"')[1] for line in lines if line.strip().startswith("start:"))
    assert event.decoded("dtstart").isoformat()[:16] == start, (number, start)
    assert str(event["description"]).splitlines()[0] == number
print(f"{len(events)} events, each with its visit and at its time")
