"""What all characters share."""

from __future__ import annotations

import math
import random
import re
from typing import TYPE_CHECKING, ClassVar

from simulators.adapter.hooks import Hooks

if TYPE_CHECKING:
    from bridge.values.causes import Cause

CAN_11 = frozenset("68")
CAN = frozenset("6789")
"""Protocol digits (the adapter's data sheet)."""
REQUEST = "(?:[0-9A-F]{2})+[0-9A-F]?"
COMMAND = f"(?!{REQUEST}$).*"
"""Typed lines: a request to the car, and anything else."""


class Character(Hooks):
    """One manner of an adapter, a bus or a unit, by name."""

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


class Answering(Character):
    """Answers the lines that match in the adapter's place, all or the first few."""

    pattern: ClassVar[str] = REQUEST
    text: ClassVar[str] = "?"
    times: ClassVar[float] = math.inf
    _answered = 0

    def typed(self, line: str) -> str | None:
        """Answer it if it is its turn."""
        if self._answered >= self.times or not re.fullmatch(self.pattern, line):
            return None
        self._answered += 1
        return self.text
