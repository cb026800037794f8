"""A report as plain text for a terminal."""

from __future__ import annotations

from bridge.jobfile.report.document import Document, Figure, Items, Para, Table


def as_text(document: Document) -> str:
    """Return the report as lines of text; plots are left to their words."""
    lines = [document.title, document.subtitle]
    for section in document.sections:
        lines += ["", section.heading.upper()]
        for block in section.blocks:
            lines += _block(block)
    return "\n".join([*lines, "", document.footer, ""])


def _block(block: Para | Items | Table | Figure) -> list[str]:
    if isinstance(block, Para):
        return [block.text]
    if isinstance(block, Items):
        return [f"- {line}" for line in block.lines]
    if isinstance(block, Table):
        return _table(block)
    return []


def _table(table: Table) -> list[str]:
    rows = (table.head, *table.rows)
    widths = [max(len(row[i]) for row in rows) for i in range(len(table.head))]
    return [
        f"{table.caption}:",
        *(
            "  " + "  ".join(c.ljust(w) for c, w in zip(row, widths, strict=True))
            for row in rows
        ),
    ]
