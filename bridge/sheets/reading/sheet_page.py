"""A sheet's text and where in it a key is written."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import TypeGuard

from bridge.units import printable
from bridge.values.errors import SheetError
from bridge.values.frozen import frozen

Path = tuple[str | int, ...]
"""Keys and list positions from the top of the sheet to a value."""

_MOST_TEXT = 60_000
_MOST_TRIES = 50
_LONGEST_STATEMENT = 30
_PLACE = re.compile(r" \(at (?:line (\d+), column \d+|end of document)\)$")


class SheetMistake(SheetError):  # noqa: N818 - named for what it is
    """A mistake that knows its place in the sheet."""

    line: int | None = None
    place: Path = ()
    """Path of the section, then the key, whether or not that is there."""


@frozen
class SheetPage:
    """A sheet as it was written; ``origin`` is the file or the shipped sheet."""

    origin: str
    text: str

    def mistake(self, saying: str, path: Path = ()) -> SheetMistake:
        """Return the error: one sentence with file, line (where known) and text."""
        return self._at(line_of(self.text, path), saying)

    def parse(self) -> dict[str, object]:
        """Return the sheet's tables.

        Raises:
            SheetError: the text is not TOML.
        """
        try:
            return tomllib.loads(self.text)
        except tomllib.TOMLDecodeError as error:
            raise self._broken(str(error)) from None
        except RecursionError:
            raise self.mistake("values are nested too deep; keep lists flat") from None
        except ValueError:
            raise self.mistake(
                "a number has too many digits; write it as it was measured"
            ) from None

    def _broken(self, complaint: str) -> SheetMistake:
        place = _PLACE.search(complaint)
        line = int(place[1]) if place and place[1] else None
        what = printable(_PLACE.sub("", complaint), 100)
        return self._at(
            line,
            f"not valid TOML ({what[:1].lower()}{what[1:]}); "
            f"put texts and quantities in quotes and close every bracket",
        )

    def _at(self, line: int | None, saying: str) -> SheetMistake:
        where = printable(self.origin, 200) + (f", line {line}" if line else "")
        mistake = SheetMistake(f"{where}: {saying}.")
        mistake.line = line
        return mistake


_LOOKS_SET = re.compile(r"\s*(\[|[\w\"'-]+\s*[.=])")


def line_of(text: str, path: Path) -> int | None:
    """Return the line on which the statement that sets ``path`` begins, or None.

    TOML's reader gives no lines. So each line with the key's name in it is tried:
    it is the one if what stands above it lacks the path and what it ends has it.
    """
    names = [step for step in path if isinstance(step, str)]
    if not names or len(text) > _MOST_TEXT:
        return None
    lines = text.split("\n")
    tried = [i for i, line in enumerate(lines) if names[-1] in line]
    tried.sort(key=lambda i: not _LOOKS_SET.match(lines[i]))  # the likely ones first
    tried = tried[:_MOST_TRIES]
    return next((i + 1 for i in tried if _sets(lines, i, path)), None)


def _sets(lines: list[str], start: int, path: Path) -> bool:
    above = _beginning(lines[:start])
    if above is None or _has(above, path):
        return False  # in the middle of a statement, or below the one looked for
    for end in range(start + 1, min(start + _LONGEST_STATEMENT, len(lines)) + 1):
        tables = _beginning(lines[:end])
        if tables is not None:
            return _has(tables, path)
    return False


def _beginning(lines: list[str]) -> dict[str, object] | None:
    try:
        return tomllib.loads("\n".join(lines))
    except (ValueError, RecursionError):
        return None


def _has(value: object, path: Path) -> bool:
    for step in path:
        if not _holds(value, step):
            return False
        value = value[step]
    return True


def _holds(value: object, step: str | int) -> TypeGuard[Mapping[str | int, object]]:
    if isinstance(value, list):
        return isinstance(step, int) and step < len(value)
    return isinstance(value, dict) and step in value
