"""Two jobs on one car, side by side: what drained, how it warmed, what differs."""

from __future__ import annotations

from bridge.job.document import Document, Para, Section, Table, Tone
from bridge.job.story import Story
from bridge.job.words import moment_utc, number, temperature, text, volume
from bridge.units import ABSENT, Units, show_distance, show_duration, show_rate

SHORTEST_S = 30.0
"""A warm-up rate over less than that says nothing."""


def compare(first: Story, second: Story, units: Units) -> Document:
    """Return both jobs side by side."""
    both = (first, second)
    rows = tuple(
        (what, *(tell(story, units) for story in both)) for what, tell in _LINES
    )
    table = Table(
        caption="Side by side",
        head=("What", first.path.stem, second.path.stem),
        rows=rows,
    )
    return Document(
        title="Two jobs compared",
        subtitle=f"{first.path.name} and {second.path.name}",
        sections=(Section(heading="Jobs", blocks=(_same_car(*both), table)),),
        footer="A rate is the mean from first to last reading below the window.",
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


def _total(what: str, story: Story, units: Units) -> str:
    amounts = [
        number(m.told.get("ml"))
        for m in story.of("volume")
        if m.told.get("what") == what
    ]
    known = [a for a in amounts if a is not None]
    return volume(sum(known), units) if known else ABSENT


def warm_up_c_per_s(story: Story) -> float | None:
    """Return the mean rate below the window, °C/s; None: not enough of it."""
    low_c = number(story.sheet.get("low_c"))
    points = [p for line in story.trace.lines() for p in line]
    if low_c is None or not points or points[0][1] >= low_c:
        return None
    first = points[0]
    last = first
    for point in points:
        if point[1] >= low_c:
            break
        last = point
    length_s = last[0] - first[0]
    return (last[1] - first[1]) / length_s if length_s >= SHORTEST_S else None


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
    ("Drained", lambda s, u: _total("drained", s, u)),
    ("Filled", lambda s, u: _total("filled", s, u)),
    ("Warm-up below the window", lambda s, u: show_rate(warm_up_c_per_s(s), u)),
    ("Lowest reading", lambda s, u: _extreme(s, u, high=False)),
    ("Highest reading", lambda s, u: _extreme(s, u, high=True)),
    ("GO in all", lambda s, _: show_duration(sum(g.to_s - g.from_s for g in s.go))),
    ("Level", lambda s, _: _judged(s)),
)
