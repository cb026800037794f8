"""The pages of the start screen: what stands on them, where it leads. Pure."""

from __future__ import annotations

from enum import StrEnum
from typing import TYPE_CHECKING

from bridge.values.frozen import frozen
from tui.words import figures, start_words

if TYPE_CHECKING:
    from bridge.jobfile.open_job import OpenJob
    from bridge.link.ports.port_search import FoundPort
    from bridge.values.sheet import Sheet
    from tui.words.figures import TemperatureUnit


class Place(StrEnum):
    """A page."""

    HOME = "home"
    SOURCE = "source"
    WORK = "work"
    PAST = "past"


@frozen
class Known:
    """What was found on this machine."""

    sheets: tuple[tuple[str, Sheet], ...] = ()
    """Name or path, and the sheet; own ones first."""
    ports: tuple[FoundPort, ...] | None = None
    """None: still being looked for."""
    open_jobs: tuple[OpenJob, ...] = ()
    past: tuple[tuple[str, str], ...] = ()
    """Name of a job, and its line; the newest first."""
    unit: TemperatureUnit = "C"
    first_run: bool = False
    problem: str = ""
    """What is wrong with the settings file; '': nothing."""


@frozen
class StartWay:
    """What has been chosen so far."""

    sheet: str = ""
    record: str = ""
    """The open job's file."""
    at_service: bool = False
    source: tuple[str, ...] = ()


@frozen
class Choice:
    """One line to choose."""

    text: str
    place: Place | None = None
    """The page it leads to."""
    way: StartWay = StartWay()
    argv: tuple[str, ...] = ()
    """The command it stands for, where it is the last one."""
    look_again: bool = False
    asks_address: bool = False
    """An address is typed; ``at_address`` makes the command of it."""
    off: bool = False
    """It cannot be chosen now; the line says why."""


@frozen
class Page:
    """Sentences to read, then choices under headings."""

    says: tuple[str, ...] = ()
    parts: tuple[tuple[str, tuple[Choice, ...]], ...] = ()


def page(place: Place, known: Known, way: StartWay, gap: str = "") -> Page:
    """Return a page; ``gap``: what was missing, said above it."""
    made = {Place.HOME: _home, Place.SOURCE: _source, Place.WORK: _work}
    found = _past(known) if place is Place.PAST else made[place](known, way)
    lines = tuple(t for t in (known.problem, gap) if t) or found.says
    return Page(says=lines, parts=tuple(part for part in found.parts if part[1]))


def _home(known: Known, _: StartWay) -> Page:
    jobs = tuple(
        Choice(
            text=start_words.open_job_line(j.sheet, j.step, j.car, j.since_utc_s),
            place=Place.SOURCE,
            way=StartWay(sheet=j.origin, record=str(j.path), at_service=j.service),
        )
        for j in known.open_jobs
    )
    sheets = tuple(
        Choice(
            text=f"{figures.clean(sheet.name, 32)}: "
            f"{start_words.sheet_line(sheet, known.unit)}",
            place=Place.WORK if sheet.service.order else Place.SOURCE,
            way=StartWay(sheet=name),
        )
        for name, sheet in known.sheets
    )
    more = (
        Choice(text=start_words.DEMO, argv=("demo",)),
        Choice(text=start_words.PAST, place=Place.PAST),
        Choice(text=start_words.NEW_SHEET, argv=("sheet", "new")),
    )
    return Page(
        says=start_words.FIRST_RUN if known.first_run else (),
        parts=(
            (start_words.OPEN_JOBS, jobs),
            (start_words.SHEETS, sheets),
            (start_words.MORE, more),
        ),
    )


def _work(_: Known, way: StartWay) -> Page:
    level, whole = (
        StartWay(sheet=way.sheet, record=way.record, at_service=all_of_it)
        for all_of_it in (False, True)
    )
    lines = (
        Choice(text=start_words.LEVEL_ONLY, place=Place.SOURCE, way=level),
        Choice(text=start_words.WHOLE, place=Place.SOURCE, way=whole),
    )
    return Page(parts=((start_words.WHAT_WORK, lines),))


def _source(known: Known, way: StartWay) -> Page:
    ports = tuple(
        Choice(
            text=start_words.port_line(p.device, p.description, p.problem),
            argv=_live(way, "--port", p.device),
            off=bool(p.problem),
        )
        for p in known.ports or ()
    )
    others = [
        Choice(text=start_words.LOOK_AGAIN, look_again=True, way=way),
        Choice(text=start_words.BY_ADDRESS, asks_address=True, way=way),
        Choice(text=start_words.THERMOMETER, argv=_live(way, "--thermometer")),
    ]
    if way.at_service:
        others.append(Choice(text=start_words.NO_CAR, argv=_command("service", way)))
    lines = () if ports or known.ports is None else (start_words.NO_PORT,)
    return Page(says=lines, parts=((start_words.ADAPTER, (*ports, *others)),))


def at_address(way: StartWay, typed: str) -> tuple[str, ...]:
    """Return the command for a port's name, or an address as a leaflet has it.

    A name with a number behind a colon and no kind before it is one of a network.
    """
    host, colon, number = typed.strip().rpartition(":")
    of_network = colon and host and "/" not in host and number.isdecimal()
    return _live(way, "--port", ("socket://" if of_network else "") + typed.strip())


def _past(known: Known) -> Page:
    lines = tuple(
        Choice(text=line, argv=("job", "show", name)) for name, line in known.past
    )
    nothing = () if lines else (start_words.NO_JOBS,)
    return Page(says=nothing, parts=((start_words.PAST, lines),))


def _live(way: StartWay, *more: str) -> tuple[str, ...]:
    service = ("--service",) if way.at_service else ()
    return (*_command("live", way), *more, *service)


def _command(verb: str, way: StartWay) -> tuple[str, ...]:
    record = ("--record", way.record) if way.record else ()
    return (verb, "--profile", way.sheet, *record)
