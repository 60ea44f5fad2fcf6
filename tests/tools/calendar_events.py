#!/usr/bin/env python3
"""Tells what an iCalendar file says, as another program reads it.

Usage: calendar_events.py FILE.ics        (Debian: python3-icalendar)

An event takes four lines: UID, day (YYYY-MM-DD, or "moment" where it has a time), SUMMARY and
DESCRIPTION, the last two with a line's end as \\n and a backslash as \\\\. "stamp" and its moment
in UTC come first.
"""
import datetime
import sys

import icalendar


def shown(text):
    return str(text).replace("\\", "\\\\").replace("\n", "\\n")


def main():
    with open(sys.argv[1], "rb") as file:
        calendar = icalendar.Calendar.from_ical(file.read())
    assert str(calendar["VERSION"]) == "2.0" and calendar["PRODID"]
    events = calendar.walk("VEVENT")
    out = sys.stdout.buffer
    stamps = {e["DTSTAMP"].dt.strftime("%Y-%m-%d %H:%M:%S") for e in events}
    out.write(f"stamp {' '.join(sorted(stamps))}\n".encode())
    for e in events:
        assert not e.errors, e.errors
        day = e["DTSTART"].dt
        plain = isinstance(day, datetime.date) and not isinstance(day, datetime.datetime)
        for text in (e["UID"], day.isoformat() if plain else "moment", e["SUMMARY"],
                     e.get("DESCRIPTION", "")):
            out.write(shown(text).encode() + b"\n")


main()
