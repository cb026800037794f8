"""Every section and key a sheet may have: the one place where they are declared.

To add a section: its keys in a module beside this one, a line in `SECTIONS`, a reader
beside `sections`, a line in `assemble`. Errors, the schema and the tests follow.
"""

from __future__ import annotations

from bridge.profile import keys_level, keys_service
from bridge.profile.key_kinds import Section

SECTIONS: dict[str, Section] = {
    "gearbox": keys_level.GEARBOX,
    "level": keys_level.LEVEL,
    "sump": keys_level.SUMP,
    "fluid": keys_service.FLUID,
    "filter": keys_service.FILTER,
    "tube": keys_service.TUBE,
    "link": keys_level.LINK,
    "signal": keys_level.SIGNAL,
    "variant": keys_service.VARIANT,
    "part": keys_service.PART,
    "fastener": keys_service.FASTENER,
    "drain": keys_service.DRAIN,
    "exercise": keys_service.EXERCISE,
    "interval": keys_service.INTERVAL,
    "cautions": keys_level.CAUTIONS,
    "steps": keys_service.STEPS,
}
REPEATED = frozenset({"signal", "variant", "part", "fastener", "drain"})
"""Sections written with double brackets, once for each item."""


def heading(section: str) -> str:
    """Return a section as it is written: ``[level]``, ``[[signal]]``."""
    return f"[[{section}]]" if section in REPEATED else f"[{section}]"


def home_of(key: str) -> str | None:
    """Return the heading of the section a key belongs to, or None."""
    if key in SECTIONS:
        return f"{heading(key)} of its own"
    for section, keys in SECTIONS.items():
        if key in keys:
            return heading(section)
    return None
