"""Job files for tests: made quickly, and taken apart."""

from __future__ import annotations

import functools
import sqlite3
from pathlib import Path

from bridge.jobfile.recorder import Job, Recorder, start
from bridge.session.session import advance, apply
from bridge.session.session_state import Session, begin
from bridge.sheets import find_sheet, load
from bridge.snapshot import Snapshot
from bridge.values.events import Event, LinkChange
from bridge.values.readings import LinkState, Reading
from bridge.values.sheet import Role

SHEET = "scar-eight-speed"
T0_S = 12.25
"""Not 0: a real loop's clock starts anywhere."""


def job() -> Job:
    return Job(
        sheet=load(SHEET),
        sheet_text=find_sheet(SHEET).read_text("utf-8"),
        tool="sumpgate test",
        source="a test",
        simulated=True,
    )


def new_session() -> Session:
    return begin(load(SHEET), interval_s=0.2)


def complain(sentence: str) -> None:
    raise AssertionError(sentence)


@functools.cache
def _watched(
    seconds: float, from_c: float, per_s: float
) -> tuple[tuple[float, Event | Snapshot], ...]:
    """Return what such a car told and what was decided of it, in order."""
    session = new_session()
    events: list[Event] = [LinkChange(state=LinkState.LIVE, t_s=T0_S)]
    for i in range(int(seconds * 5)):
        t_s = T0_S + 0.2 * i
        values = {
            Role.FLUID_TEMPERATURE: round(from_c + per_s * 0.2 * i, 1),
            Role.ENGINE_SPEED: 750.0,
            Role.VEHICLE_SPEED: 0.0,
        }
        events += [
            Reading(role=r, value=v, t_s=t_s, raw=b"\x62\x2c\x86\x5c")
            for r, v in values.items()
        ]
    seen: list[tuple[float, Event | Snapshot]] = []
    looked_s = T0_S
    for event in events:
        while looked_s <= event.t_s:
            session, snapshot = advance(session, now_s=looked_s, t0_s=T0_S)
            seen.append((looked_s, snapshot))
            looked_s += 0.25
        session = apply(session, event)
        seen.append((event.t_s, event))
    return tuple(seen)


def record(
    path: Path,
    *,
    seconds: float = 30.0,
    from_c: float = 41.0,
    per_s: float = 0.03,
    close: bool = True,
    note=complain,
) -> Recorder:
    """Record a warming fluid at 5 readings a second, decided on 4 times a second."""
    recorder = start(path, job(), note)
    recorder.began(now_s=T0_S, interval_s=0.2, session=new_session())
    for at_s, what in _watched(seconds, from_c, per_s):
        if isinstance(what, Snapshot):
            recorder.looked(now_s=at_s, snapshot=what)
        else:
            recorder.took(what)
    if close:
        assert recorder.close()
    return recorder


def change(path: Path, *statements: str) -> None:
    db = sqlite3.connect(path, isolation_level=None)
    for statement in statements:
        db.execute(statement)
    db.close()
