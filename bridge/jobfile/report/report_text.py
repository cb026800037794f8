"""A report as plain text for a terminal."""

from __future__ import annotations

from bridge.jobfile.report.document import (
    Block,
    Document,
    Items,
    Para,
    Picture,
    ReportTable,
)
from bridge.units import printable


def as_text(document: Document) -> str:
    """Return the report as lines of text; of plots and pictures the words."""
    lines = [document.title, _shown(document.subtitle)]
    for section in document.sections:
        lines += ["", section.heading.upper()]
        for block in section.blocks:
            lines += _block(block)
    return "\n".join([*lines, "", _shown(document.footer), ""])


def _shown(line: str) -> str:
    """Return a line no terminal takes for an order."""
    return printable(line, len(line))


def _block(block: Block) -> list[str]:
    if isinstance(block, Para):
        return [_shown(block.text)]
    if isinstance(block, Items):
        return [_shown(f"- {line}") for line in block.shown()]
    if isinstance(block, ReportTable):
        return _table(block)
    if isinstance(block, Picture):
        return [_shown(f"A picture, shown small in the page. {block.caption}")]
    return []


def _table(table: ReportTable) -> list[str]:
    rows = [tuple(map(_shown, row)) for row in (table.head, *table.rows)]
    widths = [max(len(row[i]) for row in rows) for i in range(len(table.head))]
    return [
        f"{table.caption}:",
        *(
            "  " + "  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True))
            for row in rows
        ),
    ]
