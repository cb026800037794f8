"""The link a search uses: paced, set up for CAN, with its way back after a mishap."""

from __future__ import annotations

import re

from bridge.link.adapter_setup import NotAnAdapter, identify
from bridge.link.exchange import AdapterReset, AdapterSilent
from bridge.link.link import ElmLink, RequestOutcome
from bridge.link.ports.port import GuardedPort, Port
from bridge.link.schedule import engine_of
from bridge.link.standard_values import Ids, ids_of, standard_value
from bridge.link.unit_session import UnitSession
from bridge.protocol.framing import Framing
from bridge.protocol.reply import Refusal, clean
from bridge.protocol.request import Request
from bridge.search.scan.asking_pace import PacedExchange
from bridge.values.causes import Cause
from bridge.values.errors import SumpgateError
from bridge.values.sheet import Role

COMMAND_S = 1.0
OTHER_WIDTH = {"6": "7", "7": "6", "8": "9", "9": "8"}
"""The protocol of the same speed whose ids have the other width."""
_VOLTS = re.compile(r"(\d{1,2}(?:\.\d+)?)V?")
LISTEN = "ATST19"
"""100 ms instead of 200 after the last frame: the number of frames is not known."""


class Stopped(SumpgateError):  # noqa: N818 - a state of affairs
    """The search has to end here; what it brought is kept."""

    exit_code = 3

    def __init__(self, text: str, cause: Cause | None = None) -> None:
        """``cause``: with it the text is only what was heard."""
        super().__init__(text)
        self.cause = cause


class FindLink:
    """One adapter, asked by a search."""

    def __init__(
        self, port: Port, *, per_s: float, protocol: str, session: bool
    ) -> None:
        """``session``: the person asked for an extended session with each unit."""
        self.exchange = PacedExchange(GuardedPort(port, session=session), per_s=per_s)
        self._session, self._protocol = session, protocol
        self._sessions: dict[int | None, UnitSession] = {}
        self._elm = ElmLink(self.exchange, protocol)
        self.engine: int | None = None
        """Reply id of the engine's unit; None: none answered."""

    @property
    def framing(self) -> Framing:
        """What the bus in force looks like."""
        return self._elm.info.framing or Framing.CAN_11

    @property
    def protocol(self) -> str:
        """The adapter's digit of the protocol in force."""
        return self._elm.info.protocol

    async def connect(self) -> None:
        """Set the adapter up and find the bus.

        Raises:
            Stopped: no adapter, no bus, or one that is not CAN. LinkLost.
        """
        try:
            await self._elm.set_up(tries=2)
        except NotAnAdapter as problem:
            raise Stopped(str(problem), problem.cause) from None
        except (AdapterSilent, AdapterReset):
            raise Stopped("", identify(self.exchange)) from None
        units = await self._elm.find_units()
        framing = self._elm.info.framing
        if framing is None or (self._protocol == "auto" and isinstance(units, Refusal)):
            if isinstance(units, Refusal):
                raise Stopped(units.detail, units.cause)
            raise Stopped("", Cause.NO_UNITS)
        if not framing.is_can:
            raise Stopped(
                f"this car speaks {framing}, and the search knows CAN only: look for "
                "the identifier in the maker's documents"
            )
        self.engine = None if isinstance(units, Refusal) else engine_of(units)
        await self.exchange.ask(LISTEN, deadline_s=COMMAND_S)

    async def switch(self, protocol: str) -> bool:
        """Switch to another protocol; False: nothing answers there."""
        self._elm.protocol = self._protocol = protocol
        try:
            await self.connect()
        except Stopped:
            return False
        return True

    async def recover(self) -> None:
        """Get back into step after a missed prompt or a restart.

        Raises:
            Stopped: it does not come back. LinkLost: the port is gone.
        """
        self._sessions.clear()
        try:
            await self._elm.recover()
            await self.exchange.ask(LISTEN, deadline_s=COMMAND_S)
        except (AdapterSilent, AdapterReset, NotAnAdapter):
            raise Stopped(
                "the adapter does not answer any more: unplug it, plug it in again, "
                "and go on with the same command"
            ) from None

    async def request(
        self, request: Request, length: int | None = None
    ) -> RequestOutcome:
        """Ask one unit; raises as `ElmLink.request` does."""
        unit = request.request_id
        if self._session and unit not in (None, self._engine_ids[0]):
            session = self._sessions.setdefault(unit, UnitSession(request))
            await session.keep(self._elm)
        return await self._elm.request(request, length)

    @property
    def _engine_ids(self) -> Ids:
        return (None, 0) if self.engine is None else ids_of(self.engine, physical=True)

    async def read_engine(self, role: Role, pid: int | None = None) -> float | None:
        """Return a standard value of the engine's unit; None: it does not tell."""
        if self.engine is None:
            return None
        return await standard_value(self._elm, role, self._engine_ids, pid)

    async def volts(self) -> float | None:
        """Return the voltage the adapter sees at the plug; nothing goes to the car."""
        said = await self.exchange.ask("ATRV", deadline_s=COMMAND_S)
        for line in clean(said.lines):
            match = _VOLTS.fullmatch(line)
            if match is not None:
                return float(match[1])
        return None

    async def aclose(self) -> None:
        """End the link and release the port."""
        await self._elm.aclose()
