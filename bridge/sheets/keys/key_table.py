"""The keys of a section as a table for profiles/README.md, made from the declarations.

In the page a table stands between `<!-- keys of NAME -->` and `<!-- end -->`;
`python -m bridge.sheets.keys.key_table profiles/README.md` makes them all anew.
"""

from __future__ import annotations

import re
import sys
from pathlib import Path

from bridge.sheets.keys.all_keys import SECTIONS
from bridge.sheets.keys.key_kinds import Key, KeyKind

_BLOCK = re.compile(r"<!-- keys of (\w+) -->\n.*?<!-- end -->", re.DOTALL)


def with_tables(page: str) -> str:
    """Return a page with each table in it made anew."""
    return _BLOCK.sub(
        lambda found: f"<!-- keys of {found[1]} -->\n{table_of(found[1])}<!-- end -->",
        page,
    )


def table_of(section: str) -> str:
    """Return a section's keys as a table in Markdown."""
    rows = [
        f"| `{name}` | {_default(key)} | {_meaning(key)} |"
        for name, key in SECTIONS[section].items()
    ]
    return "\n".join(["| key | default | |", "|---|---|---|", *rows, ""])


def _default(key: Key) -> str:
    if key.required:
        return "required"
    return f"`{key.default}`" if key.default else ""


def _meaning(key: Key) -> str:
    said = [key.tells[:1].lower() + key.tells[1:].rstrip(".")]
    if not key.tells[1:2].islower():  # CAN, PID, J1939
        said = [key.tells.rstrip(".")]
    if key.choices and key.kind is not KeyKind.WHOLE and "auto" not in key.choices:
        said.append(", ".join(f'`"{word}"`' for word in key.choices))
    if key.limits:
        said.append(key.limits)
    return "; ".join(said).replace("|", r"\|")


if __name__ == "__main__":
    for name in sys.argv[1:]:
        Path(name).write_text(with_tables(Path(name).read_text("utf-8")), "utf-8")
