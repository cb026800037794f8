"""Whether an event can have been written by this tool at all. Pure.

A hash only says that an event is as whoever made the hash wrote it. Somebody who makes
the hashes anew can write anything: a time of 1e308, a number of 400 digits, brackets
nested until the reader falls over. None of that is handed on to report or replay.
"""

from __future__ import annotations

from bridge.jobfile.file.chain import Row, loaded
from bridge.jobfile.file.format import is_kind

LATEST_UTC_S = 4_102_444_800.0
"""2100-01-01T00:00Z."""
LONGEST_S = 1e9
"""A machine's clock counts from its start: over thirty years."""
LARGEST = 1e15
"""No reading in its unit comes near it."""
MOST_RAW = 65_536


def oddity(row: Row) -> str:
    """Return what of an event this tool does not write; '' if nothing."""
    if not is_kind(row.kind) or (row.role and not is_kind(row.role)):
        return "its kind is not a word this tool writes"
    if not 0.0 <= row.utc_s <= LATEST_UTC_S:
        return "its date is none"
    if not (row.t_s is None or abs(row.t_s) <= LONGEST_S):
        return "its time is none"
    if not (row.value is None or abs(row.value) <= LARGEST):
        return "its value is no reading"
    if len(row.raw) > MOST_RAW or not isinstance(row.raw, bytes):
        return "its payload is none"
    if row.body and loaded(row.body) is None:
        return "its content is not what this tool writes"
    return ""
