"""The calendar file read by an independent reader, and month sums by another.

RFC 5545 by the `icalendar` package; calendar months by `python-dateutil`, which comes
with it. The RFC's own sentences that are checked by hand have their section beside.
"""

from datetime import UTC, date, datetime, timedelta, timezone

import icalendar
import pytest
from dateutil.relativedelta import relativedelta
from hypothesis import given
from hypothesis import strategies as st

from bridge.service.calendar_file import Reminder, calendar_file, escaped, uid_of
from bridge.service.due import months_later

STAMP = datetime(2026, 11, 25, 16, 45, 3, tzinfo=UTC)
DAY = date(2030, 11, 25)


def reminder(summary="Gearbox service", description="", on=DAY, **more):
    return Reminder(
        uid=uid_of("job-1"),
        on=on,
        summary=summary,
        description=description,
        stamped=STAMP,
        **more,
    )


def parsed(data):
    return icalendar.Calendar.from_ical(data)


def event_of(data):
    (event,) = parsed(data).walk("VEVENT")
    return event


def test_another_reader_finds_all_of_it():
    event = event_of(calendar_file(reminder(description="Bring: a filter; a washer")))
    assert event.decoded("DTSTART") == DAY
    assert type(event.decoded("DTSTART")) is date  # all day, not midnight somewhere
    assert event.decoded("DTEND") == DAY + timedelta(days=1)
    assert event.decoded("DTSTAMP") == STAMP
    assert str(event["SUMMARY"]) == "Gearbox service"
    assert str(event["DESCRIPTION"]) == "Bring: a filter; a washer"
    assert event["TRANSP"] == "TRANSPARENT"
    (alarm,) = event.walk("VALARM")
    assert alarm["ACTION"] == "DISPLAY"
    assert alarm.decoded("TRIGGER") == timedelta(weeks=-2)
    assert str(alarm["DESCRIPTION"]) == "Gearbox service"


def test_the_calendar_itself():
    calendar = parsed(calendar_file(reminder()))
    assert calendar["VERSION"] == "2.0"
    assert calendar["CALSCALE"] == "GREGORIAN"
    assert "PRODID" in calendar
    assert [e for c in calendar.walk() for e in c.errors] == []


# 3.3.11: backslash, semicolon, comma, newline; 3.1: folding; 3.2/3.4: line syntax
HOSTILE = [
    "a\\b;c,d",
    "a\nb\r\nc\rd",
    "\\n is not a break, \\, not a comma",
    "ends in a backslash\\",
    'quotes " and colons : and BEGIN:VEVENT',
    "END:VEVENT\r\nEND:VCALENDAR\r\nBEGIN:VCALENDAR",
    "\nATTACH:file:///etc/hosts",
    "",
    " leading and trailing ",
    "\ttab",
    "x" * 500,
    "é" * 200,
    "漢字" * 60,
    "\U0001f527" * 40,
    "👩\u200d🔧" * 30,
    "x" * 66 + "\U0001f697 at the fold",
    ";" * 74 + ",",
    "\\" * 149,
]


def expected(text):
    return text.replace("\r\n", "\n").replace("\r", "\n")


@pytest.mark.parametrize("text", HOSTILE)
def test_hostile_texts_come_back_whole(text):
    event = event_of(calendar_file(reminder(text, text)))
    assert str(event["SUMMARY"]) == expected(text)
    assert str(event.get("DESCRIPTION", "")) == expected(text)
    assert "ATTACH" not in event


@pytest.mark.parametrize("offset", range(60, 80))
@pytest.mark.parametrize("sign", ["é", "字", "\U0001f527"])
def test_no_character_is_cut_at_the_fold(offset, sign):
    data = calendar_file(reminder("x" * offset + sign * 3))
    for line in data.split(b"\r\n"):
        line.decode()  # each line by itself is whole UTF-8
        assert len(line) <= 75  # 3.1, without the break
    assert str(event_of(data)["SUMMARY"]) == "x" * offset + sign * 3


texts = st.text(st.characters(exclude_categories=("Cs", "Cc", "Zl", "Zp")))


@given(texts, texts)
def test_any_text_comes_back_whole(summary, description):
    data = calendar_file(reminder(summary, description))
    event = event_of(data)
    assert str(event["SUMMARY"]) == summary
    assert str(event.get("DESCRIPTION", "")) == description
    assert all(len(line) <= 75 for line in data.split(b"\r\n"))


@given(st.text(st.characters(exclude_categories=())))
def test_any_text_at_all_makes_one_sound_event(summary):
    data = calendar_file(reminder(summary))
    assert data.endswith(b"END:VEVENT\r\nEND:VCALENDAR\r\n")
    assert data.count(b"\r\n") == data.count(b"\n") == data.count(b"\r")
    bare = data.replace(b"\r\n", b"").replace(b"\t", b"")
    assert not any(octet < 0x20 or octet == 0x7F for octet in bare)  # 3.1, CONTROL
    event_of(data)


def test_half_a_surrogate_pair_is_replaced():
    assert escaped("a\ud83db") == "a\ufffdb"
    assert uid_of("\ud83d")


def test_the_same_job_is_the_same_event():
    assert uid_of("job-1") == uid_of("job-1")
    assert uid_of("job-1") != uid_of("job-2")
    assert str(event_of(calendar_file(reminder()))["UID"]) == uid_of("job-1")
    assert calendar_file(reminder()) == calendar_file(reminder())


def test_a_stamp_elsewhere_is_given_in_utc():
    there = STAMP.astimezone(timezone(timedelta(hours=5, minutes=30)))
    at = Reminder(uid="u", on=DAY, summary="s", stamped=there)
    assert b"DTSTAMP:20261125T164503Z\r\n" in calendar_file(at)


def test_a_stamp_without_a_zone_is_refused():
    naive = Reminder(uid="u", on=DAY, summary="s", stamped=STAMP.replace(tzinfo=None))
    with pytest.raises(ValueError, match="needs a time zone"):
        calendar_file(naive)


@pytest.mark.parametrize("weeks", [-1, 53])
def test_an_alarm_that_cannot_be_is_refused(weeks):
    with pytest.raises(ValueError, match="weeks before cannot be"):
        calendar_file(reminder(weeks_before=weeks))


def test_no_alarm():
    assert event_of(calendar_file(reminder(weeks_before=0))).walk("VALARM") == []


@pytest.mark.parametrize("on", [date(1, 1, 1), date(999, 12, 31), date(9999, 12, 31)])
def test_the_ends_of_the_calendar(on):
    assert event_of(calendar_file(reminder(on=on))).decoded("DTSTART") == on


@given(st.dates(date(1, 1, 1), date(9899, 12, 31)), st.integers(0, 1200))
def test_months_by_another_reckoner(day, months):
    assert months_later(day, months) == day + relativedelta(months=months)
