"""Bringing an adapter into the state the link relies on, and knowing what it is."""

from __future__ import annotations

from dataclasses import dataclass, replace

from bridge.link.exchange import AdapterSilent, Exchange
from bridge.protocol.framing import OF_PROTOCOL, Framing
from bridge.protocol.reply import clean

COMMAND_DEADLINE_S = 1.0
RESTART_DEADLINE_S = 2.0

_REQUIRED = ("ATE0", "ATH1")
_WANTED = ("ATL0", "ATS0", "ATCAF1", "ATAT1")


class NotAnAdapter(Exception):  # noqa: N818 - a state of affairs
    """Something answers, but not as an adapter that can do this job."""


@dataclass(frozen=True, slots=True, kw_only=True)
class AdapterInfo:
    """What the adapter said about itself."""

    banner: str = ""
    protocol: str = ""
    """The adapter's protocol digit in force; '' until a unit answered."""
    lacking: tuple[str, ...] = ()
    """Commands it did not take."""

    @property
    def framing(self) -> Framing | None:
        """What messages look like on the bus in force; None: not known yet."""
        return OF_PROTOCOL.get(self.protocol)


async def initialise(
    exchange: Exchange, *, protocol: str, restart: bool
) -> AdapterInfo:
    """Set echo, headers and spacing, and the protocol ('auto' or a digit).

    ``restart``: begin with the adapter's own restart; otherwise with its defaults,
    which is enough after a missed prompt.

    Raises:
        NotAnAdapter, AdapterSilent, AdapterReset, LinkLost.
    """
    # ATD takes back every setting, above all a header that points at one unit.
    again = restart or not await _accepts(exchange, "ATD")
    banner = await _restart(exchange) if again else ""
    lacking = [c for c in _WANTED if not await _accepts(exchange, c)]
    for command in _REQUIRED:
        if not await _accepts(exchange, command):
            raise NotAnAdapter(f"the adapter does not take {command}")
    digit = "0" if protocol == "auto" else protocol
    if not await _accepts(exchange, f"ATSP{digit}"):
        raise NotAnAdapter(f"the adapter does not know protocol {digit}")
    return AdapterInfo(banner=banner, lacking=tuple(lacking))


async def _restart(exchange: Exchange) -> str:
    """Restart the adapter: warm if it can, else cold; return its banner."""
    exchange.discard()
    for command in ("ATWS", "ATZ"):
        try:
            said = await exchange.ask(command, deadline_s=RESTART_DEADLINE_S)
        except AdapterSilent:
            await exchange.resync(deadline_s=COMMAND_DEADLINE_S)
            continue
        lines = [line for line in clean(said.lines) if line != command]
        if lines and "?" not in lines:
            return lines[-1]
    raise NotAnAdapter("what answers at the port is not an ELM327-class adapter")


async def _accepts(exchange: Exchange, command: str) -> bool:
    """Return whether the adapter answers exactly OK, at the first or second try.

    Some say nothing at all and obey: that passes too, for an answer without the
    setting (a header missing, say) would be refused by the reply check anyway.
    """
    lines: list[str] = []
    for _ in range(2):
        said = await exchange.ask(command, deadline_s=COMMAND_DEADLINE_S)
        lines = [line for line in clean(said.lines) if line != command]
        if lines == ["OK"]:
            return True
    return not lines


async def read_protocol(exchange: Exchange, info: AdapterInfo) -> AdapterInfo:
    """Return the info with the protocol the adapter settled on (ATDPN)."""
    said = await exchange.ask("ATDPN", deadline_s=COMMAND_DEADLINE_S)
    lines = clean(said.lines)
    digit = lines[-1].removeprefix("A") if lines else ""
    return replace(info, protocol=digit if len(digit) == 1 else "")
