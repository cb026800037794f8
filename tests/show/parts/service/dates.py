"""Due dates beside an independent reckoning, and calendar files read by another."""

from __future__ import annotations

import math
import random
from datetime import UTC, date, datetime, timedelta
from fractions import Fraction

import icalendar
from dateutil.relativedelta import relativedelta

from bridge.service.calendar_file import Reminder, calendar_file, uid_of
from bridge.service.due import next_due
from bridge.values.service_sheet import Interval

PIECES = (
    "\\", ";", ",", "\n", "\r\n", ":", '"', "BEGIN:VEVENT", "\\n", " ", "x" * 40,
    "é", "字", "\U0001f527", "👩\u200d🔧", "END:VCALENDAR", "\t", "DTSTART:2020",
)  # fmt: skip


def due_dates(seed: int, cases: int) -> tuple[int, int]:
    """Random services against exact fractions and another calendar: wrong, short.

    The second figure is how many of them fell on a shorter month's last day.
    """
    rng = random.Random(seed)
    wrong = shortened = 0
    for _ in range(cases):
        done = date(1990, 1, 1) + timedelta(days=rng.randrange(40_000))
        if rng.random() < 0.3:  # the days that a short month does not have
            done = (done.replace(day=1) + timedelta(days=31)).replace(
                day=1
            ) - timedelta(days=1)
        months, percent = rng.randint(1, 240), rng.randint(1, 100)
        km, yearly = rng.randint(1000, 300_000), rng.randint(500, 80_000)
        interval = Interval(
            distance_km=km, months=months, severe_factor=percent / 100.0
        )
        due = next_due(
            interval, done, odometer_km=1000.0, severe=True, yearly_km=yearly
        )
        assert due is not None
        share = Fraction(percent, 100)
        on = done + relativedelta(months=math.floor(months * share))
        days = Fraction(km) * share / yearly * Fraction(3_652_425, 10_000)
        reached = done + timedelta(days=math.floor(days))
        odometer = 1000.0 + float(km * share)
        shortened += on.day != done.day
        wrong += (
            due.on != on
            or due.reached_on != reached
            or due.remind_on != min(on, reached)
            or not math.isclose(due.odometer_km or 0.0, odometer, rel_tol=1e-12)
        )
    return wrong, shortened


def calendar_files(seed: int, cases: int) -> tuple[int, int]:
    """Random hostile reminders read by another reader: wrong, octets in a line."""
    rng = random.Random(seed)
    wrong = longest = 0
    for number in range(cases):
        summary, description = (
            "".join(rng.choice(PIECES) for _ in range(rng.randint(0, 25)))
            for _ in range(2)
        )
        reminder = Reminder(
            uid=uid_of(f"job {number}"),
            on=date(2000, 1, 1) + timedelta(days=rng.randrange(36_500)),
            summary=summary,
            description=description,
            stamped=datetime(2026, 1, 1, tzinfo=UTC) + timedelta(seconds=number),
            weeks_before=rng.randint(0, 8),
        )
        data = calendar_file(reminder)
        longest = max(longest, *(len(line) for line in data.split(b"\r\n")))
        wrong += not _read_back(data, reminder)
    return wrong, longest


def _read_back(data: bytes, reminder: Reminder) -> bool:
    calendar = icalendar.Calendar.from_ical(data)
    events = calendar.walk("VEVENT")
    if len(events) != 1 or any(part.errors for part in calendar.walk()):
        return False
    (event,), alarms = events, events[0].walk("VALARM")
    triggers = [alarm.decoded("TRIGGER") for alarm in alarms]
    weeks = timedelta(weeks=-reminder.weeks_before)
    return bool(
        str(event["SUMMARY"]) == reminder.summary.replace("\r\n", "\n")
        and str(event.get("DESCRIPTION", ""))
        == reminder.description.replace("\r\n", "\n")
        and event.decoded("DTSTART") == reminder.on
        and event.decoded("DTSTAMP") == reminder.stamped
        and str(event["UID"]) == reminder.uid
        and triggers == ([weeks] if reminder.weeks_before else [])
    )
