"""Two jobs on one car, side by side: what drained, how it warmed, what differs."""

from __future__ import annotations

import math
from collections.abc import Callable

from bridge.jobfile.report.document import Document, Para, ReportTable, Section, Tone
from bridge.jobfile.report.field_words import (
    moment_utc,
    number,
    plain,
    temperature,
    text,
    volume,
)
from bridge.jobfile.report.summary import Story
from bridge.units import (
    ABSENT,
    Units,
    show_distance,
    show_duration,
    show_rate,
    show_temperature_span,
)

LEAST_C = 2.0
"""Over fewer degrees than that two rates are not compared."""
SHORTEST_S = 30.0
"""A warm-up rate over less than that says nothing."""


def compare(first: Story, second: Story, units: Units) -> Document:
    """Return both jobs side by side."""
    both = (first, second)
    rows = [
        (what, *(tell(story, units) for story in both), "") for what, tell in _LINES
    ]
    rows += [_amounts(kind, *both, units) for kind in _kinds(*both)]
    rows.append(_warm_ups(*both, units))
    table = ReportTable(
        caption="Side by side",
        head=("What", f"A: {first.path.stem}", f"B: {second.path.stem}", "B less A"),
        rows=tuple(rows),
    )
    return Document(
        title="Two jobs compared",
        subtitle=f"{first.path.name} and {second.path.name}",
        sections=(Section(heading="Jobs", blocks=(_same_car(*both), table)),),
        footer="A rate is the mean from first to last reading: below the window, and "
        "over the degrees both jobs went through. A volume grows with its temperature: "
        "amounts measured at other temperatures are not the same amounts.",
    )


def _vin(story: Story) -> str:
    last = story.last("vin")
    return text(last.told.get("text")) if last else ABSENT


def _same_car(first: Story, second: Story) -> Para:
    one, other = _vin(first), _vin(second)
    if ABSENT in (one, other):
        sentence = "Whether it is the same car is not known: a VIN is missing."
        return Para(text=sentence, tone=Tone.DOUBT)
    if one != other:
        return Para(text="These are two different cars.", tone=Tone.BAD)
    if first.sheet.get("sha256") != second.sheet.get("sha256"):
        return Para(text="One car, but two different sheets.", tone=Tone.DOUBT)
    return Para(text="One car, on one sheet.")


def _total_ml(what: str, story: Story) -> float | None:
    amounts = [
        number(m.told.get("ml"))
        for m in story.of("volume")
        if m.told.get("what") == what
    ]
    known = [a for a in amounts if a is not None]
    return sum(known) if known else None


def _measured(what: str, story: Story, units: Units) -> str:
    """Return at which temperatures a volume was measured: it swells with them."""
    found = [m for m in story.of("volume") if m.told.get("what") == what]
    told = [temperature(m.told.get("temp_c"), units) for m in found]
    return ", ".join(dict.fromkeys(told)) or ABSENT


def _amounts(what: str, first: Story, second: Story, units: Units) -> tuple[str, ...]:
    ml = [_total_ml(what, story) for story in (first, second)]
    return (
        plain(what).capitalize(),
        *(volume(a, units) for a in ml),
        _difference((ml[0], ml[1]), lambda d: volume(d, units)),
    )


def _kinds(first: Story, second: Story) -> list[str]:
    """Return every kind of volume either job tells of; drained and filled first."""
    told = [m.told.get("what") for s in (first, second) for m in s.of("volume")]
    names = [w for w in told if isinstance(w, str) and w]
    return list(dict.fromkeys(["drained", "filled", *names]))


def warm_up_c_per_s(
    story: Story, *, from_c: float = -math.inf, to_c: float | None = None
) -> float | None:
    """Return the mean rate between two temperatures, °C/s; None: not enough of it.

    Without them: from the first reading to the window's lower end.
    """
    end_c = number(story.sheet.get("low_c")) if to_c is None else to_c
    points = [p for line in story.trace.lines() for p in line]
    if end_c is None or not points or points[0][1] >= end_c:
        return None
    inside: list[tuple[float, float]] = []
    for point in points:
        if point[1] >= end_c:
            break
        if point[1] >= from_c:
            inside.append(point)
    if not inside:
        return None
    (first_s, first_c), (last_s, last_c) = inside[0], inside[-1]
    length_s = last_s - first_s
    return (last_c - first_c) / length_s if length_s >= SHORTEST_S else None


def _shared(first: Story, second: Story) -> tuple[float, float] | None:
    """Return the stretch below both windows that both jobs warmed through."""
    starts, ends = [], []
    for story in (first, second):
        points = [p for line in story.trace.lines() for p in line]
        low_c = number(story.sheet.get("low_c"))
        if not points or low_c is None or story.trace.high is None:
            return None
        starts.append(points[0][1])
        ends.append(min(low_c, story.trace.high[1]))
    from_c, to_c = max(starts), min(ends)
    return (from_c, to_c) if to_c - from_c >= LEAST_C else None


def _warm_ups(first: Story, second: Story, units: Units) -> tuple[str, ...]:
    """Return the row of both rates over the same degrees: others say nothing."""
    shared = _shared(first, second)
    what = "Warm-up over the same degrees"
    if shared is None:
        return (what, ABSENT, ABSENT, ABSENT)
    from_c, to_c = shared
    rates = [warm_up_c_per_s(s, from_c=from_c, to_c=to_c) for s in (first, second)]
    span = show_temperature_span(from_c, to_c, units)
    return (
        f"Warm-up, {span}",
        *(show_rate(r, units) for r in rates),
        _difference((rates[0], rates[1]), lambda d: show_rate(d, units)),
    )


def _difference(
    pair: tuple[float | None, float | None], show: Callable[[float], str]
) -> str:
    """Return B minus A with its sign; '--' where one is not known."""
    first, second = pair
    if first is None or second is None:
        return ABSENT
    told = show(second - first)
    return told if told.startswith(("-", "+")) else f"+{told}"


def _odometer(story: Story, units: Units) -> str:
    last = story.last("odometer")
    return show_distance(number(last.told.get("km")) if last else None, units)


def _judged(story: Story) -> str:
    last = story.last("judgement")
    return text(last.told.get("outcome")) if last else "not judged"


def _extreme(story: Story, units: Units, *, high: bool) -> str:
    point = story.trace.high if high else story.trace.low
    return temperature(point[1] if point else None, units)


_LINES = (
    ("Began", lambda s, _: moment_utc(s.began_utc_s)),
    ("VIN", lambda s, _: _vin(s)),
    ("Odometer", _odometer),
    ("Record", lambda s, _: s.intact.state.value),
    ("Watched for", lambda s, _: show_duration(s.length_s)),
    ("Drained at", lambda s, u: _measured("drained", s, u)),
    ("Warm-up below the window", lambda s, u: show_rate(warm_up_c_per_s(s), u)),
    ("Lowest reading", lambda s, u: _extreme(s, u, high=False)),
    ("Highest reading", lambda s, u: _extreme(s, u, high=True)),
    ("GO in all", lambda s, _: show_duration(sum(g.to_s - g.from_s for g in s.go))),
    ("Level", lambda s, _: _judged(s)),
)
