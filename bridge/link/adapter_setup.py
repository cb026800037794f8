"""Bringing an adapter into the state the link relies on, and knowing what it is."""

from __future__ import annotations

import itertools
import re
from dataclasses import replace

from bridge.link.clock import sleep
from bridge.link.exchange import AdapterSilent, Exchange
from bridge.protocol.framing import OF_PROTOCOL, Framing
from bridge.protocol.reply import RESET_TEXTS, STATUS_TEXTS, clean
from bridge.values.causes import Cause
from bridge.values.frozen import frozen

COMMAND_DEADLINE_S = 1.0
RESTART_DEADLINE_S = 2.0
STOPPED_PAUSE_S = 0.25
"""An adapter that broke off a request is left alone so long before the next."""
SHORT_PAUSE_S = 0.1
"""And one that broke off a command, which takes it no time."""

_REQUIRED = ("ATE0", "ATH1")
_WANTED = ("ATL0", "ATS0", "ATCAF1", "ATAT1")
_DATA = re.compile(r"[0-9A-F ]+")
_NO_BANNER = {*STATUS_TEXTS, "OK", "CONNECTED", "ERROR"}
"""Answers to a restart that name no adapter: of the radio part, or of a modem."""


class NotAnAdapter(Exception):  # noqa: N818 - a state of affairs
    """Something answers, but not as an adapter that can do this job.

    ``cause`` is why, the text what was heard.
    """

    def __init__(self, cause: Cause, heard: str = "") -> None:
        super().__init__(heard)
        self.cause = cause


@frozen
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

    @property
    def is_can(self) -> bool:
        """Whether the bus in force is known, and is one of CAN."""
        return self.framing is not None and self.framing.is_can


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
            raise NotAnAdapter(Cause.COMMAND_REFUSED, command)
    digit = "0" if protocol == "auto" else protocol
    if not await _accepts(exchange, f"ATSP{digit}"):
        raise NotAnAdapter(Cause.COMMAND_REFUSED, f"ATSP{digit}")
    return AdapterInfo(banner=banner, lacking=tuple(lacking))


async def _restart(exchange: Exchange) -> str:
    """Restart the adapter: warm if it can, else cold; return its banner.

    Some need more than one try: what is sent while they start is lost, or their radio
    part speaks first.
    """
    exchange.discard()
    for command in ("ATWS", "ATZ", "ATZ"):
        try:
            said = await exchange.ask(command, deadline_s=RESTART_DEADLINE_S)
        except AdapterSilent:
            await exchange.resync(deadline_s=COMMAND_DEADLINE_S)
            continue
        lines = [line for line in clean(said.lines) if line != command]
        names = [line for line in lines if RESET_TEXTS.search(line)] or [
            line for line in lines if _may_name_an_adapter(line)
        ]
        if names:
            return names[-1]
        if lines and lines[-1] == "STOPPED":
            await sleep(SHORT_PAUSE_S)
    raise NotAnAdapter(identify(exchange, otherwise=Cause.NOT_AN_ADAPTER))


def _may_name_an_adapter(line: str) -> bool:
    """Tell a banner of a make of its own from a status text or an old answer's data."""
    bare = line.strip("*<> ")
    return bare not in _NO_BANNER and not _DATA.fullmatch(bare)


async def _accepts(exchange: Exchange, command: str) -> bool:
    """Return whether the adapter answers exactly OK, at the first or second try.

    Some say nothing at all and obey: that passes too, for an answer without the
    setting (a header missing, say) would be refused by the reply check anyway.
    """
    lines: list[str] = []
    for _ in range(2):
        said = await exchange.ask(command, deadline_s=COMMAND_DEADLINE_S)
        lines = [line for line in clean(said.lines) if line != command]
        if lines and lines[-1] == "OK":
            return True
        if lines and lines[-1] == "STOPPED":
            await sleep(SHORT_PAUSE_S)
    return not lines


def identify(exchange: Exchange, *, otherwise: Cause = Cause.NO_PROMPT) -> Cause:
    """Return what is at the port, from what came back so far to what was written.

    ``otherwise``: what to call something that talks and is neither of the known.
    """
    entries = list(exchange.heard)
    endless = list(itertools.takewhile(lambda h: not h.ended, reversed(entries)))
    heard = endless or entries
    text = "".join(h.raw for h in heard)
    if not text.strip("\0\r\n >"):
        return Cause.ADAPTER_SILENT
    strange = sum(not (" " <= c <= "~" or c in "\r\n\0") for c in text)
    if 3 * strange > len(text):
        return Cause.WRONG_SPEED
    words = [(w, h.line) for h in heard for w in _words(h.raw)]
    heard_words = [w for w, line in words if w != line]
    if words and not heard_words:
        return Cause.ONLY_ECHO
    if "ERROR" in heard_words and set(heard_words) <= {"OK", "ERROR"}:
        return Cause.MODEM
    return otherwise


def _words(raw: str) -> list[str]:
    return clean(raw.replace(">", "").replace("\n", "\r").split("\r"))


async def read_protocol(exchange: Exchange, info: AdapterInfo) -> AdapterInfo:
    """Return the info with the protocol the adapter settled on (ATDPN)."""
    said = await exchange.ask("ATDPN", deadline_s=COMMAND_DEADLINE_S)
    lines = clean(said.lines)
    digit = lines[-1].removeprefix("A") if lines else ""
    return replace(info, protocol=digit if len(digit) == 1 else "")
