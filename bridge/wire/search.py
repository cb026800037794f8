"""Which ports this machine has that an adapter may be behind."""

from __future__ import annotations

from dataclasses import dataclass

from serial.tools import list_ports  # noqa: TID251 - port search belongs to the wire


@dataclass(frozen=True, slots=True, kw_only=True)
class FoundPort:
    """A port and what the system calls it."""

    device: str
    description: str


def find_ports() -> tuple[FoundPort, ...]:
    """Return the ports that have hardware behind them, in a stable order."""
    found = [
        FoundPort(device=p.device, description=p.description or "no description")
        for p in list_ports.comports()
        if p.hwid and p.hwid != "n/a"
    ]
    return tuple(sorted(found, key=lambda p: p.device))
