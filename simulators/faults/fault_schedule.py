"""When which fault comes and goes: from a scene file, or by chance with a seed."""

from __future__ import annotations

import math
import random
import re
import tomllib
from dataclasses import dataclass
from typing import TYPE_CHECKING

from bridge.values.errors import UsageError
from simulators.faults.all_faults import LINK_FAULTS, briefly, make_fault

if TYPE_CHECKING:
    from collections.abc import Sequence

_UNITS_S = {"ms": 1e-3, "s": 1.0, "min": 60.0, "h": 3600.0}
_LATEST_S = 864_000.0
_TIME = re.compile(r"\s*(\d+(?:\.\d+)?)\s*(ms|s|min|h)\s*")


@dataclass(frozen=True, slots=True, kw_only=True)
class Planned:
    """One fault at its time."""

    at_s: float
    """Bench time it comes at, in seconds."""
    name: str
    for_s: float | None = None
    """How long it stays; None: to the end."""
    options: tuple[tuple[str, object], ...] = ()


def parse_scene_file(text: str, name: str) -> tuple[Planned, ...]:
    """Read ``[[fault]]`` tables with ``at``, ``name``, ``for`` and the fault's options.

    Raises UsageError naming the file, the fault and the key.
    """
    try:
        tables = tomllib.loads(text.removeprefix("\ufeff"))
    except RecursionError:
        raise UsageError(
            f"{name} nests brackets too deep: write plain [[fault]] tables."
        ) from None
    except ValueError as error:  # also a number of thousands of digits
        raise UsageError(f"{name} is not valid TOML: {error}.") from error
    for key in tables:
        if key != "fault":
            raise UsageError(
                f"{name} has an unknown key {key[:60]!r}: "
                "a scene file holds [[fault]] tables."
            )
    entries = tables.get("fault", [])
    if not isinstance(entries, list) or not entries:
        raise UsageError(f"{name} plans nothing: give it at least one [[fault]] table.")
    return tuple(
        _planned(entry, f"{name}, fault {place}")
        for place, entry in enumerate(entries, 1)
    )


def _planned(entry: object, where: str) -> Planned:
    if not isinstance(entry, dict):
        raise UsageError(f"{where} is no table: write [[fault]] above its keys.")
    for key in ("at", "name"):
        if key not in entry:
            raise UsageError(f"{where} has no {key}: every fault needs at and name.")
    options = {key: entry[key] for key in entry if key not in ("at", "name", "for")}
    if not isinstance(entry["name"], str):
        raise UsageError(f'{where} has a name that is no text: write name = "...".')
    try:
        make_fault(entry["name"], **options)
    except UsageError as error:
        raise UsageError(f"{where}: {error}") from error
    return Planned(
        at_s=_seconds(entry["at"], f"{where}, at"),
        name=entry["name"],
        for_s=_seconds(entry["for"], f"{where}, for") if "for" in entry else None,
        options=tuple(options.items()),
    )


def _seconds(value: object, where: str) -> float:
    match = _TIME.fullmatch(value) if isinstance(value, str) else None
    at_s = float(match[1]) * _UNITS_S[match[2]] if match else math.nan
    if not at_s <= _LATEST_S:
        raise UsageError(
            f"{where} is {briefly(value)}, not a time of at most ten days: write a "
            'number and ms, s, min or h, such as "30 s".'
        )
    return at_s


def random_faults(
    seed: int,
    rate_per_min: float,
    *,
    length_s: float = 3600.0,
    names: Sequence[str] = LINK_FAULTS,
) -> tuple[Planned, ...]:
    """Return faults that come by chance, the same for the same seed.

    They come as a Poisson process with ``rate_per_min`` faults a minute on average,
    and stay between 0.1 and 20 s, most of them for about 3 s.
    """
    if rate_per_min <= 0 or not names:
        return ()
    chance = random.Random(seed)  # noqa: S311 - repeatable, not secret
    planned: list[Planned] = []
    at_s = chance.expovariate(rate_per_min / 60)
    while at_s < length_s:
        planned.append(
            Planned(
                at_s=at_s,
                name=chance.choice(tuple(names)),
                for_s=min(max(chance.expovariate(1 / 3), 0.1), 20.0),
            )
        )
        at_s += chance.expovariate(rate_per_min / 60)
    return tuple(planned)
