"""Reading what answered over and over while the gearbox warms up."""

from __future__ import annotations

from collections.abc import Callable, Iterable

from bridge.link.clock import now_s, sleep
from bridge.link.exchange import AdapterReset, AdapterSilent
from bridge.protocol.reply import Answer
from bridge.search.ledger import Entry, Ledger, as_entry
from bridge.search.scan.search_link import FindLink
from bridge.search.watched import Address
from bridge.values.sheet import Role

ROUND_S = 10.0
"""Least seconds between two readings of one identifier."""
AIR_EVERY_S = 60.0
INTAKE_AIR = 0x0F
TELLS = {
    "coolant": Role.COOLANT_TEMPERATURE,
    "engine": Role.ENGINE_SPEED,
    "ambient": Role.AMBIENT_TEMPERATURE,
}


class Listen:
    """Repeats the questions that were answered, for as long as it is let."""

    def __init__(
        self,
        link: FindLink,
        ledger: Ledger,
        tell: Callable[[Entry], None],
        *,
        stamp: Callable[[], float],
        round_s: float = ROUND_S,
    ) -> None:
        """``stamp``: the time entries get, in seconds that outlast this run."""
        self._link, self._ledger, self._tell = link, ledger, tell
        self._stamp, self._round_s = stamp, round_s
        self._air_s = -AIR_EVERY_S

    async def round(self, addresses: Iterable[Address]) -> None:
        """Read everything once, and rest until the next round is due.

        Raises:
            Stopped: the adapter does not come back. LinkLost: the port is gone.
        """
        began_s = now_s()
        await self._around()
        for address in addresses:
            await self._read(address)
        await sleep(began_s + self._round_s - now_s())

    async def _around(self) -> None:
        for name, role in TELLS.items():
            if name == "ambient":
                if now_s() - self._air_s < AIR_EVERY_S:
                    continue
                self._air_s = now_s()
            value = await self._value(role)
            if value is not None:
                self._note(
                    {"what": "around", "of": name, "t_s": self._stamp(), "value": value}
                )

    async def _value(self, role: Role) -> float | None:
        try:
            value = await self._link.read_engine(role)
            if value is None and role is Role.AMBIENT_TEMPERATURE:
                value = await self._link.read_engine(role, INTAKE_AIR)
        except (AdapterSilent, AdapterReset):
            await self._link.recover()
            return None
        return value

    async def _read(self, address: Address) -> None:
        known = self._ledger.answered.get(address)
        length = len(known) if known else None
        try:
            outcome = await self._link.request(address.request, length)
        except (AdapterSilent, AdapterReset):
            await self._link.recover()
            return
        if isinstance(outcome.result, Answer):
            data = outcome.result.data.hex()
            entry = {"what": "sample", "t_s": self._stamp(), **as_entry(address)}
            self._note({**entry, "data": data})

    def _note(self, entry: Entry) -> None:
        self._ledger.take(entry)
        self._tell(entry)
