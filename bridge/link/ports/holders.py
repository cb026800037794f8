"""Which program holds a device, where the system tells (Linux: /proc)."""

from __future__ import annotations

import contextlib
import os
from collections.abc import Iterator
from pathlib import Path

from bridge.values.frozen import frozen

PROC = Path("/proc")
PTY, PTY_MASTERS = "/dev/pts/", ("/dev/ptmx", "/dev/pts/ptmx")


@frozen
class Holder:
    """A program that has a device open."""

    pid: int
    name: str

    def __str__(self) -> str:
        """Return it as a sentence names it."""
        return f"{self.name} (process {self.pid})"


def holders(device: str, proc: Path = PROC) -> tuple[Holder, ...]:
    """Return the other programs that have a device open; () where that is unknown.

    Programs of other users are seen by the administrator alone. The program that
    makes a pseudo-terminal may hold both its ends: it is the adapter, not a rival.
    """
    target = os.path.realpath(device)
    found = (
        Holder(pid=int(entry.name), name=_name(entry))
        for entry in _processes(proc)
        if int(entry.name) != os.getpid() and _is_rival(entry, target)
    )
    return tuple(sorted(found, key=lambda holder: holder.pid))


def _processes(proc: Path) -> Iterator[Path]:
    with contextlib.suppress(OSError):
        yield from (p for p in proc.iterdir() if p.name.isdecimal())


def _is_rival(process: Path, target: str) -> bool:
    files = set(_files(process))
    makes_ptys = target.startswith(PTY) and bool(files.intersection(PTY_MASTERS))
    return target in files and not makes_ptys


def _files(process: Path) -> Iterator[str]:
    with contextlib.suppress(OSError):
        for link in (process / "fd").iterdir():
            with contextlib.suppress(OSError):
                yield str(link.readlink())


def _name(process: Path) -> str:
    try:
        name = (process / "comm").read_text(encoding="utf-8", errors="replace")
    except OSError:
        return "a program"
    return "".join(c for c in name.strip() if c.isprintable()) or "a program"
