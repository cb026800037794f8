"""The poller: connects, finds the units, polls, and starts over when it must.

Everything it learns leaves through ``emit`` as Reading, Fault or LinkChange. It
never ends by itself; cancel the task to stop it.
"""

from __future__ import annotations

import math
from collections.abc import Awaitable, Callable, Iterable
from dataclasses import dataclass

from bridge.link.adapter_setup import NotAnAdapter, identify
from bridge.link.clock import now_s, sleep
from bridge.link.exchange import AdapterReset, AdapterSilent, Exchange
from bridge.link.link import ElmLink
from bridge.link.one_time import OneTimeRequests, ask
from bridge.link.ports.baud import BaudSearch
from bridge.link.ports.port import GuardedPort, Port
from bridge.link.ports.progress import telling
from bridge.link.schedule import (
    Query,
    beside_engine,
    engine_of,
    engine_queries,
    group_queries,
    ordered,
    request_of,
    sheet_queries,
)
from bridge.link.standard_values import all_supported, ids_of, pid_request
from bridge.link.unit_session import UnitSession
from bridge.link.untold import MissingValue
from bridge.protocol.reply import Answer, Refusal
from bridge.protocol.signal_value import read_signal
from bridge.protocol.standard_pids import read_standard
from bridge.values.causes import Cause
from bridge.values.errors import LinkLost, PortError
from bridge.values.events import Event, LinkChange
from bridge.values.readings import Fault, FaultKind, LinkState, Reading
from bridge.values.sheet import Role, Sheet, Signal

J1939_PROTOCOL = "A"
BACK_OFF_S = (0.2, 0.4, 0.8, 1.6, 2.0)
RESYNC_DEADLINE_S = 0.4
EMPTY_ROUNDS = 10
"""After this many rounds without an answer, search for the units again."""
CALM_ROUNDS = 3
"""Rounds kept for readings alone before the one-time requests begin."""
GARBLED_ROUNDS = 3
"""As EMPTY_ROUNDS, of answers that are no use: the adapter's settings are off."""
ENGINE_PAUSE_S = 10.0
"""How often to search for the units again while the engine's does not answer."""
NO_UNITS_PAUSE_S = 1.0

Opener = Callable[[], Awaitable[Port]]


class _LookAgain(Exception):  # noqa: N818 - a state of affairs
    """Set the adapter up and look for the units again; the refusal says why."""

    def __init__(self, why: Refusal | None = None) -> None:
        super().__init__()
        self.why = why


@dataclass(slots=True)
class _Due:
    query: Query
    next_s: float = 0.0


