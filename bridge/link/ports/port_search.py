"""Which ports this machine has that an adapter may be behind, and which to use."""

from __future__ import annotations

import os
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from pathlib import Path
from typing import Protocol

from serial.tools import list_ports  # noqa: TID251 - port search belongs to the wire

from bridge.link.ports.port import RFCOMM, UNBOUND, not_permitted
from bridge.values.errors import PortError, UsageError

_NOTHING = ("", "n/a")


class Entry(Protocol):
    """What pyserial tells of a port."""

    device: str
    description: str
    hwid: str
    manufacturer: str | None
    product: str | None


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundPort:
    """A port, what the system calls it, and what keeps it from being used."""

    device: str
    description: str
    problem: str = ""
    """What is wrong and what to do; '': nothing known to be wrong."""

    def __str__(self) -> str:
        """Return the port as a list shows it."""
        shown = f"{self.device} ({self.description})"
        return f"{shown}: {self.problem}" if self.problem else shown


def find_ports() -> tuple[FoundPort, ...]:
    """Return the ports that may have an adapter behind them, in a stable order."""
    return sort_out(list_ports.comports(), allowed=_allowed)


def _allowed(device: str) -> bool:
    """Return whether we may use a device; where no such file exists, we may."""
    return not Path(device).exists() or os.access(device, os.R_OK | os.W_OK)


def sort_out(
    entries: Iterable[Entry], *, allowed: Callable[[str], bool]
) -> tuple[FoundPort, ...]:
    """Return the entries that may be an adapter, described for a person."""
    found = [
        FoundPort(
            device=entry.device,
            description=describe(entry),
            problem="" if allowed(entry.device) else not_permitted(entry.device),
        )
        for entry in entries
        if _may_be_adapter(entry)
    ]
    return tuple(sorted(found, key=lambda port: port.device))


def _may_be_adapter(entry: Entry) -> bool:
    """Leave out the machine's own sockets, which have nothing behind them."""
    return _is_bluetooth(entry) or (entry.hwid or "") not in _NOTHING


def _is_bluetooth(entry: Entry) -> bool:
    hardware = (entry.hwid or "").upper()
    return entry.device.startswith(RFCOMM) or hardware.startswith("BTHENUM")


def describe(entry: Entry) -> str:
    """Return what the system calls the hardware behind a port, printable."""
    names = [entry.product or entry.description or "", entry.manufacturer or ""]
    known = [n.strip() for n in names if n.strip().lower() not in _NOTHING]
    known = [n for n in known if n != entry.device]
    if _is_bluetooth(entry):
        known.insert(0, "Bluetooth")
    text = ", ".join(dict.fromkeys(known)) or "no description"
    return "".join(char for char in text if char.isprintable())


def choose(found: tuple[FoundPort, ...], remembered: str) -> FoundPort:
    """Return the remembered port if it is there, else the only one that will do.

    Raises:
        PortError: none is there, or none that may be used.
        UsageError: several are there; the sentence lists them.
    """
    known = {port.device: port for port in found}
    if remembered in known:
        return known[remembered]
    if "://" in remembered:
        return FoundPort(device=remembered, description="as last time")
    usable = [port for port in found if not port.problem]
    if len(usable) == 1:
        return usable[0]
    listed = "; ".join(map(str, found))
    if usable:
        raise UsageError(
            f"several ports could be the adapter, name one with --port: {listed}"
        )
    if found:
        raise PortError(f"no port can be used: {listed}")
    raise PortError(
        "no adapter found on any port: plug it in, or name its port with --port "
        f"(a device, COMn or socket://host:port). A Bluetooth one: {UNBOUND}"
    )
