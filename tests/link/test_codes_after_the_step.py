"""Trouble codes are read again once the level has been set and judged."""

from __future__ import annotations

import asyncio
import math

import pytest

from bridge.link.ports.port import Port
from bridge.monitor import Monitor
from bridge.sheets import load
from bridge.snapshot import Snapshot
from bridge.values.events import Mark, Marked
from simulators.car.scenes import make_bench
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe
from tests.link.rig import Recorded


@pytest.mark.slow
def test_the_codes_are_read_before_and_after() -> None:
    sheet = load("scar-eight-speed")
    bench = make_bench("warm-day", sheet)
    lines: list[str] = []
    seen: list[Snapshot] = []

    async def opener() -> Port:
        return Recorded(BenchPipe(bench), lines, None)  # type: ignore[arg-type]

    async def main() -> tuple[int, int]:
        monitor = Monitor(sheet=sheet, open_port=opener, deliver=seen.append)
        running = asyncio.create_task(monitor.run(for_s=80.0))
        await asyncio.sleep(40.0)
        before = lines.count("03")
        for mark, pause_s in ((Mark.OPENED, 5.0), (Mark.CLOSED, 15.0)):
            monitor.tell(Marked(mark=mark, t_s=0.0))
            await asyncio.sleep(pause_s)
        after = lines.count("03")
        await running
        bench.close()
        return before, after

    loop = PacedLoop(math.inf)
    before, after = loop.run_until_complete(main())
    loop.close()
    assert before >= 1
    assert after > before
    assert seen[-1].step is not None
    assert seen[-1].step.judgement is not None
