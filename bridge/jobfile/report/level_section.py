"""The report's part about the level: judgement, trace, conditions, verdicts."""

from __future__ import annotations

from bridge.jobfile.report.document import (
    Block,
    Figure,
    Para,
    ReportTable,
    Section,
    Tone,
)
from bridge.jobfile.report.field_words import (
    after,
    listed,
    number,
    of,
    plain,
    temperature,
    text,
)
from bridge.jobfile.report.report_plot import Drawn, PlotMark, draw
from bridge.jobfile.report.short.level_tables import fluid, judgement_table, percent
from bridge.jobfile.report.summary import Summary
from bridge.units import (
    ABSENT,
    Units,
    show_duration,
    show_rate,
    show_temperature_span,
    temperature_in,
    temperature_unit,
)

MOST_ROWS = 60
OUTCOMES = {
    "good": ("Set inside the window, and settled.", Tone.GOOD),
    "not-observed": (
        "Inside the window; not observed whether it settled: nobody marked it.",
        Tone.DOUBT,
    ),
    "still-running": (
        "Closed inside the window, but not settled yet: the level is high.",
        Tone.DOUBT,
    ),
    "outside": (
        "The fluid was outside the window while the plug was open: do it again.",
        Tone.BAD,
    ),
    "nothing-came": (
        "Closed with nothing having run out: the level is low.",
        Tone.BAD,
    ),
    "disturbed": ("Engine, selector or car not as they must be: again.", Tone.BAD),
    "off-temperature": (
        "Closed at another temperature than the sheet closes at: do it again.",
        Tone.BAD,
    ),
    "below": ("By the stick the level was below its marks.", Tone.BAD),
    "above": ("By the stick the level was above its marks.", Tone.BAD),
    "unknown": (
        "The temperature was not known for part of the time: do it again.",
        Tone.DOUBT,
    ),
}
_STEP_WORDS = {"settled": "settled", "close": "call to close", "missed": "missed"}
"""Phases of the level step that are marked on the plot."""
_MARK_WORDS = {"opened": "opened", "closed": "closed", "added": "added"}
"""Marks of the person that are."""


def level(summary: Summary, units: Units) -> Section:
    """Return how the level was set, the most important of all."""
    last = summary.last("judgement")
    if last is None or not last.content.get("outcome"):
        blocks: tuple[Block, ...] = (
            Para(
                text="Not judged: the level step (opening and closing of the level "
                "plug) is not in the record.",
                tone=Tone.DOUBT,
            ),
            Para(text=_go_sentence(summary)),
        )
        return Section(heading="The level", blocks=blocks)
    outcome = str(last.content["outcome"])
    sentence, tone = OUTCOMES.get(outcome, (plain(outcome), Tone.DOUBT))
    return Section(
        heading="The level",
        blocks=(
            Para(text=sentence, tone=tone),
            judgement_table(summary, last, units),
            Para(text=_go_sentence(summary)),
        ),
    )


def _go_sentence(summary: Summary) -> str:
    if not summary.go:
        return "GO was never shown."
    total_s = sum(span.to_s - span.from_s for span in summary.go)
    times = "once" if len(summary.go) == 1 else f"{len(summary.go)} times"
    return f"GO was shown {times}, {show_duration(total_s)} in all."


def temperature_marks(summary: Summary) -> list[PlotMark]:
    """Return what is marked on the plot, in order of time."""
    marks = [
        PlotMark(at_s=m.at_s, text=_STEP_WORDS[m.content["phase"]])
        for m in summary.of("step")
        if m.content.get("phase") in _STEP_WORDS
    ]
    marks += [
        PlotMark(at_s=m.at_s, text=_MARK_WORDS[m.content["mark"]])
        for m in summary.of("mark")
        if m.content.get("mark") in _MARK_WORDS
    ]
    for span in summary.go[:8]:
        marks.append(PlotMark(at_s=span.from_s, text="GO"))
        marks.append(PlotMark(at_s=span.to_s, text="GO ends"))
    return sorted(marks, key=lambda mark: mark.at_s)


def trace(summary: Summary, units: Units) -> Section:
    """Return the plot of the fluid's temperature, with its figures in words."""
    seen = summary.trace
    if seen.low is None or seen.high is None:
        nothing = Para(text="No fluid temperature came at all.", tone=Tone.BAD)
        return Section(heading="The fluid's temperature", blocks=(nothing,))
    span = summary.window
    window = ABSENT
    if span is not None:
        window = show_temperature_span(span.low_c, span.high_c, units)
    drawn = Drawn(
        lines=[
            [(t, temperature_in(v, units)) for t, v in line] for line in seen.lines()
        ],
        window=(
            None
            if span is None
            else (
                temperature_in(span.drawn.low_c, units),
                temperature_in(span.drawn.high_c, units),
            )
        ),
        gaps=seen.breaks(),
        marks=temperature_marks(summary),
        length_s=summary.length_s,
        unit=temperature_unit(units),
    )
    words = _in_words(summary, units, window)
    plot = draw(drawn)
    nameless = f" {plot.unnamed} marks have no room for a word." if plot.unnamed else ""
    figure = Figure(
        plot=plot,
        caption="Every accepted reading of the fluid. Band: the window. Hatched: no "
        f"reading for more than {seen.gap_s:g} s.{nameless}",
        alt=words,
    )
    blocks: list[Block] = [figure, Para(text=words)]
    if summary.go:
        blocks.append(_spans(summary, units))
    if summary.of("mark"):
        blocks.append(_marks(summary, units))
    blocks.append(_dropouts(summary))
    return Section(heading="The fluid's temperature", blocks=tuple(blocks))


