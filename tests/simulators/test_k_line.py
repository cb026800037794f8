"""A K-line from wake-up to timeout: slow and fast start, keep-alive, sleep.

ISO 9141-2 and ISO 14230-2: the address goes out at 5 bits a second (ten bits: 2 s), the
fast start is a pulse of 50 ms; after P3max = 5 s without a message the units end the
communication.
"""

from __future__ import annotations

import asyncio
from dataclasses import replace

import pytest

from simulators.adapter.legacy_bus import ASLEEP_S
from simulators.car.scenes import make_bench
from simulators.serve.paced_loop import PacedLoop
from tests.simulators.talk import Talk


def k_line(protocol: str, *commands: str, keep_alive: bool = True) -> list[list[str]]:
    """Return the answers, and last the seconds the wake-up took; 'wait' waits 6 s."""

    async def main() -> list[list[str]]:
        bench = make_bench("warm-day", None)
        bench.car.protocol = protocol
        bench.adapter.settings = replace(bench.adapter.settings, keep_alive=keep_alive)
        talk = Talk(bench)
        for text in ("ATZ", "ATE0", "ATL0", f"ATSP{protocol}"):
            await talk.ask(text)
        loop, answers = asyncio.get_running_loop(), []
        began_s = loop.time()
        answers.append(await talk.ask("0100", wait_s=10.0))
        took_s = loop.time() - began_s
        for text in commands:
            if text == "wait":
                await asyncio.sleep(ASLEEP_S + 1.0)
            else:
                answers.append(await talk.ask(text, wait_s=10.0))
        bench.close()
        return [*answers, [f"{took_s:.2f}"]]

    with asyncio.Runner(loop_factory=PacedLoop) as runner:
        return runner.run(main())


@pytest.mark.parametrize(
    ("protocol", "least_s", "most_s"),
    [("3", 2.0, 3.2), ("4", 2.0, 3.2), ("5", 0.3, 0.9)],
)
def test_a_start_takes_the_time_of_its_standard(
    protocol: str, least_s: float, most_s: float
) -> None:
    first, (took,) = k_line(protocol)
    assert first[0].startswith("BUS INIT: OK")
    assert least_s <= float(took) <= most_s


@pytest.mark.parametrize("protocol", ["3", "4", "5"])
def test_it_stays_awake_by_messages_in_between_and_sleeps_without(
    protocol: str,
) -> None:
    kept = k_line(protocol, "wait", "0105")[1]
    assert not any("BUS INIT" in line for line in kept)
    for asleep in (
        k_line(protocol, "wait", "0105", keep_alive=False)[1],
        k_line(protocol, "ATSW00", "wait", "0105")[2],
    ):
        assert asleep[0].startswith("BUS INIT: OK")
        assert len(asleep) > 1
    awake = k_line(protocol, "0105", "0105", keep_alive=False)[2]
    assert not any("BUS INIT" in line for line in awake)


def test_j1850_needs_no_waking() -> None:
    for protocol in ("1", "2"):
        first, _ = k_line(protocol)
        assert not any("BUS INIT" in line for line in first)
