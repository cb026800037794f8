"""The report's part about the work: volumes, fasteners, fluid, cautions, notes."""

from __future__ import annotations

from bridge.jobfile.photo import PhotoSeen
from bridge.jobfile.report.document import (
    Block,
    Items,
    Para,
    Picture,
    ReportTable,
    Section,
)
from bridge.jobfile.report.field_words import (
    after,
    moment_utc,
    number,
    plain,
    temperature,
    text,
    volume,
)
from bridge.jobfile.report.summary import Moment, Summary
from bridge.units import ABSENT, Units, show_distance, show_torque

_NOT_THERE = "Nothing is recorded."


def _section(heading: str, *blocks: Block) -> Section:
    return Section(heading=heading, blocks=blocks or (Para(text=_NOT_THERE),))


def volumes(summary: Summary, units: Units) -> Section:
    """Return what came out and what went in."""
    rows = tuple(
        (
            plain(m.content.get("what")),
            volume(m.content.get("ml"), units),
            temperature(m.content.get("temp_c"), units),
            text(m.content.get("text")),
        )
        for m in summary.of("volume")
        if not m.content.get("service")
    )
    if not rows:
        return _section("Volumes")
    head = ("What", "Volume", "Measured at", "Remark")
    return _section("Volumes", ReportTable(caption="Out and in", head=head, rows=rows))


def fasteners(summary: Summary, units: Units) -> Section:
    """Return plugs and covers: torque, turn, what was renewed."""
    rows = tuple(_fastener(m, units) for m in summary.of("fastener"))
    if not rows:
        return _section("Plugs and covers")
    head = ("Which", "Torque", "Further", "Renewed", "When")
    return _section(
        "Plugs and covers", ReportTable(caption="As ticked off", head=head, rows=rows)
    )


def _fastener(moment: Moment, units: Units) -> tuple[str, ...]:
    content = moment.content
    turn = number(content.get("turn_deg"))
    renewed = content.get("renewed")
    new = text(renewed) if isinstance(renewed, str) else _ticked(renewed)
    return (
        text(content.get("what")),
        show_torque(number(content.get("torque_nm")), units),
        ABSENT if turn is None else f"{turn:g}°",
        new,
        moment_utc(moment.utc_s),
    )


def _ticked(value: object) -> str:
    if value is True:
        return "yes"
    return "no" if value is False else ABSENT


def old_fluid(summary: Summary) -> Section:
    """Return how the old fluid looked."""
    found = summary.of("old-fluid")
    lines = tuple(
        f"{plain(key)}: {text(value)}"
        for m in found
        for key, value in m.content.items()
        if key != "seen" and isinstance(value, str)
    )
    return _section("The old fluid", *([Items(lines=lines)] if lines else []))


def next_due(summary: Summary, units: Units) -> Section:
    """Return when the next service is due."""
    last = summary.last("next-due")
    if last is None:
        return _section("Next due")
    rows = (
        ("Odometer", show_distance(number(last.content.get("km")), units)),
        ("Date", text(last.content.get("date"))),
        ("Why", text(last.content.get("text"))),
    )
    table = ReportTable(
        caption="Whichever comes first", head=("What", "When"), rows=rows
    )
    return _section("Next due", table)


def _point(moment: Moment) -> str:
    """Say what was confirmed and, where that was told, by whom."""
    who = moment.content.get("who")
    point = plain(moment.content.get("confirms") or moment.content.get("what"))
    return f"{point} ({text(who)})" if who else point


def cautions(summary: Summary) -> Section:
    """Return which cautions were shown and confirmed when, and what else was."""
    blocks: list[Block] = [*_read(summary), *_unshown(summary)]
    rows = tuple(
        (_point(m), _given(m), after(m.at_s))
        for m in sorted([*summary.of("confirmation"), *_marked(summary)], key=_place)
    )
    if rows:
        head = ("What", "Confirmed", "At")
        blocks.append(
            ReportTable(caption="What the person confirmed", head=head, rows=rows)
        )
    else:
        blocks.append(Para(text="No other confirmation is in the record."))
    return _section("Cautions and confirmations", *blocks)


