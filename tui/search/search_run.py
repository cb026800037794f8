"""One run of a search on an adapter: look, watch, listen to what is typed."""

from __future__ import annotations

import asyncio
import hashlib
import time
from collections.abc import Awaitable, Callable
from typing import TYPE_CHECKING

from bridge.link.ports.progress import telling
from bridge.link.schedule import request_id_of
from bridge.protocol.request import Request
from bridge.protocol.vehicle_number import VIN_SERVICE, VIN_TYPE, BadVin, read_vin
from bridge.search.ledger import Entry, Ledger
from bridge.search.ranking import rank
from bridge.search.scan.hunt import search
from bridge.search.scan.listening import Listen
from bridge.search.scan.search_link import FindLink
from bridge.search.search_plan import IdentifierSpan
from bridge.units import QuantityError, said_temperature
from bridge.values.errors import UsageError
from tui.headless.typed_lines import TypedLines
from tui.search.search_file import Pen
from tui.search.search_show import Show
from tui.words import search_wording

if TYPE_CHECKING:
    from argparse import Namespace

    from bridge.link.ports.port import Port

SHOW_EVERY_S = 20.0
STALE_WATCH_S = 900.0
"""A warm-up left alone for longer is another one: it is watched anew."""
ENDS = ("done", "q", "quit", "end")
TURNS_RPM = 300.0


class SearchRun:
    """The stages of one run, and what they share."""

    def __init__(
        self,
        args: Namespace,
        show: Show,
        ledger: Ledger | None,
        pen: Pen,
        car: str,
        spans: tuple[IdentifierSpan, ...],
        units: tuple[int, ...],
    ) -> None:
        self.ledger = ledger or Ledger()
        self._args, self._show, self._pen = args, show, pen
        self._car, self._spans, self._only = car, spans, units
        self._done = False

    async def whole(self, opener: Callable[[], Awaitable[Port]]) -> int:
        """Go through all stages; return the exit code.

        Raises:
            SumpgateError: what ended it, in one sentence.
        """
        args = self._args
        for line in search_wording.ADVICE:
            self._show.say(line)
        with telling(self._show.say):
            port = await opener()
        link = FindLink(
            port,
            per_s=args.pace,
            protocol=args.protocol,
            session=args.session == "extended",
        )
        try:
            await link.connect()
            await self._same_car(link)
            await self._search(link)
            if not args.search_only and self.ledger.answered:
                await self._watch(link)
        finally:
            await link.aclose()
        return 0

    async def _same_car(self, link: FindLink) -> None:
        """Do not mix two cars' answers in one file."""
        own = await _car_of(link)
        if self._car and own and self._car != own:
            raise UsageError(
                f"the search file {self._pen.path} is of another car: name another "
                "with --state, or start over with --fresh"
            )
        if own and not self._car:
            self._tell({"what": "car", "is": own})
        known = len(self.ledger.answered)
        if known:
            self._show.say(search_wording.GOING_ON.format(self._pen.path, known))

    async def _search(self, link: FindLink) -> None:
        units = await search(
            link,
            self.ledger,
            self._tell,
            self._show.progress,
            spans=self._spans,
            only=self._only,
            engine_on=self._args.engine_on,
        )
        named = ", ".join(f"{u:X}" for u in units)
        answered = len(self.ledger.answered)
        self._show.say(f"searched {named}: {answered} identifiers answer")
        for (unit, service), why in self.ledger.closed.items():
            self._show.say(f"unit {unit:X}, service {service:02X}: {why}")

    async def _watch(self, link: FindLink) -> None:
        for line in search_wording.WARM_UP:
            self._show.say(line)
        if self._left_alone():
            self._tell({"what": "watch"})
            self.ledger.take({"what": "watch"})
        listen = Listen(link, self.ledger, self._tell, stamp=time.time)
        typed = TypedLines()
        hearing = asyncio.create_task(self._hear(typed))
        shown_s = time.monotonic()
        try:
            while not (self._done or self._over()):
                await listen.round(tuple(self.ledger.answered))
                if time.monotonic() - shown_s >= SHOW_EVERY_S:
                    shown_s = time.monotonic()
                    self._table()
        finally:
            hearing.cancel()
        self._table()

    def _left_alone(self) -> bool:
        ends = [s.t_s[-1] for s in self.ledger.watch.series.values() if s.t_s]
        return bool(ends) and time.time() - max(ends) > STALE_WATCH_S

    def _over(self) -> bool:
        """Whether the engine has run for as long as was asked."""
        running = [t for t, rpm in self.ledger.watch.engine if rpm >= TURNS_RPM]
        span_s = running[-1] - running[0] if running else 0.0
        return span_s >= 60.0 * float(self._args.minutes)

    def _table(self) -> None:
        self._show.table(rank(self.ledger.watch), self.ledger.watch)

    async def _hear(self, typed: TypedLines) -> None:
        while not self._done:
            for line in typed.take():
                self._line(line)
            await asyncio.sleep(0.1)

    def _line(self, line: str) -> None:
        if line.lower() in ENDS:
            self._done = True
            self._show.say(search_wording.ENDING)
            return
        if not line:
            self._table()
            return
        try:
            temp_c = said_temperature(line, bare="degC")
        except QuantityError as problem:
            self._show.say(str(problem))
            return
        self._note(
            {
                "what": "typed",
                "t_s": time.time(),
                "temp_c": round(temp_c, 3),
                "accuracy_c": self._args.accuracy_c,
            }
        )
        self._show.say(f"thermometer: {temp_c:.1f} °C ±{self._args.accuracy_c:g} °C")

    def _note(self, entry: Entry) -> None:
        self.ledger.take(entry)
        self._tell(entry)

    def _tell(self, entry: Entry) -> None:
        self._pen.put(entry)


async def _car_of(link: FindLink) -> str:
    """Return a short sign of the car's identification number; '' if not told.

    The number itself is not kept.
    """
    if link.engine is None:
        return ""
    request = Request(
        service=VIN_SERVICE,
        identifier=VIN_TYPE,
        request_id=request_id_of(link.engine),
        reply_id=link.engine,
    )
    result = (await link.request(request)).result
    try:
        text = read_vin((getattr(result, "payload", b""),), counted=True)
    except (BadVin, IndexError):
        return ""
    return hashlib.sha256(text.encode()).hexdigest()[:12]
