"""`make show-ble`: an adapter over BLE against the same one on a serial line.

Sections: answers a second and the share of what connection events and packet size
allow; random connections by seed; connections that break off. All in simulated time.
SEED=N, QUICK=1.
"""

from __future__ import annotations

import asyncio
import itertools
import math
import random
import statistics
import sys
from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from bridge.link.ports.opening import make_opener
from bridge.link.ports.port import Port
from bridge.monitor import Monitor
from bridge.sheets import load
from bridge.snapshot import Snapshot
from bridge.values.readings import LinkState
from simulators.car.scenes import make_bench
from simulators.serve.bench import Bench
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe
from tests.link.ports.gatt import LAYOUTS, Device, Radio
from tests.link.rig import Noted
from tests.show.parts.show_run import ShowRun

BAUD = 115_200
"""Between the adapter's chip and its radio."""
LATENCY_S = 0.01
CAN_FRAME_S = 250e-6
WARM_S = 20.0
"""The scan, the set-up and what is read once are over by then."""
LEAST = 0.95
TOLERANCE_C = 1.5
SHEET = load("scar-eight-speed")


@dataclass
class Talk:
    """Every exchange: when the line was written, the line, bytes of its answer."""

    said: list[list[Any]] = field(default_factory=list)
    opened_s: float = math.nan

    def steady(self) -> list[tuple[str, int, float]]:
        """Return line, answer's size and seconds of the level check's exchanges.

        Those of the first WARM_S seconds are left out, and the trouble codes read
        now and then: any number of units may answer, so the adapter waits for more.
        """
        pairs = itertools.pairwise(self.said)
        return [
            (line, size, after - t)
            for (t, line, size), (after, _, _) in pairs
            if t >= WARM_S and line[:2] in ("01", "22", "AT")
        ]


def run(
    bench: Bench,
    opener: Callable[[], Any],
    for_s: float,
    at: dict[float, Callable[[], None]] | None = None,
) -> tuple[list[Snapshot], Talk]:
    """Poll flat out in simulated time."""
    seen: list[Snapshot] = []
    talk = Talk()

    async def noted() -> Port:
        port = Noted(await opener(), talk.said)
        if math.isnan(talk.opened_s):
            talk.opened_s = asyncio.get_running_loop().time()
        return port

    async def main() -> None:
        for moment, action in (at or {}).items():
            asyncio.get_running_loop().call_later(moment, action)
        monitor = Monitor(
            sheet=SHEET, open_port=noted, deliver=seen.append, interval_s=0.0
        )
        await monitor.run(for_s=for_s)
        await asyncio.sleep(1.0)
        bench.close()

    loop = PacedLoop(math.inf)
    try:
        loop.run_until_complete(main())
    finally:
        loop.close()
    return seen, talk


def needed_s(line: str, size: int, device: Device, baud: int, *, serial: bool) -> float:
    """Return the least time an exchange can take, of a serial line or of a device.

    Over the air the line leaves with an event; the answer's first packet with the
    next event after its first byte, its last one when it is complete.
    """
    wire_s = (len(line) + 1 + size) * 10 / baud
    units = [unit.latency_s for unit in device.bench.adapter.units]
    slow = {"01": min(units), "22": max(units)}.get(line[:2])
    if slow is not None:
        wire_s += slow + CAN_FRAME_S
    if serial:
        return wire_s
    room = device.mtu - 3

    def events(count: int) -> int:
        return math.ceil(math.ceil(count / room) / device.per_event)

    def first_event(at_s: float) -> int:
        return math.ceil(at_s / device.interval_s - 1e-9)

    begins_s = wire_s - (size - 1) * 10 / baud
    back = max(first_event(wire_s), first_event(begins_s) + events(size) - 1)
    return device.interval_s * (events(len(line) + 1) + back)


def new_bench(baud: int = BAUD) -> Bench:
    """Return the same car and adapter every time."""
    return make_bench("warm-day", SHEET, baud=baud, latency_s=LATENCY_S)


def wrong(seen: list[Snapshot], bench: Bench) -> int:
    """Count the temperatures shown that were not the fluid's."""
    count = 0
    for shown in seen:
        if shown.temp_c is None:
            continue
        truth = bench.truth(shown.t_s - shown.age_s if shown.age_s else shown.t_s)
        if truth is not None and abs(truth.fluid_c - shown.temp_c) > TOLERANCE_C:
            count += 1
    return count


def over_air(device: Device, for_s: float) -> dict[str, Any]:
    """Return the figures of one device."""
    with Radio(device).on():
        opener = make_opener(f"ble://{device.address}", BAUD)
        seen, talk = run(device.bench, opener, WARM_S + for_s)
    return _figures(seen, talk, device, for_s, BAUD)


def over_wire(baud: int, for_s: float) -> dict[str, Any]:
    """Return the figures of the same adapter on a serial line."""
    bench = new_bench(baud)

    async def opener() -> Port:
        return BenchPipe(bench)

    seen, talk = run(bench, opener, WARM_S + for_s)
    device = Device(bench=bench)
    return _figures(seen, talk, device, for_s, baud, serial=True)