def _place(moment: Moment) -> int:
    return moment.seq


def _lines(value: object) -> list[str]:
    return [text(line) for line in value] if isinstance(value, list) else []


def _read(summary: Summary) -> list[Block]:
    """Return each caution with when it was first shown and last confirmed."""
    shown: dict[str, str] = {}
    confirmed: dict[str, str] = {}
    for moment in summary.of("caution"):
        when, act = moment_utc(moment.utc_s), moment.content.get("act")
        for line in _lines(moment.content.get("lines")):
            shown.setdefault(line, when)
            if act == "confirmed":
                confirmed[line] = when
            elif act == "withdrawn":
                confirmed[line] = f"withdrawn {when}"
    if not shown:
        return [Para(text="That any caution was shown is not in the record.")]
    rows = tuple((s, shown[s], confirmed.get(s, "not confirmed")) for s in shown)
    head = ("Caution", "Shown", "Confirmed as read")
    return [ReportTable(caption="Cautions shown on the screen", head=head, rows=rows)]


def _unshown(summary: Summary) -> list[Block]:
    seen = {s for m in summary.of("caution") for s in _lines(m.content.get("lines"))}
    rest = tuple(s for s in _lines(summary.sheet.get("cautions")) if s not in seen)
    if not rest:
        return []
    return [
        Para(text="Cautions of the sheet, not recorded as shown:"),
        Items(lines=rest),
    ]


def _marked(summary: Summary) -> list[Moment]:
    return [m for m in summary.of("mark") if m.content.get("confirms")]


def _given(moment: Moment) -> str:
    content = moment.content
    if content.get("mark") == "withdrawn" or content.get("given") is False:
        return "withdrawn"
    return "yes"


def notes(summary: Summary, *, pictures: bool = True) -> Section:
    """Return notes and photos; of each photo what was found, if it was looked at.

    ``pictures``: show small what is still as it was attached.
    """
    lines = tuple(
        f"{moment_utc(m.utc_s)}: {text(m.content.get('text'))}"
        for m in summary.of("note")
    )
    found = summary.of("photo")
    seen = summary.photos
    photos = tuple(
        (
            text(m.content.get("path")),
            text(m.content.get("sha256")),
            _PHOTO[seen[m.seq].same] if m.seq in seen else _UNLOOKED,
        )
        for m in found
    )
    blocks: list[Block] = []
    if lines:
        blocks.append(Items(lines=lines))
    if photos:
        head = ("File", "SHA-256", "Now")
        blocks.append(ReportTable(caption="Photos", head=head, rows=photos))
    shown = [m for m in found if m.seq in seen and seen[m.seq].small]
    if pictures:
        blocks += [_picture(m, seen[m.seq]) for m in shown[:MOST_PICTURES]]
        if len(shown) > MOST_PICTURES:
            blocks.append(Para(text=f"The first {MOST_PICTURES} are shown small."))
    elif shown:
        left_out = "The pictures are left out: one may show whose car it is."
        blocks.append(Para(text=left_out))
    return _section("Notes and photos", *blocks)


def _picture(moment: Moment, seen: PhotoSeen) -> Picture:
    note = text(moment.content.get("text"))
    words = "" if note == ABSENT else f"{note}. "
    caption = (
        f"{words}SHA-256 of the whole picture: {text(moment.content.get('sha256'))}"
    )
    size = (seen.width, seen.height)
    return Picture(jpeg=seen.small, width=size[0], height=size[1], caption=caption)


MOST_PICTURES = 12
_UNLOOKED = "not looked at (say --photos)"
_PHOTO = {
    True: "as it was attached",
    False: "CHANGED since it was attached",
    None: "not found here",
}
