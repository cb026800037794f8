"""Sheets: what a profile file says of one gearbox, read and checked.

Every mistake is a SheetError whose text is one sentence with file, line (where it
is known), key and remedy. The format is explained in profiles/README.md.
"""

from bridge.sheets.files import (
    find_sheet,
    load,
    load_sheet,
    read_sheet_text,
    shipped_sheets,
)
from bridge.sheets.reading.assemble import examine, parse_sheet
from bridge.sheets.warnings.all_warnings import doubts_of, review_sheet

__all__ = [
    "doubts_of",
    "examine",
    "find_sheet",
    "load",
    "load_sheet",
    "parse_sheet",
    "read_sheet_text",
    "review_sheet",
    "shipped_sheets",
]
