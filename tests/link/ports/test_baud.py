"""The speed search, against an adapter that talks sense at one speed only."""

from __future__ import annotations

import asyncio
import math
import random

import pytest

from bridge.link.exchange import AdapterSilent, Exchange
from bridge.link.ports.baud import SPEEDS, BaudSearch, candidates, has_speed
from bridge.link.ports.port import GuardedPort, Port
from bridge.monitor import Monitor
from bridge.protocol.request import is_allowed
from bridge.sheets import load
from bridge.snapshot import Snapshot
from bridge.values.causes import Cause
from bridge.values.readings import LinkState
from simulators.car.scenes import make_bench
from simulators.serve.bench import Bench
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe
from tui.cli.main import build_parser, main

SHEET = load("scar-eight-speed")


class OneSpeed(BenchPipe):
    """A port whose two ends understand each other at one speed only."""

    def __init__(
        self,
        bench: Bench,
        speed: int,
        *,
        garbage: bool = True,
        missing: tuple[int, ...] = (),
    ) -> None:
        self.speed = 0
        self.tried: list[int] = []
        self.written: list[bytes] = []
        self._right = speed
        self._garbage = garbage
        self._missing = missing
        self._random = random.Random(speed)
        super().__init__(bench)

    def set_baud(self, baud: int) -> None:
        self.tried.append(baud)
        if baud in self._missing:
            raise ValueError("no such speed")
        self.speed = baud

    def write(self, data: bytes) -> None:
        self.written.append(data)
        if self.speed == self._right:
            super().write(data)
            return
        noise = bytes(self._random.randrange(256) for _ in data).replace(b"\r", b"x")
        super().write(noise)
        if self._garbage:
            # Some adapters answer garbage with garbage; a '>' among it proves nothing.
            self._deliver(b"\x00\xf8>\x80\xfe>")


def run(coroutine):
    with asyncio.Runner(loop_factory=lambda: PacedLoop(math.inf)) as runner:
        return runner.run(coroutine)


async def search(port: OneSpeed, remembered: int | None = None):
    said: list[str] = []
    exchange = Exchange(GuardedPort(port))
    found = BaudSearch(remembered)
    began_s = asyncio.get_running_loop().time()
    try:
        speed = await found.settle(exchange, port, said.append)
    finally:
        exchange.close()
    return speed, found.found, said, asyncio.get_running_loop().time() - began_s


@pytest.mark.parametrize("garbage", [True, False])
@pytest.mark.parametrize("speed", SPEEDS)
def test_every_speed_is_found(speed: int, garbage: bool) -> None:
    async def main():
        port = OneSpeed(make_bench("warm-day", SHEET), speed, garbage=garbage)
        return port, await search(port)

    port, (found, kept, said, took_s) = run(main())
    assert found == kept == port.speed == speed
    assert port.tried == list(SPEEDS[: SPEEDS.index(speed) + 1])
    assert len(said) == len(port.tried)
    assert str(speed) in said[-1]
    assert took_s < 0.9 * len(SPEEDS)  # the loop's own seconds


def test_the_remembered_speed_is_tried_first() -> None:
    async def main():
        port = OneSpeed(make_bench("warm-day", SHEET), 500000)
        return port, await search(port, 500000)

    port, (found, *_) = run(main())
    assert found == 500000
    assert port.tried == [500000]
    assert candidates(9600)[0] == 9600
    assert sorted(candidates(9600)) == sorted(SPEEDS)
    assert candidates(14400) == (14400, *SPEEDS)


def test_a_remembered_speed_that_is_wrong_now_does_no_harm() -> None:
    async def main():
        return await search(OneSpeed(make_bench("warm-day", SHEET), 9600), 2000000)

    assert run(main())[0] == 9600


def test_speeds_the_port_does_not_have_are_passed_over() -> None:
    async def main():
        bench = make_bench("warm-day", SHEET)
        port = OneSpeed(bench, 9600, missing=(38400, 115200))
        return port, await search(port)

    port, (found, *_) = run(main())
    assert found == 9600
    assert b"ATI\r" in port.written


def test_sense_at_no_speed_is_silence() -> None:
    async def main():
        port = OneSpeed(make_bench("warm-day", SHEET), 1200)
        with pytest.raises(AdapterSilent):
            await search(port)
        return port

    port = run(main())
    assert port.tried == list(SPEEDS)
    # Whatever the speed, only harmless lines were sent.
    assert {is_allowed(w.decode().rstrip("\r")) for w in port.written} == {True}
    assert set(port.written) <= {b"!\r", b"ATI\r"}


def test_an_adapter_that_echoes_and_greets_is_found_too() -> None:
    async def main():
        bench = make_bench("warm-day", SHEET)
        port = OneSpeed(bench, 115200)
        bench.at(0.3, lambda: bench.fault("banner"))
        return await search(port)

    assert run(main())[0] == 115200


def watch(port_of, baud: BaudSearch | None, for_s: float = 12.0) -> list[Snapshot]:
    snapshots: list[Snapshot] = []

    async def main() -> None:
        bench = make_bench("warm-day", SHEET)

        async def opener() -> Port:
            return port_of(bench)

        monitor = Monitor(
            sheet=SHEET, open_port=opener, deliver=snapshots.append, baud=baud
        )
        await monitor.run(for_s=for_s)
        bench.close()

    run(main())
    return snapshots


def test_the_monitor_says_what_it_tries_and_reads_on() -> None:
    baud = BaudSearch()
    snapshots = watch(lambda bench: OneSpeed(bench, 230400), baud)
    assert baud.found == 230400
    details = [s.link_detail for s in snapshots]
    for speed in SPEEDS[:4]:
        assert any(f"trying {speed} baud" in d for d in details)
    assert snapshots[-1].link is LinkState.LIVE
    assert snapshots[-1].raw_c is not None


def test_the_monitor_says_so_when_nobody_talks_sense_and_never_ends() -> None:
    snapshots = watch(lambda bench: OneSpeed(bench, 1200), BaudSearch())
    assert snapshots[-1].link_cause is Cause.WRONG_SPEED
    assert all(s.raw_c is None for s in snapshots)


def test_a_port_without_speeds_is_left_alone() -> None:
    snapshots = watch(BenchPipe, BaudSearch(), for_s=3.0)
    assert not any("baud" in s.link_detail for s in snapshots)
    assert snapshots[-1].link is LinkState.LIVE


@pytest.mark.parametrize(
    ("name", "speed"),
    [
        ("socket://127.0.0.1:35000", False),
        ("/dev/pts/7", False),
        ("/dev/ttyUSB0", True),
        ("/dev/rfcomm0", True),
    ],
)
def test_only_serial_devices_have_a_speed(name: str, speed: bool) -> None:
    assert has_speed(name) is speed


@pytest.mark.parametrize("text", ["-1", "0", "1.5", "", "fast", "³8", "999999999999"])
def test_a_speed_that_makes_no_sense_is_one_sentence(text: str, capsys) -> None:
    with pytest.raises(SystemExit) as caught:
        main(["live", f"--baud={text}"])
    assert caught.value.code == 2
    said = capsys.readouterr().err
    assert "--baud" in said
    assert said.count("\n") == 1


def test_auto_is_the_default() -> None:
    parser = build_parser()
    assert parser.parse_args(["live"]).baud is None
    assert parser.parse_args(["live", "--baud", "auto"]).baud is None
    assert parser.parse_args(["live", "--baud", "9600"]).baud == 9600
