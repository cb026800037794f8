"""Which program holds a device, where the system tells (Linux: /proc)."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

PROC = Path("/proc")


@dataclass(frozen=True, slots=True, kw_only=True)
class Holder:
    """A program that has a device open."""

    pid: int
    name: str

    def __str__(self) -> str:
        """Return it as a sentence names it."""
        return f"{self.name} (process {self.pid})"


def holders(device: str, proc: Path = PROC) -> tuple[Holder, ...]:
    """Return the other programs that have a device open; () where nobody tells.

    Programs of other users are seen by the administrator alone.
    """
    target = os.path.realpath(device)
    found = (
        Holder(pid=int(entry.name), name=_name(entry))
        for entry in _processes(proc)
        if int(entry.name) != os.getpid() and _has_open(entry, target)
    )
    return tuple(sorted(found, key=lambda holder: holder.pid))


def _processes(proc: Path) -> Iterator[Path]:
    with contextlib.suppress(OSError):
        yield from (p for p in proc.iterdir() if p.name.isdecimal())


def _has_open(process: Path, target: str) -> bool:
    with contextlib.suppress(OSError):
        for link in (process / "fd").iterdir():
            with contextlib.suppress(OSError):
                if str(link.readlink()) == target:
                    return True
    return False


def _name(process: Path) -> str:
    try:
        name = (process / "comm").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return "a program"
    return "".join(c for c in name.strip() if c.isprintable()) or "a program"