class Poller:
    """One car, polled for as long as it takes."""

    def __init__(
        self,
        *,
        open_port: Opener,
        sheet: Sheet,
        emit: Callable[[Event], None],
        interval_s: float = 0.2,
        baud: BaudSearch | None = None,
    ) -> None:
        """``interval_s``: least seconds between two rounds; 0 asks flat out.

        ``baud``: finds the speed of a port that has one; None: it is fixed.
        """
        self._open_port = open_port
        self._sheet = sheet
        self._emit = emit
        self._interval_s = interval_s
        self._baud = baud
        self._failures = 0
        self._said: LinkChange | None = None
        self._missing = MissingValue()
        self._refusal: Refusal | None = None
        """The last answer that could not be used."""
        fluid = sheet.signal(Role.FLUID_TEMPERATURE)
        alone = request_of(fluid) if fluid and sheet.extended_session else None
        self._unit_session = UnitSession(alone)
        self._one_time = OneTimeRequests(emit)
        self._fresh = True
        """Whether the units have not been met since the port was opened."""

    def read_codes(self) -> None:
        """Read the trouble codes once more, beside the polling."""
        self._one_time.codes_again()

    async def run(self) -> None:
        """Poll until cancelled; a broken link is opened again with back-off.

        Raises:
            PortError: the port could not be opened the very first time.
        """
        opened = False
        while True:
            try:
                with telling(self._trying):
                    port = await self._open_port()
                opened = True
                await self._use(port)
            except PortError as problem:
                if not opened:
                    raise
                self._say(LinkState.LOST, str(problem), Cause.PORT_GONE)
            except LinkLost as lost:
                self._say(LinkState.LOST, str(lost), Cause.PORT_GONE)
            await sleep(BACK_OFF_S[min(self._failures, len(BACK_OFF_S) - 1)])
            self._failures += 1

    async def _use(self, port: Port) -> None:
        """Use an open port until it is lost."""
        guarded = GuardedPort(port, session=self._sheet.extended_session)
        link = ElmLink(Exchange(guarded), self._sheet.protocol)
        restart = self._fresh = True
        self._say(LinkState.CONNECTING, "the port is open; asking the adapter")
        try:
            while not await self._settle(link, port):
                pass
            while True:
                restart = await self._session(link, restart=restart)
        finally:
            await link.aclose()

    async def _settle(self, link: ElmLink, port: Port) -> bool:
        """Find the port's speed, if it has one; False: nothing readable yet."""
        try:
            if self._baud is not None:
                await self._baud.settle(link.exchange, port, self._trying)
        except AdapterSilent:
            self._say(LinkState.SILENT, "", identify(link.exchange))
            await sleep(NO_UNITS_PAUSE_S)
            return False
        return True

    def _trying(self, what: str) -> None:
        if self._said is None or self._said.cause is None:  # what is wrong stays said
            self._say(LinkState.CONNECTING, f"looking for the adapter: {what}")

    async def _session(self, link: ElmLink, *, restart: bool) -> bool:
        """Initialise and poll until something upsets it; True: restart next time."""
        try:
            await link.connect(restart=restart)
            await self._poll(link)
        except AdapterReset:
            self._say(LinkState.CONNECTING, "", Cause.ADAPTER_RESTARTED)
            return False
        except NotAnAdapter as problem:
            self._say(LinkState.CONNECTING, str(problem), problem.cause)
            await sleep(NO_UNITS_PAUSE_S)
        except AdapterSilent:
            self._say(LinkState.SILENT, "", identify(link.exchange))
            return not await self._back_in_step(link)
        except _LookAgain as again:
            if again.why is not None:
                self._say(LinkState.CONNECTING, again.why.detail, again.why.cause)
            return False
        return True

    async def _back_in_step(self, link: ElmLink) -> bool:
        try:
            await link.exchange.resync(deadline_s=RESYNC_DEADLINE_S)
        except AdapterSilent:
            return False
        return True

    async def _poll(self, link: ElmLink) -> None:
        queries = await self._make_plan(link)
        plan = [_Due(q) for q in queries]
        self._missing = MissingValue(queries)
        self._unit_session.forget()
        whole = any(d.query.standard for d in plan)
        again_s = now_s() + (math.inf if whole else ENGINE_PAUSE_S)
        empty = rounds = 0
        while now_s() < again_s:
            began_s = now_s()
            due = [d for d in plan if d.next_s <= began_s]
            await self._unit_session.keep(link)
            answered = await self._round(link, due)
            empty = 0 if answered else empty + 1
            garbled = self._refusal is not None and (
                self._refusal.kind is FaultKind.BAD_REPLY
            )
            if empty >= (GARBLED_ROUNDS if garbled else EMPTY_ROUNDS):
                raise _LookAgain(self._refusal)
            rounds += 1
            if answered and rounds > CALM_ROUNDS:
                await self._question(link)
            await sleep(began_s + self._interval_s - now_s())
        raise _LookAgain

    async def _question(self, link: ElmLink) -> None:
        """Ask one of the things that are read once, if any is left."""
        question = self._one_time.next(now_s())
        if question is None:
            return
        brought = await ask(link, question)
        if brought.refusal is not None and brought.refusal.reset:
            raise AdapterReset
        self._one_time.took(question, brought)

    async def _round(self, link: ElmLink, due: list[_Due]) -> bool:
        """Ask every due query once; return whether any brought an answer."""
        answered = False
        periods = {d.query: d for d in due}
        for query in ordered([d.query for d in due]):
            began_s = now_s()
            answered |= await self._ask(link, query)
            periods[query].next_s = began_s + query.period_s
        return answered

    async def _ask(self, link: ElmLink, query: Query) -> bool:
        outcome = await link.request(query.request, query.data_length)
        if isinstance(outcome.result, Refusal):
            if outcome.result.reset:
                raise AdapterReset
            self._refusal = outcome.result
            self._missing.refused(query, outcome.result)
            self._refused(query, outcome.result, outcome.t_s)
            return False
        self._missing.answered(query)
        self._say_live()
        self._failures = 0
        for signal in query.signals:
            # As old as its question: when the unit measured it nobody can see.
            self._emit(_read(query, signal, outcome.result, outcome.asked_s))
        return True

    def _say_live(self) -> None:
        """Say that the car answers, and what of it is wanted and does not come."""
        untold = self._missing.untold
        why = self._missing.fluid
        if why is not None:
            self._say(LinkState.LIVE, why.detail, why.cause, untold)
        else:
            cause = Cause.ENGINE_UNTOLD if untold else None
            self._say(LinkState.LIVE, "", cause, untold)

    def _refused(self, query: Query, refusal: Refusal, t_s: float) -> None:
        for signal in query.signals:
            self._emit(
                Fault(
                    kind=refusal.kind, t_s=t_s, detail=refusal.detail, role=signal.role
                )
            )

    async def _make_plan(self, link: ElmLink) -> list[Query]:
        """Look for the units and return what to ask them."""
        if self._sheet.protocol == J1939_PROTOCOL:
            return group_queries(self._sheet)
        units = await link.find_units()
        nobody = isinstance(units, Refusal) and units.cause is Cause.NO_UNITS
        if nobody and await self._answers_anyway(link):
            units = {}
        if isinstance(units, Refusal):
            if units.reset:
                raise AdapterReset
            self._say(LinkState.CONNECTING, units.detail, units.cause)
            await sleep(NO_UNITS_PAUSE_S)
            raise _LookAgain
        engine = engine_of(units)
        plan = sheet_queries(self._sheet)
        physical = False
        if engine is not None:
            more, physical = await self._engine_plan(link, engine, units)
            plan += more
        self._meet(link, units, engine, physical=physical)
        return plan

    async def _answers_anyway(self, link: ElmLink) -> bool:
        """Tell whether the fluid's unit answers although the question to all did not.

        Only where the bus is known: a search is begun by the question to everybody.
        """
        query = next((q for q in sheet_queries(self._sheet) if q.is_fluid), None)
        if link.info.framing is None or query is None:
            return False  # a bus that is not found, or not awake, has been asked enough
        result = (await link.request(query.request, query.data_length)).result
        return isinstance(result, Answer)

    def _meet(
        self, link: ElmLink, units: Iterable[int], engine: int | None, *, physical: bool
    ) -> None:
        """Line up what is read once, from the units that answered the search."""
        on_can = link.info.is_can
        ids = {
            u: ids_of(u, physical=on_can and (physical or u != engine)) for u in units
        }
        own = self._sheet.signal(Role.FLUID_TEMPERATURE)
        known = [ids[u] for u in sorted(units, key=lambda u: (u != engine, u))]
        if own is not None and own.request_id is not None and own.reply_id is not None:
            known.append((own.request_id, own.reply_id))
        self._one_time.meet(
            {i[1]: i for i in known}.values(),
            counted=on_can,
            vin_from=None if engine is None else ids[engine],
            anew=self._fresh,
        )
        self._fresh = False

    async def _engine_plan(
        self, link: ElmLink, engine: int, units: dict[int, bytes]
    ) -> tuple[list[Query], bool]:
        """Return what to ask the engine unit, and whether it hears its own address."""
        physical = await self._hears_its_address(link, engine)
        ids = ids_of(engine, physical=physical)
        supported = await all_supported(link, ids, units[engine], last=0x40)
        queries = engine_queries(
            self._sheet,
            engine,
            supported,
            physical=physical,
            elsewhere=beside_engine(units, engine),
        )
        return queries, physical

    async def _hears_its_address(self, link: ElmLink, engine: int) -> bool:
        """Return whether the engine unit can be asked alone; only on CAN."""
        if not link.info.is_can:
            return False
        first = pid_request(0x00, ids_of(engine, physical=True))
        await link.probe_count_digit(first)
        if link.count_digit:
            return True
        result = (await link.request(first, 4)).result
        return isinstance(result, Answer) or result.kind is FaultKind.REFUSED

    def _say(
        self,
        state: LinkState,
        detail: str,
        cause: Cause | None = None,
        untold: tuple[Role, ...] = (),
    ) -> None:
        """Say how the link stands, unless that is what was said last.

        What was heard may differ from one try to the next: it is no news by itself.
        """
        change = LinkChange(
            state=state, t_s=now_s(), detail=detail, cause=cause, untold=untold
        )
        last = self._said
        same = last is not None and (
            (last.state, last.cause, last.untold) == (state, cause, untold)
            and (cause is not None or last.detail == detail)
        )
        if not same:
            self._said = change
            self._emit(change)


def _read(query: Query, signal: Signal, answer: Answer, t_s: float) -> Reading | Fault:
    if query.standard:
        return read_standard(signal, answer.payload, t_s=t_s)
    return read_signal(signal, answer.data, t_s=t_s, raw=answer.payload)
