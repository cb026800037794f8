"""`make show-adapters`: every adapter character on every bus, and seeded mixtures.

For each: was the fluid read, and soon enough; or was it refused, and by its true cause;
and was any number believed that the sensor never gave. All in simulated time. The
misses come first. SEED=N, QUICK=1.
"""

from __future__ import annotations

import sys
from dataclasses import dataclass, field
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[2]))

from simulators.characters.all_characters import CHARACTERS, mixture
from tests.link.character_rig import (
    BUSES,
    Went,
    could_s,
    expected,
    fits,
    play,
)
from tests.show.parts.show_run import ShowRun

FIRST_S = 1.5
"""The issue's limit, from the moment the adapter could give the first reading."""
QUICK_BUSES = ("CAN 11/500, searched", "KWP, fast start")
FOR_S, MIXED_FOR_S = 14.0, 22.0


@dataclass(slots=True)
class Row:
    """What one bus brought."""

    read: int = 0
    to_read: int = 0
    refused: int = 0
    to_refuse: int = 0
    wrong: int = 0
    late_s: list[float] = field(default_factory=list)
    """First readings, each after the moment the adapter could give it."""


def main() -> int:
    """Print the tables and the figures; 1 if one misses its mark."""
    told = ShowRun("adapters")
    buses = told.size(QUICK_BUSES, tuple(BUSES))
    told.tell("characters", len(CHARACTERS))
    told.tell("buses", len(buses))
    rows = {bus: _characters(bus, told.misses) for bus in buses}
    _table("Each character alone", rows)
    _sums(told, "alone", rows)
    count = told.size(10, 50)
    mixes = {bus: _mixtures(bus, told.seed, count, told.misses) for bus in buses}
    _table("Mixtures of two to four that can be read through", mixes)
    _sums(told, "mixed", mixes)
    return told.end()


def _characters(bus: str, misses: list[str]) -> Row:
    row = Row()
    for kind in CHARACTERS.values():
        if not fits(bus, kind):
            continue
        went = play(bus, (kind,), for_s=FOR_S + could_s(bus, (kind,)))
        cause = expected(bus, kind)
        row.wrong += went.wrong
        where = f"{bus}: {kind.name}"
        if went.wrong:
            misses.append(f"{where}: {went.wrong} wrong numbers")
        if cause is None:
            _was_read(row, went, could_s(bus, (kind,)), where, misses)
            if went.cause is not kind.said_as:
                misses.append(f"{where}: {went.cause} is said though it is read")
            continue
        row.to_refuse += 1
        right = went.first_s is None and went.cause is cause
        row.refused += right
        if not right:
            misses.append(f"{where}: {went.cause} instead of {cause}")
    return row


def _mixtures(bus: str, seed: int, count: int, misses: list[str]) -> Row:
    row = Row()
    for number in range(count):
        drawn = mixture(1000 * seed + number, BUSES[bus][1])
        kinds = tuple(kind for kind in drawn if expected(bus, kind) is None)
        went = play(bus, kinds, for_s=MIXED_FOR_S)
        names = "+".join(kind.name for kind in kinds)
        row.wrong += went.wrong
        if went.wrong:
            misses.append(f"{bus}: {names}: {went.wrong} wrong numbers")
        _was_read(row, went, could_s(bus, kinds), f"{bus}: {names}", misses)
    return row


def _was_read(
    row: Row, went: Went, could: float, where: str, misses: list[str]
) -> None:
    row.to_read += 1
    if went.first_s is None:
        misses.append(f"{where}: never read ({went.cause})")
        return
    row.read += 1
    row.late_s.append(max(0.0, went.first_s - could))
    if row.late_s[-1] > FIRST_S:
        misses.append(f"{where}: first reading {row.late_s[-1]:.2f} s late")


def _table(title: str, rows: dict[str, Row]) -> None:
    print(f"\n{title}")
    print(f"  {'bus':26}{'read':>9}{'refused':>10}{'wrong':>7}{'median':>9}{'most':>8}")
    for bus, row in rows.items():
        late = sorted(row.late_s)
        middle, most = (late[len(late) // 2], late[-1]) if late else (0.0, 0.0)
        print(
            f"  {bus:26}{f'{row.read}/{row.to_read}':>9}"
            f"{f'{row.refused}/{row.to_refuse}':>10}{row.wrong:>7}"
            f"{middle:>7.2f} s{most:>6.2f} s"
        )


def _sums(told: ShowRun, kind: str, rows: dict[str, Row]) -> None:
    late = sorted(s for row in rows.values() for s in row.late_s)
    for what in ("read", "to_read", "refused", "to_refuse", "wrong"):
        told.tell(f"{kind}_{what}", sum(getattr(row, what) for row in rows.values()))
    told.tell(f"{kind}_first_after_s_median", late[len(late) // 2] if late else 0.0)
    told.tell(f"{kind}_first_after_s_most", late[-1] if late else 0.0)


if __name__ == "__main__":
    sys.exit(main())
