"""Monitor at one end of the wire, bench at the other, in simulated time."""

from __future__ import annotations

import asyncio
import math
from collections import deque
from collections.abc import Callable
from dataclasses import dataclass, field
from typing import Any

from bridge.link.ports.port import Port
from bridge.monitor import Monitor
from bridge.snapshot import Snapshot
from bridge.values.events import Event
from bridge.values.readings import Reading
from bridge.values.sheet import Role, Sheet
from simulators.serve.bench import Bench
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe


@dataclass(slots=True)
class Log:
    """What went over the wire, and every fluid reading that was believed."""

    read_bytes: int = 0
    written_bytes: int = 0
    believed: list[Reading] = field(default_factory=list)


class WatchedMonitor(Monitor):
    """A monitor that notes each fluid reading the session accepts."""

    log: Log | None = None

    def _on(self, event: Event) -> None:
        super()._on(event)
        kept = self._session.readings.get(Role.FLUID_TEMPERATURE)
        if self.log is not None and event is kept:
            self.log.believed.append(kept)


class Noted:
    """A port that notes of each line when it was written and what came back."""

    def __init__(self, inner: Port, said: list[list[Any]]) -> None:
        """``said`` gets loop time, line, and bytes of the answer."""
        self._inner, self._said = inner, said
        self._loop = asyncio.get_running_loop()

    async def read(self) -> tuple[bytes, float]:
        data, t_s = await self._inner.read()
        if self._said:
            self._said[-1][2] += len(data)
        return data, t_s

    def write(self, data: bytes) -> None:
        self._said.append([self._loop.time(), data.decode().removesuffix("\r"), 0])
        self._inner.write(data)

    def close(self) -> None:
        self._inner.close()


class Recorded:
    """A bench pipe that keeps every line the program wrote, and counts the bytes."""

    def __init__(self, inner: BenchPipe, lines: deque[str], log: Log | None) -> None:
        self._inner = inner
        self._lines = lines
        self._log = log or Log()

    async def read(self) -> tuple[bytes, float]:
        data, t_s = await self._inner.read()
        self._log.read_bytes += len(data)
        return data, t_s

    def write(self, data: bytes) -> None:
        self._log.written_bytes += len(data)
        self._lines.append(data.decode("ascii").removesuffix("\r"))
        self._inner.write(data)

    def close(self) -> None:
        self._inner.close()


def watch(
    bench: Bench,
    sheet: Sheet,
    for_s: float,
    *,
    at: dict[float, Callable[[], None]] | None = None,
    interval_s: float = 0.2,
    log: Log | None = None,
    keep: bool = True,
    into: list[str] | None = None,
) -> tuple[list[Snapshot], list[str]]:
    """Run monitor and bench together; return the snapshots and the lines written.

    ``keep``: False returns only the last few of each, for long runs. ``into`` gets
    the lines even if the monitor ends with an error.
    """
    snapshots: deque[Snapshot] = deque(maxlen=None if keep else 10)
    lines: deque[str] = deque(maxlen=None if keep else 10)

    async def opener() -> Port:
        return Recorded(BenchPipe(bench), lines, log)

    async def main() -> None:
        for moment, action in (at or {}).items():
            bench.at(moment, action)
        monitor = WatchedMonitor(
            sheet=sheet,
            open_port=opener,
            deliver=snapshots.append,
            interval_s=interval_s,
        )
        monitor.log = log
        await monitor.run(for_s=for_s)
        bench.close()

    loop = PacedLoop(math.inf)
    try:
        loop.run_until_complete(main())
    finally:
        loop.close()
        if into is not None:
            into[:] = lines
    return list(snapshots), list(lines)
