"""A report before it has a form: the same blocks become a page, a PDF or plain text."""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import fields, is_dataclass
from enum import StrEnum
from typing import Any

from bridge.jobfile.report.report_plot import Plot
from bridge.values.frozen import frozen

LEFT_OUT = "[left out]"
_LONG = 10


class Tone(StrEnum):
    """How much a paragraph matters; never told by colour alone."""

    PLAIN = "plain"
    GOOD = "good"
    DOUBT = "doubt"
    BAD = "bad"


@frozen
class Para:
    """A paragraph."""

    text: str
    tone: Tone = Tone.PLAIN
    signed: bool = False
    """It needs room above, for a hand to sign on it."""


@frozen
class Items:
    """A list of short lines."""

    lines: tuple[str, ...]
    more: int = 0
    """So many besides stand further back."""

    def shown(self, most: int | None = None) -> tuple[str, ...]:
        """Return the first lines, and how many more there are."""
        lines = self.lines[:most]
        more = self.more + len(self.lines) - len(lines)
        return (*lines, f"and {more} more, further back") if more else lines


@frozen
class ReportTable:
    """A table; the first cell of each row is its heading."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@frozen
class Figure:
    """A plot with what it shows in words."""

    plot: Plot
    caption: str
    alt: str


@frozen
class Picture:
    """A photo, small."""

    jpeg: bytes
    width: int
    height: int
    """In pixels."""
    caption: str


Block = Para | Items | ReportTable | Figure | Picture


@frozen
class Section:
    """A heading and what stands under it."""

    heading: str
    blocks: tuple[Block, ...]
    ends_page: bool = False
    """On paper the next section begins a page of its own."""


@frozen
class Document:
    """A whole report."""

    title: str
    subtitle: str
    sections: tuple[Section, ...]
    footer: str
    date_utc_s: float | None = None
    """When the job ended; None: not known."""
    digest: str = ""
    """The hash of the job's last event, which stands on every page."""


def apart(secret: str) -> str:
    """Return a pattern of a text however it is parted: 'AB-CD 12' is 'abcd12' too.

    A short one is found as a word by itself only, a long one within others too; ''
    where the text has neither letter nor digit.
    """
    letters = [c for c in secret if c.isalnum()]
    pattern = r"[\W_]*?".join(map(re.escape, letters))
    if not letters or len(letters) >= _LONG:
        return pattern
    return rf"(?<![^\W_]){pattern}(?![^\W_])"


def without(document: Document, secrets: Iterable[str]) -> Document:
    """Return a report in which some patterns are left out, wherever they stand."""
    found = {s for s in secrets if s.strip()}
    if not found:
        return document
    longest_first = sorted(found, key=len, reverse=True)
    pattern = re.compile("|".join(longest_first), re.IGNORECASE)

    def cleared(value: Any) -> Any:
        if isinstance(value, StrEnum):
            return value
        if isinstance(value, str):
            return pattern.sub(LEFT_OUT, value)
        if isinstance(value, tuple):
            return tuple(map(cleared, value))
        if is_dataclass(value) and not isinstance(value, type):
            parts = {f.name: cleared(getattr(value, f.name)) for f in fields(value)}
            return type(value)(**parts)
        return value

    made: Document = cleared(document)
    return made
