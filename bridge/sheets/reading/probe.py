"""Each key of a sheet looked at by itself, so that no mistake hides behind another.

The readers stop at a section's first mistake; once there is one, this goes through
all keys by what `keys` declares of them. Places that have a mistake already are left.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import partial

from bridge.sheets.keys.all_keys import REPEATED, SECTIONS
from bridge.sheets.keys.key_kinds import Key, Kind
from bridge.sheets.reading.findings import Findings
from bridge.sheets.reading.sheet_page import Path
from bridge.sheets.reading.table import Table


def probe(top: Table, found: Findings) -> None:
    """Add the mistakes of every single key to the findings."""
    for key in top.entries:
        found.attempt(partial(top.check_key, key))
    for section in SECTIONS:
        for table in _tables(top, section):
            for key in table.entries:
                found.attempt(partial(_look, table, key))


def _tables(top: Table, section: str) -> tuple[Table, ...]:
    """Return a section's tables, their keys unchecked; none if it is no section."""
    value = top.entries.get(section)
    places: list[tuple[Path, object]] = [((section,), value)]
    if section in REPEATED:
        several = value if isinstance(value, list) else []
        places = [((section, i), item) for i, item in enumerate(several)]
    return tuple(
        Table(page=top.page, section=section, path=path, entries=entries)
        for path, entries in places
        if isinstance(entries, dict)
    )


def _look(table: Table, key: str) -> None:
    table.check_key(key)
    told = SECTIONS[table.section][key]
    look = _LOOKS.get(told.kind)
    if look is not None:
        look(table, key, told)


def _number(table: Table, key: str, told: Key) -> None:
    if told.low is not None and told.high is not None:
        table.number(key, told.low, told.high, told.low)


def _whole(table: Table, key: str, told: Key) -> None:
    if told.low is not None and told.high is not None:
        table.whole(key, round(told.low), round(told.high))


def _quantity(table: Table, key: str, told: Key) -> None:
    if told.dimension is None:  # of whatever the signal's role measures
        table.text(key)
    else:
        table.amount(key)


def _pair(table: Table, key: str, told: Key) -> None:
    if told.dimension is not None:
        table.pair(key, told.dimension)


_LOOKS: dict[Kind, Callable[[Table, str, Key], object]] = {
    Kind.TEXT: lambda table, key, _: table.text(key),
    Kind.WORD: lambda table, key, told: table.choice(key, told.choices),
    Kind.FLAG: lambda table, key, _: table.flag(key, default=False),
    Kind.WHOLE: _whole,
    Kind.NUMBER: _number,
    Kind.QUANTITY: _quantity,
    Kind.PAIR: _pair,
    Kind.LINES: lambda table, key, _: table.lines(key),
    Kind.WORDS: lambda table, key, _: table.words(key),
    Kind.WHOLES: lambda table, key, _: table.items(key),
}
