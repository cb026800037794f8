"""How fast the link polls: against the wire's own limit, and against peers."""

from __future__ import annotations

import contextlib
import logging
import subprocess
import sys
import time
from collections.abc import Iterator

from bridge.sheets import load
from bridge.values.sheet import Sheet
from simulators.adapter.adapter_settings import AdapterSettings
from simulators.car.scenes import make_bench
from tests.link.rig import Log, watch
from tests.show.parts.show_run import ShowRun

LATENCY_S = 0.01
WARM_S = 20.0
"""Trouble codes and the like are read once, before this."""
CAN_FRAME_S = 250e-6
"""One frame at 500 kbit/s; the unit's answer takes one, besides its latency."""
LEAST = 0.95
CYCLE = (("7E1", "221157"), ("7E0", "0105"), ("7E0", "010C"))


def against_the_wire(told: ShowRun) -> None:
    """Poll flat out in simulated time; print the share of the wire's limit."""
    print("Flat out against the wire: bytes x 10 / baud + unit latency (simulated)")
    sheet, for_s = load("scar-eight-speed"), told.size(5.0, 30.0)
    for baud in (38_400, 115_200):
        for adaptive in (True, False):
            share, rate = _share(sheet, baud, for_s, adaptive=adaptive)
            name = f"{baud}{'' if adaptive else '_listening_200ms'}"
            told.tell(f"wire_answers_per_s_{name}", rate)
            told.tell(f"wire_share_{name}", share, least=LEAST)


def _share(
    sheet: Sheet, baud: int, steady_s: float, *, adaptive: bool
) -> tuple[float, float]:
    """Return the time the wire and the units need, over the time taken."""
    logs, counts = [], []
    for for_s in (WARM_S, WARM_S + steady_s):  # the second run begins as the first
        bench = make_bench(
            "warm-day",
            sheet,
            baud=baud,
            latency_s=LATENCY_S,
            settings=AdapterSettings(adaptive=adaptive),
        )
        log = Log()
        _, lines = watch(bench, sheet, for_s, interval_s=0.0, log=log)
        logs.append(log.read_bytes + log.written_bytes)
        counts.append((len(lines), lines))
    steady = counts[1][1][counts[0][0] :]
    fluid_s = max(u.latency_s for u in bench.adapter.units) + CAN_FRAME_S
    engine_s = min(u.latency_s for u in bench.adapter.units) + CAN_FRAME_S
    needed_s = (logs[1] - logs[0]) * 10 / baud
    needed_s += sum(fluid_s for s in steady if s[:2] == "22")
    needed_s += sum(engine_s for s in steady if s[:2] == "01")
    answers = sum(s[:2] in ("01", "22") for s in steady)
    return needed_s / steady_s, answers / steady_s


def against_peers(told: ShowRun) -> None:
    """Poll one bench in another process over a pty in real time, four ways.

    A busy machine's figures: shown, not judged.
    """
    print("Real time, 38400 baud over a pty, as shares of what the wire allows")
    print("(each of them asks 221157 at 7E1, 0105 and 010C at 7E0 in turn)")
    limit, for_s = _limit(38_400), told.size(1.5, 8.0)
    told.tell("peer_limit_per_s", limit)
    for name, run in (
        ("sumpgate", _ours),
        ("bare_pyserial", _bare),
        ("obd_OBD", _obd),
        ("obd_Async", _obd_async),
    ):
        with _bench() as path:
            rate = run(path, for_s)
        told.tell(f"peer_share_{name}", rate / limit)


def _limit(baud: int) -> float:
    """Answers a second of the cycle, header switches and count digits included."""
    size = len("ATSH7E1\rOK\r\r>") + len("2211571\r7E90462115750AAAAAA\r\r>")
    size += len("ATSH7E0\rOK\r\r>") + len("01051\r7E803410550AAAAAAAA\r\r>")
    size += len("010C1\r7E804410C0C80AAAAAA\r\r>")
    return 3 / (size * 10 / baud + 3 * LATENCY_S)


