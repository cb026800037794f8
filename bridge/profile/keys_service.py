"""The keys of the whole service: variants, parts, fasteners, drains, steps, volumes."""

from __future__ import annotations

from bridge.core.service_sheet import PartKind, Renewal, StepKind
from bridge.profile.key_kinds import (
    Section,
    flag,
    lines,
    number,
    quantity,
    text,
    whole,
    word,
    words,
)
from bridge.units import Dimension

_ONLY_FOR = "Names of the variants it is for; left out: all."
_NOTE = "Whatever else there is to know of it."

VARIANT: Section = {
    "name": text("with oil cooler", "What to call this variant.", required=True),
    "look_for": text(
        "two pipes on the left of the case",
        "What tells it from the others.",
        required=True,
    ),
    "fits": flag("Whether the sheet's figures hold for it.", default="true"),
    "instead": text(
        "section 4 of the manual", "Where its figures are, if the sheet does not fit."
    ),
}
PART: Section = {
    "name": text("sealing washer 18 mm", "What to have at hand.", required=True),
    "kind": word(PartKind, "What it is.", default="part"),
    "count": whole(1, 100, "2", "How many of it.", default="1"),
    "one_use": flag("Whether it is used once and then thrown away."),
    "note": text("copper, not aluminium", _NOTE),
    "only_for": lines("with oil cooler", tells=_ONLY_FOR),
}
FASTENER: Section = {
    "name": text("drain plug", "What to call it.", required=True),
    "drive": text("hex socket 8 mm", "Drive and size of the tool."),
    "thread": text("M18x1.5", "Thread, metric ones as in ISO 261."),
    "count": whole(1, 100, "12", "How many there are.", default="1"),
    "torque": quantity(
        Dimension.TORQUE, 0.5, 500.0, "35 N*m", "How tight it goes back."
    ),
    "torque_tolerance": quantity(
        Dimension.TORQUE, 0.05, 100.0, "3 N*m", "How far off the torque may be."
    ),
    "angle": quantity(
        Dimension.ANGLE, 1.0, 1080.0, "90 deg", "Further angle after the torque."
    ),
    "turns_back": number(
        0.05, 50.0, "2", "Turns to back it off after seating (an overflow tube)."
    ),
    "hand_tight": flag("Tightened by hand alone; then it has no torque."),
    "plastic": flag("Whether it is of plastic and must not be overtightened."),
    "renew": words(Renewal, '["washer"]', "What must be new when it goes back in."),
    "step": word(StepKind, "The step in which it is ticked off.", default="refit"),
    "note": text("the longer ones sit at the front", _NOTE),
    "only_for": lines("with oil cooler", tells=_ONLY_FOR),
}
DRAIN: Section = {
    "name": text("pan", "What to call this place.", required=True),
    "fastener": text("drain plug", "Name of the fastener that closes it."),
    "expected": quantity(
        Dimension.VOLUME, 0.02, 60.0, "3.5 L", "What usually comes out there."
    ),
    "pressure": flag("Whether it can spray when it is opened."),
    "sideways": flag("Whether it runs out sideways, past a pan right below."),
    "note": text("opens under a lid", _NOTE),
    "only_for": lines("with oil cooler", tells=_ONLY_FOR),
}
EXERCISE: Section = {
    "positions": lines(
        "P",
        "R",
        "N",
        "D",
        tells="The selector's positions in the order they are taken.",
        required=True,
    ),
    "hold": quantity(
        Dimension.DURATION,
        0.5,
        120.0,
        "5 s",
        "How long it rests in each one.",
        default="5 s",
    ),
    "rounds": whole(
        1, 20, "2", "How often the whole row is gone through.", default="1"
    ),
}
INTERVAL: Section = {
    "distance": quantity(
        Dimension.DISTANCE,
        1000.0,
        1e6,
        "60000 km",
        "Distance after which the service is due again.",
    ),
    "months": whole(1, 600, "48", "Time after which it is due again, in months."),
    "time": quantity(
        Dimension.DURATION,
        2.5e6,
        1.6e9,
        "4 years",
        "The same as a quantity, instead of months.",
    ),
    "severe_factor": number(
        0.1, 1.0, "0.5", "Share of the interval left under severe use.", default="0.5"
    ),
    "severe": lines("Towing or mountain roads.", tells="What counts as severe use."),
}
FLUID: Section = {
    "name": text(
        "low-viscosity fluid to the maker's standard",
        "What the fluid must meet, in the maker's words.",
    ),
    "service_fill": quantity(
        Dimension.VOLUME, 0.2, 60.0, "4.5 L", "What a service usually takes."
    ),
    "service_fill_tolerance": quantity(
        Dimension.VOLUME, 0.01, 10.0, "0.3 L", "How far off that usually is."
    ),
    "service_fill_temp": quantity(
        Dimension.TEMPERATURE,
        -20.0,
        120.0,
        "20 degC",
        "The temperature for which the service fill is told.",
        default="20 degC",
    ),
    "density": quantity(
        Dimension.DENSITY,
        800.0,
        1164.0,
        "850 kg/m3",
        "Of the fluid at 15 degC, within the range of the volume table 54D.",
        default="850 kg/m3",
    ),
    "viscosity_40": quantity(
        Dimension.VISCOSITY, 5.0, 500.0, "30 mm2/s", "Of the fluid at 40 degC."
    ),
    "viscosity_100": quantity(
        Dimension.VISCOSITY, 2.01, 100.0, "6 mm2/s", "Of the fluid at 100 degC."
    ),
}
FILTER: Section = {
    "holds": quantity(
        Dimension.VOLUME,
        0.01,
        5.0,
        "0.3 L",
        "What stays in the old filter, and a new one takes up.",
    ),
}
TUBE: Section = {
    "pitch": quantity(
        Dimension.LENGTH, 0.2, 6.0, "1.5 mm", "Thread pitch of the overflow tube."
    ),
}


def line_key(step: StepKind) -> str:
    """Return the key of [steps] that holds a step's lines: ``fill_plug``."""
    return step.value.replace("-", "_")


LINED_STEPS = tuple(step for step in StepKind if step is not StepKind.CAUTIONS)
"""The steps with lines in [steps]; those of the cautions stand in [cautions]."""

STEPS: Section = {
    "order": words(
        StepKind,
        '["cautions", "drain", "fill", "level"]',
        "The steps in the maker's order; left out: the usual order.",
    ),
    **{
        line_key(step): lines(
            "One sentence for each hand.", tells=f"The {step} step's lines."
        )
        for step in LINED_STEPS
    },
    "level": lines(
        "Open the level plug.", tells="The level step in the maker's order."
    ),
}
