"""Looks for what the start screen offers: sheets, ports, open and past jobs."""

from __future__ import annotations

import time
from pathlib import Path
from typing import TYPE_CHECKING

from bridge.values.errors import SumpgateError
from tui.settings import load_settings
from tui.start.choices import Known
from tui.words import figures

if TYPE_CHECKING:
    from collections.abc import Iterator

    from bridge.link.ports.port_search import FoundPort
    from bridge.values.sheet import Sheet

MOST_OWN = 30
"""TOML files of the present folder that are looked into."""
MOST_PAST = 50


def known() -> Known:
    """Return what can be found without opening a port. Never raises."""
    from bridge.jobfile.job_folder import job_files
    from bridge.jobfile.open_job import open_jobs

    settings = load_settings()
    try:
        files, still_open = job_files(), open_jobs(None, now_utc_s=time.time())
    except SumpgateError:
        files, still_open = [], ()
    return Known(
        sheets=tuple(_sheets(settings.sheet)),
        open_jobs=still_open,
        past=tuple((p.stem, _past_line(p)) for p in reversed(files[-MOST_PAST:])),
        problem=settings.problem,
        unit=settings.temperature_unit,
        first_run=not files and not settings.sheet,
    )


def ports() -> tuple[FoundPort, ...]:
    """Return the ports that may have an adapter behind them."""
    from bridge.link.ports.port_search import find_ports

    return find_ports()


def _sheets(last: str) -> Iterator[tuple[str, Sheet]]:
    """Yield the person's own sheets, the last used one first, then the shipped ones."""
    from bridge.sheets import load
    from bridge.sheets.files import shipped_sheets

    shipped = shipped_sheets()
    own = [str(p) for p in sorted(Path.cwd().glob("*.toml"))[:MOST_OWN]]
    names = [last] if last and last not in shipped else []
    names += [n for n in own if n not in names and _is_sheet(Path(n))]
    names += sorted(shipped, key=lambda name: name != last)
    for name in names:
        try:
            yield name, load(name)
        except SumpgateError:
            continue  # 'sheet check' is the place to hear what is wrong with it


def _is_sheet(path: Path) -> bool:
    try:
        with path.open(encoding="utf-8", errors="replace") as file:
            return "[gearbox]" in file.read(65536)
    except OSError:
        return False


def _past_line(path: Path) -> str:
    day, _, rest = path.stem.partition("-")
    hour, _, sheet = rest.partition("-")
    if len(day) == 8 and day.isdigit() and len(hour) == 6 and hour.isdigit():
        clock = f"{hour[:2]}:{hour[2:4]} UTC"
        return f"{day[:4]}-{day[4:6]}-{day[6:]} {clock}  {figures.clean(sheet, 40)}"
    return figures.clean(path.stem, 60)