@contextlib.contextmanager
def _bench() -> Iterator[str]:
    command = [sys.executable, "-m", "tui", "bench", "--pty", "--scene", "warm-day"]
    with subprocess.Popen(
        [*command, "--baud", "38400"], stdout=subprocess.PIPE, text=True
    ) as bench:
        assert bench.stdout is not None
        try:
            yield bench.stdout.readline().split()[-1]
        finally:
            bench.kill()


def _ours(path: str, for_s: float) -> float:
    import asyncio

    from bridge.link.exchange import Exchange
    from bridge.link.link import ElmLink
    from bridge.link.ports.opening import open_port
    from bridge.link.ports.port import GuardedPort
    from bridge.protocol.request import Request

    async def run() -> float:
        link = ElmLink(Exchange(GuardedPort(await open_port(path, 38_400))))
        await link.connect()
        await link.find_units()
        asks = [
            Request(service=0x22, identifier=0x1157, request_id=0x7E1, reply_id=0x7E9),
            Request(service=0x01, identifier=0x05, request_id=0x7E0, reply_id=0x7E8),
            Request(service=0x01, identifier=0x0C, request_id=0x7E0, reply_id=0x7E8),
        ]
        await link.probe_count_digit(
            Request(service=0x01, identifier=0x00, request_id=0x7E0, reply_id=0x7E8)
        )
        began, count = time.monotonic(), 0
        while time.monotonic() - began < for_s:
            for ask in asks:
                await link.request(ask, 2 if ask.identifier == 0x0C else 1)
                count += 1
        rate = count / (time.monotonic() - began)
        await link.aclose()
        return rate

    return asyncio.run(run())


def _bare(path: str, for_s: float) -> float:
    import serial  # noqa: TID251 - a peer, not the product

    with serial.Serial(path, 38_400, timeout=2) as port:

        def ask(line: str) -> None:
            port.write(line.encode() + b"\r")
            port.read_until(b">")

        for line in ("ATZ", "ATE0", "ATL0", "ATS0", "ATH1", "0100"):
            ask(line)
        began, count = time.monotonic(), 0
        while time.monotonic() - began < for_s:
            header = ""
            for unit, line in CYCLE:
                if unit != header:
                    ask(f"ATSH{unit}")
                    header = unit
                ask(line + "1")
                count += 1
        return count / (time.monotonic() - began)


def _obd(path: str, for_s: float) -> float:
    import obd  # noqa: TID251 - a peer, not the product

    logging.getLogger("obd").setLevel(logging.CRITICAL)
    car = obd.OBD(path, baudrate=38_400, fast=True)
    commands = _commands(obd)
    began, count = time.monotonic(), 0
    while time.monotonic() - began < for_s:
        for command in commands:
            count += not car.query(command, force=True).is_null()
    rate = count / (time.monotonic() - began)
    car.close()
    return rate


def _obd_async(path: str, for_s: float) -> float:
    import obd  # noqa: TID251 - a peer, not the product

    logging.getLogger("obd").setLevel(logging.CRITICAL)
    count = [0]

    def got(_: object) -> None:
        count[0] += 1

    car = obd.Async(path, baudrate=38_400, fast=True)
    for command in _commands(obd):
        car.watch(command, callback=got, force=True)
    car.start()
    began = time.monotonic()
    time.sleep(for_s)
    rate = count[0] / (time.monotonic() - began)
    car.stop()
    car.close()
    return rate


def _commands(obd: object) -> list[object]:
    made = obd.OBDCommand(  # type: ignore[attr-defined]
        "FLUID",
        "fluid",
        b"221157",
        4,
        lambda m: m[0].data[3] - 40,
        obd.ECU.ALL,  # type: ignore[attr-defined]
        fast=True,
        header=b"7E1",
    )
    table = obd.commands  # type: ignore[attr-defined]
    return [made, table.COOLANT_TEMP, table.RPM]
