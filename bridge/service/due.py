"""When the service is due again: by distance, by time, whichever comes first.

Months are calendar months: the same day of a later month, or that month's last day
where it has no such day; an interval in days counts them. Severe use shortens both by
the sheet's factor; a part of a month or day is dropped, so that it is never later than
the sheet allows. No clock is read.
"""

from __future__ import annotations

import calendar
import math
from datetime import MAXYEAR, date, timedelta
from enum import StrEnum

from bridge.values.frozen import frozen
from bridge.values.service_sheet import Interval

DAYS_PER_YEAR = 365.2425
"""Mean length of a Gregorian year."""
MOST_KM = 3_000_000.0
"""More than any car has run is a mistake in typing."""
MOST_MONTHS = 12 * 100


class First(StrEnum):
    """Which of the two is expected to come first."""

    DATE = "date"
    DISTANCE = "distance"
    EITHER = "either"
    """Both limits hold, and how much the car is driven was not told."""


@frozen
class Due:
    """When the next service is due; at least one of the two limits is there."""

    on: date | None
    """By time; None: the sheet gives no time."""
    distance_km: float | None
    """By distance from this service; None: the sheet gives none."""
    odometer_km: float | None
    """The same on the odometer; None also where today's was not told."""
    reached_on: date | None
    """When the distance is run at the yearly distance told; None: not known."""
    first: First
    severe_factor: float | None
    """By what share the interval was shortened; None: it was not."""

    @property
    def remind_on(self) -> date | None:
        """The day to put in a calendar; None: no day can be told."""
        days = [day for day in (self.on, self.reached_on) if day is not None]
        return min(days, default=None)


def months_later(day: date, months: int) -> date:
    """Return the day so many calendar months later (0 to 1200).

    31 January and a month is the last of February. Raises ValueError beyond the
    range, and past the year 9999.
    """
    if not 0 <= months <= MOST_MONTHS:
        raise ValueError(
            f"An interval of {months} months cannot be: it must be 0 to {MOST_MONTHS}."
        )
    years, month0 = divmod(day.month - 1 + months, 12)
    year, month = day.year + years, month0 + 1
    if year > MAXYEAR:
        raise ValueError(f"The year {year} is beyond the calendar: check the date.")
    last = calendar.monthrange(year, month)[1]
    return date(year, month, min(day.day, last))


def next_due(
    interval: Interval,
    done_on: date,
    *,
    odometer_km: float | None = None,
    severe: bool = False,
    yearly_km: float | None = None,
) -> Due | None:
    """Return when the service is due again; None if the interval says nothing.

    ``odometer_km``: at this service, None if not told. ``yearly_km``: how far the car
    runs a year, None if not told. Raises ValueError for figures that cannot be.
    """
    factor = _factor(interval, severe=severe)
    distance = _distance(interval, factor)
    on = _date(interval, factor, done_on)
    if distance is None and on is None:
        return None
    reached = _reached(distance, yearly_km, done_on)
    return Due(
        on=on,
        distance_km=distance,
        odometer_km=_odometer(distance, odometer_km),
        reached_on=reached,
        first=_first(on, distance, reached),
        severe_factor=factor if severe else None,
    )


def _factor(interval: Interval, *, severe: bool) -> float:
    factor = interval.severe_factor if severe else 1.0
    if not 0.0 < factor <= 1.0:
        raise ValueError(
            f"A severe use factor of {factor:g} cannot be: the sheet must give a "
            "share of the interval, above 0 and up to 1."
        )
    return factor


def _believable(value_km: float, what: str) -> float:
    if 0.0 <= value_km <= MOST_KM:
        return value_km
    raise ValueError(
        f"{what} of {value_km:g} km cannot be: type 0 to {MOST_KM:.0f} km."
    )


def _distance(interval: Interval, factor: float) -> float | None:
    if interval.distance_km is None:
        return None
    return _believable(interval.distance_km, "An interval") * factor


def _odometer(distance_km: float | None, odometer_km: float | None) -> float | None:
    if odometer_km is None:
        return None
    now_km = _believable(odometer_km, "An odometer reading")
    return None if distance_km is None else now_km + distance_km


def _date(interval: Interval, factor: float, done_on: date) -> date | None:
    if interval.days is not None:
        return _days_later(done_on, math.floor(interval.days * factor + 1e-9))
    if interval.months is None:
        return None
    # 0.3 x 10 must be 3 whole months, whatever binary fractions make of it
    return months_later(done_on, math.floor(interval.months * factor + 1e-9))


def _days_later(day: date, days: int) -> date:
    if not 0 <= days <= MOST_MONTHS * 31:
        raise ValueError(f"An interval of {days} days cannot be: check the sheet.")
    if days > (date.max - day).days:
        raise ValueError("The next service is beyond the calendar: check the date.")
    return day + timedelta(days=days)


def _reached(
    distance_km: float | None, yearly_km: float | None, done_on: date
) -> date | None:
    if yearly_km is None:
        return None
    yearly = _believable(yearly_km, "A yearly distance")
    if distance_km is None or yearly == 0.0:
        return None
    days = math.floor(distance_km / yearly * DAYS_PER_YEAR + 1e-9)
    if days > (date.max - done_on).days:
        return None  # the car hardly runs: the distance will never be what counts
    return done_on + timedelta(days=days)


def _first(on: date | None, distance: float | None, reached: date | None) -> First:
    if on is None:
        return First.DISTANCE
    if distance is None:
        return First.DATE
    if reached is None:
        return First.EITHER
    return First.DISTANCE if reached < on else First.DATE
