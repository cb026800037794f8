"""A whole search over the simulated wire: sweep, warm-up, ranking, what was sent."""

from __future__ import annotations

import math
import re
from dataclasses import dataclass, field
from typing import Any

from bridge.search.ledger import Ledger
from bridge.search.ranking import Candidate, rank
from bridge.search.scan.hunt import search
from bridge.search.scan.listening import Listen
from bridge.search.scan.search_link import FindLink
from bridge.search.search_plan import read_spans
from simulators.car.hidden import HiddenTruth, hidden_bench
from simulators.serve.paced_loop import PacedLoop
from simulators.serve.pipe import BenchPipe
from tests.link.rig import Noted

WATCH_S = 900.0
PACE = 10.0
READING = {"01": 4, "09": 4, "21": 4, "22": 6}
"""Services that report (SAE J1979, ISO 14230-3, ISO 14229-1), digits of a request."""
_HEX = re.compile(r"[0-9A-F]+")


@dataclass(slots=True)
class Sent:
    """Every line written: its time, its text, and bytes of its answer."""

    lines: list[list[Any]] = field(default_factory=list)

    @property
    def requests(self) -> list[tuple[float, str]]:
        """What reached the car."""
        return [(t, s) for t, s, _ in self.lines if _HEX.fullmatch(s)]

    @property
    def forbidden(self) -> list[str]:
        """Requests that do more than report; session requests (10, 3E) among them."""
        return [s for _, s in self.requests if not self._reports(s)]

    @staticmethod
    def _reports(line: str) -> bool:
        size = READING.get(line[:2])
        return size is not None and len(line) in (size, size + 1)

    @property
    def most_per_s(self) -> int:
        """Most requests within any one second."""
        times, most, first = [t for t, _ in self.requests], 0, 0
        for last, t_s in enumerate(times):
            while t_s - times[first] >= 1.0 - 1e-6:
                first += 1
            most = max(most, last - first + 1)
        return most


@dataclass(slots=True)
class Hunt:
    """What came of one search."""

    seed: int
    truth: HiddenTruth
    place: int
    """Place of the right one, from 1; 0: not among the ten first."""
    chance: float
    """What the tool claimed of its first."""
    identifiers: int
    first: str
    sent: Sent
    search_s: float


def is_right(one: Candidate, truth: HiddenTruth) -> bool:
    """Whether a candidate reads the fluid as the unit writes it."""
    place, scaling, code = one.place, one.place.scaling, truth.code
    same_scale = (
        scaling.length == code.length
        and math.isclose(scaling.factor, code.factor)
        and math.isclose(scaling.offset, code.offset)
        and (code.length == 1 or place.byte_order == code.order)
    )
    return same_scale and (
        one.address.request_id,
        one.address.service,
        one.address.identifier,
        place.first_byte,
    ) == (truth.request_id, truth.service, truth.identifier, truth.first_byte)


def hunt(job: tuple[int, str]) -> Hunt:
    """Search one random car over the whole wire, and watch it warm up."""
    seed, spans = job
    bench, truth = hidden_bench(seed)
    ledger, sent = Ledger(), Sent()
    loop = PacedLoop(math.inf)
    ended: list[float] = []

    async def main() -> None:
        pipe = Noted(BenchPipe(bench), sent.lines)
        link = FindLink(pipe, per_s=PACE, protocol="auto", session=False)
        await link.connect()
        notes: list[object] = []
        await search(
            link, ledger, notes.append, lambda _: None, spans=read_spans(spans)
        )
        ended.append(loop.time())
        bench.car.engine_on = True
        listen = Listen(link, ledger, notes.append, stamp=loop.time)
        while loop.time() - ended[0] < WATCH_S:
            await listen.round(tuple(ledger.answered))
        await link.aclose()
        bench.close()

    try:
        loop.run_until_complete(main())
    finally:
        loop.close()
    found = rank(ledger.watch)
    places = [n for n, c in enumerate(found, 1) if is_right(c, truth)]
    return Hunt(
        seed=seed,
        truth=truth,
        place=places[0] if places else 0,
        chance=found[0].chance if found else 0.0,
        identifiers=len(ledger.answered),
        first=f"{found[0].address} {found[0].place.scaling.words}" if found else "-",
        sent=sent,
        search_s=ended[0],
    )
