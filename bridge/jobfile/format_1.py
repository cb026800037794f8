"""Job files of format 1: what in the rows of an older tool had other names. Pure."""

from __future__ import annotations

from typing import Any

from bridge.jobfile.file.format import RowKind

_RENAMED = {
    (RowKind.SERVICE, "deed"): "kind",
    (RowKind.VIN, "check"): "check_digit",
}


def brought_up(kind: str, body: dict[str, Any]) -> dict[str, Any]:
    """Return a row's content as format 2 has it; content of format 2 as it is.

    A file that was begun in format 1 and continued since holds rows of both.
    """
    names = {old: new for (of, old), new in _RENAMED.items() if of == kind}
    return {names.get(key, key): value for key, value in body.items()}
