"""The keys that a search writes: what was found, and what bears it out."""

from __future__ import annotations

from bridge.level.found_signal import MOST_ACCURACY_C
from bridge.sheets.keys.key_kinds import number, quantity, section, text
from bridge.values.found import Checkpoint, Found

LEAST_ACCURACY_C = 0.1

FOUND = section(
    Found,
    {
        "when": text("2026-03-14 10:20", "When it was found."),
        "how": text("search of unit 7E1, ranked first", "By which search."),
        "signal": text(
            "7E1 7E9 22 1157 byte 0 length 1 big unsigned x1 -40",
            "The signal on one line, as it was found.",
        ),
    },
)
CONFIRMED = section(
    Checkpoint,
    {
        "when": text("2026-03-14 10:40", "When the thermometer was read."),
        "thermometer": quantity(
            "-60 to 200 degC", "38.5 degC", "What the thermometer read."
        ),
        "signal": quantity(
            "-60 to 200 degC", "38 degC", "What the signal said at that moment."
        ),
        "coolant": quantity(
            "-60 to 200 degC",
            "71 degC",
            "The engine's coolant at that moment, if the car tells it.",
        ),
        "accuracy": number(
            f"{LEAST_ACCURACY_C:g} to {MOST_ACCURACY_C:g}",
            "1.5",
            "What the thermometer is good for, in degC plus or minus.",
            into=("accuracy_c",),
        ),
    },
)
