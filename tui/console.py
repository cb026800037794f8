"""Standard output and error on consoles that are not UTF-8, and files in UTF-8.

A console of cp437 or cp1252, or a file the system's shell makes in one of them, has no
sign for much that is printed here. What is printed for a person then comes out in the
nearest plain signs, never as a traceback; what is printed for a program or to be kept
as a file (JSON, TOML) is UTF-8 wherever it does not go to a console.
"""

from __future__ import annotations

import codecs
import io
import shutil
import sys
import unicodedata
from pathlib import Path
from typing import TextIO

_PLAIN = "sumpgate-plain"
_SIGNS = str.maketrans(
    {
        "−": "-",
        "–": "-",
        "—": "-",
        "…": "...",
        "≥": ">=",
        "≤": "<=",
        "±": "+/-",
        "→": "->",
        "·": ".",
        "×": "x",
        "°": "deg ",
        "’": "'",
        "‘": "'",
        "“": "'",
        "”": "'",
        "█": "#",
        "▀": "#",
        "▄": "#",
    }
)


def plain(text: str) -> str:
    """Return a text in ASCII: the nearest signs, '?' where there is none."""
    spelt = unicodedata.normalize("NFKD", text.translate(_SIGNS))
    bare = "".join(c for c in spelt if not unicodedata.combining(c))
    return bare.encode("ascii", "replace").decode("ascii")


def _degrade(error: UnicodeError) -> tuple[str, int]:
    if not isinstance(error, UnicodeEncodeError):
        raise error
    return plain(error.object[error.start : error.end]), error.end


def degrade() -> None:
    """Let nothing printed end in a traceback for want of a sign; call it first."""
    codecs.register_error(_PLAIN, _degrade)
    for stream in (sys.stdout, sys.stderr):
        if isinstance(stream, io.TextIOWrapper):
            stream.reconfigure(errors=_PLAIN)


def for_programs(out: TextIO) -> TextIO:
    """Return ``out`` set to UTF-8, unless it is a console a person reads."""
    if isinstance(out, io.TextIOWrapper) and not out.isatty():
        out.reconfigure(encoding="utf-8", newline="\n")
    return out


def hand_out(text: str, out: str | None, *, force: bool = False) -> None:
    """Print a file's text, or write it to ``out`` in UTF-8.

    Raises UsageError where that cannot be written, or is there and not ``force``.
    """
    if out is None:
        for_programs(sys.stdout).write(text)
        return
    from tui.cli.files_made import need_free, put

    need_free(Path(out), force=force)
    put(Path(out), text.encode("utf-8"))


def page(text: str) -> None:
    """Print a text, a screenful at a time where it is longer than the terminal."""
    rows = shutil.get_terminal_size().lines
    if sys.stdin.isatty() and sys.stdout.isatty() and text.count("\n") >= rows:
        import pydoc

        pydoc.pager(text)
    else:
        sys.stdout.write(text)
