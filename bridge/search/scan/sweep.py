"""Searching a car: which units answer, and which identifiers each of them knows.

Reading only, never faster than its pace, and it can be stopped at any moment: all it
learns leaves through ``tell`` as it comes (bridge.search.ledger).
"""

from __future__ import annotations

from collections.abc import Callable

from bridge.link.clock import now_s
from bridge.link.exchange import AdapterReset, AdapterSilent
from bridge.protocol.framing import Framing
from bridge.protocol.reply import BUSY, PENDING, Answer, Refusal
from bridge.search.ledger import Entry, Ledger, as_entry
from bridge.search.scan.search_link import FindLink, Stopped
from bridge.search.search_plan import UNITS_11, IdentifierSpan, left_of, units_29
from bridge.search.watched import Address
from bridge.values.frozen import frozen
from bridge.values.readings import FaultKind

ALIVE_EVERY = 6
"""After this many questions in a row without an answer, see if the unit is alive."""
MOST_PATIENCE = 96
NOTED = 16
"""Questions between two notes of how far it has come."""
VOLTS_EVERY_S = 30.0
LEAST_V = 11.8
"""Below this a resting battery is half empty (common practice, no source)."""
TRIES = 3

NO_SUCH_SERVICE = frozenset({0x11, 0x7F})
"""ISO 14229-1: serviceNotSupported, serviceNotSupportedInActiveSession."""
ENOUGH = {
    0x22: "conditions are not correct",
    0x36: "the number of attempts is exceeded",
    0x37: "it wants a pause",
    0x83: "the engine is running",
    0x92: "its supply voltage is too high",
    0x93: "its supply voltage is too low",
}
"""Codes by which a unit says that it does not want to be asked on now."""
PATIENCE_22 = 20
"""Single identifiers may be refused with 22 for reasons of their own."""

Tell = Callable[[Entry], None]


@frozen
class Progress:
    """How far a search has come."""

    doing: str
    done: int
    left: int
    answered: int
    left_s: float | None
    """Seconds it will still take at the present rate; None: not known yet."""


Say = Callable[[Progress], None]