def _figures(
    seen: list[Snapshot],
    talk: Talk,
    device: Device,
    for_s: float,
    baud: int,
    *,
    serial: bool = False,
) -> dict[str, Any]:
    steady = talk.steady()
    least_s = sum(needed_s(a, b, device, baud, serial=serial) for a, b, _ in steady)
    taken_s = sum(s for _, _, s in steady)
    answers = sum(line[:2] in ("01", "22") for line, _, _ in steady)
    first = next((s.t_s for s in seen if s.temp_c is not None), math.inf)
    return {
        "answers_per_s": round(answers / for_s, 2),
        "share_of_limit": round(least_s / taken_s, 4),
        "first_reading_s": round(first - talk.opened_s, 2),
        "wrong": wrong(seen, device.bench),
    }


def show(name: str, figures: dict[str, Any], misses: list[str]) -> None:
    """Print a row; note what misses its mark."""
    print(
        f"  {name:44}{figures['answers_per_s']:7.1f} /s"
        f"{figures['share_of_limit']:8.3f}{figures['first_reading_s']:8.2f} s"
        f"{figures['wrong']:6}"
    )
    if figures["share_of_limit"] < LEAST:
        misses.append(f"{name}: {figures['share_of_limit']} of the limit")
    if figures["wrong"]:
        misses.append(f"{name}: {figures['wrong']} wrong temperatures")


HEAD = f"  {'':44}{'answers':>10}{'share':>8}{'first':>10}{'wrong':>6}"


def against_serial(told: ShowRun) -> None:
    """Compare BLE with a serial line on the same bench."""
    for_s = told.size(5.0, 30.0)
    print("The same adapter on a serial line and over BLE, asked flat out")
    print("(share: of what bits, events and packets allow; first: after opening)")
    print(HEAD)
    rows: dict[str, Any] = {}
    for baud in (38_400, BAUD):
        rows[f"serial {baud}"] = over_wire(baud, for_s)
    for interval_s in (0.0075, 0.015, 0.03):
        for mtu in (23, 247):
            for per_event in (1, 4):
                name = f"BLE {interval_s * 1e3:g} ms, MTU {mtu}, {per_event} an event"
                device = Device(
                    bench=new_bench(),
                    mtu=mtu,
                    interval_s=interval_s,
                    per_event=per_event,
                )
                rows[name] = over_air(device, for_s)
    layout = "FFF0, two, with response only"
    device = Device(bench=new_bench(), layout=LAYOUTS[layout])
    rows[f"BLE 30 ms, MTU 23, {layout[11:]}"] = over_air(device, for_s)
    for name, figures in rows.items():
        show(name, figures, told.misses)
    told.figures["rows"] = rows


def at_random(told: ShowRun) -> None:
    """Take connections at random: any layout, MTU, interval, packets an event."""
    print("\nRandom connections")
    print(HEAD)
    chance, (count, for_s) = random.Random(told.seed), told.size((4, 5.0), (40, 20.0))
    shares, errors, firsts = [], 0, []
    for number in range(count):
        layout = chance.choice(sorted(LAYOUTS))
        device = Device(
            bench=new_bench(),
            layout=LAYOUTS[layout],
            mtu=chance.choice((23, chance.randint(24, 246), 247)),
            interval_s=round(chance.uniform(0.0075, 0.06), 5),
            per_event=chance.randint(1, 6),
            refuses_commands=chance.choice(("", "", "error", "silence"))
            if "both" in layout
            else "",
        )
        figures = over_air(device, for_s)
        how = f"{device.interval_s * 1e3:.1f} ms, MTU {device.mtu}, {layout[:22]}"
        show(f"{number + 1}: {how}", figures, told.misses)
        shares.append(figures["share_of_limit"])
        firsts.append(figures["first_reading_s"])
        errors += figures["wrong"]
    told.tell("connections", count)
    told.tell("share_median", statistics.median(shares))
    told.tell("share_least", min(shares))
    told.tell("first_reading_s_worst", max(firsts))
    told.tell("connections_wrong", errors, want=0)


def breaking(told: ShowRun) -> None:
    """Break the connection off at a random moment: when is it told, when is it back?"""
    chance, count = random.Random(told.seed + 1), told.size(3, 20)
    known, back, errors = [], [], 0
    for _ in range(count):
        device = Device(bench=new_bench(), layout=LAYOUTS["FFF0, two"])
        at_s = WARM_S + chance.uniform(0.0, 5.0)
        with Radio(device).on():
            opener = make_opener("ble://OBDBLE", BAUD)
            seen, _ = run(device.bench, opener, WARM_S + 30.0, {at_s: device.break_off})
        lost = [s.t_s for s in seen if s.t_s >= at_s and s.link is LinkState.LOST]
        again = [
            s.t_s
            for s in seen
            if lost and s.t_s > lost[0] and s.link is LinkState.LIVE and s.temp_c
        ]
        known.append(lost[0] - at_s if lost else math.inf)
        back.append(again[0] - at_s if again else math.inf)
        errors += wrong(seen, device.bench)
    print("\nConnections broken off")
    told.tell("breaks", count)
    told.tell("break_told_s_worst", max(known), most=0.5)
    told.tell("reading_again_s_worst", max(back), most=10.0)
    told.tell("breaks_wrong", errors, want=0)


def main() -> int:
    """Show everything; 1 if a figure misses its mark."""
    told = ShowRun("ble")
    against_serial(told)
    at_random(told)
    breaking(told)
    return told.end()


if __name__ == "__main__":
    sys.exit(main())
