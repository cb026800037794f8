"""Where single figures come from; what a search writes, and what bears it out."""

from __future__ import annotations

from bridge.level.found_signal import MOST_ACCURACY_C
from bridge.sheets.keys.key_kinds import lines, number, quantity, section, text, word
from bridge.values.found import Checkpoint, FigureSource, Found, Status

LEAST_ACCURACY_C = 0.1

FIGURE = section(
    FigureSource,
    {
        "of": lines(
            "level.window",
            "interval.distance",
            tells="Which figures: SECTION.KEY, or SECTION.NAME.KEY where a section "
            "stands several times.",
            required=True,
        ),
        "document": text("service letter 7", "What they come from."),
        "edition": text("second edition", "Edition of that document."),
        "page": text("page 3", "Where in it they stand."),
        "date": text("2025-11", "Of that edition, as it says itself.", into=("dated",)),
        "entered_by": text("R. T.", "Who wrote them into the sheet."),
        "checked_by": text("M. L.", "Who held them against the document again."),
        "status": word(Status, "Whether they are checked or a draft."),
    },
)
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
