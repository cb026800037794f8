"""The keys of the gearbox, the level step and the signals."""

from __future__ import annotations

from bridge.level.volume import MOST_TILT_DEG
from bridge.sheets.keys.key_kinds import (
    Key,
    KeyKind,
    flag,
    lines,
    number,
    pair,
    quantity,
    section,
    text,
    whole,
    word,
    words,
)
from bridge.units import Dimension
from bridge.values.found import Status
from bridge.values.sheet import (
    ASKED,
    AirWindow,
    Drive,
    EngineRule,
    Leg,
    LegEnd,
    LevelMethod,
    Role,
    Sheet,
    Signal,
    StickMarks,
    Window,
)

PROTOCOLS = ("auto", *"123456789", "A")
"""'auto', or the adapter's digit: J1850 (1, 2), ISO 9141-2 (3), KWP (4, 5), CAN with
11-bit ids (6, 8), with 29-bit ids (7, 9), J1939 (A)."""
SESSIONS = ("default", "extended")
MOST_DATA = 4092
"""ISO 15765-2: 4095 bytes in one answer, less the echo of service and identifier."""


def _window(ends: tuple[float, float]) -> Window:
    return Window(low_c=ends[0], high_c=ends[1])


GEARBOX = section(
    Sheet,
    {
        "name": text(
            "Eight-speed automatic",
            "What to call the gearbox on screen and in reports.",
        ),
        "source": text(
            "workshop manual, section and edition",
            "Where the figures come from: document, edition, section.",
        ),
        "edition": text("third edition", "Edition of that document."),
        "page": text("section 34, page 12", "Where in it the figures stand."),
        "date": text("2024-05", "Of that edition, as it says itself.", into=("dated",)),
        "entered_by": text("R. T.", "Who wrote the figures into the sheet."),
        "checked_by": text("M. L.", "Who held them against the document again."),
        "status": word(
            Status, "Whether the figures are checked or a draft; left out: not told."
        ),
    },
)
LEVEL = section(
    Sheet,
    {
        "window": pair(
            "0 to 150 degC",
            '["42 degC", "52 degC"]',
            "The fluid temperatures between which the level is set, the lower first; "
            'an end the maker leaves open is ""; required, but for measured-refill and '
            "where [[window]] gives it by the air.",
            into=("window",),
            make=_window,
            open_ends=1,
            required=True,
            unless=("method", "measured-refill"),
            unless_section="window",
        ),
        "engine": word(EngineRule, "How the engine must be while the level is set."),
        "drive": word(
            Drive,
            "What moves the car; hybrid and electric ones may start or move off by "
            "themselves, so somebody confirms by name that they cannot.",
        ),
        "wait": quantity(
            "0 to 3600 s",
            "2 min",
            "For how long the engine must have been so before GO, such as after it was "
            "switched off; left out: no wait.",
        ),
        "settle_time": quantity(
            "1 to 1800 s",
            "60 s",
            "Usual time from opening the plug until the stream breaks into drips: less "
            "than drop_rate (with a stick: for wiping and reading it twice). Left out, "
            "it is reckoned from bore and area.",
        ),
        "drop_rate": number(
            "0.2 to 3",
            "1.0",
            "Drops a second below which the surplus counts as settled.",
            into=("drop_rate_per_s",),
        ),
        "stay_chance": number(
            "0.5 to 0.999",
            "0.9",
            "GO needs at least this chance of staying in the window for the settle "
            "time.",
        ),
        "idle_speed": pair(
            "200 to 3000 rpm",
            '["500 rpm", "1100 rpm"]',
            "Engine speeds that count as idling.",
            into=("idle_low_rpm", "idle_high_rpm"),
        ),
        "close_at": quantity(
            "0 to 150 degC",
            "43 degC",
            "Fluid temperature at which the opening is closed whatever still runs, "
            "inside the window; left out: when the stream breaks into drips.",
        ),
        "method": word(
            LevelMethod,
            "How the level is set: at an opening, by a stick, or by filling in what "
            "came out; the last needs no window and has no level step.",
        ),
        "confirm": words(
            ASKED,
            '["cautions", "car-level"]',
            "What must be confirmed on screen before GO.",
        ),
        "selector": text(
            "P",
            "Where the selector must stand, as its labels name it; read from the car "
            "where it tells, else confirmed. Out of park a second person is named, who "
            "holds the brake.",
            into=("selector_position",),
        ),
        "tilt_limit": quantity(
            f"0.05 to {MOST_TILT_DEG:g} deg",
            "0.5 deg",
            "How far the car may lean either way; the angles are typed in on screen.",
        ),
    },
)
AIR_WINDOW = section(
    AirWindow,
    {
        "ambient": pair(
            "-60 to 60 degC",
            '["", "10 degC"]',
            'The outside air it is for, the lower end first; an open end is "".',
            into=("air",),
            make=_window,
            required=True,
            open_ends=1,
        ),
        "window": pair(
            "0 to 150 degC",
            '["42 degC", "52 degC"]',
            "The fluid temperatures between which the level is set in such air.",
            into=("window",),
            make=_window,
            required=True,
            open_ends=1,
        ),
    },
)
PHASE = section(
    Leg,
    {
        "name": text("warm check", "What to call this phase of the level."),
        "ends": word(
            LegEnd,
            "What ends it: the level is set, the person says that its work is done, or "
            "the fluid is inside its window (a cooler's thermostat that must open).",
        ),
        "circuit": text("final drive", "Name of the [[circuit]] whose level it sets."),
        "do": lines(
            "Move the selector through all positions, 3 s in each.",
            tells="What is done in it, one instruction a line.",
            into=("lines",),
        ),
        "window": pair(
            "0 to 150 degC",
            '["42 degC", "52 degC"]',
            'As in [level]; ["", ""]: any temperature will do, and none is read; left '
            "out: the window of [level].",
            into=("window",),
            make=_window,
            open_ends=2,
        ),
        "engine": word(EngineRule, "As in [level]; left out: as there."),
        "method": word(
            tuple(m for m in LevelMethod if m is not LevelMethod.MEASURED_REFILL),
            "As in [level]; left out: as there.",
            make=LevelMethod,
        ),
        "close_at": quantity("0 to 150 degC", "43 degC", "As in [level]."),
        "settle_time": quantity("1 to 1800 s", "60 s", "As in [level]."),
        "selector": text(
            "N", "As in [level]; left out: as there.", into=("selector_position",)
        ),
        "wait": quantity("0 to 3600 s", "2 min", "As in [level]."),
    },
)
STICK = section(
    StickMarks,
    {
        "temp": quantity(
            "-40 to 150 degC",
            "40 degC",
            "Fluid temperature these marks are for; between two rows they lie on the "
            "straight line.",
        ),
        "low": quantity(
            "0 to 1000 mm", "18 mm", "The lower mark, from the stick's own zero."
        ),
        "high": quantity("0 to 1000 mm", "26 mm", "The upper mark."),
    },
)
SUMP = section(
    Sheet,
    {
        "fill": quantity(
            "0.5 to 60 L", "6 L", "All the fluid in the gearbox with the level right."
        ),
        "area": quantity(
            "20 to 5000 cm2",
            "500 cm2",
            "Free surface of the fluid at the level opening.",
            into=("sump_area_cm2",),
        ),
        "bore": quantity(
            "2 to 60 mm",
            "8 mm",
            "Inner width of the level opening: of the tube, or of the hole the plug "
            "leaves; with area it tells how long a surplus runs, where settle_time is "
            "left out or doubted.",
        ),
        "opening_forward": quantity(
            "-2000 to 2000 mm",
            "150 mm",
            "How far the level opening lies in front of the middle of that surface.",
        ),
        "opening_right": quantity(
            "-2000 to 2000 mm",
            "0 mm",
            "How far the level opening lies to the right of the middle of that "
            "surface.",
        ),
    },
)
LINK = section(
    Sheet,
    {
        "protocol": word(
            PROTOCOLS,
            'The car\'s bus as the adapter\'s digit: "6" CAN 11-bit 500 kbit/s, "7" '
            'CAN 29-bit 500 kbit/s, "8" and "9" the same at 250 kbit/s; before CAN "1" '
            'J1850 PWM, "2" J1850 VPW, "3" ISO 9141-2, "4" and "5" KWP (ISO 14230); '
            '"A" J1939, which the search that "auto" stands for never finds.',
        ),
        "session": word(
            SESSIONS,
            "Whether the fluid's unit answers only in an extended session (ISO "
            "14229-1, service 0x10), which is then asked for and kept open: it changes "
            "which questions the unit answers and nothing in the unit.",
            example="extended",
            into=("extended_session",),
            make=lambda word: word == "extended",
        ),
    },
)
_BY_HAND: tuple[str, ...] = ()
"""Read by `reading.signals`, which minds what they mean together."""
SIGNAL = section(
    Signal,
    {
        "role": word(Role, "What the value means.", example="fluid-temperature"),
        "request_id": Key(
            kind=KeyKind.CAN_ID,
            example='"7E1"',
            tells="CAN id the question goes to, three or eight hex digits; on a bus "
            "before CAN the unit's address, two hex digits; only a standard PID goes "
            "without.",
        ),
        "reply_id": Key(
            kind=KeyKind.CAN_ID,
            example='"7E9"',
            tells="CAN id that answers; left out where ISO 15765-4 gives it (7E0 to "
            "7E7 are answered with id + 8, 18DAxxF1 with 18DAF1xx).",
        ),
        "service": Key(
            kind=KeyKind.WHOLE,
            example="0x22",
            tells="Reading service: 0x01 (standard PID), 0x21 or 0x22, nothing else; "
            "required without pgn.",
            choices=("1", "33", "34"),
            into=_BY_HAND,
        ),
        "pgn": whole(
            "0xF000 to 0xFFFF",
            "65272",
            "J1939 group that carries the value, instead of service, identifier and "
            "ids; it is listened for, nothing is sent (65272 for the gearbox fluid, "
            "SPN 177: first_byte 4, length 2, data_length 8, little endian, factor "
            "0.03125, offset -273.0).",
        ),
        "source": whole(
            "0 to 253",
            "3",
            "Source address the J1939 group must come from; left out: any.",
            into=_BY_HAND,
        ),
        "identifier": whole(
            "0 to 0xFFFF",
            "0x1157",
            "PID or identifier: two bytes for service 0x22, else one; required without "
            "pgn.",
            into=_BY_HAND,
        ),
        "first_byte": whole(
            f"0 to {MOST_DATA - 1}",
            "0",
            "Index of the value's first byte after the echo of service and identifier.",
        ),
        "length": whole("1 to 4", "1", "Bytes of the value."),
        "data_length": whole(
            f"1 to {MOST_DATA}",
            "1",
            "Bytes after the echo in the whole answer, any other length is refused; "
            "left out: the end of the last signal that reads this answer.",
            into=_BY_HAND,
        ),
        "signed": flag("Whether the raw value is in two's complement.", "false"),
        "byte_order": word(("big", "little"), "Which byte of the value comes first."),
        "factor": number(
            "-1000000 to 1000000",
            "1.0",
            "Value = raw value * factor + offset, in unit; not zero.",
        ),
        "offset": number(
            "-1000000 to 1000000", "-40.0", "Added after the factor, in unit."
        ),
        "unit": text(
            "degC",
            "Of the value; required, but left out for the selector.",
            into=_BY_HAND,
        ),
        "not_available": Key(
            kind=KeyKind.WHOLES,
            example="[0xFF]",
            tells="Raw values that mean 'no reading'; signed ones written either way.",
        ),
        "minimum": Key(
            kind=KeyKind.QUANTITY,
            example='"-40 degC"',
            tells="Values below it are refused; left out: the role's own limit.",
        ),
        "maximum": Key(
            kind=KeyKind.QUANTITY,
            example='"150 degC"',
            tells="Values above it are refused; left out: the role's own limit.",
        ),
        "accuracy": quantity(
            "0.05 to 20 degC",
            "1.5 degC",
            "How far off the sensor may be either way, as its maker states it; "
            "temperatures only; left out: not stated.",
            dimension=Dimension.TEMPERATURE_STEP,
        ),
        "labels": Key(
            kind=KeyKind.LABELS,
            example='{ "0" = "P", "1" = "R" }',
            tells="Selector only: raw value and position.",
        ),
    },
)
CAUTIONS = section(
    Sheet,
    {
        "lines": lines(
            "Hot fluid runs out: wear gloves and eye protection.",
            tells="One sentence each, shown before the work begins.",
            into=("cautions",),
        ),
    },
)
