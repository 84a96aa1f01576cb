"""Writes recurrence.csv: the days of 200 recurrence rules by python-dateutil.

The rules are drawn at random, from a fixed seed, over every part that speaks of days but BYWEEKNO; those that give no
day within 6000 days are passed over. A list inside a rule is joined by + in the place of the comma.
"""

import random
from datetime import datetime, timedelta

from dateutil.rrule import rrulestr

import table

SEED, WANTED = 5545, 200
DAYS = ["MO", "TU", "WE", "TH", "FR", "SA", "SU"]


def some(draw, values, most):
    return ",".join(str(v) for v in draw.sample(values, draw.randint(1, most)))


def rule(draw):
    freq = draw.choice(["DAILY", "WEEKLY", "MONTHLY", "YEARLY"])
    parts = [f"FREQ={freq}", f"INTERVAL={draw.randint(1, 4)}", f"WKST={draw.choice(DAYS)}"]
    by = 0
    if draw.random() < 0.3:
        parts.append("BYMONTH=" + some(draw, range(1, 13), 4))
        by += 1
    if draw.random() < 0.6:
        numbered = [f"{n}{d}" for n in (-2, -1, 1, 2, 3) for d in DAYS] if freq in ("MONTHLY", "YEARLY") else []
        parts.append("BYDAY=" + some(draw, numbered if numbered and draw.random() < 0.6 else DAYS, 3))
        by += 1
    if freq != "WEEKLY" and draw.random() < 0.3:
        parts.append("BYMONTHDAY=" + some(draw, [-2, -1, *range(1, 32)], 8))
        by += 1
    if freq == "YEARLY" and draw.random() < 0.2:
        parts.append("BYYEARDAY=" + some(draw, [-1, -100, *range(1, 367)], 40))
        by += 1
    if by and freq != "WEEKLY" and draw.random() < 0.3:
        parts.append("BYSETPOS=" + some(draw, [-2, -1, 1, 2, 3], 2))
    return ";".join(parts)


def rows():
    draw, found = random.Random(SEED), []
    while len(found) < WANTED:
        text = rule(draw)
        first = datetime(2024, 1, 1) + timedelta(days=draw.randint(0, 1200))
        until = first + timedelta(days=6000)
        days = list(rrulestr(text, dtstart=first).between(first, until, inc=True))[: draw.randint(1, 12)]
        if days:
            text += f";COUNT={len(days)}"
            found.append([text.replace(",", "+"), *(d.date().isoformat() for d in [first, *days])])
    return found


table.write(
    "recurrence.csv",
    [
        "rule (a list inside it joined by +), first day, then every day of it",
        "numbered weekdays and plain ones stand apart: dateutil asks for both where the standard asks for either",
        "FREQ=WEEKLY stands without BYSETPOS: dateutil counts a first week from the first day, not from WKST",
    ],
    ["python-dateutil"],
    ["rule", "first", "days"],
    rows(),
)
