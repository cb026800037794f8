"""The link: a request in, a checked answer or a named refusal out.

Whatever the adapter does, `request` ends within its deadline with an `Outcome`,
or raises one of three states of affairs: AdapterSilent, AdapterReset, LinkLost.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace

from bridge.link.adapter_setup import (
    COMMAND_DEADLINE_S,
    STOPPED_PAUSE_S,
    AdapterInfo,
    initialise,
    read_protocol,
)
from bridge.link.addressing import (
    EVERYBODY,
    flow_commands,
    header_commands,
    is_usual,
)
from bridge.link.bitmaps import EVERYTHING, bitmaps
from bridge.link.clock import now_s, sleep
from bridge.link.exchange import AdapterReset, AdapterSilent, Exchange
from bridge.protocol.frames import BadFrames
from bridge.protocol.framing import (
    Framing,
    fits,
    guess_protocol,
    read_messages,
    who_fills,
)
from bridge.protocol.reply import (
    BUSY,
    PENDING,
    Answer,
    Refusal,
    check,
    check_group,
    clean,
)
from bridge.protocol.request import GroupRequest, Request
from bridge.values.causes import Cause
from bridge.values.frozen import frozen
from bridge.values.readings import FaultKind

REQUEST_DEADLINE_S = 0.6
SEARCH_DEADLINE_S = 12.0
"""The first request may make the adapter try every protocol it knows."""
SEARCH_PAUSE_S = 2.0
"""Longest silence inside an answer to that request: after a notice of progress it may
last, in half an answer nothing more will come."""
SEARCH_TRIES = 3
"""So often everybody is asked before the protocol is searched for from the start:
each new search is as slow as the first, and brings its notices again."""
HOPELESS = (
    Cause.NO_BUS,
    Cause.BUS_INIT_FAILED,
    Cause.REQUESTS_REFUSED,
    Cause.NO_UNITS,
)
"""After these, asking once more at once brings the same."""
PENDING_LIMIT_S = 5.0
"""How long a unit may keep saying 'pending' (P2* of ISO 14229-2)."""
BUSY_LIMIT_S = 1.0
"""How long a busy unit is asked again at once, while the other units wait."""
PATIENT_LISTEN = 0xFF
"""ATST for a unit that says 'pending': 255 x 4 ms, about one second."""
USUAL_LISTEN = 0x32
SHORT_LISTEN = 0x19
"""ATST without the count digit: 100 ms instead of 200 ms after the last frame."""
GROUP_DEADLINE_S = 1.6
"""A J1939 group of the gearbox is broadcast once a second (SAE J1939-71)."""


@frozen
class RequestOutcome:
    """What one request brought."""

    asked_s: float
    """When the question was asked, in loop time: its answer cannot be older."""
    t_s: float
    """When the last byte arrived, in loop time."""
    result: Answer | Refusal


@dataclass(slots=True)
class _Setting:
    """What the adapter is set to now; None: not known."""

    header: int | None = None
    receive: int | None = None
    listen: int | None = None


@dataclass(slots=True)
class ElmLink:
    """A link over one ELM327-class exchange."""

    exchange: Exchange
    protocol: str = "auto"
    info: AdapterInfo = field(default_factory=AdapterInfo)
    count_digit: bool = False
    """Whether the start-up probe showed that the adapter takes the digit."""
    _set: _Setting = field(default_factory=_Setting)
    _no_digit: set[Request] = field(default_factory=set)
    """Requests whose unit said 'pending' or whose answer came short with it."""
    _filling: set[int] = field(default_factory=set)
    """Units seen to fill their CAN frames up to eight bytes."""

    async def connect(self, *, restart: bool = True) -> None:
        """Initialise the adapter; raises as `setup.initialise` does."""
        self._set = _Setting()
        self.exchange.heard.clear()
        info = await initialise(self.exchange, protocol=self.protocol, restart=restart)
        self.info = AdapterInfo(
            banner=info.banner or self.info.banner,
            protocol=self.info.protocol,
            lacking=info.lacking,
        )
        # A restart and ATD both put the header back to everybody's (data sheet).
        self._set.header = EVERYBODY

    async def set_up(self, *, restart: bool = True, tries: int = 3) -> None:
        """Connect, with patience for an adapter that has just been plugged in.

        A second try begins with a restart. Raises as `connect` does.
        """
        for left in reversed(range(tries)):
            try:
                await self.connect(restart=restart)
            except (AdapterReset, AdapterSilent):
                if not left:
                    raise
                restart = True
            else:
                return

    async def recover(self) -> None:
        """Get back into step, and find the units again; raises as `connect` does."""
        restart = False
        try:
            await self.exchange.resync(deadline_s=COMMAND_DEADLINE_S)
        except AdapterSilent:
            restart = True
        await self.set_up(restart=restart)
        await self.find_units()

    async def find_units(self) -> dict[int, bytes] | Refusal:
        """Ask everybody for the supported PIDs; return each unit's bitmap answer.

        The first request on an unknown bus makes the adapter search, which may
        take seconds. A unit that refuses the question is there all the same.
        """
        self._filling.clear()
        found: dict[int, bytes] | Refusal = {}
        for _ in range(SEARCH_TRIES):
            found = await self._ask_everybody()
            if isinstance(found, dict) or found.reset or found.cause in HOPELESS:
                break
            await sleep(STOPPED_PAUSE_S)
        return found

    async def _ask_everybody(self) -> dict[int, bytes] | Refusal:
        said = await self.exchange.ask(
            "0100", deadline_s=SEARCH_DEADLINE_S, pause_s=SEARCH_PAUSE_S
        )
        lines = clean(said.lines)
        self.info = await read_protocol(self.exchange, self.info)
        if self.info.framing is None:  # it does not tell, or there is nothing to tell
            digit = guess_protocol(lines, self.protocol)
            self.info = replace(self.info, protocol=digit)
        framing = self.info.framing
        if framing is not None:
            self._filling |= who_fills(lines, framing)
            return bitmaps(lines, framing)
        refused = check(lines, EVERYTHING, reply_id=0, data_length=4)
        if isinstance(refused, Refusal) and refused.kind is not FaultKind.BAD_REPLY:
            silent = refused.cause is Cause.UNIT_SILENT
            return replace(refused, cause=Cause.NO_UNITS) if silent else refused
        heard = lines[-1][:40] if lines else "nothing"
        return Refusal(
            kind=FaultKind.BAD_REPLY, detail=heard, cause=Cause.CHARACTERS_LOST
        )

    async def probe_count_digit(self, engine: Request) -> None:
        """Learn whether the adapter takes the count digit, on a known request."""
        self.count_digit = True
        result = (await self.request(engine, 4)).result
        if isinstance(result, Answer) or result.kind is FaultKind.REFUSED:
            return
        self.count_digit = False
        await self._listen(SHORT_LISTEN)

    async def request(
        self, request: Request | GroupRequest, data_length: int | None
    ) -> RequestOutcome:
        """Ask and check; retries a busy unit, waits for one that says 'pending'."""
        if isinstance(request, GroupRequest):
            return await self._listen_for(request)
        outcome = await self._once(request, data_length)
        if _cause(outcome) is Cause.ALWAYS_STOPPED:
            await sleep(STOPPED_PAUSE_S)
            outcome = await self._once(request, data_length)
        began_s = outcome.t_s
        while (code := _code(outcome)) in (BUSY, PENDING):
            if now_s() - began_s > (
                PENDING_LIMIT_S if code == PENDING else BUSY_LIMIT_S
            ):
                break
            if code == PENDING:
                outcome = await self._patiently(request, data_length)
            else:
                await sleep(0.1)
                outcome = await self._once(request, data_length)
        return outcome

    async def _listen_for(self, request: GroupRequest) -> RequestOutcome:
        """Wait for a J1939 group's next broadcast; nothing is sent onto the bus."""
        try:
            heard = await self.exchange.ask(
                f"ATMP{request.pgn:04X}1", deadline_s=GROUP_DEADLINE_S
            )
        except AdapterSilent:
            await self.exchange.resync(deadline_s=REQUEST_DEADLINE_S)
            refusal = Refusal(
                kind=FaultKind.NO_DATA,
                detail=f"group {request.pgn} was not broadcast",
                cause=Cause.NOT_BROADCAST,
            )
            return RequestOutcome(asked_s=now_s(), t_s=now_s(), result=refusal)
        # A broadcast was not sent because it was waited for: it is as old as itself.
        result = check_group(heard.lines, request)
        return RequestOutcome(asked_s=heard.t_s, t_s=heard.t_s, result=result)

    async def open_session(self, unit: Request) -> bool:
        """Ask a unit for an extended session (ISO 14229-1), or keep the one open.

        Passes only if the port was opened for a sheet that asks for it.
        """
        return await self._say_to(unit, "1003", b"\x50\x03")

    async def keep_session(self, unit: Request) -> bool:
        """Tell a unit that the tester is still there; False: the session is over."""
        return await self._say_to(unit, "3E00", b"\x7e\x00")

    async def _say_to(self, unit: Request, line: str, expected: bytes) -> bool:
        framing = self.info.framing or Framing.CAN_11
        if unit.request_id is None or await self._address(unit.request_id, unit):
            return False
        heard = await self.exchange.ask(line, deadline_s=REQUEST_DEADLINE_S)
        try:
            messages = read_messages(clean(heard.lines), framing)
        except BadFrames:
            return False
        return any(
            m.unit == unit.reply_id and m.payload.startswith(expected) for m in messages
        )

    async def _patiently(
        self, request: Request, data_length: int | None
    ) -> RequestOutcome:
        """Ask again and listen longer: the adapter stopped before the answer."""
        self._no_digit.add(request)
        usual = self._set.listen or USUAL_LISTEN
        await self._listen(PATIENT_LISTEN)
        deadline_s = PATIENT_LISTEN * 0.004096 + REQUEST_DEADLINE_S
        try:
            return await self._once(request, data_length, deadline_s=deadline_s)
        finally:
            await self._listen(usual)

    async def _once(
        self,
        request: Request,
        data_length: int | None,
        *,
        deadline_s: float = REQUEST_DEADLINE_S,
    ) -> RequestOutcome:
        framing = self.info.framing or Framing.CAN_11
        target = request.request_id
        refused = _unfit(target, framing) or await self._address(target, request)
        if refused is not None:
            return RequestOutcome(asked_s=now_s(), t_s=now_s(), result=refused)
        digit = self._digit(request, data_length)
        line = request.payload.hex().upper() + digit
        said = await self.exchange.ask(line, deadline_s=deadline_s)
        result = check(
            said.lines,
            request,
            reply_id=request.reply_id or 0,
            data_length=data_length,
            framing=framing,
            filling=self._filling,
        )
        self._learn(request, result, digit)
        if isinstance(result, Answer):
            self._filling |= who_fills(clean(said.lines), framing)
        return RequestOutcome(asked_s=said.asked_s, t_s=said.t_s, result=result)

    def _digit(self, request: Request, data_length: int | None) -> str:
        """Return the count of expected frames as one hex digit, or ''."""
        known = data_length is not None and request.request_id is not None
        if not (self.count_digit and known) or request in self._no_digit:
            return ""
        if not (self.info.framing or Framing.CAN_11).is_can:
            return ""
        total = len(request.echo) + (data_length or 0)
        frames = 1 if total <= 7 else 1 + -(-(total - 6) // 7)
        return f"{frames:X}" if frames <= 15 else ""

    def _learn(self, request: Request, result: Answer | Refusal, digit: str) -> None:
        if not digit or isinstance(result, Answer):
            return
        if result.cause is Cause.CUT_SHORT:
            self._no_digit.add(request)
        if result.cause is Cause.REQUESTS_REFUSED:
            self.count_digit = False

    async def _address(self, target: int | None, request: Request) -> Refusal | None:
        """Point the adapter at a unit (None: everybody), unless it already is."""
        framing = self.info.framing or Framing.CAN_11
        before = self._set.header
        if before == (target or EVERYBODY):
            return None
        self._set.header = None
        for place, command in enumerate(header_commands(target, framing)):
            if not await self._ok(command):
                self._set.header = None if place else before  # what was set stands
                whom = "everybody" if target is None else f"{target:X}"
                return Refusal(
                    kind=FaultKind.ADAPTER_SAID,
                    detail=f"the adapter refused the header for {whom} ({command})",
                    cause=Cause.HEADER_REFUSED,
                )
        refused = await self._let_through(request)
        if refused is None:
            self._set.header = target or EVERYBODY
        return refused

    async def _let_through(self, request: Request) -> Refusal | None:
        """Receive, and control the flow of, a reply outside the adapter's usual ids.

        Flow control that cannot be set only hurts answers of several frames, which
        then arrive cut short and are refused as that.
        """
        reply_id = request.reply_id
        usual = reply_id is None or not 0x100 <= reply_id <= 0x7FF or is_usual(reply_id)
        wanted = None if usual else reply_id
        if wanted == self._set.receive:
            return None
        if not await self._ok("ATCRA" if wanted is None else f"ATCRA{wanted:03X}"):
            return Refusal(
                kind=FaultKind.ADAPTER_SAID,
                detail=f"the adapter cannot be told to receive {reply_id or 0:X}",
                cause=Cause.FILTER_REFUSED,
            )
        for command in flow_commands(None if usual else request.request_id):
            await self._ok(command)
        self._set.receive = wanted
        return None

    async def _listen(self, ticks: int) -> None:
        if self._set.listen != ticks and await self._ok(f"ATST{ticks:02X}"):
            self._set.listen = ticks

    async def _ok(self, command: str) -> bool:
        said = await self.exchange.ask(command, deadline_s=REQUEST_DEADLINE_S)
        return [s for s in clean(said.lines) if s != command] == ["OK"]

    async def aclose(self) -> None:
        """End the conversation and release the port."""
        self.exchange.close()


def _unfit(target: int | None, framing: Framing) -> Refusal | None:
    if target is None or fits(target, framing):
        return None
    return Refusal(
        kind=FaultKind.BAD_REPLY,
        detail=f"the sheet's id {target:X} does not fit: this car speaks {framing}",
        cause=Cause.WRONG_BUS,
    )


def _code(outcome: RequestOutcome) -> int | None:
    return outcome.result.code if isinstance(outcome.result, Refusal) else None


def _cause(outcome: RequestOutcome) -> Cause | None:
    return outcome.result.cause if isinstance(outcome.result, Refusal) else None
