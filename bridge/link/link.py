"""The link: a request in, a checked answer or a named refusal out.

Whatever the adapter does, `request` ends within its deadline with an `Outcome`,
or raises one of three states of affairs: AdapterSilent, AdapterReset, LinkLost.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Protocol

from bridge.link.adapter_setup import (
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
from bridge.link.clock import now_s, sleep
from bridge.link.exchange import AdapterSilent, Exchange, Said
from bridge.protocol.frames import BadFrames
from bridge.protocol.framing import Framing, fits, read_messages
from bridge.protocol.groups import check_group
from bridge.protocol.reply import BUSY, PENDING, Answer, Refusal, check, clean
from bridge.protocol.reply import said as told
from bridge.protocol.request import GroupRequest, Request
from bridge.values.readings import FaultKind

REQUEST_DEADLINE_S = 0.6
SEARCH_DEADLINE_S = 12.0
"""The first request may make the adapter try every protocol it knows."""
PENDING_LIMIT_S = 5.0
"""How long a unit may keep saying 'pending' (P2* of ISO 14229-2)."""
PATIENT_LISTEN = 0xFF
"""ATST for a unit that says 'pending': 255 x 4 ms, about one second."""
USUAL_LISTEN = 0x32
SHORT_LISTEN = 0x19
"""ATST without the count digit: 100 ms instead of 200 ms after the last frame."""
GROUP_DEADLINE_S = 1.6
"""A J1939 group of the gearbox is broadcast once a second (SAE J1939-71)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What one request brought, and when its last byte arrived (loop time)."""

    t_s: float
    result: Answer | Refusal


class Link(Protocol):
    """What the poller needs of a link; fakes implement the same two methods."""

    async def request(
        self, request: Request | GroupRequest, data_length: int | None
    ) -> Outcome:
        """Ask the control unit of ``request.request_id`` and check the answer."""

    async def aclose(self) -> None:
        """End the link."""


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

    async def connect(self, *, restart: bool = True) -> None:
        """Initialise the adapter; raises as `setup.initialise` does."""
        self._set = _Setting()
        info = await initialise(self.exchange, protocol=self.protocol, restart=restart)
        self.info = AdapterInfo(
            banner=info.banner or self.info.banner,
            protocol=self.info.protocol,
            lacking=info.lacking,
        )

    async def find_units(self) -> dict[int, bytes] | Refusal:
        """Ask everybody for the supported PIDs; return each unit's bitmap answer.

        The first request on an unknown bus makes the adapter search, which may
        take seconds.
        """
        said = await self.exchange.ask("0100", deadline_s=SEARCH_DEADLINE_S)
        self.info = await read_protocol(self.exchange, self.info)
        if self.info.framing is None:
            lines = clean(said.lines)
            text = lines[-1] if lines else "nothing"
            return Refusal(
                kind=FaultKind.ADAPTER_SAID,
                detail=f"no control unit found (the adapter said {text[:40]})",
            )
        return _bitmaps(said, self.info.framing)

    async def probe_count_digit(self, engine: Request) -> None:
        """Learn whether the adapter takes the count digit, on a known request."""
        self.count_digit = True
        outcome = await self.request(engine, 4)
        if isinstance(outcome.result, Answer):
            return
        self.count_digit = False
        await self._listen(SHORT_LISTEN)

    async def request(
        self, request: Request | GroupRequest, data_length: int | None
    ) -> Outcome:
        """Ask and check; retries a busy unit, waits for one that says 'pending'."""
        if isinstance(request, GroupRequest):
            return await self._listen_for(request)
        outcome = await self._once(request, data_length)
        began_s = outcome.t_s
        while (code := _code(outcome)) in (BUSY, PENDING):
            if now_s() - began_s > PENDING_LIMIT_S:
                break
            if code == PENDING:
                outcome = await self._patiently(request, data_length)
            else:
                await sleep(0.1)
                outcome = await self._once(request, data_length)
        return outcome

    async def _listen_for(self, request: GroupRequest) -> Outcome:
        """Wait for a J1939 group's next broadcast; nothing is sent onto the bus."""
        try:
            told = await self.exchange.ask(
                f"ATMP{request.pgn:04X}1", deadline_s=GROUP_DEADLINE_S
            )
        except AdapterSilent:
            await self.exchange.resync(deadline_s=REQUEST_DEADLINE_S)
            missing = f"group {request.pgn} was not broadcast: is the ignition on?"
            refusal = Refusal(kind=FaultKind.NO_DATA, detail=missing)
            return Outcome(t_s=now_s(), result=refusal)
        return Outcome(t_s=told.t_s, result=check_group(told.lines, request))

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
        told = await self.exchange.ask(line, deadline_s=REQUEST_DEADLINE_S)
        try:
            messages = read_messages(clean(told.lines), framing)
        except BadFrames:
            return False
        return any(
            m.unit == unit.reply_id and m.payload.startswith(expected) for m in messages
        )

    async def _patiently(self, request: Request, data_length: int | None) -> Outcome:
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
    ) -> Outcome:
        framing = self.info.framing or Framing.CAN_11
        target = request.request_id
        refused = _unfit(target, framing) or await self._address(target, request)
        if refused is not None:
            return Outcome(t_s=now_s(), result=refused)
        digit = self._digit(request, data_length)
        line = request.payload.hex().upper() + digit
        said = await self.exchange.ask(line, deadline_s=deadline_s)
        result = check(
            said.lines,
            request,
            reply_id=request.reply_id or 0,
            data_length=data_length,
            framing=framing,
        )
        self._learn(request, result, digit)
        return Outcome(t_s=said.t_s, result=result)

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
        if result.kind is FaultKind.BAD_REPLY and "cut short" in result.detail:
            self._no_digit.add(request)
        if result.detail == told("?").detail:
            self.count_digit = False

    async def _address(self, target: int | None, request: Request) -> Refusal | None:
        """Point the adapter at a unit (None: everybody), unless it already is."""
        framing = self.info.framing or Framing.CAN_11
        if self._set.header == (target or EVERYBODY):
            return None
        self._set.header = None
        for command in header_commands(target, framing):
            if not await self._ok(command):
                whom = "everybody" if target is None else f"{target:X}"
                return Refusal(
                    kind=FaultKind.ADAPTER_SAID,
                    detail=f"the adapter refused the header for {whom} ({command})",
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
    )


def _code(outcome: Outcome) -> int | None:
    return outcome.result.code if isinstance(outcome.result, Refusal) else None


def _bitmaps(said: Said, framing: Framing) -> dict[int, bytes] | Refusal:
    """Return the checked answer to 0100 of every unit that sent a sound one."""
    lines = clean(said.lines)
    asked = Request(service=0x01, identifier=0x00)
    found: dict[int, bytes] = {}
    problem = Refusal(kind=FaultKind.NO_DATA, detail="no control unit answered")
    for unit in _speakers(lines, framing) or [0]:
        result = check(lines, asked, reply_id=unit, data_length=4, framing=framing)
        if isinstance(result, Answer):
            found[unit] = result.payload
        else:
            problem = result
    return found or problem


def _speakers(lines: list[str], framing: Framing) -> list[int]:
    try:
        return sorted({m.unit for m in read_messages(lines, framing)})
    except BadFrames:
        return []
