"""Every section and key a sheet may have: the one place where they are declared.

To add a key: one declaration beside this module, one field in the dataclass that it
fills. Reader, mistakes, schema, documentation and tests follow. To add a section: a
line in `SECTIONS` and in `TELLS`, and a line in `reading.assemble`.
"""

from __future__ import annotations

from bridge.sheets.keys import keys_found, keys_level, keys_service
from bridge.sheets.keys.key_kinds import Section

SECTIONS: dict[str, Section] = {
    "gearbox": keys_level.GEARBOX,
    "figure": keys_found.FIGURE,
    "level": keys_level.LEVEL,
    "window": keys_level.AIR_WINDOW,
    "phase": keys_level.PHASE,
    "stick": keys_level.STICK,
    "sump": keys_level.SUMP,
    "fluid": keys_service.FLUID,
    "filter": keys_service.FILTER,
    "tube": keys_service.TUBE,
    "link": keys_level.LINK,
    "signal": keys_level.SIGNAL,
    "found": keys_found.FOUND,
    "confirmed": keys_found.CONFIRMED,
    "variant": keys_service.VARIANT,
    "part": keys_service.PART,
    "fastener": keys_service.FASTENER,
    "circuit": keys_service.CIRCUIT,
    "drain": keys_service.DRAIN,
    "exercise": keys_service.EXERCISE,
    "interval": keys_service.INTERVAL,
    "cautions": keys_level.CAUTIONS,
    "steps": keys_service.STEPS,
}
TELLS: dict[str, str] = {
    "gearbox": "What the sheet is of, and where its figures come from.",
    "figure": "Where single figures come from, if not from where the others do.",
    "level": "How the level is set.",
    "window": "A window that holds in air of some temperatures; instead of [level]'s.",
    "phase": "One phase of a level that is set in several, in their order.",
    "stick": "Where the fluid must stand on the stick at one temperature.",
    "sump": "Size and shape of the fluid's surface.",
    "fluid": "What the fluid is and how much of it a service takes.",
    "filter": "The filter that a service changes.",
    "tube": "The overflow tube.",
    "link": "How the car is spoken to.",
    "signal": "One value the car gives.",
    "found": "That the fluid's signal was found by search, and by which.",
    "confirmed": "A thermometer held against the found signal.",
    "variant": "One of the gearboxes that look alike.",
    "part": "Something to have at hand.",
    "fastener": "A plug, tube, cap or cover, or a set of equal bolts.",
    "circuit": "One of several fluids in one housing, instead of [fluid] and [sump].",
    "drain": "A place where fluid is let out.",
    "exercise": "How the selector is worked before the level is set.",
    "interval": "When the service is due again.",
    "cautions": "What can hurt someone.",
    "steps": "What is done in each step, and in which order.",
}
"""What each section is for."""
REPEATED = frozenset(
    {
        "figure",
        "window",
        "phase",
        "stick",
        "signal",
        "confirmed",
        "variant",
        "part",
        "fastener",
        "circuit",
        "drain",
    }
)
"""Sections written with double brackets, once for each item."""
ALWAYS = ("gearbox", "level")
"""Sections that no sheet goes without."""


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
