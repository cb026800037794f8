"""The keys of the gearbox, the level step and the signals."""

from __future__ import annotations

from bridge.core.model import ASKED, EngineRule, LevelMethod, Role
from bridge.core.volume import MOST_TILT_DEG
from bridge.profile.key_kinds import (
    Key,
    Kind,
    Section,
    flag,
    lines,
    number,
    pair,
    quantity,
    text,
    whole,
    word,
    words,
)
from bridge.units import Dimension

PROTOCOLS = ("auto", *"123456789", "A")
"""'auto', or the adapter's digit: J1850 (1, 2), ISO 9141-2 (3), KWP (4, 5), CAN with
11-bit ids (6, 8), with 29-bit ids (7, 9), J1939 (A)."""
SESSIONS = ("default", "extended")
MOST_DATA = 4092
"""ISO 15765-2: 4095 bytes in one answer, less the echo of service and identifier."""

GEARBOX: Section = {
    "name": text(
        "Eight-speed automatic",
        "What to call the gearbox on screen and in reports.",
        required=True,
    ),
    "source": text(
        "workshop manual, section and edition",
        "Where the figures come from: document, edition, section.",
        required=True,
    ),
}
LEVEL: Section = {
    "window": pair(
        Dimension.TEMPERATURE,
        0.0,
        150.0,
        '["42 degC", "52 degC"]',
        "The fluid temperatures between which the level is set, the lower first.",
        required=True,
    ),
    "engine": word(
        EngineRule,
        "How the engine must be while the level is set.",
        default="idling",
    ),
    "settle_time": quantity(
        Dimension.DURATION,
        1.0,
        1800.0,
        "60 s",
        "Usual time from opening the plug until the stream breaks into drips.",
        default="60 s",
    ),
    "stay_chance": number(
        0.5,
        0.999,
        "0.9",
        "GO needs at least this chance of staying in the window for the settle time.",
        default="0.9",
    ),
    "idle_speed": pair(
        Dimension.ENGINE_SPEED,
        200.0,
        3000.0,
        '["500 rpm", "1100 rpm"]',
        "Engine speeds that count as idling.",
        default='["500 rpm", "1100 rpm"]',
    ),
    "method": word(
        LevelMethod, "How the surplus leaves the sump.", default="overflow-tube"
    ),
    "confirm": words(
        ASKED,
        '["cautions", "car-level"]',
        "What must be confirmed on screen before GO.",
    ),
    "selector": text(
        "P", "Where the selector must stand, as its labels name it.", default=""
    ),
    "tilt_limit": quantity(
        Dimension.ANGLE,
        0.05,
        MOST_TILT_DEG,
        "0.5 deg",
        "How far the car may lean either way.",
    ),
}
SUMP: Section = {
    "fill": quantity(
        Dimension.VOLUME,
        0.5,
        60.0,
        "6 L",
        "All the fluid in the gearbox with the level right.",
    ),
    "area": quantity(
        Dimension.AREA,
        20.0,
        5000.0,
        "500 cm2",
        "Free surface of the fluid at the level opening.",
    ),
    "opening_forward": quantity(
        Dimension.LENGTH,
        -2000.0,
        2000.0,
        "150 mm",
        "How far the level opening lies in front of the middle of that surface.",
        default="0 mm",
    ),
    "opening_right": quantity(
        Dimension.LENGTH,
        -2000.0,
        2000.0,
        "0 mm",
        "How far the level opening lies to the right of the middle of that surface.",
        default="0 mm",
    ),
}
LINK: Section = {
    "protocol": word(
        PROTOCOLS,
        "The car's bus as the adapter's digit; auto searches for it.",
        default="auto",
    ),
    "session": word(
        SESSIONS,
        "Whether the fluid's unit answers only in an extended session (ISO 14229-1).",
        example="extended",
        default="default",
    ),
}
SIGNAL: Section = {
    "role": word(
        Role, "What the value means.", example="fluid-temperature", required=True
    ),
    "request_id": Key(
        kind=Kind.CAN_ID,
        example='"7E1"',
        tells="CAN id the question goes to; only a standard PID goes without.",
    ),
    "reply_id": Key(
        kind=Kind.CAN_ID,
        example='"7E9"',
        tells="CAN id that answers; left out where ISO 15765-4 gives it.",
    ),
    "service": Key(
        kind=Kind.WHOLE,
        example="0x22",
        tells="Reading service: 0x01 (standard PID), 0x21 or 0x22, nothing else.",
        choices=("1", "33", "34"),
    ),
    "pgn": whole(
        0xF000,
        0xFFFF,
        "65272",
        "J1939 group that carries the value, instead of service, identifier and ids.",
    ),
    "source": whole(0, 253, "3", "Source address the J1939 group must come from."),
    "identifier": whole(
        0, 0xFFFF, "0x1157", "PID or identifier: two bytes for service 0x22, else one."
    ),
    "first_byte": whole(
        0,
        MOST_DATA - 1,
        "0",
        "Index of the value's first byte after the echo of service and identifier.",
        default="0",
    ),
    "length": whole(1, 4, "1", "Bytes of the value.", default="1"),
    "data_length": whole(
        1, MOST_DATA, "1", "Bytes after the echo in the whole answer."
    ),
    "signed": flag("Whether the raw value is in two's complement.", example="false"),
    "byte_order": word(
        ("big", "little"), "Which byte of the value comes first.", default="big"
    ),
    "factor": number(
        -1e6, 1e6, "1.0", "value = raw value * factor + offset, in unit.", default="1.0"
    ),
    "offset": number(
        -1e6, 1e6, "-40.0", "Added after the factor, in unit.", default="0.0"
    ),
    "unit": text("degC", "Of the value; left out for the selector."),
    "not_available": Key(
        kind=Kind.WHOLES,
        example="[0xFF]",
        tells="Raw values that mean 'no reading'.",
        default="[]",
    ),
    "minimum": Key(
        kind=Kind.QUANTITY, example='"-40 degC"', tells="Values below it are refused."
    ),
    "maximum": Key(
        kind=Kind.QUANTITY, example='"150 degC"', tells="Values above it are refused."
    ),
    "labels": Key(
        kind=Kind.LABELS,
        example='{ "0" = "P", "1" = "R" }',
        tells="Selector only: raw value and position.",
    ),
}
CAUTIONS: Section = {
    "lines": lines(
        "Hot fluid runs out: wear gloves and eye protection.",
        tells="One sentence each, shown before the work begins.",
    ),
}
