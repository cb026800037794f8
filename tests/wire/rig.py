"""Monitor at one end of the wire, bench at the other, in simulated time."""

from __future__ import annotations

import math
from collections.abc import Callable

from bridge.core.errors import LinkLost, PortError
from bridge.core.model import Sheet, Snapshot
from bridge.monitor import Monitor
from bridge.wire.port import Port
from simulators.bench import Bench
from simulators.paced_loop import PacedLoop
from simulators.pipe import BenchPipe


class Recorded:
    """A bench pipe that keeps every line the program wrote."""

    def __init__(self, inner: BenchPipe, lines: list[str]) -> None:
        self._inner = inner
        self._lines = lines

    async def read(self) -> tuple[bytes, float]:
        return await self._inner.read()

    def write(self, data: bytes) -> None:
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
) -> tuple[list[Snapshot], list[str]]:
    """Run monitor and bench together; return the snapshots and the lines written."""
    snapshots: list[Snapshot] = []
    lines: list[str] = []

    async def opener() -> Port:
        try:
            return Recorded(BenchPipe(bench), lines)
        except LinkLost as lost:
            raise PortError(str(lost)) from None

    async def main() -> None:
        for moment, action in (at or {}).items():
            bench.at(moment, action)
        monitor = Monitor(
            sheet=sheet,
            open_port=opener,
            deliver=snapshots.append,
            interval_s=interval_s,
        )
        await monitor.run(for_s=for_s)
        bench.close()

    loop = PacedLoop(math.inf)
    try:
        loop.run_until_complete(main())
    finally:
        loop.close()
    return snapshots, lines
