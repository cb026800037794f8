"""Does a job hold a text? Looked up in what people and car told, not in its readings.

Nothing is checked on the way, which is what makes it quick: whoever needs to know that
a record is whole asks `job check`.
"""

from __future__ import annotations

import json
import sqlite3
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from bridge.jobfile.file.chain import from_body
from bridge.jobfile.file.format import RowKind
from bridge.jobfile.file.reader import reading
from bridge.jobfile.report.field_words import here, moment_both, number, of, plain
from bridge.jobfile.report.level_section import OUTCOMES
from bridge.service.papers.whose import bare

_HOLD_TEXTS = (
    RowKind.START,
    RowKind.VIN,
    RowKind.CODES,
    RowKind.SERVICE,
    RowKind.JUDGEMENT,
    RowKind.ADAPTER,
    RowKind.VOLUME,
    RowKind.FASTENER,
    RowKind.OLD_FLUID,
    RowKind.ODOMETER,
    RowKind.NEXT_DUE,
    RowKind.NOTE,
    RowKind.PHOTO,
)
_ROWS = (
    "SELECT kind, utc_s, body FROM event NOT INDEXED "
    "WHERE kind IN (SELECT value FROM json_each(?)) ORDER BY seq LIMIT ?"
)
MOST_ROWS, MOST_CHARS = 20_000, 20_000_000
"""Of one job so much is looked through."""


def holds(path: Path, wanted: str) -> bool:
    """Return whether a job's name, or what was told in it, holds a text.

    A plate or a number is found however it is parted. Raises JobError.
    """
    if not wanted:
        return True
    sought, whole = wanted.casefold(), bare(wanted)
    return any(
        sought in words.casefold() or (whole and whole == bare(words))
        for words in (path.stem, *_all_texts(path))
    )


def _all_texts(path: Path) -> Iterator[str]:
    """Yield every text a job holds: car, customer, sheet, dates, result, notes."""
    with reading(path) as db:
        try:
            left = MOST_CHARS
            for kind, utc_s, body in db.execute(
                _ROWS, (json.dumps(_HOLD_TEXTS), MOST_ROWS)
            ):
                if not isinstance(body, str) or len(body) > left:
                    continue
                left -= len(body)
                yield moment_both(number(utc_s), here)
                yield from _texts(kind, from_body(body))
        except sqlite3.DatabaseError:
            return


def _texts(kind: str, content: dict[str, Any]) -> Iterator[str]:
    if kind == RowKind.START:
        yield str(of(content, "sheet").get("name"))
    elif kind == RowKind.JUDGEMENT:
        outcome = str(content.get("outcome"))
        yield from (plain(outcome), OUTCOMES.get(outcome, ("",))[0])
    else:
        yield from _leaves(content)


def _leaves(content: Any) -> Iterator[str]:
    """Yield every text in a body, and the distances; a body is never deep."""
    if isinstance(content, str):
        yield content
    elif isinstance(content, list):
        for one in content:
            yield from _leaves(one)
    elif isinstance(content, dict):
        if (km := number(content.get("km"))) is not None:
            yield f"{km:.0f}"
        for one in content.values():
            yield from _leaves(one)
