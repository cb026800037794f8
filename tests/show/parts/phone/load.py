"""The gate's ticks beside 20 phones and beside an attack: jitter, refusals, memory."""

from __future__ import annotations

import json
import subprocess
import sys
import time
from argparse import Namespace
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import numpy as np

from bridge.snapshot import Snapshot
from tests.phone.hosted import Hosted
from tui.cli.demo_verb import Demo, load_demo_sheet
from tui.feeds.listeners import shared
from tui.feeds.monitor_feed import MonitorCommands, MonitorFeed
from tui.phone.hub import Hub
from tui.phone.server import PhoneServer, listen

OTHERS = Path(__file__).with_name("others.py")
TICK_S = 0.25
SETTLE_S = 1.0
SESSIONS = 24


@dataclass
class Live:
    """A demo at life's speed, its phone page, and when each tick came."""

    server: PhoneServer
    ticks_s: list[float] = field(default_factory=list)
    sessions: list[str] = field(default_factory=list)

    @property
    def port(self) -> int:
        return int(self.server.address.split("/")[2].rpartition(":")[2])

    def jitter_ms(self, since_s: float) -> list[float]:
        """How far each gap between two ticks since then is from a tick, in ms."""
        came = [t for t in self.ticks_s if t >= since_s]
        return [abs(d - TICK_S) * 1e3 for d in np.diff(came)]

    def pair(self) -> str:
        """Return the cookie of a new session."""
        return Hosted.pair(Hosted(self.server, self.server.hub, None))  # type: ignore[arg-type]


@contextmanager
def live() -> Iterator[Live]:
    """Run the demo in its own thread, as ``sumpgate demo --phone`` does."""
    args = Namespace(
        profile=None, scene="warm-day", speed=1.0, seed=0, faults=None, trace=None
    )
    args.for_s, args.interval = None, 0.2
    sheet, commands = load_demo_sheet(args), MonitorCommands()
    hub = Hub(
        sheet=sheet, unit="C", commands=commands, clock=time.monotonic, stale_s=2.0
    )
    server = PhoneServer(hub=hub, listening=listen("127.0.0.1", 0), log=lambda _: None)
    server.start()
    here = Live(server)
    demo = Demo(sheet=sheet, args=args, wrap=lambda opener: opener, commands=commands)
    feed = MonitorFeed(
        shared(demo.watch, [hub]), loop_factory=demo.loop, commands=commands
    )

    def note(_snapshot: Snapshot) -> None:
        here.ticks_s.append(time.monotonic())

    feed.start(note, lambda sentence: print("MISS the demo ended:", sentence))
    try:
        here.sessions = [here.pair() for _ in range(SESSIONS)]
        time.sleep(2.0)
        yield here
    finally:
        feed.stop()
        server.stop()


def others(*words: object) -> subprocess.Popen[str]:
    """Start the others in a process of their own."""
    return subprocess.Popen(
        [sys.executable, str(OTHERS), *map(str, words)],
        stdout=subprocess.PIPE,
        text=True,
    )


def told(process: subprocess.Popen[str]) -> dict[str, Any]:
    """Return what they printed."""
    out, _ = process.communicate()
    found: dict[str, Any] = json.loads(out)
    return found


@dataclass(frozen=True, kw_only=True)
class Jitter:
    """Ticks alone and ticks beside phones, in ms from a quarter second."""

    alone: list[float]
    beside: list[float]
    phones: int
    messages: int
    longest_gap_s: float

    def at(self, percent: float) -> tuple[float, float]:
        """Return a percentile of both."""
        return (
            float(np.percentile(self.alone, percent)),
            float(np.percentile(self.beside, percent)),
        )


def beside_phones(here: Live, *, rounds: int, seconds: float, phones: int) -> Jitter:
    """Measure in turns, so that what else the machine does falls on both alike."""
    cookies = here.sessions
    alone: list[float] = []
    beside: list[float] = []
    news: list[dict[str, Any]] = []
    for _ in range(rounds):
        since = time.monotonic()
        time.sleep(seconds)
        alone += here.jitter_ms(since)
        process = others(
            "phones", here.port, phones, seconds + SETTLE_S, " ".join(cookies)
        )
        time.sleep(SETTLE_S)
        since = time.monotonic()
        time.sleep(seconds - 0.2)
        beside += here.jitter_ms(since)
        news.append(told(process))
    return Jitter(
        alone=alone,
        beside=beside,
        phones=min(n["phones"] for n in news),
        messages=sum(n["messages"] for n in news),
        longest_gap_s=max(n["longest_gap_s"] for n in news),
    )


@dataclass(frozen=True, kw_only=True)
class Attack:
    """What hostile requests brought about."""

    sent: int
    accepted: int
    said: dict[str, int]
    held: int
    deaf_dropped: int
    jitter: list[float]
    watcher_gap_s: float
    memory_kib: list[int]
    open_after: int


def attacked(
    here: Live, *, requests: int, rounds: int, seed: int, deaf_s: float
) -> Attack:
    """Attack in rounds, with one honest phone following; weigh memory after each."""
    honest, *cookies = here.sessions
    before = here.server.hub.taken
    memory, said, held = [], {}, 0
    since = time.monotonic()
    gap_s = 0.0
    for n in range(rounds):
        watcher = others("phones", here.port, 1, max(deaf_s, 4.0) + 1, honest)
        jar = " ".join(cookies)
        process = others("attack", here.port, requests // rounds, seed + n, jar, deaf_s)
        news = told(process)
        held += news["held"]
        for kind, count in news["said"].items():
            said[kind] = said.get(kind, 0) + count
        gap_s = max(gap_s, told(watcher)["longest_gap_s"])
        memory.append(resident_kib())
    jitter = here.jitter_ms(since)
    accepted = sum(c for k, c in said.items() if k.rpartition(": ")[2].startswith("2"))
    return Attack(
        sent=sum(said.values()),
        accepted=accepted + here.server.hub.taken - before,
        said=said,
        held=held,
        deaf_dropped=here.server.refusals.counts["phone too slow, dropped"],
        jitter=jitter,
        watcher_gap_s=gap_s,
        memory_kib=memory,
        open_after=here.server.connections.open,
    )


def resident_kib() -> int:
    """Return this process's resident memory (Linux)."""
    for line in Path("/proc/self/status").read_text().splitlines():
        if line.startswith("VmRSS:"):
            return int(line.split()[1])
    return 0
