"""What every show shares: seed and size, figures told once, misses, the last line.

SEED=N takes other random cases, QUICK=1 a short run. The last line is one JSON object
that every parser takes (RFC 8259); the exit code is 1 if a figure misses its mark.
"""

from __future__ import annotations

import json
import math
import os
import time
from collections.abc import Mapping, Sequence
from typing import Any, TypeVar

Size = TypeVar("Size")


class ShowRun:
    """One run of a show: what it told, and what of that misses its mark."""

    def __init__(self, show: str) -> None:
        self.seed = int(os.environ.get("SEED", "1"))
        self.quick = os.environ.get("QUICK", "") not in ("", "0")
        self.figures: dict[str, Any] = {
            "show": show,
            "seed": self.seed,
            "quick": self.quick,
        }
        self.misses: list[str] = []
        self._began_s = time.monotonic()

    def size(self, quick: Size, full: Size) -> Size:
        """Return which of two sizes this run has."""
        return quick if self.quick else full

    def tell(
        self,
        name: str,
        value: Any,
        *,
        want: Any = None,
        least: float | None = None,
        most: float | None = None,
    ) -> None:
        """Print a figure and keep it; it must be ``want``, or within the limits."""
        self.figures[name] = value
        marks = (("=", want), (">=", least), ("<=", most))
        asked = " ".join(f"{sign} {_shown(m)}" for sign, m in marks if m is not None)
        missed = (
            (want is not None and value != want)
            or (least is not None and not value >= least)
            or (most is not None and not value <= most)
        )
        shown = _shown(value)
        words = name.replace("_", " ")
        mark = f"{asked}  MISS" if missed else asked
        print(f"   {words:42}{shown:>12}  {mark}".rstrip())
        if missed:
            self.misses.append(f"{words}: {shown}, asked {asked}")

    def end(self) -> int:
        """Print the misses and the last line; return the exit code."""
        for miss in self.misses:
            print("MISS", miss)
        took_s = round(time.monotonic() - self._began_s, 1)
        print(last_line(self.figures | {"seconds": took_s, "misses": self.misses}))
        return 1 if self.misses else 0


def _shown(value: Any) -> str:
    return f"{value:.6g}" if isinstance(value, float) else str(value)


def crossed(
    rows: Sequence[str], columns: Sequence[str], counts: Mapping[tuple[str, str], int]
) -> None:
    """Print how often each row met each column."""
    print(f"   {'':28}" + "".join(f"{column:>12}" for column in columns))
    for row in rows:
        met = "".join(f"{counts.get((row, c), 0):>12}" for c in columns)
        print(f"   {row:28}{met}")


def last_line(figures: Any) -> str:
    """Return the figures as JSON; what is no finite number becomes null."""
    return json.dumps(_plain(figures), allow_nan=False)


def _plain(value: Any) -> Any:
    if isinstance(value, float) and not math.isfinite(value):
        return None
    if isinstance(value, dict):
        return {key: _plain(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_plain(item) for item in value]
    return value


def named(asked: Any) -> dict[str, Any]:
    """Return what was asked by name; an indented name belongs to the one above it."""
    found: dict[str, Any] = {}
    above = ""
    for what, got, *_ in asked:
        name = f"{above}, {what.strip()}" if what.startswith(" ") else what
        above = above if what.startswith(" ") else what
        found[name] = got
    return found
