"""What all characters share."""

from __future__ import annotations

import random
from typing import TYPE_CHECKING, ClassVar

from simulators.adapter.hooks import Hooks

if TYPE_CHECKING:
    from bridge.values.causes import Cause
    from simulators.adapter.hooks import Host

Pieces = list[tuple[float, bytes]]


class Character(Hooks):
    """One manner of an adapter, a bus or a unit, by name."""

    name: ClassVar[str] = ""
    about: ClassVar[str] = ""
    refused_as: ClassVar[Cause | None] = None
    """The true cause, where no program can read the fluid through it; None: it can."""
    takes_s: ClassVar[float] = 0.0
    """Seconds it costs before the adapter could give the first reading."""
    needs: ClassVar[frozenset[str]] = frozenset()
    """The protocol digits it makes sense on; empty: all."""
    said_as: ClassVar[Cause | None] = None
    """What is said of it although the fluid is read; None: nothing."""

    def __init__(self, *, seed: int = 0) -> None:
        self.random = random.Random(seed)  # noqa: S311 - repeatable, not secret
        self.bench: Host | None = None

    def started(self, bench: Host) -> None:
        """Remember the bench it lives in."""
        self.bench = bench

    @property
    def now_s(self) -> float:
        """Bench time in seconds."""
        return self.bench.now_s() if self.bench else 0.0


CAN_11 = frozenset("68")
CAN = frozenset("6789")
"""Protocol digits (the adapter's data sheet)."""