def _in_words(summary: Summary, units: Units, window: str) -> str:
    seen = summary.trace
    low, high = seen.low, seen.high
    assert low is not None  # noqa: S101 - the caller has looked
    assert high is not None  # noqa: S101
    return (
        f"{seen.count} readings in {show_duration(summary.length_s)}; lowest "
        f"{temperature(low[1], units)} at {after(low[0])}, highest "
        f"{temperature(high[1], units)} at {after(high[0])}; window {window}; "
        f"{_go_sentence(summary)}"
    )


def _spans(summary: Summary, units: Units) -> ReportTable:
    rows = tuple(
        (
            after(span.from_s),
            after(span.to_s),
            show_duration(span.to_s - span.from_s),
            temperature(span.low_c, units),
            temperature(span.high_c, units),
        )
        for span in summary.go[:MOST_ROWS]
    )
    return ReportTable(
        caption="When GO was shown" + _more(len(summary.go), MOST_ROWS),
        head=("From", "To", "For", "Lowest reading", "Highest reading"),
        rows=rows,
    )


def _marks(summary: Summary, units: Units) -> ReportTable:
    found = summary.of("mark")
    rows = tuple(
        (
            after(m.at_s),
            plain(m.content.get("mark")),
            temperature(of(m.content, "seen").get("temp_c"), units),
        )
        for m in found[:MOST_ROWS]
    )
    return ReportTable(
        caption="What the person marked" + _more(len(found), MOST_ROWS),
        head=("At", "Mark", "Fluid as last shown"),
        rows=rows,
    )


def _more(count: int, shown: int) -> str:
    if count <= shown:
        return ""
    return f" (the first {shown} of {count}; 'sumpgate export' has all)"


def _dropouts(summary: Summary) -> Block:
    seen = summary.trace
    faults = sorted(summary.faults.items(), key=lambda pair: -pair[1])
    if not seen.gaps and not faults:
        return Para(text="No dropouts: every reading came in time.")
    rows = [("gaps without a reading", str(seen.gaps))]
    if seen.longest_gap is not None:
        at_s, length_s = seen.longest_gap
        rows.append(("longest gap", f"{length_s:.1f} s from {after(at_s)}"))
    rows += [(plain(name), str(count)) for name, count in faults[:20]]
    return ReportTable(
        caption="Dropouts and refused answers",
        head=("What", "How often"),
        rows=tuple(rows),
    )


def conditions(summary: Summary, units: Units) -> Section:
    """Return the conditions at opening, or at the first GO if none was marked."""
    heading = "Conditions at opening"
    opened = next(
        (m for m in summary.of("mark") if m.content.get("mark") == "opened"), None
    )
    go = next(
        (m for m in summary.of("verdict") if m.content.get("verdict") == "GO"), None
    )
    moment = opened or go
    if moment is None:
        return Section(heading=heading, blocks=(Para(text="No opening, and no GO."),))
    first = f"As decided last before the opening was marked at {after(moment.at_s)}."
    if opened is None:
        first = "No opening was marked; these are the conditions at the first GO."
    seen = of(moment.content, "seen") if opened else moment.content
    rows = [(plain(k), plain(v)) for k, v in of(seen, "conditions").items()]
    table = ReportTable(
        caption="Conditions", head=("Condition", "State"), rows=tuple(rows)
    )
    return Section(
        heading=heading,
        blocks=(Para(text=first), table, _figures(summary, seen, units)),
    )


def _figures(summary: Summary, seen: dict[str, object], units: Units) -> ReportTable:
    rpm, chance = number(seen.get("engine_rpm")), number(seen.get("stay_chance"))
    rate, volts = number(seen.get("rate_c_per_s")), number(seen.get("voltage_v"))
    rows = (
        ("Verdict", text(seen.get("verdict"))),
        ("Reasons against it", listed(seen.get("reasons"))),
        ("Fluid", fluid(summary, seen.get("temp_c"), seen.get("temp_sd_c"), units)),
        ("Its rate", show_rate(rate, units)),
        ("Chance of staying inside until settled", percent(chance)),
        ("Engine speed", ABSENT if rpm is None else f"{rpm:.0f} rpm"),
        ("Coolant", temperature(seen.get("coolant_c"), units)),
        ("Air", temperature(seen.get("ambient_c"), units)),
        ("Battery", ABSENT if volts is None else f"{volts:.1f} V"),
        ("Selector", text(seen.get("selector"))),
    )
    return ReportTable(caption="Figures then", head=("What", "Figure"), rows=rows)


def verdicts(summary: Summary) -> Section:
    """Return every change of the verdict, with its reasons."""
    found = summary.of("verdict")
    count = summary.counts.get("verdict", 0)
    rows = tuple(
        (
            after(m.at_s),
            text(m.content.get("verdict")),
            listed(m.content.get("reasons")),
        )
        for m in found[:MOST_ROWS]
    )
    if not rows:
        return Section(
            heading="Verdicts", blocks=(Para(text="No verdict is in the record."),)
        )
    table = ReportTable(
        caption="Every change of the verdict or its reasons" + _more(count, MOST_ROWS),
        head=("At", "Verdict", "Reasons against GO"),
        rows=rows,
    )
    return Section(heading="Verdicts", blocks=(table,))
