"""Jobs on one car, side by side: what drained, how it warmed, what differs."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from string import ascii_uppercase

from bridge.jobfile.report.document import Document, Para, ReportTable, Section, Tone
from bridge.jobfile.report.field_words import (
    moment_utc,
    number,
    plain,
    temperature,
    text,
    volume,
)
from bridge.jobfile.report.summary import Summary
from bridge.jobfile.several.warm_up import (
    TimeConstant,
    points_of,
    warm_up_c_per_s,
    warm_up_constant,
)
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
MOST = 8
"""More columns than that nobody reads."""


def compare(summaries: Sequence[Summary], units: Units) -> Document:
    """Return 2 to MOST jobs side by side, and how the last differs from the first."""
    rows = [
        (what, *(tell(summary, units) for summary in summaries), "")
        for what, tell in _LINES
    ]
    rows += [_amounts(kind, summaries, units) for kind in _kinds(summaries)]
    rows.append(_warm_ups(summaries, units))
    names = [
        f"{n}: {s.path.stem}" for n, s in zip(ascii_uppercase, summaries, strict=False)
    ]
    less = f"{ascii_uppercase[len(summaries) - 1]} less A"
    table = ReportTable(
        caption="Side by side", head=("What", *names, less), rows=tuple(rows)
    )
    return Document(
        title="Jobs compared",
        subtitle=", ".join(s.path.name for s in summaries),
        sections=(Section(heading="Jobs", blocks=(_same_car(summaries), table)),),
        footer="A rate is the mean from first to last reading: below the window, and "
        "over the degrees all jobs went through. A volume grows with its temperature: "
        "amounts measured at other temperatures are not the same amounts.",
    )


def _vin(summary: Summary) -> str:
    last = summary.last("vin")
    return text(last.content.get("text")) if last else ABSENT


def _same_car(summaries: Sequence[Summary]) -> Para:
    cars = {_vin(s) for s in summaries}
    if ABSENT in cars:
        sentence = "Whether it is the same car is not known: a VIN is missing."
        return Para(text=sentence, tone=Tone.DOUBT)
    if len(cars) > 1:
        return Para(text=f"These are {len(cars)} different cars.", tone=Tone.BAD)
    if len({s.sheet.get("sha256") for s in summaries}) > 1:
        return Para(text="One car, but different sheets.", tone=Tone.DOUBT)
    return Para(text="One car, on one sheet.")


def _total_ml(what: str, summary: Summary) -> float | None:
    amounts = [
        number(m.content.get("ml"))
        for m in summary.of("volume")
        if m.content.get("what") == what
    ]
    known = [a for a in amounts if a is not None]
    return sum(known) if known else None


def _measured(what: str, summary: Summary, units: Units) -> str:
    """Return at which temperatures a volume was measured: it swells with them."""
    found = [m for m in summary.of("volume") if m.content.get("what") == what]
    temps = [temperature(m.content.get("temp_c"), units) for m in found]
    return ", ".join(dict.fromkeys(temps)) or ABSENT


def _amounts(what: str, summaries: Sequence[Summary], units: Units) -> tuple[str, ...]:
    ml = [_total_ml(what, summary) for summary in summaries]
    return (
        plain(what).capitalize(),
        *(volume(a, units) for a in ml),
        _difference(ml, lambda d: volume(d, units)),
    )


def _kinds(summaries: Sequence[Summary]) -> list[str]:
    """Return every kind of volume a job tells of; drained and filled first."""
    kinds = [m.content.get("what") for s in summaries for m in s.of("volume")]
    names = [w for w in kinds if isinstance(w, str) and w]
    return list(dict.fromkeys(["drained", "filled", *names]))


def _shared(summaries: Sequence[Summary]) -> tuple[float, float] | None:
    """Return the stretch below all windows that all jobs warmed through."""
    starts, ends = [], []
    for summary in summaries:
        points = points_of(summary)
        low_c = number(summary.sheet.get("low_c"))
        if not points or low_c is None or summary.trace.high is None:
            return None
        starts.append(points[0][1])
        ends.append(min(low_c, summary.trace.high[1]))
    from_c, to_c = max(starts), min(ends)
    return (from_c, to_c) if to_c - from_c >= LEAST_C else None


def _warm_ups(summaries: Sequence[Summary], units: Units) -> tuple[str, ...]:
    """Return the row of all rates over the same degrees: others say nothing."""
    shared = _shared(summaries)
    if shared is None:
        return ("Warm-up over the same degrees", *[ABSENT] * (len(summaries) + 1))
    from_c, to_c = shared
    rates = [warm_up_c_per_s(s, from_c=from_c, to_c=to_c) for s in summaries]
    return (
        f"Warm-up, {show_temperature_span(from_c, to_c, units)}",
        *(show_rate(r, units) for r in rates),
        _difference(rates, lambda d: show_rate(d, units)),
    )


def _difference(figures: Sequence[float | None], show: Callable[[float], str]) -> str:
    """Return last less first with its sign; '--' where one is not known."""
    first, last = figures[0], figures[-1]
    if first is None or last is None:
        return ABSENT
    shown = show(last - first)
    return shown if shown.startswith(("-", "+")) else f"+{shown}"


def constant_words(found: TimeConstant | None) -> str:
    """Return a time constant in minutes, with what else would fit."""
    if found is None:
        return ABSENT
    seconds = (found.tau_s, found.low_s, found.high_s)
    tau, low, high = (f"{s / 60.0:.1f}" for s in seconds)
    return f"{tau} min ({low} to {high})"


def _odometer(summary: Summary, units: Units) -> str:
    last = summary.last("odometer")
    return show_distance(number(last.content.get("km")) if last else None, units)


def _judged(summary: Summary) -> str:
    last = summary.last("judgement")
    return text(last.content.get("outcome")) if last else "not judged"


def _extreme(summary: Summary, units: Units, *, high: bool) -> str:
    point = summary.trace.high if high else summary.trace.low
    return temperature(point[1] if point else None, units)


_LINES = (
    ("Began", lambda s, _: moment_utc(s.began_utc_s)),
    ("VIN", lambda s, _: _vin(s)),
    ("Odometer", _odometer),
    ("Record", lambda s, _: s.intact.state.value),
    ("Watched for", lambda s, _: show_duration(s.length_s)),
    ("Drained at", lambda s, u: _measured("drained", s, u)),
    ("Warm-up below the window", lambda s, u: show_rate(warm_up_c_per_s(s), u)),
    ("Time constant seen", lambda s, _: constant_words(warm_up_constant(s))),
    ("Lowest reading", lambda s, u: _extreme(s, u, high=False)),
    ("Highest reading", lambda s, u: _extreme(s, u, high=True)),
    ("GO in all", lambda s, _: show_duration(sum(g.to_s - g.from_s for g in s.go))),
    ("Level", lambda s, _: _judged(s)),
)
