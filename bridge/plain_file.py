"""The only way to read a file the user names: check it first, read it only if fit.

A pipe would hang whoever reads it, a device may never end, and a file of gigabytes
fills the memory: only regular files are read, and their size is looked at first.
"""

from __future__ import annotations

import os
import stat
from pathlib import Path

from bridge.values.errors import SumpgateError, UsageError

SMALL_BYTES = 1_000_000
"""More than any text a person writes by hand: faults, answers, settings."""
LARGE_BYTES = 64_000_000
"""More than any trace or wire log of one day."""
JOB_BYTES = 4_000_000_000
"""More than ten days of one job; it is never read into memory as a whole."""

_KINDS = (
    (stat.S_ISFIFO, "a pipe"),
    (stat.S_ISCHR, "a device"),
    (stat.S_ISBLK, "a device"),
    (stat.S_ISDIR, "a folder"),
    (stat.S_ISSOCK, "a socket"),
)


def need_plain(
    path: Path,
    what: str,
    *,
    most_bytes: int,
    error: type[SumpgateError] = UsageError,
) -> None:
    """Refuse what is not a regular file of a fair size; nothing is opened.

    Raises ``error``, with one sentence that ends in "give the path of ``what``".
    """
    try:
        found = path.stat()
    except (OSError, ValueError) as problem:
        raise error(_unread(path, problem, what)) from None
    _refuse(path, found, what, most_bytes, error)


def read_plain(
    path: Path,
    what: str,
    *,
    most_bytes: int,
    error: type[SumpgateError] = UsageError,
) -> str:
    """Return the UTF-8 text of a regular file, without a byte order mark.

    Raises ``error``, with one sentence: it is not there, not a file, too large, or
    not text.
    """
    try:
        with open(path, "rb", opener=_unhung) as file:
            _refuse(path, os.fstat(file.fileno()), what, most_bytes, error)
            content = file.read(most_bytes + 1)
    except (OSError, ValueError) as problem:
        # A folder or a socket is not even opened: say what it is.
        need_plain(path, what, most_bytes=most_bytes, error=error)
        raise error(_unread(path, problem, what)) from None
    if len(content) > most_bytes:  # it grew meanwhile
        raise error(_too_large(path, len(content), what, most_bytes))
    try:
        return content.decode("utf-8-sig")
    except UnicodeDecodeError:
        raise error(
            f"{_name(path)} is not a text file in UTF-8: give the path of {what}."
        ) from None


def _unhung(path: str, flags: int) -> int:
    """Open without waiting for the other end of a pipe."""
    return os.open(path, flags | getattr(os, "O_NONBLOCK", 0))


def _refuse(
    path: Path,
    found: os.stat_result,
    what: str,
    most_bytes: int,
    error: type[SumpgateError],
) -> None:
    if not stat.S_ISREG(found.st_mode):
        kind = next((k for fits, k in _KINDS if fits(found.st_mode)), "something else")
        raise error(f"{_name(path)} is {kind}, not a file: give the path of {what}.")
    if found.st_size > most_bytes:
        raise error(_too_large(path, found.st_size, what, most_bytes))


def _too_large(path: Path, size: int, what: str, most_bytes: int) -> str:
    return (
        f"{_name(path)} is too large ({size / 1e6:.0f} MB, at most "
        f"{most_bytes / 1e6:.0f} MB are read): give the path of {what}."
    )


def _unread(path: Path, problem: Exception, what: str) -> str:
    why = getattr(problem, "strerror", None) or problem
    return f"{_name(path)} cannot be read ({why}): give the path of {what}."


def _name(path: Path) -> str:
    shown = "".join(c if c.isprintable() else "?" for c in str(path))
    return shown if len(shown) <= 200 else f"{shown[:200]}..."
