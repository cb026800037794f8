"""Sheets: what a profile file says of one gearbox, read and checked.

Every mistake is a SheetError whose text is one sentence with file, line (where it
is known), key and remedy. The format is explained in profiles/README.md. What a
careful reader would doubt without a mistake is asked of ``warnings/all_warnings``.
"""

from bridge.sheets.files import (
    find_sheet,
    load,
    load_sheet,
    read_sheet_text,
    shipped_sheets,
)
from bridge.sheets.reading.assemble import examine, parse_sheet

__all__ = [
    "examine",
    "find_sheet",
    "load",
    "load_sheet",
    "parse_sheet",
    "read_sheet_text",
    "shipped_sheets",
]
