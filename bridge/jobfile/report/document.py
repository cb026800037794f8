"""A report before it has a form: the same blocks become a page, a PDF or plain text."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum

from bridge.jobfile.report.report_plot import Plot


class Tone(StrEnum):
    """How much a paragraph matters; never told by colour alone."""

    PLAIN = "plain"
    GOOD = "good"
    DOUBT = "doubt"
    BAD = "bad"


@dataclass(frozen=True, slots=True, kw_only=True)
class Para:
    """A paragraph."""

    text: str
    tone: Tone = Tone.PLAIN


@dataclass(frozen=True, slots=True, kw_only=True)
class Items:
    """A list of short lines."""

    lines: tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Table:
    """A table; the first cell of each row is its heading."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Figure:
    """A plot with what it shows in words."""

    plot: Plot
    caption: str
    alt: str


Block = Para | Items | Table | Figure


@dataclass(frozen=True, slots=True, kw_only=True)
class Section:
    """A heading and what stands under it."""

    heading: str
    blocks: tuple[Block, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Document:
    """A whole report."""

    title: str
    subtitle: str
    sections: tuple[Section, ...]
    footer: str
    date_utc_s: float | None = None
    """When the job ended; None: not known."""
