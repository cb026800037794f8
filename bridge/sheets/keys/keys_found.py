"""The keys that a search writes: what was found, and what bears it out."""

from __future__ import annotations

from dataclasses import replace

from bridge.level.found_signal import MOST_ACCURACY_C
from bridge.sheets.keys.key_kinds import Section, number, quantity, text
from bridge.units import Dimension

LEAST_ACCURACY_C = 0.1
_COLDEST_C, _HOTTEST_C = -60.0, 200.0

FOUND: Section = {
    "when": text("2026-03-14 10:20", "When it was found.", required=True),
    "how": text("search of unit 7E1, ranked first", "By which search.", required=True),
    "signal": text(
        "7E1 7E9 22 1157 byte 0 length 1 big unsigned x1 -40",
        "The signal on one line, as it was found.",
        required=True,
    ),
}
CONFIRMED: Section = {
    "when": text("2026-03-14 10:40", "When the thermometer was read.", required=True),
    "thermometer": replace(
        quantity(
            Dimension.TEMPERATURE,
            _COLDEST_C,
            _HOTTEST_C,
            "38.5 degC",
            "What the thermometer read.",
        ),
        required=True,
    ),
    "signal": replace(
        quantity(
            Dimension.TEMPERATURE,
            _COLDEST_C,
            _HOTTEST_C,
            "38 degC",
            "What the signal said at that moment.",
        ),
        required=True,
    ),
    "coolant": quantity(
        Dimension.TEMPERATURE,
        _COLDEST_C,
        _HOTTEST_C,
        "71 degC",
        "The engine's coolant at that moment, if the car tells it.",
    ),
    "accuracy": replace(
        number(
            LEAST_ACCURACY_C,
            MOST_ACCURACY_C,
            "1.5",
            "What the thermometer is good for, in degC plus or minus.",
        ),
        required=True,
    ),
}