class Sweep:
    """One search over one link."""

    def __init__(self, link: FindLink, ledger: Ledger, tell: Tell, say: Say) -> None:
        self._link, self._ledger, self._tell, self._say = link, ledger, tell, say
        self._began_s, self._done = now_s(), 0
        self._left = 0
        self._spans: tuple[IdentifierSpan, ...] = ()
        self._units: tuple[int, ...] = ()
        self._volts_s = -VOLTS_EVERY_S
        self._pending: dict[tuple[int, int], list[int]] = {}
        self._conditions = 0

    # -- units ------------------------------------------------------------------

    async def units(self, only: tuple[int, ...] = ()) -> None:
        """Find the units of the addressing in force; ``only``: these and no others.

        Raises:
            Stopped, LinkLost: see `identifiers`.
        """
        framing = self._link.framing
        name = "11" if framing is Framing.CAN_11 else "29"
        if name in self._ledger.swept and not only:
            return
        pairs = UNITS_11 if framing is Framing.CAN_11 else units_29()
        wanted = [p for p in pairs if not only or p[0] in only]
        self._left, self._done, self._began_s = len(wanted), 0, now_s()
        for request, reply in wanted:
            if await self._is_there(request, reply):
                ids = {"request": f"{request:X}", "reply": f"{reply:X}"}
                self._note({"what": "unit", **ids, "protocol": self._link.protocol})
            self._count(f"unit {request:X}")
        if not only:
            self._note({"what": "swept", "addressing": name})

    async def _is_there(self, request: int, reply: int) -> bool:
        """Whether a unit answers anything at all, a refusal included."""
        if request in self._ledger.units:
            return True
        # ISO 14229-1: F190 is the vehicle's number; who does not know it refuses.
        questions = [(0x22, 0xF190)] if request > 0x7FF else [(0x01, 0), (0x22, 0xF190)]
        for service, identifier in questions:
            address = Address(request, reply, service, identifier)
            result = await self._ask(address)
            if isinstance(result, Answer) or result.kind is FaultKind.REFUSED:
                return True
        return False

    # -- identifiers --------------------------------------------------------------

    async def identifiers(
        self, units: tuple[int, ...], spans: tuple[IdentifierSpan, ...]
    ) -> None:
        """Ask each unit for every identifier that has not been asked for yet.

        Raises:
            Stopped: the unit or the battery says so; the text says which and why.
            LinkLost: the adapter is gone.
        """
        self._spans, self._units = spans, units
        self._left = self._ledger.left(spans, units)
        self._done, self._began_s = 0, now_s()
        services = list(dict.fromkeys(s.service for s in spans))
        try:
            for unit in units:
                for service in services:
                    await self._service(unit, service, spans)
        finally:
            self._flush()

    async def _service(
        self, unit: int, service: int, spans: tuple[IdentifierSpan, ...]
    ) -> None:
        if (unit, service) in self._ledger.closed:
            return
        reply = self._ledger.units[unit]
        asked = self._ledger.asked.setdefault((unit, service), set())
        silence, patience, any_known = 0, ALIVE_EVERY, False
        for identifier in list(left_of(spans, service, asked)):
            await self._watch_battery()
            address = Address(unit, reply, service, identifier)
            result = await self._ask(address)
            if self._take(address, result, fresh=not any_known):
                return
            any_known = any_known or isinstance(result, Answer)
            silence = silence + 1 if _is_silence(result) else 0
            if silence >= patience:
                await self._still_there(unit, reply)
                silence, patience = 0, min(4 * patience, MOST_PATIENCE)

    def _take(self, address: Address, result: Answer | Refusal, *, fresh: bool) -> bool:
        """Note what one question brought; True: the service is done with."""
        unit, service = address.request_id, address.service
        if isinstance(result, Answer):
            data = {"data": result.data.hex()}
            self._note({"what": "answer", **as_entry(address), **data})
        elif result.code in NO_SUCH_SERVICE and fresh:
            self._flush()
            why = result.detail
            self._note({"what": "closed", "request": f"{unit:X}", "service": service,
                        "why": why})  # fmt: skip
            self._left = self._ledger.left(self._spans, self._units)
            return True
        elif isinstance(result, Refusal):
            self._heed(address, result)
        self._pending.setdefault((unit, service), []).append(address.identifier)
        self._count(f"unit {unit:X}, service {service:02X}, {address.identifier:04X}")
        if sum(map(len, self._pending.values())) >= NOTED:
            self._flush()
        return False

    def _heed(self, address: Address, refusal: Refusal) -> None:
        """Stop where the unit says that it wants no more questions."""
        code = refusal.code
        self._conditions = self._conditions + 1 if code == 0x22 else 0
        if code in (BUSY, PENDING):
            raise Stopped(
                f"unit {address.request_id:X} stays busy: give it a minute, then go on "
                "with the same command"
            )
        patient = code == 0x22 and self._conditions < PATIENCE_22
        if code in ENOUGH and not patient:
            raise Stopped(
                f"unit {address.request_id:X} wants no more questions: "
                f"{ENOUGH[code]} (0x{code:02X}); go on later with the same command"
            )

    async def _still_there(self, request: int, reply: int) -> None:
        known = next(
            (a for a in self._ledger.answered if a.request_id == request), None
        )
        tries = [known] if known else []
        tries += [Address(request, reply, 0x22, 0xF190), Address(request, reply, 1, 0)]
        for address in tries:
            result = await self._ask(address)
            if isinstance(result, Answer) or result.kind is FaultKind.REFUSED:
                return
        raise Stopped(
            f"unit {request:X} has stopped answering: is the ignition still on? Go on "
            "with the same command"
        )

    async def _watch_battery(self) -> None:
        if now_s() - self._volts_s < VOLTS_EVERY_S:
            return
        self._volts_s = now_s()
        volts = await self._link.volts()
        if volts is not None and 6.0 < volts < LEAST_V:
            raise Stopped(
                f"the battery is down to {volts:.1f} V: put a charger on it, then go "
                "on with the same command"
            )

    async def _ask(self, address: Address) -> Answer | Refusal:
        """Ask once; an adapter that trips is set up again and asked again."""
        for attempt in range(TRIES):
            try:
                result = (await self._link.request(address.request)).result
            except (AdapterSilent, AdapterReset):
                if attempt == TRIES - 1:
                    raise Stopped(
                        "the adapter does not answer any more: unplug it, plug it in "
                        "again, and go on with the same command"
                    ) from None
            else:
                if isinstance(result, Answer) or not result.reset:
                    return result
            await self._link.recover()
        raise Stopped("the adapter restarts again and again: check plug and battery")

    # -- notes ----------------------------------------------------------------------

    def _note(self, entry: Entry) -> None:
        self._ledger.take(entry)
        self._tell(entry)

    def _flush(self) -> None:
        """Note which identifiers need not be asked again."""
        for (unit, service), identifiers in self._pending.items():
            self._note({"what": "asked", "request": f"{unit:X}", "service": service,
                        "identifiers": identifiers})  # fmt: skip
        self._pending.clear()

    def _count(self, doing: str) -> None:
        self._done += 1
        self._left = max(self._left - 1, 0)
        took_s = now_s() - self._began_s
        left_s = self._left * took_s / self._done if self._done >= 5 else None
        self._say(
            Progress(
                doing=doing,
                done=self._done,
                left=self._left,
                answered=len(self._ledger.answered),
                left_s=left_s,
            )
        )


def _is_silence(result: Answer | Refusal) -> bool:
    return isinstance(result, Refusal) and result.kind is FaultKind.NO_DATA
